"""What people add to the cells of a table and no table means: numbers of rows, a row twice, underscores in numbers."""

import re
from collections.abc import Sequence

from workbench.files.tables.rectangles import Rows
from workbench.files.vocabulary.recording import listed
from workbench.phrases import phrase

_NUMBER_OF_ROW = re.compile(
    r"(no|nr|n|n°|nº|#|index|idx|point|punkt|row|zeile|ligne|fila|riga|pos|num(ber)?|lfd\.? ?nr)\.?"
)
_UNDERSCORED = re.compile(r"[+-]?\d{1,3}(_\d{3})+([.,]\d+)?")
FEWEST_COLUMNS = 3  # the number of the row, a breakpoint and a value
SHOWN = 3


def tidied(rows: Rows, lines: Sequence[int]) -> tuple[list[list[str]], list[str]] | None:
    """Return the cells without them, and what was done, as sentences; None where there is nothing of the kind.

    Args:
        rows: cells, stripped.
        lines: line of the source, from 1, for every row.
    """
    made, notes = [list(row) for row in rows], list[str]()
    if any(_UNDERSCORED.fullmatch(cell) for row in made for cell in row):
        made = [[cell.replace("_", "") if _UNDERSCORED.fullmatch(cell) else cell for cell in row] for row in made]
        notes.append("Underscores between thousands were removed.")
    twice = [at for at in range(1, len(made)) if made[at] == made[at - 1] and any(made[at])]
    if twice:
        shown = [phrase("line {line}", line=lines[at]) for at in twice[:SHOWN]]
        notes.append(phrase("A row that stands twice was read once: {lines}.", lines=listed(shown, len(twice))))
        made = [row for at, row in enumerate(made) if at not in twice]
    if _are_numbered(made):
        notes.append(phrase("The column {name!r}, which numbers the rows, was left out.", name=made[0][0]))
        made = [row[1:] for row in made]
    return (made, notes) if notes else None


def _are_numbered(rows: Rows) -> bool:
    if (
        len(rows) < FEWEST_COLUMNS
        or len(rows[0]) < FEWEST_COLUMNS
        or not _NUMBER_OF_ROW.fullmatch(rows[0][0].casefold())
    ):
        return False
    numbers = [row[0] for row in rows[1:] if row]
    return any(numbers == [str(at + first) for at in range(len(numbers))] for first in (0, 1))
