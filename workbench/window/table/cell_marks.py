"""What is painted over and in a cell of the numbers: frames, bar, text, and where the engine is at the cursor."""

from collections.abc import Sequence

import numpy as np
from PySide6.QtCore import QItemSelection, QPointF, QRect, Qt
from PySide6.QtGui import QColor, QPainter, QPen

from workbench.model.arrays import BoolArray

Blocks = tuple[tuple[tuple[int, int], ...], ...]
LEAST_BAR = 2  # px; a shorter mark looks like dirt, and says no more than the number


def paint_frame(painter: QPainter, place: QRect, selected: np.ndarray, at: tuple[int, int], colour: QColor) -> None:
    """Draw the frame of the chosen cells along its outer edges only.

    Args:
        painter: draws.
        place: of the cell.
        selected: which cells are chosen, shape (rows, columns).
        at: row and column of the cell.
        colour: of the frame.
    """
    row, column = at
    x, y, wide, high = place.x(), place.y(), place.width(), place.height()
    padded = np.pad(selected, 1)
    above, below = padded[row, column + 1], padded[row + 2, column + 1]
    before, after = padded[row + 1, column], padded[row + 1, column + 2]
    for covered, edge in (
        (above, (x, y, wide, 2)),
        (below, (x, y + high - 2, wide, 2)),
        (before, (x, y, 2, high)),
        (after, (x + wide - 2, y, 2, high)),
    ):
        if not covered:
            painter.fillRect(QRect(*edge), colour)


def paint_lines(painter: QPainter, place: QRect, lines: Sequence[str], high: int) -> None:
    """Write one text under the other, at the right of a cell, with the pen that is set.

    Args:
        painter: draws.
        place: of the cell without its margin.
        lines: what stands there, the cell's own first.
        high: of a line, px.
    """
    right = int(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
    top = place.top() + (place.height() - high * len(lines)) // 2
    for number, text in enumerate(lines):
        if text:
            painter.drawText(place.left(), top + number * high, place.width(), high, right, text)


def paint_bar(painter: QPainter, place: QRect, lean: float, colour: QColor) -> None:
    """Draw how far and which way, from the middle of the cell's lower edge."""
    half = place.width() // 2 - 3
    length = round(half * min(1.0, abs(lean)))
    if length < LEAST_BAR:
        return
    start = place.left() + place.width() // 2 - (length if lean < 0 else 0)
    painter.fillRect(start, place.bottom() - 3, length, 3, colour)


def paint_current(painter: QPainter, place: QRect, colour: QColor, ground: QColor) -> None:
    """Draw the frame of the cell that has the keyboard, and a line inside that sets it off against any fill."""
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.setPen(QPen(colour, 2))
    painter.drawRect(place.adjusted(1, 1, -1, -1))
    painter.setPen(QPen(ground, 1))
    painter.drawRect(place.adjusted(2, 2, -3, -3))


def paint_spot(painter: QPainter, spot: QPointF, colour: QColor, *, accepted: bool) -> None:
    """Draw where the engine is at the cursor of the log: a ring, with a dot where the sample is accepted."""
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.setPen(QPen(colour, 2.5 if accepted else 1.5))
    painter.drawEllipse(spot, 6, 6)
    if accepted:
        painter.setBrush(colour)
        painter.drawEllipse(spot, 2, 2)
        painter.setBrush(Qt.BrushStyle.NoBrush)


def blocks_of(selection: QItemSelection, cell: tuple[int, ...]) -> Blocks:
    """Give the chosen blocks of a table; none where the current cell alone is chosen."""
    spans = (((part.top(), part.bottom()), (part.left(), part.right())) for part in selection.toList())
    blocks = sorted({span[: len(cell)] for span in spans})
    return () if blocks == [tuple((i, i) for i in cell)] else tuple(blocks)


def mask_of(selection: QItemSelection, shape: tuple[int, int]) -> BoolArray:
    """Mark what is chosen among rows and columns, shape (rows, columns)."""
    mask = np.zeros(shape, dtype=np.bool_)
    for part in selection.toList():
        mask[part.top() : part.bottom() + 1, part.left() : part.right() + 1] = True
    return mask
