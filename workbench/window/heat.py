"""A grid as a picture true to its axes: one rectangle per cell, the engine's trail and the chosen cells over it."""

import numpy as np
from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QImage, QPainter
from PySide6.QtWidgets import QGraphicsItem, QStyleOptionGraphicsItem, QWidget

from workbench.model.arrays import BoolArray, FloatArray
from workbench.window.plots import faint, pen
from workbench.window.theme import LIGHT, Theme


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
        self._ringed: BoolArray = np.zeros((1, 1), dtype=np.bool_)
        self._trail = np.zeros((0, 2))
        self._current: tuple[int, ...] = ()

    def show_cells(
        self, rows: FloatArray, columns: FloatArray, colours: np.ndarray, undriven: BoolArray, theme: Theme
    ) -> None:
        """Take breakpoints, fills (rows, columns, 3) and the cells that get a ring as they are undriven."""
        self.prepareGeometryChange()
        self._xs, self._ys = edges(columns), edges(rows)
        self._colours, self._ringed, self._theme = colours, undriven, theme
        self.update()

    def show_chosen(self, chosen: BoolArray, current: tuple[int, ...]) -> None:
        """Mark chosen cells and the current one."""
        self._chosen, self._current = chosen, current
        self.update()

    def show_trail(self, trail: FloatArray) -> None:
        """Draw where the engine was, shape (n, 2) as row axis, column axis."""
        self._trail = trail
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
        for row in range(high):
            for column in range(wide):
                painter.fillRect(self._place(row, column), QColor(*self._colours[row, column].tolist()))
        painter.setPen(pen(self._theme.card, 1))
        painter.drawLines(self._grid_lines())
        dots = pen(faint(self._theme.ink, 140).name(QColor.NameFormat.HexArgb), 2.6)
        dots.setCapStyle(Qt.PenCapStyle.RoundCap)
        painter.setPen(dots)
        if len(self._trail):
            painter.drawPoints([QPointF(float(x), float(y)) for y, x in self._trail])
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.setPen(pen(self._theme.accent, 2))
        for row, column in np.argwhere(self._chosen):
            painter.drawRect(self._place(int(row), int(column)))
        if len(self._current) == 2 and self._current[0] < high and self._current[1] < wide:
            painter.setPen(pen(self._theme.card, 5))
            painter.drawRect(self._place(*self._current))
            painter.setPen(pen(self._theme.attention, 3))
            painter.drawRect(self._place(*self._current))

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


def strip_image(ramp: FloatArray) -> QImage:
    """Draw a ramp of colours as one row, for a legend."""
    colours = np.ascontiguousarray(np.round(np.clip(ramp, 0, 1) * 255).astype(np.uint8)[None])
    return QImage(colours.tobytes(), colours.shape[1], 1, 3 * colours.shape[1], QImage.Format.Format_RGB888).copy()
