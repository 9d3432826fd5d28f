"""Turns columns into channels with time, unit and role, and notes what is doubtful. Opens no file."""
