"""Frozen values that all other floors share."""
