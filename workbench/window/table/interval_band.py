"""The interval about a line: one filled piece for each stretch of it that is known."""

import numpy as np
from PySide6.QtCore import QPointF, Qt
from PySide6.QtGui import QColor, QPainterPath, QPen, QPolygonF
from PySide6.QtWidgets import QGraphicsPathItem

from workbench.model.arrays import FloatArray

ALONE = 0.15  # of the way to its neighbours, by which the interval of a point that stands alone reaches to either side


class IntervalBand(QGraphicsPathItem):
    """A filled band between two lines, with gaps where either is not known."""

    def __init__(self) -> None:
        """Make it empty."""
        super().__init__()
        self.setPen(QPen(Qt.PenStyle.NoPen))
        self.low = self.high = np.zeros(0)

    def show_interval(self, xs: FloatArray, middle: FloatArray, half: FloatArray, colour: QColor) -> None:
        """Show a middle and half the interval about it, over rising positions, all of shape (n,)."""
        self.low, self.high = middle - half, middle + half
        self.setBrush(colour)
        path = QPainterPath()
        for run in runs(np.isfinite(half) & np.isfinite(middle)):
            at, low, high = xs[run], self.low[run], self.high[run]
            if at.size == 1:
                reach = ALONE * float(np.min(np.abs(np.diff(xs[max(run.start - 1, 0) : run.stop + 1])), initial=np.inf))
                at = at[0] + np.array([-reach, reach]) if np.isfinite(reach) else np.repeat(at, 2)
                low, high = np.repeat(low, 2), np.repeat(high, 2)
            corners = [*zip(at, high, strict=True), *zip(at[::-1], low[::-1], strict=True)]
            path.addPolygon(QPolygonF([QPointF(float(x), float(y)) for x, y in corners]))
            path.closeSubpath()
        self.setPath(path)
        self.setVisible(not path.isEmpty())


def runs(known: np.ndarray) -> list[slice]:
    """Give the stretches of neighbours that are known."""
    edges = np.flatnonzero(np.diff(np.concatenate([[False], known, [False]]).astype(np.int8)))
    return [slice(int(start), int(stop)) for start, stop in zip(edges[::2], edges[1::2], strict=True)]
