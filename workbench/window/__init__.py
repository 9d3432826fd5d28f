"""The window: the only floor with Qt; it computes nothing."""
