"""One line of text in whatever room there is: what does not fit is left out in its middle, and told in its tip."""

from PySide6.QtCore import QSize, Qt
from PySide6.QtGui import QPainter, QPaintEvent, QPalette
from PySide6.QtWidgets import QSizePolicy, QWidget

LEAST = 60  # px
SPARE = 2  # px beside a text: of its width alone Qt takes it for too long


class Elided(QWidget):
    """A text that never wraps and never asks for more width than it gets."""

    def __init__(self, parent: QWidget, align: Qt.AlignmentFlag, *, soft: bool = False) -> None:
        """Make it empty; soft text matters less."""
        super().__init__(parent)
        self._text = self._short = ""
        self._align, self._soft = align | Qt.AlignmentFlag.AlignVCenter, soft
        self.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)

    def name(self, text: str, short: str = "") -> None:
        """Take another text, and what stands in its place where it does not fit."""
        if (text, short) != (self._text, self._short):
            self._text, self._short = text, short
            self.setToolTip(text)
            self.setAccessibleName(text)
            self.update()

    @property
    def whole_width(self) -> int:
        """The width at which its text shows whole, px."""
        return self.fontMetrics().horizontalAdvance(self._text) + SPARE

    @property
    def shown(self) -> str:
        """What is written, at the width there is."""
        metrics = self.fontMetrics()
        fits = not self._short or metrics.horizontalAdvance(self._text) <= self.width()
        return metrics.elidedText(self._text if fits else self._short, Qt.TextElideMode.ElideMiddle, self.width())

    def sizeHint(self) -> QSize:
        """Ask for one line."""
        return QSize(LEAST, self.fontMetrics().height())

    def minimumSizeHint(self) -> QSize:
        """Require one line."""
        return self.sizeHint()

    def paintEvent(self, event: QPaintEvent) -> None:
        """Write it."""
        del event
        painter = QPainter(self)
        group = QPalette.ColorGroup.Disabled if self._soft else QPalette.ColorGroup.Active
        painter.setPen(self.palette().color(group, QPalette.ColorRole.WindowText))
        painter.drawText(self.rect(), self._align, self.shown)
        painter.end()
