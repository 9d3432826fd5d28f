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
    filled = sorted({at for row in rows for at, cell in enumerate(row) if cell})
    if not filled or filled[-1] - filled[0] + 1 == len(filled):
        return []
    breaks = [k for k in range(1, len(filled)) if filled[k] > filled[k - 1] + 1]
    blocks = []
    for first, last in pairwise([0, *breaks, len(filled)]):
        begin, end = filled[first], filled[last - 1] + 1
        kept = [cells for row in rows if any(cells := row[begin:end])]  # a far cell makes no other row longer
        told = sum(looks_numeric(cell) for row in kept for cell in row if cell)
        if end - begin > 1 and told >= FEWEST_NUMBERS:
            blocks.append([[*cells, *[""] * (end - begin - len(cells))] for cells in kept])
    return blocks if len(blocks) > 1 else []


def as_text(rows: Rows) -> str:
    """Write cells in lines, parted by tabs."""
    return "\n".join("\t".join(row) for row in rows)
