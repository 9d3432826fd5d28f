"""Channels whose names nobody knows here: what they may be by unit and by physics, offered and never taken unasked."""
