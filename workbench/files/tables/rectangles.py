"""The rectangles of numbers in cells that people laid out, found before anything is known of what they mean."""

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from itertools import pairwise

import numpy as np

from workbench.files.tables.cells import Decimal, decimals_of, with_unit_apart
from workbench.files.vocabulary.units import find_unit

MOST_CELLS = 200_000
NUMBER_OF_ROW = re.compile(
    r"(no|nr|n|n°|nº|#|index|idx|point|punkt|row|zeile|ligne|fila|riga|pos|num(ber)?|lfd\.? ?nr)\.?"
)
Rows = list[list[str]]


@dataclass
class Sheet:
    """Cells in rows of one length, with the number of each where it is one; no row and no column is empty.

    Attributes:
        source: what they came from.
        texts: the cells.
        numbers: the same as numbers; NaN where a cell is none, shape (rows, columns).
        units: and the unit behind each number; empty where there is none.
        lines: line of the source, from 1, for every row.
        gaps: columns before which an empty one stood.
        decimal: how its numbers are written.
        notes: what was left out or turned round.
    """

    source: str
    texts: Rows
    numbers: np.ndarray
    units: Rows
    lines: list[int]
    gaps: frozenset[int]
    decimal: Decimal
    notes: list[str] = field(default_factory=list)

    @cached_property
    def known(self) -> np.ndarray:
        """Mark the cells that are numbers."""
        known: np.ndarray = np.isfinite(self.numbers)
        return known

    def text(self, row: int, column: int) -> str:
        """Return the text of a cell that is no number; empty where it is one, or none."""
        inside = 0 <= row < len(self.texts) and 0 <= column < self.numbers.shape[1]
        return "" if not inside or self.known[row, column] else self.texts[row][column]

    def labels(self, row: int) -> list[int]:
        """List the columns of a row that hold text."""
        return [column for column in range(self.numbers.shape[1]) if self.text(row, column)]

    def is_units(self, row: int) -> bool:
        """Tell whether a row holds nothing but units."""
        held = self.labels(row)
        return bool(held) and not self.known[row].any() and all(find_unit(bare(self.text(row, c))) for c in held)


@dataclass(frozen=True)
class Body:
    """A rectangle of numbers: its rows, and its columns.

    Attributes:
        across: the row of column breakpoints above it; None for a curve.
    """

    rows: tuple[int, ...]
    columns: tuple[int, ...]
    across: int | None = None


def bare(text: str) -> str:
    """Take the brackets off a unit."""
    return text.strip().strip("[](){}").strip()


def sheet_of(rows: Rows, lines: Sequence[int], source: str) -> Sheet | None:
    """Take rows and columns away that hold nothing, and read the numbers."""
    ruled = [bool(row) and all(set(cell) <= set("-:= ") and cell for cell in row if cell) for row in rows]
    kept = [i for i, row in enumerate(rows) if any(row) and not ruled[i]]
    width = max((len(rows[i]) for i in kept), default=0)
    if len(kept) < 2 or width < 2 or len(kept) * width > MOST_CELLS:
        return None
    padded = [rows[i] + [""] * (width - len(rows[i])) for i in kept]
    filled = [column for column in range(width) if any(row[column] for row in padded)]
    texts = [[row[column] for column in filled] for row in padded]
    gaps = frozenset(i for i, (a, b) in enumerate(pairwise(filled), 1) if b > a + 1)
    apart = [[with_unit_apart(cell) for cell in row] for row in texts]
    decimals, _ = decimals_of([number for row in apart for number, _ in row])
    if len(decimals) != 1:
        return None
    numbers = [[decimals[0].number(number) for number, _ in row] for row in apart]
    values = np.array([[np.nan if number is None else number for number in row] for row in numbers])
    units = [[unit for _, unit in row] for row in apart]
    return Sheet(source, texts, values, units, [lines[i] for i in kept], gaps, decimals[0])


def bodies_of(sheet: Sheet) -> Iterator[Body]:
    """Find rectangles of numbers, from the top down: grids below a row of breakpoints, else curves."""
    at, rows = 0, len(sheet.texts)
    while at < rows:
        body = _grid_from(sheet, at) or _curve_from(sheet, at)
        if body is None:
            at += 1
            continue
        at = body.rows[-1] + 1
        yield from _side_by_side(sheet, body)


def _columns(sheet: Sheet, row: int) -> tuple[int, ...]:
    return tuple(int(column) for column in np.flatnonzero(sheet.known[row]))


def _run(sheet: Sheet, first: int, columns: tuple[int, ...]) -> tuple[int, ...]:
    """Take rows as long as they hold numbers in all of some columns."""
    last = first
    while last < len(sheet.texts) and sheet.known[last, list(columns)].all():
        last += 1
    return tuple(range(first, last))


def _grid_from(sheet: Sheet, at: int) -> Body | None:
    """Find a grid whose column breakpoints stand in a row."""
    across = _columns(sheet, at)
    below = at + 1
    while below < len(sheet.texts) and sheet.is_units(below):
        below += 1
    if len(across) < 2 or below >= len(sheet.texts):
        return None
    under = _columns(sheet, below)
    sides = [column for column in under if column < across[0]]
    if len(sides) != 1 or not set(across) <= set(under):
        return None
    columns = (sides[0], *across)
    rows = _run(sheet, below, columns)
    return Body(rows, columns, at) if rows else None


def _curve_from(sheet: Sheet, at: int) -> Body | None:
    columns = _columns(sheet, at)
    if len(columns) < 2:
        return None
    last = at
    while last < len(sheet.texts) and np.array_equal(sheet.known[last], sheet.known[at]):
        last += 1
    return Body(tuple(range(at, last)), columns) if last > at + 1 else None


def _side_by_side(sheet: Sheet, body: Body) -> Iterator[Body]:
    """Part a rectangle where an empty column stands between tables of the same size."""
    cuts = [i for i, column in enumerate(body.columns) if i and column in sheet.gaps]
    if body.across is not None or not cuts or len(body.rows) == 2:
        yield body
        return
    ends = [0, *cuts, len(body.columns)]
    parts = [body.columns[a:b] for a, b in pairwise(ends)]
    if any(len(part) != 2 for part in parts):
        yield body
        return
    yield from (Body(body.rows, part) for part in parts)
