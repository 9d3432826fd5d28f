"""The plots of all lanes under each other with their captions: built one per turn of the event loop, and used again."""

import math
from collections.abc import Callable, Sequence
from functools import partial
from typing import Any

import numpy as np
import pyqtgraph
from PySide6.QtCore import QObject, QRect, QRectF, Signal
from PySide6.QtGui import QColor, QFontMetrics
from PySide6.QtWidgets import QWidget

from workbench.window.kit.idle_queue import Turns
from workbench.window.kit.plots import faint
from workbench.window.kit.spans import NO_SPANS, Spans
from workbench.window.kit.theme import LIGHT, Theme
from workbench.window.log.lane_captions import Captions
from workbench.window.log.lane_plot import (
    RIBBON_PX,
    SPACING,
    Lane,
    LanePlot,
    Marks,
    Ribbon,
    axis_width,
    dress_axis,
    small_font,
)
from workbench.window.log.lane_shapes import AS_IT_IS, LOWEST_LINES, LaneShape, Shapes, moved_border, shared_heights

TIME_ROW = 40  # below any lane; rows in between that hold nothing take no room
USUAL_LANES = 4  # that a log is drawn in as a rule, once it was read
LIT = 90  # how much of the accent lies over what speaks for the chosen cells, 0..255


class LaneStack(QObject):
    """Lanes over one time axis.

    Signals:
        ranged: first and last time that are seen, s.
        stepped: a lane was built; how many are built, of how many.
        shaped: heights or scales were set; all of them by the first channel of the lane.
        laid: the lanes stand elsewhere, or are others.
    """

    ranged = Signal(float, float)
    stepped = Signal(int, int)
    shaped = Signal(object)
    laid = Signal()

    def __init__(self, view: Any, gutter: QWidget, parent: QWidget) -> None:
        """Use a view of graphics, and a place for the captions beside it."""
        super().__init__(parent)
        self._view, self._host = view, parent
        self._captions = Captions(gutter, parent)
        self._shapes: dict[str, LaneShape] = {}
        self._lanes: tuple[Lane, ...] = ()  # all that are to be shown, built or not
        self.current: int | None = None  # the lane that keys work on
        view.ci.layout.setContentsMargins(0, 0, 0, 0)
        view.ci.layout.setVerticalSpacing(SPACING)
        self.plots: list[LanePlot] = []
        self._ribbon: Ribbon | None = None
        self._time_axis: Any = None
        self._theme: Theme = LIGHT
        self._range, self._pixels, self._following = (0.0, 1.0), 50, False
        self._row: int | None = None
        self._spans = (NO_SPANS, NO_SPANS, NO_SPANS)
        self._cursor: float | None = None
        self._turns = Turns(self)

    def show(
        self,
        lanes: Sequence[Lane],
        theme: Theme,
        limits: tuple[float, float],
        seen: tuple[float, float],
        marks: Marks,
        shapes: Shapes | None = None,
    ) -> None:
        """Show other lanes, one per turn of the event loop.

        Args:
            lanes: from the top down.
            theme: their colours.
            limits: first and last time of the log, s.
            seen: the stretch that is seen at first, s.
            marks: what the ribbon shows.
            shapes: how the user set lanes.
        """
        other_log = bool(self.plots) and not any(plot.lane in lanes for plot in self.plots)
        for plot in self.plots if other_log else ():
            plot.blank()
        if other_log:
            self._row, self._spans = None, (NO_SPANS, NO_SPANS, NO_SPANS)
        self._theme = theme
        self._view.setBackground(QColor(theme.card))
        while len(self.plots) > len(lanes):
            self._drop(self.plots.pop())
        built = tuple(lanes)
        self._lanes, self._shapes = built, dict(shapes or {})
        if self.current is not None and self.current >= len(built):
            self.current = None
        self._turns.drop()
        self._turns.put(lambda: self._captions.lay(built, self._theme, self._axis_height()))
        self._turns.put(*(partial(self._build, row, built, limits, seen, marks) for row in range(1, len(built) + 1)))
        self._turns.put(self._fill if built else lambda: self._lay_frame(marks, shown=False), self.laid.emit)

    def finish(self) -> None:
        """Build what is still to be built, now."""
        self._turns.finish()

    @property
    def building(self) -> bool:
        """Whether some lanes are still to be built."""
        return self._turns.waiting

    def _build(
        self, row: int, lanes: tuple[Lane, ...], limits: tuple[float, float], seen: tuple[float, float], marks: Marks
    ) -> None:
        """Build the lane of a row, counted from 1."""
        if row > len(self.plots):
            self._add(row)
        if row == 1:
            self._lay_frame(marks, shown=True)
        self._share_out()
        self._fill()
        lane, plot = lanes[row - 1], self.plots[row - 1]
        changed = plot.show(lane, self._theme, self._host.font(), self._shape(lane).limits)
        self._following = True  # new limits push a lane that shows another time, as a new one does: nobody moved it
        plot.box.setLimits(xMin=limits[0] - 1, xMax=limits[1] + 1, minXRange=1e-3)
        if row == 1:
            self._spread(*seen)
        self._following = True
        plot.box.setXRange(*self._range, padding=0)
        self._following = False
        if changed:
            plot.draw(*self._range, self._pixels)
        self._mark(plot)
        self._write(row - 1)
        self.stepped.emit(row, len(lanes))

    def _fill(self) -> None:
        """Fill the view again: while it held nothing that stretches, the layout shrank to what it held."""
        self._view.ci.setGeometry(QRectF(0, 0, self._view.width(), self._view.height()))

    def _add(self, row: int) -> None:
        self._view.ci.layout.setRowSpacing(row, SPACING)
        plot = LanePlot(row, self._view, self)
        self.plots.append(plot)
        plot.box.sigXRangeChanged.connect(self._on_range)
        if row == 1 and self._time_axis is not None:
            self._time_axis.linkToView(plot.box)

    def _drop(self, plot: LanePlot) -> None:
        layout, row = self._view.ci.layout, len(self.plots) + 1
        layout.setRowFixedHeight(row, 0)  # an empty row would keep its share, and push the times out of sight
        layout.setRowSpacing(row, 0)
        for item in (plot.box, plot.axis):
            self._view.ci.removeItem(item)
        plot.deleteLater()

    def _lay_frame(self, marks: Marks, *, shown: bool) -> None:
        """Make ribbon and time axis at the first need; dress them."""
        if self._ribbon is None and shown:
            self._ribbon = Ribbon(self._view, self)
            self._ribbon.box.sigXRangeChanged.connect(self._on_range)  # it can be dragged too
            self._time_axis = pyqtgraph.AxisItem("bottom")
            self._view.ci.addItem(self._time_axis, row=TIME_ROW, col=1)
            if self.plots:
                self._time_axis.linkToView(self.plots[0].box)
        if self._ribbon is None:
            return
        self._ribbon.show(marks, self._theme)
        self._ribbon.draw(*self._range)
        self._ribbon.box.setVisible(shown)
        self._time_axis.setVisible(shown)
        dress_axis(self._time_axis, self._theme, self._host.font())
        self._time_axis.setHeight(self._axis_height())
        self._view.ci.layout.setRowFixedHeight(TIME_ROW, self._axis_height())

    def _axis_height(self) -> int:
        return QFontMetrics(small_font(self._host.font())).height() + 8

    def show_values(self, row: int | None) -> None:
        """Write the values of a row of the log into the captions."""
        if row != self._row:
            self._row = row
            for index in range(len(self.plots)):
                self._write(index)

    def _write(self, index: int) -> None:
        self._captions.write(index, self.plots[index].lane, self._row, current=index == self.current)

    def show_spans(self, rejected: Spans, lit: Spans) -> None:
        """Grey what the gates took, light what speaks for the chosen cells."""
        self._spans = (rejected, lit, self._spans[2])
        self._mark_all()

    def show_chosen(self, span: tuple[float, float] | None) -> None:
        """Draw the chosen stretch."""
        chosen = NO_SPANS if span is None else Spans(np.array([span[0]]), np.array([span[1]]))
        self._spans = (*self._spans[:2], chosen)
        self._mark_all()

    def show_cursor(self, time: float | None) -> None:
        """Put the cursor somewhere."""
        self._cursor = time
        for plot in self.plots:
            self._point(plot)

    def _mark_all(self) -> None:
        for plot in self.plots:
            self._mark(plot)

    def _mark(self, plot: LanePlot) -> None:
        colours = (QColor(self._theme.wash), faint(self._theme.accent, LIT), faint(self._theme.attention, 60))
        for item, spans, colour in zip((plot.shade, plot.lit, plot.region), self._spans, colours, strict=True):
            item.show_spans(spans, colour)
        self._point(plot)

    def _point(self, plot: LanePlot) -> None:
        plot.cursor.setVisible(self._cursor is not None)
        if self._cursor is not None:
            plot.cursor.setValue(self._cursor)

    def shift(self, by: float) -> None:
        """Draw the traces that the delay has moved a little elsewhere, s."""
        for plot in self.plots:
            for trace, curve in zip(plot.lane.traces, plot.curves, strict=True):
                if trace.delayed:
                    curve.setPos(by, 0)

    def see(self, low: float, high: float) -> None:
        """Show a stretch of time."""
        if self.plots and high > low:
            self.plots[0].box.setXRange(low, high, padding=0)

    def time_at(self, place: Any) -> float | None:
        """Return the time at a place in the scene."""
        return float(self.plots[0].box.mapSceneToView(place).x()) if self.plots else None

    def _on_range(self, _: object, limits: tuple[float, float]) -> None:
        """Follow the lane that was moved, with all others."""
        if not self._following:
            self._spread(float(limits[0]), float(limits[1]))

    def _spread(self, low: float, high: float) -> None:
        self._range, self._following = (low, high), True
        boxes = [plot.box for plot in self.plots]
        for box in [*boxes, self._ribbon.box] if self._ribbon is not None else boxes:
            box.setXRange(low, high, padding=0)
        self._following = False
        self._draw()
        self.ranged.emit(low, high)

    def _shape(self, lane: Lane) -> LaneShape:
        return self._shapes.get(lane.key, AS_IT_IS)

    def _measure(self) -> tuple[list[int], list[float], float, float]:
        """Return lines of the captions, factors of the heights, the room for all lanes and a line of text, px."""
        line = float(QFontMetrics(small_font(self._host.font())).height())
        frame = RIBBON_PX + self._axis_height() + SPACING * (len(self._lanes) + 1)
        lines = [len(lane.traces) for lane in self._lanes]
        return lines, [self._shape(lane).height for lane in self._lanes], max(self._view.height() - frame, 1.0), line

    @property
    def least_height(self) -> int:
        """How high all are at least together, so that each shows two figures of its scale, px."""
        line = QFontMetrics(small_font(self._host.font())).height()
        lanes = max(len(self._lanes), USUAL_LANES) * (math.ceil(LOWEST_LINES * line) + SPACING)
        return RIBBON_PX + SPACING + lanes + self._axis_height()

    def heights(self) -> list[int]:
        """Return how high each lane is, px."""
        ends = np.concatenate([[0.0], np.cumsum(shared_heights(*self._measure()))])
        return [int(each) for each in np.diff(np.round(ends))]

    def _share_out(self) -> None:
        """Give every lane, and the caption beside it, its height."""
        heights = self.heights()
        for row, height in enumerate(heights[: len(self.plots)], start=1):
            self._view.ci.layout.setRowFixedHeight(row, height)
        self._captions.set_heights(heights)

    def lane_at(self, y: float) -> int | None:
        """Find the lane that is seen at a height of the view, px."""
        return next((i for i, (top, high) in enumerate(self._tops()) if top <= y < top + high), None)

    def border_at(self, y: float, near: float) -> int | None:
        """Find the border between two lanes near a height of the view, px: the index of the lane above it."""
        places = self._tops()[:-1]
        return next((i for i, (top, high) in enumerate(places) if abs(top + high + SPACING / 2 - y) <= near), None)

    def place_of(self, index: int) -> QRect:
        """Return where the plot of a lane stands in the view."""
        top, high = self._tops()[index]
        left = axis_width(self._host.font())
        return QRect(left, top, max(self._view.width() - left, 1), high)

    def _tops(self) -> list[tuple[int, int]]:
        found, top = [], RIBBON_PX + SPACING
        for high in self.heights():
            found.append((top, high))
            top += high + SPACING
        return found

    def delayed(self) -> int | None:
        """Find the lane with the wideband that the delay has moved."""
        return next((i for i, plot in enumerate(self.plots) if any(t.delayed for t in plot.lane.traces)), None)

    def choose(self, index: int) -> None:
        """Have keys work on a lane from now on."""
        if self.plots:
            self.current = min(max(index, 0), len(self.plots) - 1)
            for each in range(len(self.plots)):
                self._write(each)

    def move_border(self, border: int, by: float) -> None:
        """Move the border under a lane down, px."""
        factors = moved_border(*self._measure(), border, by)
        for lane, factor in zip(self._lanes, factors, strict=True):
            self._set(lane, LaneShape(factor, self._shape(lane).limits))
        self._reshape()

    def stretch(self, index: int, factor: float) -> None:
        """Make a lane so many times as high, at the cost of the others."""
        shape = self._shape(self._lanes[index])
        self._set(self._lanes[index], LaneShape(min(max(shape.height * factor, 0.05), 20.0), shape.limits))
        self._reshape()

    def scale(self, index: int, change: Callable[[tuple[float, float]], tuple[float, float]]) -> None:
        """Give a lane a scale of its own, made from the one it has."""
        low, high = change(self.plots[index].limits)
        if np.isfinite([low, high]).all() and high - low > 1e-9 * max(abs(low), abs(high), 1e-9):
            self._set(self._lanes[index], LaneShape(self._shape(self._lanes[index]).height, (low, high)))
            self._reshape()

    def set_back(self, index: int) -> None:
        """Have height and scale of a lane follow from the log again."""
        self._shapes.pop(self._lanes[index].key, None)
        self._reshape()

    def _set(self, lane: Lane, shape: LaneShape) -> None:
        self._shapes[lane.key] = shape

    def _reshape(self) -> None:
        """Draw the lanes as they are set now, and tell."""
        self._share_out()
        for plot in self.plots:
            if plot.show(plot.lane, self._theme, self._host.font(), self._shape(plot.lane).limits):
                plot.draw(*self._range, self._pixels)
                self._point(plot)
        for index in range(len(self.plots)):
            self._write(index)
        self.shaped.emit(dict(self._shapes))
        self.laid.emit()

    def redraw(self) -> None:
        """Draw anew, for the room there is."""
        self._share_out()
        for index in range(len(self.plots)):
            self._write(index)
        self._draw()
        self.laid.emit()

    def _draw(self) -> None:
        self._pixels = max(self._view.width() - 60, 50)
        if self._ribbon is not None:
            self._ribbon.draw(*self._range)
        for plot in self.plots:
            plot.draw(*self._range, self._pixels)
