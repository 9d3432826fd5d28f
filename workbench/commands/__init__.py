"""Commands: one plain function each, declared once."""
