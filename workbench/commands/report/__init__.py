"""What a report tells: gathered first, then written as blocks, chapter by chapter."""
