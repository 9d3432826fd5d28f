"""The table as numbers and as a picture: layers, heat, curve, slices. No logs, no history."""
