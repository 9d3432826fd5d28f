"""Turns delimited text into columns: numbers, layout, timestamps. Interpretation belongs in channels/."""
