"""Columns into channels with time, unit and role, and what is doubtful about them. Opens no file."""
