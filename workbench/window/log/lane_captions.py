"""The captions beside the lanes: the name of each channel with its value at the cursor."""

from collections.abc import Sequence
from html import escape

from PySide6.QtCore import Qt
from PySide6.QtGui import QFont, QFontMetrics
from PySide6.QtWidgets import QLabel, QSizePolicy, QVBoxLayout, QWidget

from workbench.window.kit.controls import label
from workbench.window.kit.theme import LIGHT, Theme
from workbench.window.log.lane_plot import RIBBON_PX, SPACING, STYLES, Lane, colour_of, small_font
from workbench.window.words.wording import plain, tr

LEAST_GUTTER = 180
LEAST_NAME = 9  # signs of a name that are seen before its unit gives way
EDGE = 4  # px kept free at the right
HERE = "▸"  # before the caption of the lane that keys work on


class Captions:
    """Labels under each other, each as high as its lane."""

    def __init__(self, gutter: QWidget, host: QWidget) -> None:
        """Fill a place beside the lanes; the host tells font and room."""
        self._gutter, self._host = gutter, host
        self._column = QVBoxLayout(gutter)
        self._column.setSpacing(SPACING)
        self._time_name = label(tr("time, s"), gutter, "soft")
        self._time_name.setAlignment(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignBottom)
        self._column.addWidget(self._time_name)
        self.labels: list[QLabel] = []
        self._theme: Theme = LIGHT

    def lay(self, lanes: Sequence[Lane], theme: Theme, axis_height: int) -> None:
        """Put a caption beside every lane."""
        self._theme = theme
        font = small_font(self._host.font())
        while len(self.labels) > len(lanes):
            gone = self.labels.pop()
            self._column.removeWidget(gone)
            gone.hide()
            gone.deleteLater()
        while len(self.labels) < len(lanes):
            made = label("", self._gutter)
            made.setTextFormat(Qt.TextFormat.RichText)
            made.setAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)
            made.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Ignored)
            self._column.insertWidget(len(self.labels), made)
            self.labels.append(made)
        for caption in self.labels:
            caption.setFont(font)
        self._column.setContentsMargins(0, RIBBON_PX + SPACING if lanes else 0, 0, 0)
        self._time_name.setFont(font)
        self._time_name.setFixedHeight(axis_height - SPACING)
        self._time_name.setVisible(bool(lanes))
        names = [f"{HERE}━ {trace.name} −88.88 {trace.unit[:3]}" for lane in lanes for trace in lane.traces]
        metrics = QFontMetrics(font)
        widest = max((metrics.horizontalAdvance(name) for name in names), default=0)
        self._gutter.setFixedWidth(min(widest + 8, max(self._host.width() // 4, LEAST_GUTTER)))

    def set_heights(self, heights: Sequence[int]) -> None:
        """Make each caption as high as its lane, px."""
        for caption, height in zip(self.labels, heights, strict=False):
            caption.setFixedHeight(height)

    def write(self, index: int, lane: Lane, row: int | None, *, current: bool) -> None:
        """Write the values of a row of the log into a caption; what has no room is told on pointing at it.

        Args:
            index: of the lane.
            lane: what it shows.
            row: of the log; None for no values.
            current: whether keys work on this lane.
        """
        caption = self.labels[index]
        metrics = QFontMetrics(caption.font())
        lines, spoken = [], []
        room = max(caption.height() // metrics.height(), 1)
        more = tr("… {n} more").format(n=len(lane.traces) - room)
        for i, trace in enumerate(lane.traces):
            colour = colour_of(lane, i, self._theme)
            sign = "╍" if STYLES[i % len(STYLES)] == Qt.PenStyle.DashLine else "━"
            known = row is not None and row < len(trace.pyramid.values)
            value = plain(float(f"{trace.pyramid.values[row]:.4g}")) if known else ""
            unit = "" if trace.unit == "lambda" else trace.unit
            begun = f"{HERE}{sign} " + (f" {more}" if i + 1 == room < len(lane.traces) else "")
            name, shown = self._fitted(trace.name, begun, value, unit, caption)
            lines.append(f'<span style="color:{colour}">{sign} {escape(name)}</span> <b>{value}</b> {escape(shown)}')
            spoken.append(f"{trace.name} {value} {unit}".strip())
        if len(lines) > room:
            lines = [*lines[: room - 1], f'{lines[room - 1]} <span style="color:{self._theme.soft}">{more}</span>']
        if current:
            lines[0] = f'<span style="color:{self._theme.attention}">{HERE}</span>{lines[0]}'
        caption.setText("<br>".join(lines))
        caption.setAccessibleName(", ".join(spoken))
        caption.setToolTip("\n".join(spoken))

    def _fitted(self, name: str, begun: str, value: str, unit: str, caption: QLabel) -> tuple[str, str]:
        """Shorten name and unit so that the value is never cut: part of a number would read as another."""
        metrics = QFontMetrics(caption.font())
        strong = QFont(caption.font())
        strong.setBold(True)
        space = metrics.horizontalAdvance(" ")
        taken = metrics.horizontalAdvance(begun) + QFontMetrics(strong).horizontalAdvance(value) + 2 * space + EDGE
        room = self._gutter.width() - taken
        if room - metrics.horizontalAdvance(unit) < LEAST_NAME * metrics.averageCharWidth():
            unit = ""
        room -= metrics.horizontalAdvance(unit)
        return metrics.elidedText(name, Qt.TextElideMode.ElideRight, max(room, 0)), unit
