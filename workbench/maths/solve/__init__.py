"""Samples into multipliers with intervals: the penalised robust least squares. Knows no channel."""
