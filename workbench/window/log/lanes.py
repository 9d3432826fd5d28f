"""The lanes of a log as one moves about in them: cursor, zoom, chosen stretch, and the delay by mouse and keys."""

from collections.abc import Callable, Sequence
from typing import Any

import numpy as np
import pyqtgraph
from PySide6.QtCore import QEvent, QObject, QPointF, Qt, Signal
from PySide6.QtGui import QKeyEvent, QMouseEvent, QResizeEvent
from PySide6.QtWidgets import QHBoxLayout, QWidget

from workbench.window.kit.theme import Theme
from workbench.window.log.lane_plot import Lane, Marks
from workbench.window.log.lane_stack import LaneStack
from workbench.window.words.wording import tr

NUDGE_S = 0.02  # s by which a key moves the shifted wideband


class Lanes(QWidget):
    """All lanes of a log.

    Signals:
        pointed: the time under the cursor, s.
        span: first and last time of a chosen stretch, s; two NaN when it is dropped.
        walked: the cursor was moved by keys, after `pointed`.
        shifted: how far the shifted wideband was dragged, s, and whether it was let go.
    """

    pointed = Signal(float)
    span = Signal(float, float)
    walked = Signal()
    shifted = Signal(float, bool)

    def __init__(self, parent: QWidget) -> None:
        """Make it empty."""
        super().__init__(parent)
        self.view: Any = pyqtgraph.GraphicsLayoutWidget(self)
        self.view.setBackground(None)  # else it is black until it is dressed
        self.view.setAccessibleName(tr("Lanes of the log"))
        self.view.setAccessibleDescription(
            tr("Arrow keys move the cursor, plus and minus zoom, 0 shows all, [ and ] select a stretch, Esc clears it.")
        )
        self.view.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setFocusProxy(self.view)
        gutter = QWidget(self)
        layout = QHBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(4)
        layout.addWidget(gutter)
        layout.addWidget(self.view, 1)
        self.stack = LaneStack(self.view, gutter, self)
        self.stack.ranged.connect(self._on_range)
        self._whole = (0.0, 1.0)
        self._range = (0.0, 1.0)
        self._cursor: float | None = None
        self._chosen: tuple[float, float] | None = None
        self._dragging: float | None = None
        self._shifting: float | None = None
        self._nudged = 0.0  # s, by keys
        self.view.scene().sigMouseMoved.connect(self._on_move)
        self.view.scene().sigMouseClicked.connect(self._on_click)
        self.view.installEventFilter(self)
        self.view.viewport().installEventFilter(self)

    def show_lanes(
        self,
        lanes: Sequence[Lane],
        theme: Theme,
        whole: tuple[float, float],
        marks: Marks,
        seen: tuple[float, float] | None = None,
    ) -> None:
        """Show other lanes; the stretch that is seen stays, if it is of the same log.

        Args:
            lanes: from the top down.
            theme: their colours.
            whole: first and last time of the log, s.
            marks: what the ribbon shows.
            seen: the stretch that is to be seen; None for the one that is seen, or the whole of another log.
        """
        kept = self._range if whole == self._whole else whole
        if seen is not None and whole[0] - 1 <= seen[0] < seen[1] <= whole[1] + 1:
            kept = seen
        self._whole = whole
        self.stack.show(lanes, theme, whole, kept, marks)

    @property
    def seen(self) -> tuple[float, float]:
        """First and last time that are seen, s."""
        return self._range

    def show_cursor(self, time: float | None) -> None:
        """Put the cursor somewhere."""
        self._cursor = time
        self.stack.show_cursor(time)

    def show_chosen(self, span: tuple[float, float] | None) -> None:
        """Draw the chosen stretch."""
        self._chosen = span
        self.stack.show_chosen(span)

    def show_range(self, low: float, high: float) -> None:
        """Show a stretch of time."""
        self.stack.see(low, high)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Draw anew for the new width."""
        super().resizeEvent(event)
        self.stack.redraw()

    def _on_range(self, low: float, high: float) -> None:
        self._range = (low, high)

    def _on_move(self, place: Any) -> None:
        time = self.stack.time_at(place)
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
        time = self.stack.time_at(QPointF(self.view.mapToScene(event.position().toPoint())))
        if time is None:
            return False
        if kind == QEvent.Type.MouseButtonPress and event.button() == Qt.MouseButton.LeftButton:
            if modifiers & Qt.KeyboardModifier.ShiftModifier:
                self._dragging = time
            elif modifiers & Qt.KeyboardModifier.ControlModifier:
                self._shifting = time
        elif self._dragging is not None and kind == QEvent.Type.MouseMove:
            self.span.emit(min(time, self._dragging), max(time, self._dragging))
        elif self._shifting is not None and kind == QEvent.Type.MouseMove:
            self.stack.shift(time - self._shifting)
            self.shifted.emit(time - self._shifting, False)
        elif kind == QEvent.Type.MouseButtonRelease and (self._dragging is not None or self._shifting is not None):
            if self._shifting is not None:
                self.shifted.emit(time - self._shifting, True)
            self._dragging = self._shifting = None
            return True
        return self._dragging is not None or self._shifting is not None

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
            Qt.Key.Key_Comma: lambda: self._nudge(-NUDGE_S),
            Qt.Key.Key_Period: lambda: self._nudge(NUDGE_S),
            Qt.Key.Key_BracketLeft: lambda: self.span.emit(at, max(chosen[1], at)),
            Qt.Key.Key_BracketRight: lambda: self.span.emit(min(chosen[0], at), at),
        }
        if self._chosen is not None:
            acts[Qt.Key.Key_Escape] = lambda: self.span.emit(*nothing)
        act = acts.get(event.key())
        if act is not None:
            act()
        return act is not None

    def _nudge(self, by: float) -> None:
        """Move the shifted wideband by a step; where it is left waits for a yes."""
        self._nudged += by
        self.stack.shift(self._nudged)
        self.shifted.emit(self._nudged, True)

    def put_back(self) -> None:
        """Draw the shifted wideband where the delay puts it again."""
        self._nudged = 0.0
        self.stack.shift(0.0)

    def _walk(self, time: float) -> None:
        """Move the cursor and take the view along."""
        time = float(np.clip(time, *self._whole))
        low, high = self._range
        if not low <= time <= high:
            self.show_range(time - (high - low) / 2, time + (high - low) / 2)
        self.pointed.emit(time)
        self.walked.emit()
