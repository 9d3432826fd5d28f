"""How sure a solve is of every cell: where its uncertainty comes from, and what contradicts itself. Judges nothing."""
