"""The lanes of a log over one time axis: traces drawn from their pyramids, spans behind them, one cursor."""

from collections.abc import Callable, Sequence
from typing import Any

import numpy as np
import pyqtgraph
from PySide6.QtCore import QEvent, QObject, QPointF, Qt, Signal
from PySide6.QtGui import QColor, QFontMetrics, QKeyEvent, QMouseEvent, QResizeEvent
from PySide6.QtWidgets import QHBoxLayout, QLabel, QSizePolicy, QVBoxLayout, QWidget

from workbench.window.controls import emptied, label
from workbench.window.lane_plot import (
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
from workbench.window.plots import faint
from workbench.window.spans import NO_SPANS, Spans
from workbench.window.theme import LIGHT, Theme
from workbench.window.wording import plain, tr


class Lanes(QWidget):
    """All lanes of a log.

    Signals:
        pointed: the time under the cursor, s.
        span: first and last time of a chosen stretch, s; two NaN when it is dropped.
        shifted: how far the shifted wideband was dragged, s, and whether it was let go.
    """

    pointed = Signal(float)
    span = Signal(float, float)
    shifted = Signal(float, bool)

    def __init__(self, parent: QWidget) -> None:
        """Make it empty."""
        super().__init__(parent)
        self.view: Any = pyqtgraph.GraphicsLayoutWidget(self)
        self.view.setAccessibleName(tr("Lanes of the log"))
        self.view.setAccessibleDescription(
            tr("Arrow keys move the cursor, plus and minus zoom, 0 shows all, [ and ] choose a stretch, Esc drops it.")
        )
        self.view.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.view.ci.layout.setContentsMargins(0, 0, 0, 0)
        self.view.ci.layout.setVerticalSpacing(SPACING)
        self.setFocusProxy(self.view)
        self._gutter = QWidget(self)
        self._captions = QVBoxLayout(self._gutter)
        self._captions.setSpacing(SPACING)
        layout = QHBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(4)
        layout.addWidget(self._gutter)
        layout.addWidget(self.view, 1)
        self._labels: list[QLabel] = []
        self._ribbon: Ribbon | None = None
        self._lanes: list[LanePlot] = []
        self._theme = LIGHT
        self._whole = (0.0, 1.0)
        self._range = (0.0, 1.0)
        self._cursor: float | None = None
        self._chosen: tuple[float, float] | None = None
        self._dragging: float | None = None
        self._shifting: float | None = None
        self.view.scene().sigMouseMoved.connect(self._on_move)
        self.view.scene().sigMouseClicked.connect(self._on_click)
        self.view.installEventFilter(self)
        self.view.viewport().installEventFilter(self)

    def show_lanes(self, lanes: Sequence[Lane], theme: Theme, whole: tuple[float, float], marks: Marks) -> None:
        """Show other lanes; the stretch that is seen stays, if it is of the same log."""
        self.view.clear()
        self.view.setBackground(QColor(theme.card))
        for plot in self._lanes:
            plot.deleteLater()
        kept = self._range if whole == self._whole else whole
        self._theme, self._whole = theme, whole
        if self._ribbon is not None:
            self._ribbon.deleteLater()
        self._ribbon = Ribbon(marks, theme, self.view, self) if lanes else None
        self._lanes = [LanePlot(lane, theme, self.font(), row, self.view, self) for row, lane in enumerate(lanes, 1)]
        for box in (*(plot.box for plot in self._lanes[1:]), *([self._ribbon.box] if self._ribbon else [])):
            box.setXLink(self._lanes[0].box)
        for row, lane in enumerate(lanes, 1):
            self.view.ci.layout.setRowStretchFactor(row, share_of(lane))
        self._lay_captions(lanes)
        if self._lanes:
            box = self._lanes[0].box
            box.setLimits(xMin=whole[0] - 1, xMax=whole[1] + 1, minXRange=1e-3)
            box.sigXRangeChanged.connect(self._on_range)
            box.setXRange(*kept, padding=0)
            self._add_time_axis(box)
        self._redraw()

    def _add_time_axis(self, box: Any) -> None:
        axis: Any = pyqtgraph.AxisItem("bottom")
        dress_axis(axis, self._theme, self.font())
        axis.setHeight(self._axis_height())
        axis.linkToView(box)
        self.view.ci.addItem(axis, row=len(self._lanes) + 1, col=1)
        self.view.ci.layout.setRowFixedHeight(len(self._lanes) + 1, self._axis_height())

    def _axis_height(self) -> int:
        return QFontMetrics(small_font(self.font())).height() + 8

    def _lay_captions(self, lanes: Sequence[Lane]) -> None:
        """Put a caption beside every lane, with the values at the cursor."""
        emptied(self._captions)
        self._labels = []
        for lane in lanes:
            caption = label("", self._gutter)
            caption.setTextFormat(Qt.TextFormat.RichText)
            caption.setAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)
            caption.setFont(small_font(self.font()))
            caption.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Ignored)
            self._captions.addWidget(caption, share_of(lane))
            self._labels.append(caption)
        self._captions.setContentsMargins(
            0, RIBBON_PX + SPACING if lanes else 0, 0, self._axis_height() if lanes else 0
        )
        names = [f"━ {trace.name} −88.88 {trace.unit[:3]}" for lane in lanes for trace in lane.traces]
        metrics = QFontMetrics(small_font(self.font()))
        widest = max((metrics.horizontalAdvance(name) for name in names), default=0)
        self._gutter.setFixedWidth(min(widest + 8, max(self.width() // 4, 180)))
        self.show_values(None)

    def show_values(self, row: int | None) -> None:
        """Write the values of a row of the log into the captions."""
        for plot, caption in zip(self._lanes, self._labels, strict=True):
            lines, told = [], []
            for index, trace in enumerate(plot.lane.traces):
                colour = colour_of(plot.lane, index, self._theme)
                sign = "╍" if STYLES[index % len(STYLES)] == Qt.PenStyle.DashLine else "━"
                value = "" if row is None else plain(float(f"{trace.pyramid.values[row]:.4g}"))
                unit = "" if trace.unit == "lambda" else trace.unit
                lines.append(f'<span style="color:{colour}">{sign} {trace.name}</span> <b>{value}</b> {unit}')
                told.append(f"{trace.name} {value} {unit}".strip())
            caption.setText("<br>".join(lines))
            caption.setAccessibleName(", ".join(told))
            caption.setToolTip("\n".join(told))

    def show_spans(self, rejected: Spans, lit: Spans) -> None:
        """Grey what the gates took, light what speaks for the chosen cells."""
        for plot in self._lanes:
            plot.shade.show_spans(rejected, QColor(self._theme.wash))
            plot.lit.show_spans(lit, faint(self._theme.accent, 90))

    def show_cursor(self, time: float | None) -> None:
        """Put the cursor somewhere."""
        self._cursor = time
        for plot in self._lanes:
            plot.cursor.setVisible(time is not None)
            if time is not None:
                plot.cursor.setValue(time)

    def show_chosen(self, span: tuple[float, float] | None) -> None:
        """Draw the chosen stretch."""
        self._chosen = span
        spans = NO_SPANS if span is None else Spans(np.array([span[0]]), np.array([span[1]]))
        for plot in self._lanes:
            plot.region.show_spans(spans, faint(self._theme.attention, 60))

    def show_range(self, low: float, high: float) -> None:
        """Show a stretch of time."""
        if self._lanes and high > low:
            self._lanes[0].box.setXRange(low, high, padding=0)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Draw anew for the new width."""
        super().resizeEvent(event)
        self._redraw()

    def _on_range(self, _: object, limits: tuple[float, float]) -> None:
        self._range = (float(limits[0]), float(limits[1]))
        self._redraw()

    def _redraw(self) -> None:
        pixels = max(self.view.width() - 60, 50)
        if self._ribbon is not None:
            self._ribbon.draw(*self._range)
        for plot in self._lanes:
            plot.draw(*self._range, pixels)

    def _time_at(self, place: Any) -> float | None:
        if not self._lanes:
            return None
        return float(self._lanes[0].box.mapSceneToView(place).x())

    def _on_move(self, place: Any) -> None:
        time = self._time_at(place)
        if time is not None and self._range[0] <= time <= self._range[1]:
            self.pointed.emit(time)

    def _on_click(self, event: Any) -> None:
        if event.button() == Qt.MouseButton.LeftButton and event.double():
            self.show_range(*self._whole)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Choose a stretch by dragging with Shift; move, zoom and choose by keys."""
        if isinstance(event, QMouseEvent) and watched is self.view.viewport():
            return self._on_mouse(event)
        if isinstance(event, QKeyEvent) and event.type() == QEvent.Type.KeyPress and watched is self.view:
            return self._on_key(event)
        return super().eventFilter(watched, event)

    def _on_mouse(self, event: QMouseEvent) -> bool:
        kind, modifiers = event.type(), event.modifiers()
        time = self._time_at(QPointF(self.view.mapToScene(event.position().toPoint())))
        if time is None:
            return False
        if kind == QEvent.Type.MouseButtonPress and event.button() == Qt.MouseButton.LeftButton:
            if modifiers & Qt.KeyboardModifier.ShiftModifier:
                self._dragging = time
            elif modifiers & Qt.KeyboardModifier.AltModifier:
                self._shifting = time
        elif self._dragging is not None and kind == QEvent.Type.MouseMove:
            self.span.emit(min(time, self._dragging), max(time, self._dragging))
        elif self._shifting is not None and kind == QEvent.Type.MouseMove:
            self._shift(time - self._shifting)
            self.shifted.emit(time - self._shifting, False)
        elif kind == QEvent.Type.MouseButtonRelease and (self._dragging is not None or self._shifting is not None):
            if self._shifting is not None:
                self.shifted.emit(time - self._shifting, True)
            self._dragging = self._shifting = None
            return True
        return self._dragging is not None or self._shifting is not None

    def _shift(self, by: float) -> None:
        """Draw the traces that the delay has moved a little elsewhere."""
        for plot in self._lanes:
            for trace, curve in zip(plot.lane.traces, plot.curves, strict=True):
                if trace.delayed:
                    curve.setPos(by, 0)

    def _on_key(self, event: QKeyEvent) -> bool:
        low, high = self._range
        at = self._cursor if self._cursor is not None else (low + high) / 2
        stride = (high - low) / (10 if event.modifiers() & Qt.KeyboardModifier.ControlModifier else 100)
        page = (high - low) * 0.8
        chosen, nothing = self._chosen or (at, at), (float("nan"), float("nan"))
        acts: dict[int, Callable[[], None]] = {
            Qt.Key.Key_Left: lambda: self._walk(at - stride),
            Qt.Key.Key_Right: lambda: self._walk(at + stride),
            Qt.Key.Key_Home: lambda: self._walk(self._whole[0]),
            Qt.Key.Key_End: lambda: self._walk(self._whole[1]),
            Qt.Key.Key_PageUp: lambda: self.show_range(low - page, high - page),
            Qt.Key.Key_PageDown: lambda: self.show_range(low + page, high + page),
            Qt.Key.Key_Plus: lambda: self.show_range(at - (at - low) / 2, at + (high - at) / 2),
            Qt.Key.Key_Equal: lambda: self.show_range(at - (at - low) / 2, at + (high - at) / 2),
            Qt.Key.Key_Minus: lambda: self.show_range(at - (at - low) * 2, at + (high - at) * 2),
            Qt.Key.Key_0: lambda: self.show_range(*self._whole),
            Qt.Key.Key_BracketLeft: lambda: self.span.emit(at, max(chosen[1], at)),
            Qt.Key.Key_BracketRight: lambda: self.span.emit(min(chosen[0], at), at),
        }
        if self._chosen is not None:
            acts[Qt.Key.Key_Escape] = lambda: self.span.emit(*nothing)
        act = acts.get(event.key())
        if act is not None:
            act()
        return act is not None

    def _walk(self, time: float) -> None:
        """Move the cursor and take the view along."""
        time = float(np.clip(time, *self._whole))
        low, high = self._range
        if not low <= time <= high:
            self.show_range(time - (high - low) / 2, time + (high - low) / 2)
        self.pointed.emit(time)
