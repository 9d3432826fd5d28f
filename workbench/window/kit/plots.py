"""Plots in the theme's colours, without the library's own menus and buttons, moved by mouse, wheel and keys."""

import math
from collections.abc import Callable, Sequence
from typing import Any

import numpy as np
import pyqtgraph
from PySide6.QtCore import QEvent, QObject, Qt, Signal
from PySide6.QtGui import QColor, QFont, QFontMetrics, QKeyEvent, QPen
from PySide6.QtWidgets import QGraphicsView, QVBoxLayout, QWidget

from workbench.window.kit.elided_label import Elided
from workbench.window.kit.theme import Theme

MOST_MARKS = 12  # words of one's own along an axis


def set_up() -> None:
    """Set the library up, once: rows of pictures run along y, lines are smooth."""
    pyqtgraph.setConfigOptions(imageAxisOrder="row-major", antialias=True)


def pen(colour: str, width: float = 1.0, style: Qt.PenStyle = Qt.PenStyle.SolidLine) -> QPen:
    """Make a pen whose width does not grow with the zoom."""
    made = QPen(QColor(colour), width, style)
    made.setCosmetic(True)
    return made


def space_ticks(axis: Any, font: QFont, *, upright: bool, lead: float = 1.8, inside: bool = False) -> None:
    """Space the figures of an axis at round numbers, far enough apart not to touch, and two of them at least.

    Args:
        axis: the library's axis.
        font: of the figures.
        upright: whether it stands upright.
        lead: lines of text from one figure to the next along an upright axis.
        inside: whether no figure may reach beyond the right end of an axis that lies along: it would be cut there.
    """
    metrics = QFontMetrics(font)

    def values(low: float, high: float, size: float) -> list[tuple[float, list[float]]]:
        low, high, size = min(low, high), max(low, high), max(size, 1.0)
        span = max(high - low, 1e-12)
        wide = max(metrics.horizontalAdvance(f"{round_step(edge):g}") for edge in (low, high, (low + high) / 2))
        room = metrics.height() * lead if upright else wide * 1.5 + metrics.height()
        tall = metrics.capHeight() if upright else 0
        # A figure is not to reach beyond the axis, but by what parts the axes.
        edge = max(tall / 2 - 1, 0.0) / size * span
        step = round_step(span / max(size / room, 1.0))

        def least(each: float) -> float:
            last = metrics.horizontalAdvance(f"{math.floor(high / each) * each:g}")
            return (tall + 2 if upright else last + metrics.height() / 2) / size * span

        if inside and not upright:
            high -= metrics.horizontalAdvance(f"{math.floor(high / step) * step:g}") / 2 / size * span
        return [two_at_least(step, low + edge, high - edge, least)]

    axis.tickValues = values


def two_at_least(step: float, low: float, high: float, least: Callable[[float], float]) -> tuple[float, list[float]]:
    """Return a step and its multiples between two ends; one figure alone tells no scale, so that it may be finer.

    Where no finer step shows two that do not touch, the outermost multiples of such a step stand alone.

    Args:
        step: that is wanted, 1, 2 or 5 times a power of ten.
        low: where what is seen begins.
        high: where it ends.
        least: how far apart figures of a step must be not to touch.
    """
    seen = multiples(step, low, high)
    if len(seen) > 1:
        return step, seen
    finer = finer_steps(step)
    for each in finer:
        found = multiples(each, low, high)
        if len(found) > 1 and each >= least(each):
            return each, found
    for each in finer:
        found = multiples(each, low, high)
        if len(found) > 1 and found[-1] - found[0] >= least(each):
            return each, [found[0], found[-1]]
    return step, seen


def multiples(step: float, low: float, high: float) -> list[float]:
    """List the multiples of a step between two ends, both included."""
    first, last = math.ceil(low / step - 1e-9), math.floor(high / step + 1e-9)
    return [step * each for each in range(first, last + 1)]


def round_step(step: float) -> float:
    """Return the next 1, 2 or 5 times a power of ten from a size on."""
    size = abs(step)
    if size == 0 or not math.isfinite(size):
        return 1.0
    power = 10.0 ** math.floor(math.log10(size))
    return power * next(lead for lead in (1.0, 2.0, 5.0, 10.0) if lead * power >= size * (1 - 1e-9))


def finer_steps(step: float) -> list[float]:
    """List the steps below one, the widest first, down to a hundredth of it."""
    power = 10.0 ** math.floor(math.log10(step))
    tried = [lead * power * down for down in (1.0, 0.1, 0.01) for lead in (5.0, 2.0, 1.0)]
    return [each for each in tried if each < step * (1 - 1e-9)]


def faint(colour: str, alpha: int) -> QColor:
    """Return a colour that lets through what is behind it; alpha runs 0..255."""
    made = QColor(colour)
    made.setAlpha(alpha)
    return made


class Plot(QWidget):
    """One plot and its manners, the name of its axis below it.

    Signals:
        hovered: x and y under the pointer, in the plot's units.
        clicked: x and y where the left button was pressed and released in place.
    """

    hovered = Signal(float, float)
    clicked = Signal(float, float)

    def __init__(self, name: str, parent: QWidget) -> None:
        """Make an empty plot; name it for those who listen."""
        super().__init__(parent)
        # The library's own plot brings menus of a hundred controls, all of which would be dressed with the window.
        self.widget: Any = pyqtgraph.GraphicsLayoutWidget(self)
        self.widget.setBackground(None)  # else it is black until it is dressed
        # Painted in parts, a dashed line would be dashed otherwise in each, and what is left of a mark would stay.
        self.widget.setViewportUpdateMode(QGraphicsView.ViewportUpdateMode.FullViewportUpdate)
        self._axis_name = Elided(self, Qt.AlignmentFlag.AlignHCenter, soft=True)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(0)
        layout.addWidget(self.widget, 1)
        layout.addWidget(self._axis_name)
        self.setFocusProxy(self.widget)
        self.widget.setAccessibleName(name)
        self.widget.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.widget.setMinimumSize(100, 50)
        self.box: Any = pyqtgraph.ViewBox(enableMenu=False, defaultPadding=0.04)
        self._left, self._bottom = (pyqtgraph.AxisItem(side) for side in ("left", "bottom"))
        self._lay_out()
        self.widget.scene().sigMouseMoved.connect(self._on_move)
        self.widget.scene().sigMouseClicked.connect(self._on_click)
        self.widget.installEventFilter(self)

    def _lay_out(self) -> None:
        whole = self.widget.ci
        whole.layout.setSpacing(0)
        for part, row, column in ((self.box, 0, 1), (self._left, 0, 0), (self._bottom, 1, 1)):
            whole.addItem(part, row=row, col=column)
        for axis in (self._left, self._bottom):
            axis.linkToView(self.box)

    def without_bottom(self) -> None:
        """Leave out the axis along and its name: a plot above has them."""
        self.widget.ci.removeItem(self._bottom)
        self._axis_name.hide()

    def dress(self, theme: Theme, font: QFont) -> None:
        """Put the plot into a theme."""
        self.widget.setBackground(QColor(theme.card))
        small = QFont(font)
        small.setPointSizeF(max(8.0, font.pointSizeF() * 0.9))
        metrics = QFontMetrics(small)
        high, wide = metrics.height(), metrics.horizontalAdvance("88888")
        self.widget.ci.layout.setContentsMargins(0, high // 2, wide // 2, 0)
        for axis in (self._left, self._bottom):
            axis.setPen(pen(theme.line, 1))
            axis.setTextPen(QColor(theme.soft))
            axis.setTickFont(small)
            # The first and the last figure reach beyond the axis by half of themselves.
            beyond = high // 2 if axis is self._left else wide // 2
            axis.setStyle(tickLength=4, autoExpandTextSpace=False, hideOverlappingLabels=beyond)
            space_ticks(axis, small, upright=axis is self._left, lead=2.4)
            axis.enableAutoSIPrefix(False)
        self._left.setWidth(wide + 12)
        self._bottom.setHeight(high + 8)

    def name_axis(self, text: str, short: str = "") -> None:
        """Name the axis along, in few words where it is narrow; what stands upright is said above the picture."""
        self._axis_name.name(text, short)

    def mark_axis(self, places: Sequence[tuple[float, str]]) -> None:
        """Write words of one's own along the axis, as many of them as there is room for."""
        every = max(1, -(-len(places) // MOST_MARKS))
        self._bottom.setTicks([[each for at, each in enumerate(places) if at % every == 0]])

    def zoom(self, factor: float) -> None:
        """Show a stretch that is factor times as wide, about its middle."""
        (low, high), _ = self.box.viewRange()
        half = (high - low) / 2 * factor
        self.box.setXRange((low + high) / 2 - half, (low + high) / 2 + half, padding=0)

    def whole(self) -> None:
        """Show everything."""
        self.box.enableAutoRange()

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Zoom by + and -, show all by 0."""
        if isinstance(event, QKeyEvent) and event.type() == QEvent.Type.KeyPress and not event.modifiers():
            actions = {
                Qt.Key.Key_Plus: lambda: self.zoom(0.5),
                Qt.Key.Key_Minus: lambda: self.zoom(2),
                Qt.Key.Key_0: self.whole,
            }
            act = actions.get(Qt.Key(event.key()))
            if act is not None:
                act()
                return True
        return super().eventFilter(watched, event)

    def _on_move(self, place: Any) -> None:
        if self.box.sceneBoundingRect().contains(place):
            spot = self.box.mapSceneToView(place)
            self.hovered.emit(float(spot.x()), float(spot.y()))

    def _on_click(self, event: Any) -> None:
        if event.button() == Qt.MouseButton.LeftButton:
            spot = self.box.mapSceneToView(event.scenePos())
            self.clicked.emit(float(spot.x()), float(spot.y()))


def finite_range(*arrays: np.ndarray, least: float = 0.0) -> tuple[float, float]:
    """Return the range that holds all finite numbers, at least `least` wide and with a little air."""
    finite = np.concatenate([array[np.isfinite(array)].ravel() for array in arrays] or [np.zeros(1)])
    low, high = (float(finite.min()), float(finite.max())) if finite.size else (0.0, 1.0)
    air = max((high - low) * 0.08, (least - (high - low)) / 2, 1e-9)
    return low - air, high + air
