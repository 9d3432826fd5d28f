"""A grid as a picture true to its axes: one rectangle per cell, the engine's trail and the chosen cells over it."""

import numpy as np
from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QColor, QImage, QPainter, QPaintEvent
from PySide6.QtWidgets import QGraphicsItem, QStyleOptionGraphicsItem, QWidget

from workbench.model.arrays import BoolArray, FloatArray
from workbench.window.kit.plots import faint, pen
from workbench.window.kit.theme import LIGHT, Theme
from workbench.window.words.wording import tr

STEPS = 64
OPAQUE = 0xFF000000
HATCH_PX = 6  # between the lines of a hatched cell
SPARSE_PX = 9  # between those of an inferred one, which lean the other way: its number is still to be read off


def edges(points: FloatArray) -> FloatArray:
    """Lay borders half way between breakpoints, shape (n + 1,)."""
    if points.size == 1:
        return np.array([points[0] - 0.5, points[0] + 0.5])
    middles = (points[1:] + points[:-1]) / 2
    return np.concatenate([[2 * points[0] - middles[0]], middles, [2 * points[-1] - middles[-1]]])


class HeatItem(QGraphicsItem):
    """Draws the cells, in axis units: columns to the right, rows upward."""

    def __init__(self) -> None:
        """Begin empty."""
        super().__init__()
        self._theme: Theme = LIGHT
        self._xs = self._ys = np.array([0.0, 1.0])
        self._colours = np.zeros((1, 1, 3), dtype=np.uint8)
        self._chosen: BoolArray = np.zeros((1, 1), dtype=np.bool_)
        self._unknown: BoolArray = np.zeros((1, 1), dtype=np.bool_)
        self._dots: list[QPointF] = []
        self._lines: list[QPointF] = []
        self._codes = np.zeros((1, 1), dtype=np.int64)
        self._current: tuple[int, ...] = ()
        self._inferred = self._cliffs = self._chosen

    def show_cells(
        self, rows: FloatArray, columns: FloatArray, colours: np.ndarray, unknown: BoolArray, theme: Theme
    ) -> None:
        """Take breakpoints, fills (rows, columns, 3) and the cells that are hatched, as nothing is known of them."""
        self.prepareGeometryChange()
        self._xs, self._ys = edges(columns), edges(rows)
        self._colours, self._unknown, self._theme = colours, unknown, theme
        self._codes = OPAQUE + colours.astype(np.int64) @ np.array([65536, 256, 1])
        self._lines = self._grid_lines()
        self.update()

    def show_marks(self, inferred: BoolArray, cliffs: BoolArray) -> None:
        """Mark cells that were never measured, and those beside a cliff."""
        self._inferred, self._cliffs = inferred, cliffs
        self.update()

    def show_chosen(self, chosen: BoolArray, current: tuple[int, ...]) -> None:
        """Mark chosen cells and the current one."""
        self._chosen, self._current = chosen, current
        self.update()

    def show_trail(self, trail: FloatArray) -> None:
        """Draw where the engine was, shape (n, 2) as row axis, column axis."""
        self._dots = [QPointF(x, y) for y, x in trail.tolist()]
        self.update()

    def boundingRect(self) -> QRectF:
        """Cover all cells."""
        return QRectF(
            QPointF(float(self._xs[0]), float(self._ys[0])), QPointF(float(self._xs[-1]), float(self._ys[-1]))
        )

    def paint(self, painter: QPainter, option: QStyleOptionGraphicsItem, widget: QWidget | None = None) -> None:
        """Fill the cells, then lay marks over them."""
        del option, widget
        high, wide = self._colours.shape[:2]
        self._paint_fills(painter)
        painter.setPen(pen(self._theme.card, 1))
        painter.drawLines(self._lines)
        trail = self._dots
        # A rim in the card's colour keeps the dots off fills that are as dark, or as bright, as they are.
        for shade, alpha, width in ((self._theme.card, 110, 4.2), (self._theme.ink, 160, 2.4)) if trail else ():
            dots = pen(faint(shade, alpha).name(QColor.NameFormat.HexArgb), width)
            dots.setCapStyle(Qt.PenCapStyle.RoundCap)
            painter.setPen(dots)
            painter.drawPoints(trail)
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.setPen(pen(self._theme.attention, 3))
        for row, column in np.argwhere(self._cliffs[:high, :wide]):  # a draft may have fewer breakpoints
            painter.drawRect(self._place(int(row), int(column)))
        painter.setPen(pen(self._theme.accent, 2))
        for row, column in np.argwhere(self._chosen[:high, :wide]):
            painter.drawRect(self._place(int(row), int(column)))
        if len(self._current) == 2 and self._current[0] < high and self._current[1] < wide:
            painter.setPen(pen(self._theme.card, 5))
            painter.drawRect(self._place(*self._current))
            painter.setPen(pen(self._theme.attention, 3))
            painter.drawRect(self._place(*self._current))

    def _paint_fills(self, painter: QPainter) -> None:
        """Fill all cells at once, as a picture with a colour for each pixel: thousands of fills would take too long."""
        way = painter.worldTransform()
        seen = way.mapRect(self.boundingRect()).toAlignedRect().intersected(painter.viewport())
        if seen.isEmpty() or not way.m11() or not way.m22():
            return
        xs = (np.arange(seen.left(), seen.right() + 1) + 0.5 - way.dx()) / way.m11()
        ys = (np.arange(seen.top(), seen.bottom() + 1) + 0.5 - way.dy()) / way.m22()
        columns, rows = np.searchsorted(self._xs, xs) - 1, np.searchsorted(self._ys, ys) - 1
        high, wide = self._colours.shape[:2]
        inside = ((rows >= 0) & (rows < high))[:, None] & ((columns >= 0) & (columns < wide))
        cell = rows.clip(0, high - 1)[:, None], columns.clip(0, wide - 1)
        codes = self._codes[cell]
        # In pixels: lines from corner to corner of unequal cells join into what looks like contours.
        down, across = np.arange(seen.top(), seen.bottom() + 1)[:, None], np.arange(seen.left(), seen.right() + 1)
        hatch = QColor(self._theme.soft).rgb()
        for marked, place, apart in (
            (self._unknown, down + across, HATCH_PX),
            (self._inferred, down - across, SPARSE_PX),
        ):
            if marked.any() and marked.shape == self._codes.shape:
                codes = np.where(marked[cell] & (place % apart == 0), hatch, codes)
        pixels = np.ascontiguousarray(np.where(inside, codes, 0).astype(np.uint32))
        picture = QImage(
            pixels.data, seen.width(), seen.height(), 4 * seen.width(), QImage.Format.Format_ARGB32_Premultiplied
        )
        painter.save()
        painter.resetTransform()
        painter.drawImage(seen.topLeft(), picture)
        painter.restore()

    def _grid_lines(self) -> list[QPointF]:
        points = []
        for x in self._xs:
            points += [QPointF(float(x), float(self._ys[0])), QPointF(float(x), float(self._ys[-1]))]
        for y in self._ys:
            points += [QPointF(float(self._xs[0]), float(y)), QPointF(float(self._xs[-1]), float(y))]
        return points

    def _place(self, row: int, column: int) -> QRectF:
        return QRectF(
            QPointF(float(self._xs[column]), float(self._ys[row])),
            QPointF(float(self._xs[column + 1]), float(self._ys[row + 1])),
        )


class ColourScale(QWidget):
    """The colours of a picture from the lowest number to the highest, with both named."""

    def __init__(self, parent: QWidget) -> None:
        """Make it empty."""
        super().__init__(parent)
        self.setAccessibleName(tr("Colour scale"))
        self._colours: list[QColor] = []
        self._ends, self._ink = ("", ""), QColor()

    def show_scale(self, ramp: FloatArray, ends: tuple[str, str], theme: Theme) -> None:
        """Take the colours, shape (n, 3), and what the ends stand for."""
        chosen = np.round(np.clip(ramp[:: max(1, len(ramp) // STEPS)], 0, 1) * 255).astype(int)
        self._colours = [QColor(*colour) for colour in chosen.tolist()]
        self._ends, self._ink = ends, QColor(theme.soft)
        self.setToolTip(tr("from {low} to {high}").format(low=ends[0], high=ends[1]))
        self.updateGeometry()
        self.update()

    def sizeHint(self) -> QSize:
        """Ask for one line."""
        return QSize(120, self.fontMetrics().height() + 2)

    def minimumSizeHint(self) -> QSize:
        """Require one line."""
        return QSize(60, self.sizeHint().height())

    def paintEvent(self, event: QPaintEvent) -> None:
        """Draw the strip between its two names."""
        del event
        if not self._colours or not any(self._ends):
            return
        painter = QPainter(self)
        metrics = self.fontMetrics()
        low, high = (metrics.horizontalAdvance(text) + 6 for text in self._ends)
        place = QRectF(self.rect())
        painter.setPen(self._ink)
        painter.drawText(place, Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter, self._ends[0])
        painter.drawText(place, Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter, self._ends[1])
        strip = place.adjusted(low, 4, -high, -4)
        wide = strip.width() / len(self._colours)
        for i, colour in enumerate(self._colours):
            painter.fillRect(QRectF(strip.left() + i * wide, strip.top(), wide + 0.5, strip.height()), colour)
        painter.end()
