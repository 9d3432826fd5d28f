"""The lanes of a log as one moves about in them: cursor, zoom, heights, scales, chosen stretch, and the delay."""

from collections.abc import Callable, Sequence
from functools import partial
from typing import Any

import numpy as np
import pyqtgraph
from PySide6.QtCore import QEvent, QObject, QPointF, Qt, Signal
from PySide6.QtGui import QKeyEvent, QMouseEvent, QResizeEvent, QWheelEvent
from PySide6.QtWidgets import QHBoxLayout, QWidget

from workbench.window.kit.theme import Theme
from workbench.window.log.delay_handle import NUDGE_S, DelayHandle
from workbench.window.log.lane_plot import Lane, Marks
from workbench.window.log.lane_shapes import TALLER, Shapes, shifted, zoomed
from workbench.window.log.lane_stack import LaneStack
from workbench.window.words.wording import tr

NEAR_PX = 4.0  # from the border between two lanes, where it is taken hold of
ZOOM = 0.8  # of its scale that a lane shows after one turn of the wheel, or one key
SCROLL = 0.1  # of its scale that a lane moves by one key
Key = Qt.Key


class Lanes(QWidget):
    """All lanes of a log.

    Signals:
        pointed: the time under the cursor, s.
        span: first and last time of a chosen stretch, s; two NaN when it is dropped.
        walked: the cursor was moved by keys, after `pointed`.
        shifted: how far the shifted wideband was moved, s, and whether it was let go.
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
            tr(
                "Left and Right move the cursor, plus and minus zoom, 0 shows all, [ and ] select a stretch, Esc "
                "clears it. Up and Down choose a lane: with Shift they change its height, with Ctrl they zoom its "
                "scale, with Ctrl+Shift they move it; A sets it back. Comma and full stop try another delay."
            )
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
        self._border: tuple[int, float] | None = None  # the border that is dragged, and where it was last, px
        self.handle = DelayHandle(self.view)
        self.handle.moved.connect(self._on_handle)
        self.stack.laid.connect(self._place_handle)
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
        shapes: Shapes | None = None,
        *,
        trial: bool = False,
    ) -> None:
        """Show other lanes; the stretch that is seen stays, if it is of the same log.

        Args:
            lanes: from the top down.
            theme: their colours.
            whole: first and last time of the log, s.
            marks: what the ribbon shows.
            seen: the stretch that is to be seen; None for the one that is seen, or the whole of another log.
            shapes: how the user set lanes.
            trial: whether a delay that is being tried still is.
        """
        kept = self._range if whole == self._whole else whole
        overlaps = seen is not None and seen[0] < whole[1] and seen[1] > whole[0]
        if seen is not None and overlaps and whole[0] - 1 <= seen[0] < seen[1] <= whole[1] + 1:
            kept = seen
        self._whole, self._range = whole, kept  # lanes that come before these are built begin from it
        if not trial:
            self.handle.put_back()
        if not lanes:
            self.handle.hide()
        self.stack.show(lanes, theme, whole, kept, marks, shapes)

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
        self.handle.set_span(high - low)

    def _on_move(self, place: Any) -> None:
        time = self.stack.time_at(place)
        if time is not None and self._range[0] <= time <= self._range[1]:
            self.pointed.emit(time)

    def _on_click(self, event: Any) -> None:
        if event.button() == Qt.MouseButton.LeftButton and event.double():
            self.show_range(*self._whole)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Choose a stretch by dragging with Shift, set heights and scales; move, zoom and choose by keys."""
        if isinstance(event, QWheelEvent) and watched is self.view.viewport():
            return self._on_wheel(event)
        if isinstance(event, QMouseEvent) and watched is self.view.viewport():
            return self._on_mouse(event)
        if isinstance(event, QKeyEvent) and event.type() == QEvent.Type.KeyPress and watched is self.view:
            return self._on_key(event)
        return super().eventFilter(watched, event)

    def _on_axis(self, place: QPointF) -> int | None:
        """Find the lane over whose figures a place is."""
        index = self.stack.lane_at(place.y())
        return index if index is not None and place.x() < self.stack.place_of(index).left() else None

    def _on_wheel(self, event: QWheelEvent) -> bool:
        """Zoom the scale of the lane whose figures the pointer is on; elsewhere the wheel zooms time."""
        index = self._on_axis(event.position())
        if index is None or not event.angleDelta().y():
            return False
        place = self.stack.place_of(index)
        factor = ZOOM if event.angleDelta().y() > 0 else 1 / ZOOM
        part = (place.bottom() - event.position().y()) / max(place.height(), 1)
        self.stack.scale(index, lambda ends: zoomed(ends, factor, ends[0] + part * (ends[1] - ends[0])))
        return True

    def _on_mouse(self, event: QMouseEvent) -> bool:
        kind, place = event.type(), event.position()
        if self._on_border(kind, event):
            return True
        time = self.stack.time_at(QPointF(self.view.mapToScene(place.toPoint())))
        if time is None:
            return False
        if kind == QEvent.Type.MouseButtonDblClick and (index := self._on_axis(place)) is not None:
            self.stack.set_back(index)
            return True
        if kind == QEvent.Type.MouseButtonPress and event.button() == Qt.MouseButton.LeftButton:
            if (index := self.stack.lane_at(place.y())) is not None:
                self.stack.choose(index)
            if event.modifiers() & Qt.KeyboardModifier.ShiftModifier:
                self._dragging = time
        elif self._dragging is not None and kind == QEvent.Type.MouseMove:
            self.span.emit(min(time, self._dragging), max(time, self._dragging))
        elif kind == QEvent.Type.MouseButtonRelease and self._dragging is not None:
            self._dragging = None
            return True
        return self._dragging is not None

    def _on_border(self, kind: QEvent.Type, event: QMouseEvent) -> bool:
        """Drag the border between two lanes."""
        y = event.position().y()
        if self._border is None:
            border = self.stack.border_at(y, NEAR_PX)
            if kind == QEvent.Type.MouseMove and not event.buttons():
                shape = Qt.CursorShape.ArrowCursor if border is None else Qt.CursorShape.SplitVCursor
                self.view.viewport().setCursor(shape)
            pressed = kind == QEvent.Type.MouseButtonPress and event.button() == Qt.MouseButton.LeftButton
            if border is None or not pressed:
                return False
            self._border = border, y
        elif kind == QEvent.Type.MouseMove:
            self.stack.move_border(self._border[0], y - self._border[1])
            self._border = self._border[0], y
        elif kind == QEvent.Type.MouseButtonRelease:
            self._border = None
        return True

    def _on_key(self, event: QKeyEvent) -> bool:
        act = self._lane_keys(event) or self._time_keys(event).get(event.key())
        if act is not None:
            act()
        return act is not None

    def _lane_keys(self, event: QKeyEvent) -> Callable[[], None] | None:
        """Return what a key does to the lane that keys work on."""
        stack, modifiers = self.stack, event.modifiers()
        if not stack.plots or event.key() not in (Key.Key_Up, Key.Key_Down, Key.Key_A):
            return None
        up, now = event.key() == Key.Key_Up, stack.current
        shift = bool(modifiers & Qt.KeyboardModifier.ShiftModifier)
        control = bool(modifiers & Qt.KeyboardModifier.ControlModifier)
        if event.key() == Key.Key_A:
            return None if control or now is None else partial(stack.set_back, now)
        if now is None:
            return partial(stack.choose, 0)
        acts: dict[tuple[bool, bool], Callable[[], None]] = {
            (False, False): partial(stack.choose, now + (-1 if up else 1)),
            (True, False): partial(stack.stretch, now, TALLER if up else 1 / TALLER),
            (False, True): partial(stack.scale, now, partial(zoomed, factor=ZOOM if up else 1 / ZOOM)),
            (True, True): partial(stack.scale, now, partial(shifted, part=SCROLL if up else -SCROLL)),
        }
        return acts[shift, control]

    def _time_keys(self, event: QKeyEvent) -> dict[int, Callable[[], None]]:
        """Return what keys do to cursor, stretch of time and delay."""
        low, high = self._range
        at = self._cursor if self._cursor is not None else (low + high) / 2
        stride = (high - low) / (10 if event.modifiers() & Qt.KeyboardModifier.ControlModifier else 100)
        page = (high - low) * 0.8
        chosen, nothing = self._chosen or (at, at), (float("nan"), float("nan"))
        acts: dict[int, Callable[[], None]] = {
            Key.Key_Left: lambda: self._walk(at - stride),
            Key.Key_Right: lambda: self._walk(at + stride),
            Key.Key_Home: lambda: self._walk(self._whole[0]),
            Key.Key_End: lambda: self._walk(self._whole[1]),
            Key.Key_PageUp: lambda: self.show_range(low - page, high - page),
            Key.Key_PageDown: lambda: self.show_range(low + page, high + page),
            Key.Key_Plus: lambda: self.show_range(at - (at - low) / 2, at + (high - at) / 2),
            Key.Key_Equal: lambda: self.show_range(at - (at - low) / 2, at + (high - at) / 2),
            Key.Key_Minus: lambda: self.show_range(at - (at - low) * 2, at + (high - at) * 2),
            Key.Key_0: lambda: self.show_range(*self._whole),
            Key.Key_Comma: lambda: self.handle.nudge(-NUDGE_S),
            Key.Key_Period: lambda: self.handle.nudge(NUDGE_S),
            Key.Key_BracketLeft: lambda: self.span.emit(at, max(chosen[1], at)),
            Key.Key_BracketRight: lambda: self.span.emit(min(chosen[0], at), at),
        }
        if self.handle.by:  # what is only tried goes first
            acts[Key.Key_Escape] = self.handle.give_up
        elif self._chosen is not None:
            acts[Key.Key_Escape] = lambda: self.span.emit(*nothing)
        return acts

    def _on_handle(self, by: float, done: bool) -> None:
        """Draw the shifted wideband where the handle puts it; where it is left waits for a yes."""
        self.stack.shift(by)
        self.shifted.emit(by, done)

    def _place_handle(self) -> None:
        """Put the handle into the lane of the wideband."""
        index = self.stack.delayed()
        if index is None:
            self.handle.hide()
            return
        low, high = self._range
        self.handle.place(self.stack.place_of(index), high - low)
        self.stack.shift(self.handle.by)

    def put_back(self) -> None:
        """Draw the shifted wideband where the delay puts it again."""
        self.handle.put_back()
        self.stack.shift(0.0)

    def _walk(self, time: float) -> None:
        """Move the cursor and take the view along."""
        time = float(np.clip(time, *self._whole))
        low, high = self._range
        if not low <= time <= high:
            self.show_range(time - (high - low) / 2, time + (high - low) / 2)
        self.pointed.emit(time)
        self.walked.emit()
