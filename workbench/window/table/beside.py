"""Other revisions in the same picture, told apart by line, mark and a number at the line, not by colour alone."""

from collections.abc import Sequence
from pathlib import PurePath
from typing import Any

import numpy as np
import pyqtgraph
from PySide6.QtCore import QPointF, Qt
from PySide6.QtGui import QColor

from workbench.model.arrays import FloatArray
from workbench.model.history import Revision
from workbench.window.kit.plots import Plot, pen
from workbench.window.kit.theme import Theme
from workbench.window.words.wording import tr

# Field of the theme, line, mark, and the sign of the line in a legend.
STYLES: tuple[tuple[str, Qt.PenStyle, str, str], ...] = (
    ("accent", Qt.PenStyle.DotLine, "s", "┅"),
    ("attention", Qt.PenStyle.DashDotLine, "t1", "┉"),
    ("soft", Qt.PenStyle.DashLine, "d", "╍"),
    ("ink", Qt.PenStyle.DashDotDotLine, "x", "┈"),
)
MARKS = ("■", "▲", "◆", "✕")  # of the styles, in a legend
ABOVE = 1.1  # of its height that a number stands over its point
MARKED = 6  # of the points of a line, about so many carry its mark
Line = tuple[int, FloatArray, FloatArray]  # number of a revision, or a negative one from elsewhere; x, y


def colour_of(place: int, theme: Theme) -> str:
    """Return the colour of the line at a place."""
    return str(getattr(theme, STYLES[place % len(STYLES)][0]))


def sign_of(place: int) -> str:
    """Return how a legend draws the line at a place."""
    return STYLES[place % len(STYLES)][3] + MARKS[place % len(MARKS)]


def short_name(number: int) -> str:
    """Name what stands beside in a sign or two: a revision by its number, a table from elsewhere by a letter."""
    return str(number) if number >= 0 else chr(ord("A") - number - 1)


def long_name(revision: Revision) -> str:
    """Name what stands beside: a table from elsewhere by its letter and where it is from."""
    if revision.id >= 0:
        return tr("revision {id}").format(id=revision.id)
    return tr("{letter}: {name}").format(letter=short_name(revision.id), name=PurePath(revision.note).name)


class Beside:
    """The lines of other revisions in one plot."""

    def __init__(self, plot: Plot, *, raised: bool = False) -> None:
        """Begin with none; raised, the number stands over its line, where lines lie close and near the lower edge."""
        self._plot, self._raised = plot, raised
        self._items: list[tuple[Any, Any, Any]] = []
        self._shown: list[Line] = []

    def show(self, lines: Sequence[Line], theme: Theme) -> None:
        """Draw these; a label with the number stands at a point of each, where the others have none."""
        self._shown = list(lines)
        while len(self._items) > len(lines):
            for item in self._items.pop():
                self._plot.box.removeItem(item)
        while len(self._items) < len(lines):
            made: tuple[Any, Any, Any] = (
                pyqtgraph.PlotCurveItem(),
                pyqtgraph.ScatterPlotItem(pxMode=True),
                pyqtgraph.TextItem(anchor=(0.5, 0.5)),
            )
            for item in made:
                self._plot.box.addItem(item, ignoreBounds=item is made[2])
            made[2].setZValue(30)
            self._items.append(made)
        for place, ((number, xs, ys), (curve, marks, text)) in enumerate(zip(lines, self._items, strict=True)):
            colour = colour_of(place, theme)
            _, style, symbol, _ = STYLES[place % len(STYLES)]
            curve.setData(xs, ys, connect="finite", pen=pen(colour, theme.stroke, style))
            every = max(1, len(xs) // MARKED)
            at = np.arange(place % every, len(xs), every)
            at = at[np.isfinite(ys[at])]
            marks.setData(xs[at], ys[at], symbol=symbol, size=8, brush=QColor(colour), pen=pen(theme.card, 1.0))
            self._label(text, number, place, xs, ys, theme)

    def _label(self, text: Any, number: int, place: int, xs: FloatArray, ys: FloatArray, theme: Theme) -> None:
        """Write the number of a revision at its line."""
        known = np.flatnonzero(np.isfinite(ys))
        text.setVisible(bool(known.size))
        if known.size:
            at = int(known[round((known.size - 1) * (place + 1) / (len(self._shown) + 1))])
            text.setFont(self._plot.font())
            text.setText(short_name(number), QColor(theme.ink))
            text.setAnchor((0.5, ABOVE if self._raised else 0.5))
            text.fill, text.border = pyqtgraph.mkBrush(QColor(theme.card)), pen(colour_of(place, theme), 1.5)
            text.setPos(QPointF(float(xs[at]), float(ys[at])))
            text.update()
