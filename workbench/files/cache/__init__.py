"""What was worked out, kept in the user's cache folder: never part of a session, never needed, deleted at any time."""
