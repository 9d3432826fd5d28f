"""Tables fitted to a width: how wide each column is, how small the figures, and where words are broken."""

import math
from dataclasses import dataclass

from workbench.files.export.blocks import Rows
from workbench.files.export.type_setting import broken, width_of
from workbench.phrases import harmless

PAD, GAP = 2.6, 14.0
LEADING = 1.32
LARGEST, MIDDLE, SMALLEST = (
    8.0,
    7.0,
    5.5,
)  # size of figures, pt: smaller ones are not read off paper (common practice, no source)
FLOWING = (7.0, 6.2)  # sizes of tables in several columns
NARROWEST = 46.0  # pt of a column of words


@dataclass(frozen=True)
class Ruled:
    """A table, or a band of its columns, as it is set.

    Attributes:
        head, rows: lines of each cell.
        widths: of the columns, pt.
        head_height, heights: of the rows, pt.
        size: of the figures, pt.
        words: columns set to the left.
        flow: whether it may stand in several columns.
        source: the rows it was made of, for their shades.
        columns: which columns of those it holds.
    """

    head: tuple[tuple[str, ...], ...]
    rows: tuple[tuple[tuple[str, ...], ...], ...]
    widths: tuple[float, ...]
    head_height: float
    heights: tuple[float, ...]
    size: float
    words: frozenset[int]
    flow: bool
    source: Rows
    columns: tuple[int, ...]

    @property
    def width(self) -> float:
        """Width of the whole, pt."""
        return sum(self.widths)

    def shade(self, row: int, column: int) -> float | None:
        """Return the shade of a cell."""
        return self.source.shade(row, self.columns[column])


def ruled(block: Rows, wide: float) -> list[Ruled]:
    """Fit a table to a width: with smaller figures if need be, and in bands of columns where those are too many.

    Args:
        block: the table.
        wide: pt.
    """
    columns = tuple(range(len(block.head)))
    if block.flow:
        size = max(FLOWING, key=lambda each: (columns_in(wide, sum(_natural(block, each))), each))
        if sum(widths := _natural(block, size)) <= wide:
            return [_set(block, columns, widths, size)]
    natural = {size: _natural(block, size) for size in (MIDDLE if block.dense else LARGEST, MIDDLE, 6.2, SMALLEST)}
    for size, widths in natural.items():
        if sum(widths) <= wide:
            return [_set(block, columns, widths, size)]
    if block.words:
        return [_set(block, columns, _squeezed(block, natural[MIDDLE], wide), MIDDLE)]
    widths = natural[SMALLEST]
    first, others = widths[0], widths[1:]
    each = max(1, int((wide - first) // max(others)))
    each = math.ceil(len(others) / math.ceil(len(others) / each))  # bands of about the same width
    found = []
    for begin in range(1, len(widths), each):
        band = (0, *range(begin, min(begin + each, len(widths))))
        found.append(_set(block, band, [widths[c] for c in band], SMALLEST))
    return found


def columns_in(wide: float, each: float) -> int:
    """Count how many columns of a width stand side by side, pt."""
    return max(1, int((wide + GAP) // (each + GAP)))


def _natural(block: Rows, size: float) -> list[float]:
    found = []
    for column, head in enumerate(block.head):
        head_parts = [head] if column in block.words else head.split(" ") or [""]
        least = max((width_of(harmless(part), size, bold=True) for part in head_parts), default=0.0)
        cells = max((width_of(harmless(row[column]), size) for row in block.rows), default=0.0)
        found.append(max(least, cells) + 2 * PAD)
    return found


def _squeezed(block: Rows, widths: list[float], wide: float) -> list[float]:
    """Take from the widest columns of words until all fit."""
    widths = list(widths)
    narrow = [min(widths[c], NARROWEST) if c in block.words else widths[c] for c in range(len(widths))]
    over = sum(widths) - wide
    while over > 0.01:
        free = [c for c in block.words if widths[c] > narrow[c] + 0.01]
        if not free:
            scale = wide / sum(widths)
            return [each * scale for each in widths]
        most = max(widths[c] for c in free)
        widest = [c for c in free if widths[c] > most - 0.01]
        below = max([widths[c] for c in free if c not in widest] + [narrow[c] for c in widest])
        step = min(over / len(widest), max(most - below, 0.5))
        for column in widest:
            widths[column] -= step
        over -= step * len(widest)
    return widths


def _set(block: Rows, columns: tuple[int, ...], widths: list[float], size: float) -> Ruled:
    def lines(text: str, column: int, *, bold: bool = False) -> tuple[str, ...]:
        return tuple(broken(harmless(text), widths[column] - 2 * PAD + 0.2, size, bold=bold))

    head = tuple(lines(block.head[c], i, bold=True) for i, c in enumerate(columns))
    rows = tuple(tuple(lines(row[c], i) for i, c in enumerate(columns)) for row in block.rows)

    def height(cells: tuple[tuple[str, ...], ...]) -> float:
        most = max((len(cell) for cell in cells), default=1)
        return size * (LEADING * (most - 1) + 1.0) + (0.95 if block.dense else 1.9) * PAD

    words = frozenset(i for i, c in enumerate(columns) if c in block.words)
    return Ruled(
        head, rows, tuple(widths), height(head), tuple(map(height, rows)), size, words, block.flow, block, columns
    )
