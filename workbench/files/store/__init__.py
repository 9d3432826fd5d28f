"""The session file: append-only rows in SQLite. Interprets nothing."""
