"""The maths: pure functions from values to values."""
