"""Stretches of time, and how they are drawn behind and over the lanes of a log."""

from dataclasses import dataclass

import numpy as np
from PySide6.QtCore import QRectF, Qt
from PySide6.QtGui import QBrush, QColor, QPainter
from PySide6.QtWidgets import QGraphicsItem, QStyleOptionGraphicsItem, QWidget

from workbench.model.arrays import BoolArray, FloatArray


@dataclass(frozen=True, eq=False)
class Spans:
    """Stretches of time in order, without overlap; both arrays of shape (n,), s."""

    starts: FloatArray
    stops: FloatArray

    def seen(self, low: float, high: float, pixels: int) -> "Spans":
        """Return those between two times, joined where they are closer than a pixel."""
        first = int(np.searchsorted(self.stops, low))
        last = int(np.searchsorted(self.starts, high, side="right"))
        starts, stops = self.starts[first:last], self.stops[first:last]
        if len(starts) < 2 or high <= low:
            return Spans(starts, stops)
        near = (starts[1:] - stops[:-1]) < (high - low) / max(pixels, 1)
        return Spans(starts[np.append(True, ~near)], stops[np.append(~near, True)])


NO_SPANS = Spans(np.zeros(0), np.zeros(0))


def spans_of(marked: BoolArray, time: FloatArray) -> Spans:
    """Find the stretches in which rows are marked; each lasts until the next row, or its own if it is the last."""
    if not len(time):
        return NO_SPANS
    edges = np.flatnonzero(np.diff(np.concatenate([[False], marked, [False]]).astype(np.int8)))
    starts, stops = edges[0::2], edges[1::2]
    return Spans(time[starts], time[np.minimum(stops, len(time) - 1)])


class SpanItem(QGraphicsItem):
    """Draws stretches of time over the whole height of a lane, or along its upper edge."""

    def __init__(self, *, ribbon: bool = False) -> None:
        """Make it empty; a ribbon runs along the upper edge."""
        super().__init__()
        self._spans, self._brush, self._ribbon = NO_SPANS, QBrush(), ribbon
        self._place = QRectF(0, 0, 1, 1)
        self.setZValue(-50 if not ribbon else 20)

    def show_spans(self, spans: Spans, colour: QColor, pattern: Qt.BrushStyle = Qt.BrushStyle.SolidPattern) -> None:
        """Take other stretches."""
        self._spans, self._brush = spans, QBrush(colour, pattern)
        self.update()

    def spread(self, low: float, high: float, bottom: float, top: float) -> None:
        """Cover what the lane shows, in its units."""
        self.prepareGeometryChange()
        self._place = QRectF(low, bottom, max(high - low, 1e-12), max(top - bottom, 1e-12))

    def boundingRect(self) -> QRectF:
        """Cover what the lane shows."""
        return self._place

    def paint(self, painter: QPainter, option: QStyleOptionGraphicsItem, widget: QWidget | None = None) -> None:
        """Fill the stretches that are seen; patterns keep their size on the screen."""
        del option, widget
        place, matrix = self._place, painter.worldTransform()
        shown = matrix.mapRect(place)
        spans = self._spans.seen(place.left(), place.right(), int(shown.width()))
        painter.save()
        painter.resetTransform()
        scale, left = shown.width() / place.width(), shown.left()
        high = 6.0 if self._ribbon else shown.height()
        for start, stop in zip(spans.starts.tolist(), spans.stops.tolist(), strict=True):
            x = left + (max(start, place.left()) - place.left()) * scale
            wide = (min(stop, place.right()) - max(start, place.left())) * scale
            painter.fillRect(QRectF(x, shown.top(), max(wide, 1.0), high), self._brush)
        painter.restore()
