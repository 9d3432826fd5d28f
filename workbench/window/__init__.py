"""What one sees: the only floor with Qt; it computes nothing."""
