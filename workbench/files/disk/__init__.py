"""Bytes, paths and times on the disk: decoding text, writing a file atomically. Knows no log and no table."""
