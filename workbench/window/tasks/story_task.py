"""What became of a cell: how far it is from the first table after every act, drawn and told."""

from collections.abc import Sequence
from html import escape
from typing import Any

import numpy as np
import pyqtgraph
from PySide6.QtCore import QEvent, Qt
from PySide6.QtGui import QColor
from PySide6.QtWidgets import QApplication, QVBoxLayout, QWidget

from workbench.commands.record.comparisons import PREDICTIONS
from workbench.window.kit.controls import label
from workbench.window.kit.plots import Plot, finite_range, pen
from workbench.window.kit.style import theme_named
from workbench.window.words.wording import THIN_SPACE, clock, held, number, operation, percent, plain, tr

LINES_HIGH = 9  # lines of text that the picture is high


class StoryTask(QWidget):
    """Draws and lists every act that touched the current cell, the latest first."""

    def __init__(self, unit: str, acts: Sequence[Any], parent: QWidget) -> None:
        """Show the acts of a cell, as the command that lists them gives them, in the unit of its table."""
        super().__init__(parent)
        self._acts = acts
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.addWidget(label(tr("Change since the first table, %, after each revision"), self, "soft", wrap=True))
        self.plot = Plot(tr("Change of the cell after each revision"), self)
        self.plot.setFixedHeight(self.fontMetrics().height() * LINES_HIGH)
        column.addWidget(self.plot)
        text = label("", self, wrap=True)
        text.setTextFormat(Qt.TextFormat.RichText)
        text.setText("".join(f"<p>{act_text(act, unit)}</p>" for act in reversed(self._acts)))
        text.setTextInteractionFlags(
            Qt.TextInteractionFlag.TextSelectableByKeyboard | Qt.TextInteractionFlag.TextSelectableByMouse
        )
        text.setAccessibleName(tr("Acts"))
        column.addWidget(text)
        self.text, self.first = text, text
        self._draw()

    def changeEvent(self, event: QEvent) -> None:
        """Draw in the colours of another theme."""
        super().changeEvent(event)
        if event.type() == QEvent.Type.PaletteChange:
            self._draw()

    def _draw(self) -> None:
        application = QApplication.instance()
        theme = theme_named("" if application is None else str(application.property("theme")))
        self.plot.dress(theme, self.font())
        self.plot.box.clear()
        x = np.arange(len(self._acts), dtype=np.float64)
        y = np.array([100 * (act.cumulative - 1) for act in self._acts], dtype=np.float64)
        half = np.array([100 * act.half_width for act in self._acts], dtype=np.float64)
        self.plot.box.addItem(pyqtgraph.InfiniteLine(0.0, angle=0, movable=False, pen=pen(theme.line, 1)))
        known = np.isfinite(half) & np.isfinite(y)
        bars = pyqtgraph.ErrorBarItem(
            x=x[known], y=y[known], height=2 * half[known], beam=0.15, pen=pen(theme.accent, theme.stroke)
        )
        self.plot.box.addItem(bars)
        drawn: Any = pyqtgraph.PlotDataItem(
            x, y, connect="finite", pen=pen(theme.ink, theme.stroke), symbol="o", symbolSize=7,
            symbolBrush=QColor(theme.ink), symbolPen=None,
        )  # fmt: skip
        self.plot.box.addItem(drawn)
        self.plot.name_axis(tr("revision"))
        self.plot.mark_axis([(at, str(act.revision.id)) for at, act in enumerate(self._acts)])
        self.plot.box.setYRange(*finite_range(y, y[known] - half[known], y[known] + half[known], least=2.0), padding=0)
        self.plot.box.setXRange(float(x[0]) - 0.5, float(x[-1]) + 0.5, padding=0)


def act_text(act: Any, unit: str) -> str:
    """Tell one act as rich text: what it did in strong letters, who, when and on what evidence below."""
    revision = act.revision
    value = f"{plain(float(f'{act.value:.6g}'))} {unit}".strip()
    moved = "" if revision.parent is None else percent(act.factor) if np.isfinite(act.factor) else tr("set outright")
    whole = tr("{percent} since the first table").format(percent=percent(act.cumulative))
    strong = " · ".join(part for part in (value, moved) if part)
    if revision.parent is not None and np.isfinite(act.cumulative):
        strong = f"{strong} · {whole}"
    words = []
    if act.drives:
        half = f" ± {number(100 * act.half_width, 1)}{THIN_SPACE}%" if np.isfinite(act.half_width) else ""
        words.append(tr("from drives {drives}").format(drives=", ".join(map(str, act.drives))) + half)
    words += [tr(PREDICTIONS[act.prediction])] if act.prediction in PREDICTIONS else []
    words += [tr("≈ inferred, not measured")] if act.inferred else []
    words += [tr("read between breakpoints")] if act.interpolated else []
    since = ", ".join(map(str, act.driven_since))
    words += [tr("driven since: {drives}").format(drives=since)] if since else []
    words += [clock(revision.time)]
    words += [tr("by {name}").format(name=revision.author)] if revision.author else []
    words += [f"“{revision.note}”"] if revision.note else []
    heading = f"<b>{revision.id}&nbsp; {escape(operation(revision))}</b>"
    return f"{heading}<br>{escape(held(strong))}<br>{escape(held('; '.join(words)))}"
