"""Which cells of a column hold a value: codes that stand for none, cells that a change alone fills, spoilt numbers."""
