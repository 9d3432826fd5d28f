"""The strip under the picture of values: by how many percent a curve differs, which values alone hardly show."""

from collections.abc import Sequence
from typing import Any

import numpy as np
import pyqtgraph
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QVBoxLayout, QWidget

from workbench.model.arrays import FloatArray
from workbench.window.kit.plots import Plot, finite_range, pen
from workbench.window.kit.theme import Theme
from workbench.window.table.beside import Beside, Line
from workbench.window.words.wording import tr

LEAST = 1.0  # % that the scale spans at least
AIR = 0.2  # of the scale above and below: room for the number that stands at a line


class DifferenceStrip(QWidget):
    """Shows the change since the compared revision, over the axis of the picture above it."""

    def __init__(self, above: Plot, parent: QWidget) -> None:
        """Make it hidden, under a plot whose stretch it follows."""
        super().__init__(parent)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        self.plot = Plot(tr("Change since the compared revision, %"), self)
        self.plot.without_bottom()
        layout.addWidget(self.plot)
        self.plot.box.setXLink(above.box)
        self.plot.box.setMouseEnabled(x=True, y=False)
        self._zero: Any = pyqtgraph.InfiniteLine(0.0, angle=0, movable=False)
        self.now: Any = pyqtgraph.PlotCurveItem()
        self.draft: Any = pyqtgraph.PlotCurveItem()
        for part in (self._zero, self.now, self.draft):
            self.plot.box.addItem(part)
        self._beside = Beside(self.plot)
        self.hide()

    def show_changes(
        self, xs: FloatArray, now: FloatArray, draft: FloatArray | None, beside: Sequence[Line], theme: Theme
    ) -> None:
        """Draw changes in percent; without any it is gone.

        Args:
            xs: breakpoints.
            now: change of the revision that is worked on.
            draft: that of the draft; None without one.
            beside: those of other revisions.
            theme: the colours.
        """
        lines = [now, *([] if draft is None else [draft]), *(ys for _, _, ys in beside)]
        shown = any(bool((np.abs(line[np.isfinite(line)]) > 0).any()) for line in lines)
        self.setVisible(shown)
        if not shown:
            return
        self._zero.setPen(pen(theme.line, 1))
        self.now.setData(xs, now, connect="finite", pen=pen(theme.ink, theme.stroke))
        self.draft.setVisible(draft is not None)
        if draft is not None:
            style = pen(theme.attention, theme.stroke + 0.6, Qt.PenStyle.DashLine)
            self.draft.setData(xs, draft, connect="finite", pen=style)
        self._beside.show(beside, theme)
        self.plot.box.setYRange(*finite_range(*lines, np.zeros(1), least=LEAST), padding=AIR)
