"""Tables that stand side by side, with an empty column between them."""

from collections.abc import Sequence
from itertools import pairwise

from workbench.files.tables.rectangles import Rows
from workbench.files.text.numbers import looks_numeric

FEWEST_NUMBERS = 4  # of a table


def side_by_side(rows: Sequence[Sequence[str]]) -> list[Rows]:
    """Return the cells of each of several tables, from left to right; none where no empty column parts any.

    Args:
        rows: cells, stripped; rows may differ in length.
    """
    width = max(map(len, rows), default=0)
    padded = [[*row, *[""] * (width - len(row))] for row in rows]
    empty = [at for at in range(width) if not any(row[at] for row in padded)]
    ends = [-1, *empty, width]
    blocks = []
    for a, b in pairwise(ends):
        cells = [row[a + 1 : b] for row in padded]
        kept = [row for row in cells if any(row)]
        if b - a > 2 and sum(looks_numeric(cell) for row in kept for cell in row if cell) >= FEWEST_NUMBERS:
            blocks.append(kept)
    return blocks if len(blocks) > 1 else []


def as_text(rows: Rows) -> str:
    """Write cells in lines, parted by tabs."""
    return "\n".join("\t".join(row) for row in rows)
