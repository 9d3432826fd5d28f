"""What one can do: one plain function per command, declared once."""
