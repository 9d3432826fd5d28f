"""Bytes, paths and times on the disk: reading text, writing a file in one step. Knows no log and no table."""
