"""The plots of all lanes under each other with their captions: built one per turn of the event loop, and used again."""

from collections.abc import Sequence
from functools import partial
from typing import Any

import numpy as np
import pyqtgraph
from PySide6.QtCore import QObject, QRectF, Qt, Signal
from PySide6.QtGui import QColor, QFontMetrics
from PySide6.QtWidgets import QLabel, QSizePolicy, QVBoxLayout, QWidget

from workbench.window.kit.controls import label
from workbench.window.kit.idle_queue import Turns
from workbench.window.kit.plots import faint
from workbench.window.kit.spans import NO_SPANS, Spans
from workbench.window.kit.theme import LIGHT, Theme
from workbench.window.log.lane_plot import (
    RIBBON_PX,
    SPACING,
    STYLES,
    Lane,
    LanePlot,
    Marks,
    Ribbon,
    colour_of,
    dress_axis,
    share_of,
    small_font,
)
from workbench.window.words.wording import plain, tr

TIME_ROW = 40  # below any lane; rows in between that hold nothing take no room
LEAST_GUTTER = 180
LIT = 90  # how much of the accent lies over what speaks for the chosen cells, 0..255


class LaneStack(QObject):
    """Lanes over one time axis.

    Signals:
        ranged: first and last time that are seen, s.
        stepped: a lane was built; how many are built, of how many.
    """

    ranged = Signal(float, float)
    stepped = Signal(int, int)

    def __init__(self, view: Any, gutter: QWidget, parent: QWidget) -> None:
        """Use a view of graphics, and a place for the captions beside it."""
        super().__init__(parent)
        self._view, self._gutter, self._host = view, gutter, parent
        self._captions = QVBoxLayout(gutter)
        self._captions.setSpacing(SPACING)
        self._time_name = label(tr("time, s"), gutter, "soft")
        self._time_name.setAlignment(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignBottom)
        self._captions.addWidget(self._time_name)
        view.ci.layout.setContentsMargins(0, 0, 0, 0)
        view.ci.layout.setVerticalSpacing(SPACING)
        self.plots: list[LanePlot] = []
        self._labels: list[QLabel] = []
        self._ribbon: Ribbon | None = None
        self._time_axis: Any = None
        self._theme: Theme = LIGHT
        self._range, self._pixels, self._following = (0.0, 1.0), 50, False
        self._row: int | None = None
        self._spans = (NO_SPANS, NO_SPANS, NO_SPANS)
        self._cursor: float | None = None
        self._turns = Turns(self)

    def show(
        self, lanes: Sequence[Lane], theme: Theme, limits: tuple[float, float], seen: tuple[float, float], marks: Marks
    ) -> None:
        """Show other lanes, one per turn of the event loop.

        Args:
            lanes: from the top down.
            theme: their colours.
            limits: first and last time of the log, s.
            seen: the stretch that is seen at first, s.
            marks: what the ribbon shows.
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
        self._turns.drop()
        self._turns.put(lambda: self._lay_captions(built))
        self._turns.put(*(partial(self._build, row, built, limits, seen, marks) for row in range(1, len(built) + 1)))
        self._turns.put(self._fill if built else lambda: self._lay_frame(marks, shown=False))

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
        self._fill()
        lane, plot = lanes[row - 1], self.plots[row - 1]
        changed = plot.show(lane, self._theme, self._host.font())
        self._view.ci.layout.setRowStretchFactor(row, share_of(lane))
        plot.box.setLimits(xMin=limits[0] - 1, xMax=limits[1] + 1, minXRange=1e-3)
        if row == 1:
            self._spread(*seen)
        plot.box.setXRange(*self._range, padding=0)
        if changed:
            plot.draw(*self._range, self._pixels)
        self._mark(plot)
        self._write(row - 1)
        self.stepped.emit(row, len(lanes))

    def _fill(self) -> None:
        """Fill the view again: while it held nothing that stretches, the layout shrank to what it held."""
        self._view.ci.setGeometry(QRectF(0, 0, self._view.width(), self._view.height()))

    def _add(self, row: int) -> None:
        plot = LanePlot(row, self._view, self)
        self.plots.append(plot)
        plot.box.sigXRangeChanged.connect(self._on_range)
        if row == 1 and self._time_axis is not None:
            self._time_axis.linkToView(plot.box)

    def _drop(self, plot: LanePlot) -> None:
        self._view.ci.layout.setRowStretchFactor(len(self.plots) + 1, 0)  # an empty row would keep its share
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

    def _lay_captions(self, lanes: Sequence[Lane]) -> None:
        """Put a caption beside every lane, with the values at the cursor."""
        font = small_font(self._host.font())
        while len(self._labels) > len(lanes):
            gone = self._labels.pop()
            self._captions.removeWidget(gone)
            gone.hide()
            gone.deleteLater()
        while len(self._labels) < len(lanes):
            made = label("", self._gutter)
            made.setTextFormat(Qt.TextFormat.RichText)
            made.setAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)
            made.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Ignored)
            self._captions.insertWidget(len(self._labels), made)
            self._labels.append(made)
        for index, (caption, lane) in enumerate(zip(self._labels, lanes, strict=True)):
            caption.setFont(font)
            self._captions.setStretch(index, share_of(lane))
        above = RIBBON_PX + SPACING if lanes else 0
        self._captions.setContentsMargins(0, above, 0, 0)
        self._time_name.setFont(font)
        self._time_name.setFixedHeight(self._axis_height() - SPACING)
        self._time_name.setVisible(bool(lanes))
        names = [f"━ {trace.name} −88.88 {trace.unit[:3]}" for lane in lanes for trace in lane.traces]
        metrics = QFontMetrics(font)
        widest = max((metrics.horizontalAdvance(name) for name in names), default=0)
        self._gutter.setFixedWidth(min(widest + 8, max(self._host.width() // 4, LEAST_GUTTER)))

    def show_values(self, row: int | None) -> None:
        """Write the values of a row of the log into the captions."""
        if row != self._row:
            self._row = row
            for index in range(len(self.plots)):
                self._write(index)

    def _write(self, index: int) -> None:
        lane, caption, row = self.plots[index].lane, self._labels[index], self._row
        lines, spoken = [], []
        for i, trace in enumerate(lane.traces):
            colour = colour_of(lane, i, self._theme)
            sign = "╍" if STYLES[i % len(STYLES)] == Qt.PenStyle.DashLine else "━"
            known = row is not None and row < len(trace.pyramid.values)
            value = plain(float(f"{trace.pyramid.values[row]:.4g}")) if known else ""
            unit = "" if trace.unit == "lambda" else trace.unit
            lines.append(f'<span style="color:{colour}">{sign} {trace.name}</span> <b>{value}</b> {unit}')
            spoken.append(f"{trace.name} {value} {unit}".strip())
        caption.setText("<br>".join(lines))
        caption.setAccessibleName(", ".join(spoken))
        caption.setToolTip("\n".join(spoken))

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
        self.redraw()
        self.ranged.emit(low, high)

    def redraw(self) -> None:
        """Draw anew, for the width there is."""
        self._pixels = max(self._view.width() - 60, 50)
        if self._ribbon is not None:
            self._ribbon.draw(*self._range)
        for plot in self.plots:
            plot.draw(*self._range, self._pixels)
