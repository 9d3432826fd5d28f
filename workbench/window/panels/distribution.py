"""A small picture of how the samples of the chosen cells spread about their ratio."""

import numpy as np
from PySide6.QtCore import QRectF, QSize, Qt
from PySide6.QtGui import QColor, QFont, QFontMetrics, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QSizePolicy, QWidget

from workbench.model.arrays import FloatArray
from workbench.window.kit.theme import LIGHT, Theme
from workbench.window.words.wording import count, percent, plural, tr

LEAST_WIDE = 110  # px of the distribution


class Distribution(QWidget):
    """A small picture of how the samples of the chosen cells spread about their ratio."""

    def __init__(self, parent: QWidget) -> None:
        """Make it empty."""
        super().__init__(parent)
        self.setAccessibleName(tr("Distribution of the samples"))
        self.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Preferred)
        self._heights: FloatArray = np.zeros(0)
        self._edges = (0.9, 1.1)
        self._middle, self._theme = float("nan"), LIGHT

    def sizeHint(self) -> QSize:
        """Ask for little room."""
        metrics = QFontMetrics(self._small())
        return QSize(max(LEAST_WIDE, metrics.horizontalAdvance(_caption()) + 4), 30 + 2 * metrics.height())

    def _small(self) -> QFont:
        small = QFont(self.font())
        small.setPointSizeF(max(7.5, small.pointSizeF() * 0.8))
        return small

    def show_ratios(self, ratios: FloatArray, middle: float, theme: Theme) -> None:
        """Draw other samples."""
        self._theme, self._middle = theme, middle
        self._heights = np.zeros(0)
        if ratios.size:
            low, high = (float(edge) for edge in np.quantile(ratios, (0.01, 0.99)))
            reach = max(abs(low - 1), abs(high - 1), 0.02)
            self._edges = (1 - reach, 1 + reach)
            self._heights = np.histogram(ratios, bins=30, range=self._edges)[0].astype(float)
            words = plural(ratios.size, "1 sample at {low}", "{n} samples from {low} to {high}")
            self.setAccessibleDescription(words.format(n=count(ratios.size), low=percent(low), high=percent(high)))
        self.setToolTip(self.accessibleDescription())
        self.update()

    def paintEvent(self, event: QPaintEvent) -> None:
        """Draw bars, a line at 1 and the ratio."""
        del event
        if not self._heights.size:
            return
        painter = QPainter(self)
        small = self._small()
        under = QFontMetrics(small).height()
        area = QRectF(self.rect()).adjusted(1, under, -1, -under)
        painter.setFont(small)
        painter.setPen(QColor(self._theme.soft))
        low, high = (percent(edge, 0) for edge in self._edges)
        painter.drawText(self.rect(), Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignTop, _caption())
        feet = QRectF(self.rect()).adjusted(0, self.height() - under, 0, 0)
        painter.drawText(feet, Qt.AlignmentFlag.AlignLeft, low)
        painter.drawText(feet, Qt.AlignmentFlag.AlignHCenter, "0")
        painter.drawText(feet, Qt.AlignmentFlag.AlignRight, high)
        wide = area.width() / len(self._heights)
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(QColor(self._theme.edge))
        for i, height in enumerate(self._heights / max(float(self._heights.max()), 1.0)):
            tall = height * area.height()
            painter.drawRect(QRectF(area.left() + i * wide + 0.5, area.bottom() - tall, wide - 1, tall))
        for at, colour, style in (
            (1.0, self._theme.ink, Qt.PenStyle.SolidLine),
            (self._middle, self._theme.accent, Qt.PenStyle.DashLine),
        ):
            if self._edges[0] <= at <= self._edges[1]:
                x = area.left() + (at - self._edges[0]) / (self._edges[1] - self._edges[0]) * area.width()
                painter.setPen(QPen(QColor(colour), 2, style))
                painter.drawLine(int(x), int(area.top()), int(x), int(area.bottom()))
        painter.end()


def _caption() -> str:
    return tr("samples, off by")
