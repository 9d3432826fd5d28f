"""The session file: rows in SQLite, append-only. Decides nothing about what they mean."""
