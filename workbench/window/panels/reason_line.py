"""Why the next step is the next: read whole, in as many lines as it takes, since it may be what saves an engine."""

from PySide6.QtCore import QPoint, QSize, Qt
from PySide6.QtGui import QColor, QFocusEvent, QPainter, QPaintEvent, QPalette, QTextLayout, QTextOption
from PySide6.QtWidgets import QSizePolicy, QToolTip, QWidget

from workbench.window.words.wording import tr

USUAL_LINES = 2  # what most reasons take
ASKED = Qt.FocusReason.TabFocusReason, Qt.FocusReason.BacktabFocusReason, Qt.FocusReason.MouseFocusReason


class ReasonLine(QWidget):
    """A sentence in as many lines as it takes, never cut."""

    def __init__(self, parent: QWidget) -> None:
        """Make it empty."""
        super().__init__(parent)
        self._text = self._colour = ""
        policy = QSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Preferred)
        policy.setHeightForWidth(True)
        self.setSizePolicy(policy)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.hide()

    def say(self, text: str, colour: str = "") -> None:
        """Take another sentence; what tells of a danger has a colour of its own."""
        if (text, colour) != (self._text, self._colour):
            self._text, self._colour = text, colour
            self.setToolTip(text)
            self.setAccessibleName(tr("Why this is next: {reason}").format(reason=text))
            self.setVisible(bool(text))
            self.updateGeometry()
            self.update()

    @property
    def lines(self) -> list[str]:
        """What is written, at the width there is."""
        return self._broken(self.width())

    def _broken(self, width: int) -> list[str]:
        layout, found = QTextLayout(self._text, self.font()), list[str]()
        layout.setTextOption(QTextOption())
        layout.beginLayout()
        while (line := layout.createLine()).isValid():
            line.setLineWidth(max(width, 1))
            found.append(self._text[line.textStart() :][: line.textLength()].rstrip())
        layout.endLayout()
        return found

    def heightForWidth(self, width: int) -> int:
        """Ask for all its lines, and for two at least: what is under it moves as seldom as can be."""
        return max(len(self._broken(width)), USUAL_LINES) * self.fontMetrics().lineSpacing()

    def sizeHint(self) -> QSize:
        """Ask for one line."""
        metrics = self.fontMetrics()
        return QSize(metrics.horizontalAdvance(self._text) + 2, metrics.lineSpacing())

    def minimumSizeHint(self) -> QSize:
        """Require one line."""
        return QSize(0, self.fontMetrics().lineSpacing())

    def focusInEvent(self, event: QFocusEvent) -> None:
        """Tell all of it to who comes by keys or touches it: nothing hovers there."""
        super().focusInEvent(event)
        self.update()
        if event.reason() in ASKED:
            QToolTip.showText(self.mapToGlobal(QPoint(0, self.height())), self._text, self)

    def focusOutEvent(self, event: QFocusEvent) -> None:
        """Be as before."""
        super().focusOutEvent(event)
        self.update()

    def paintEvent(self, event: QPaintEvent) -> None:
        """Write it towards the button where it is one line, with a line under it while it has the keyboard."""
        del event
        painter, metrics = QPainter(self), self.fontMetrics()
        usual = self.palette().color(QPalette.ColorGroup.Active, QPalette.ColorRole.WindowText)
        painter.setPen(QColor(self._colour) if self._colour else usual)
        lines = self.lines
        side = Qt.AlignmentFlag.AlignRight if len(lines) == 1 else Qt.AlignmentFlag.AlignLeft
        y = (self.height() - metrics.lineSpacing() * len(lines)) // 2
        for at, line in enumerate(lines):
            place = self.rect()
            place.setTop(y + at * metrics.lineSpacing())
            place.setHeight(metrics.lineSpacing())
            painter.drawText(place, side | Qt.AlignmentFlag.AlignVCenter, line)
        if self.hasFocus():
            painter.setPen(self.palette().color(QPalette.ColorRole.Link))
            painter.drawRect(self.rect().adjusted(0, 0, -1, -1))
        painter.end()
