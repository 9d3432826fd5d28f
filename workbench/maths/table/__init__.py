"""A table alone: interpolation as in the ECU, scaling, smoothing, storage, physics. No drive belongs here."""
