"""Delimited text into columns: numbers, layout, timestamps. What a column means is decided in channels/."""
