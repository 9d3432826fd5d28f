"""Commands that show evidence and correct by it; the next step."""
