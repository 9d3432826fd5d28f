"""Turns containers and binary formats into columns, each with its library. Interpretation belongs in channels/."""
