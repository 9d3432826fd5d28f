"""Commands that ask what the logs say, and correct by it; the next step."""
