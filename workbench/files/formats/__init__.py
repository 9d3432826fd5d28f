"""Containers and binary formats into columns, each by its kept library. Meaning is decided in channels/."""
