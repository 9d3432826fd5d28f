"""Why the next step is the next: read in the room there is, whole on pointing at it or when it has the keyboard."""

from PySide6.QtCore import QPoint, QSize, Qt
from PySide6.QtGui import QFocusEvent, QPainter, QPaintEvent, QPalette, QTextLayout, QTextOption
from PySide6.QtWidgets import QSizePolicy, QToolTip, QWidget

from workbench.window.words.wording import tr

ASKED = Qt.FocusReason.TabFocusReason, Qt.FocusReason.BacktabFocusReason, Qt.FocusReason.MouseFocusReason


class ReasonLine(QWidget):
    """A sentence in as many lines as its height holds; the last of them ends in dots where there is more."""

    def __init__(self, parent: QWidget) -> None:
        """Make it empty."""
        super().__init__(parent)
        self._text = ""
        self.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Fixed)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.hide()

    def say(self, text: str) -> None:
        """Take another sentence."""
        if text != self._text:
            self._text = text
            self.setToolTip(text)
            self.setAccessibleName(tr("Why this is next: {reason}").format(reason=text))
            self.setVisible(bool(text))
            self.updateGeometry()
            self.update()

    @property
    def lines(self) -> list[str]:
        """What is written, at the width and height there are."""
        metrics, found = self.fontMetrics(), list[str]()
        room = max(self.height() // metrics.lineSpacing(), 1)
        layout = QTextLayout(self._text, self.font())
        layout.setTextOption(QTextOption())
        layout.beginLayout()
        while len(found) < room and (line := layout.createLine()).isValid():
            line.setLineWidth(self.width())
            rest = self._text[line.textStart() :]
            last = len(found) + 1 == room
            part = metrics.elidedText(rest, Qt.TextElideMode.ElideRight, self.width()) if last else rest
            found.append(part if last else rest[: line.textLength()].rstrip())
        layout.endLayout()
        return found

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
        """Write it towards the button, with a line under it while it has the keyboard."""
        del event
        painter, metrics = QPainter(self), self.fontMetrics()
        painter.setPen(self.palette().color(QPalette.ColorGroup.Active, QPalette.ColorRole.WindowText))
        lines = self.lines
        y = (self.height() - metrics.lineSpacing() * len(lines)) // 2
        for at, line in enumerate(lines):
            place = self.rect()
            place.setTop(y + at * metrics.lineSpacing())
            place.setHeight(metrics.lineSpacing())
            painter.drawText(place, Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter, line)
        if self.hasFocus():
            painter.setPen(self.palette().color(QPalette.ColorRole.Link))
            painter.drawRect(self.rect().adjusted(0, 0, -1, -1))
        painter.end()
