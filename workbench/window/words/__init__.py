"""How numbers, names and sentences of the core are shown to a person. No widget belongs here."""
