"""What can be worked out: pure functions from values to values."""
