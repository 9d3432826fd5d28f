"""One lane of a log: its traces drawn from their pyramids, the spans behind them, and the ribbon over all lanes."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import pyqtgraph
from PySide6.QtCore import QObject, Qt
from PySide6.QtGui import QColor, QFont, QFontMetrics

from workbench.model.arrays import FloatArray
from workbench.window.kit.plots import faint, pen, space_ticks
from workbench.window.kit.spans import NO_SPANS, SpanItem, Spans
from workbench.window.kit.theme import Theme
from workbench.window.log.pyramid import Pyramid
from workbench.window.scene.last_drawn import LastDrawn

COLOURS = ("ink", "accent", "attention", "soft")
SPACING = 3
RIBBON_PX = 14
STYLES = (Qt.PenStyle.SolidLine, Qt.PenStyle.SolidLine, Qt.PenStyle.SolidLine, Qt.PenStyle.DashLine)


@dataclass(frozen=True, eq=False)
class Trace:
    """A channel as a lane draws it."""

    name: str
    unit: str
    pyramid: Pyramid
    colour: str = ""  # a field of Theme; by default the next in turn
    delayed: bool = False  # drawn where the delay puts it, and dragged to try another


@dataclass(frozen=True, eq=False)
class Lane:
    """What one lane shows: its caption, and its traces, which share a unit and a scale."""

    caption: str
    traces: tuple[Trace, ...]
    limits: tuple[float, float]
    key: str = ""  # the first channel, by which what the user set for the lane is found again


NO_LANE = Lane("", (), (0.0, 1.0))


def limits_of(values: Sequence[FloatArray]) -> tuple[float, float]:
    """Choose a scale that leaves one sample in a thousand outside, and some air."""
    some = np.concatenate([v[:: max(1, len(v) // 20000)] for v in values] or [np.zeros(1)])
    some = some[np.isfinite(some)]
    if not some.size:
        return 0.0, 1.0
    low, high = (float(edge) for edge in np.quantile(some, (0.001, 0.999)))
    air = max((high - low) * 0.1, abs(high) * 0.01, 1e-6)
    return low - air, high + air


def colour_of(lane: "Lane", index: int, theme: Theme) -> str:
    """Return the colour a lane draws one of its traces in."""
    return str(getattr(theme, lane.traces[index].colour or COLOURS[index % len(COLOURS)]))


@dataclass(frozen=True, eq=False)
class Marks:
    """What the ribbon over the lanes shows: stretches of closed loop and of full throttle, and cautions, s."""

    closed: Spans = NO_SPANS
    full: Spans = NO_SPANS
    cautions: tuple[tuple[float, str], ...] = ()


class Ribbon(QObject):
    """The narrow lane on top: what state the engine was in, and where care is called for."""

    def __init__(self, view: Any, parent: QObject) -> None:
        """Put it in the first row of a layout of graphics."""
        super().__init__(parent)
        self.box: Any = view.ci.addViewBox(row=0, col=1, enableMenu=False)
        self.box.setMouseEnabled(x=True, y=False)
        self.box.setYRange(0, 1, padding=0)
        view.ci.layout.setRowFixedHeight(0, RIBBON_PX)
        self._closed, self._full = SpanItem(), SpanItem()
        for span in (self._closed, self._full):
            self.box.addItem(span, ignoreBounds=True)
        self._signs: Any = pyqtgraph.ScatterPlotItem(pxMode=True)
        self.box.addItem(self._signs, ignoreBounds=True)

    def show(self, marks: Marks, theme: Theme) -> None:
        """Take other marks."""
        self._closed.show_spans(marks.closed, faint(theme.soft, 120), Qt.BrushStyle.Dense4Pattern)
        self._full.show_spans(marks.full, QColor(theme.attention))
        times = [time for time, _ in marks.cautions if math.isfinite(time)]
        ink = QColor(theme.ink)
        self._signs.setData(times, [0.5] * len(times), symbol="t1", size=RIBBON_PX - 3, brush=ink, pen=None)

    def draw(self, low: float, high: float) -> None:
        """Cover what lies between two times."""
        for span in (self._closed, self._full):
            span.spread(low, high, 0, 1)


class LanePlot(QObject):
    """The plot of one lane; it is made once and shows one lane after the other."""

    def __init__(self, row: int, view: Any, parent: QObject) -> None:
        """Put it in a row of a layout of graphics."""
        super().__init__(parent)
        self.lane, self.limits = NO_LANE, NO_LANE.limits
        self._last = LastDrawn()
        self.box: Any = view.ci.addViewBox(row=row, col=1, enableMenu=False)
        self.box.setMouseEnabled(x=True, y=False)
        self.axis: Any = pyqtgraph.AxisItem("left")
        self.axis.linkToView(self.box)
        view.ci.addItem(self.axis, row=row, col=0)
        self.shade, self.lit, self.region = SpanItem(), SpanItem(), SpanItem()
        for span in (self.shade, self.lit, self.region):
            self.box.addItem(span, ignoreBounds=True)
        self.curves: list[Any] = []
        self.cursor: Any = pyqtgraph.InfiniteLine(angle=90, movable=False)
        self.cursor.hide()
        self.box.addItem(self.cursor, ignoreBounds=True)

    def show(self, lane: Lane, theme: Theme, font: QFont, limits: tuple[float, float] | None = None) -> bool:
        """Show another lane, on a scale of its own if one is given; give whether anything changed."""
        if not self._last.is_other(lane, theme, font.key(), limits):
            return False
        self.lane, self.limits = lane, limits or lane.limits
        dress_axis(self.axis, theme, font)
        self.axis.setWidth(axis_width(font))
        self.box.setYRange(*self.limits, padding=0)
        while len(self.curves) > len(lane.traces):
            self.box.removeItem(self.curves.pop())
        while len(self.curves) < len(lane.traces):
            curve: Any = pyqtgraph.PlotCurveItem(skipFiniteCheck=False)
            curve.setSegmentedLineMode("on")
            self.box.addItem(curve, ignoreBounds=True)
            self.curves.append(curve)
        width = 1.0 if theme.name != "sun" else 2.0
        for index, curve in enumerate(self.curves):
            curve.setPen(pen(colour_of(lane, index, theme), width, STYLES[index % len(STYLES)]))
            curve.setPos(0, 0)
        self.cursor.setPen(pen(theme.attention, 1.4))
        return True

    def blank(self) -> None:
        """Draw nothing until another lane is shown: what is seen must not be of two logs."""
        self._last.forget()
        for curve in self.curves:
            curve.setData([], [])
        for span in (self.shade, self.lit, self.region):
            span.show_spans(NO_SPANS, QColor())

    def draw(self, low: float, high: float, pixels: int) -> None:
        """Draw what lies between two times."""
        for span in (self.shade, self.lit, self.region):
            span.spread(low, high, *self.limits)
        for trace, curve in zip(self.lane.traces, self.curves, strict=True):
            x, y, pairs = trace.pyramid.reduced(low, high, pixels)
            curve.setData(x, y, connect="pairs" if pairs else "finite", skipFiniteCheck=pairs)


def small_font(font: QFont) -> QFont:
    """Return the font of the figures along an axis."""
    small = QFont(font)
    small.setPointSizeF(max(8.0, font.pointSizeF() * 0.85))
    return small


def axis_width(font: QFont) -> int:
    """Leave room for five digits."""
    return QFontMetrics(small_font(font)).horizontalAdvance("88888") + 10


def dress_axis(axis: Any, theme: Theme, font: QFont) -> None:
    """Put an axis into a theme, with few figures."""
    metrics = QFontMetrics(small_font(font))
    # Above and below a digit its line holds nothing that a neighbour would lie over.
    over = (metrics.height() - metrics.capHeight()) // 2 + 1
    axis.setStyle(tickLength=3, autoExpandTextSpace=False, hideOverlappingLabels=over)
    space_ticks(axis, small_font(font), upright=axis.orientation == "left", inside=True)
    axis.setPen(pen(theme.line))
    axis.setTextPen(QColor(theme.soft))
    axis.setTickFont(small_font(font))
    axis.enableAutoSIPrefix(False)
