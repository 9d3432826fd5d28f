"""How numbers, names and sentences of the core are put before a person. No widget lives here."""
