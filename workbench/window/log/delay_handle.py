"""The handle by which the wideband's delay is tried by eye: it lies in the lane of the wideband and names the delay."""

from PySide6.QtCore import QPoint, QRect, QSize, Qt, Signal
from PySide6.QtGui import QColor, QFocusEvent, QFont, QFontMetrics, QKeyEvent, QMouseEvent, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QApplication, QWidget

from workbench.window.kit.theme import LIGHT, Theme
from workbench.window.log.lane_plot import small_font
from workbench.window.words.wording import number, tr

NUDGE_S = 0.02  # by which a key moves the shifted wideband
FAR = 5  # times farther with Shift
MOST_PER_PX = 0.02  # s: where a whole drive is seen, a pixel would be more than any delay
LONGEST_S = 5.0  # that the commands take
EDGE = 6  # px from the edge of the lane
PAD = 8  # px on either side of the words


class DelayHandle(QWidget):
    """Dragged sideways, or moved by Left and Right while it has the keyboard.

    Signals:
        moved: how far the shifted wideband was moved, s, positive to the right; whether it was let go.
    """

    moved = Signal(float, bool)

    def __init__(self, parent: QWidget) -> None:
        """Make it hidden, over the lanes."""
        super().__init__(parent)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setCursor(Qt.CursorShape.SizeHorCursor)
        self.setAccessibleName(tr("Handle of the delay"))
        words = tr(
            "Drag it, or move it by Left and Right (with Shift farther), until the shifted wideband lies on what the "
            "engine did. Nothing uses the delay before you say so. Esc puts it back."
        )
        self.setToolTip(words)
        self.setAccessibleDescription(words)
        self._theme: Theme = LIGHT
        self._delay: float | None = None
        self._by = 0.0  # s to the right
        self._grabbed: QPoint | None = None
        self._span, self._wide, self._lane = 1.0, 1, QRect()  # s and px of the lane
        self.hide()

    def dress(self, theme: Theme, delay: float | None) -> None:
        """Take over theme, text size and the delay that is used now, s; None where there is none."""
        self._theme, self._delay = theme, delay
        self.setFont(small_font(QApplication.font()))
        self._fit()

    def place(self, lane: QRect, span: float) -> None:
        """Lie at the right edge of a lane that shows so many s."""
        self._lane, self._wide, self._span = lane, max(lane.width(), 1), span
        self._fit()

    def set_span(self, span: float) -> None:
        """Take over how many s the lane shows."""
        self._span = span

    def _fit(self) -> None:
        """Take the room that the words need, in the upper right corner of the lane, or be gone."""
        self.setVisible(self._delay is not None and self._lane.isValid())
        size = self.sizeHint().boundedTo(QSize(self._wide, max(self._lane.height(), 1)))
        self.setGeometry(QRect(QPoint(self._lane.right() - size.width() - EDGE, self._lane.top() + 1), size))
        self.update()

    @property
    def by(self) -> float:
        """How far the shifted wideband is moved to the right, s."""
        return self._by

    @property
    def words(self) -> str:
        """What it says: the delay as it is tried."""
        tried = (self._delay or 0.0) - self._by
        return "◂ " + tr("fixed delay {delay} s").format(delay=number(tried, 2)) + " ▸"

    def sizeHint(self) -> QSize:
        """Ask for one line."""
        metrics = QFontMetrics(self.font())
        return QSize(metrics.horizontalAdvance(self.words) + 2 * PAD, metrics.height() + 4)

    def nudge(self, by: float) -> None:
        """Move the shifted wideband by a step, s, and leave it there."""
        if self.isVisible():
            self._by = self._held(self._by + by)
            self._fit()
            self.moved.emit(self._by, True)

    def _held(self, by: float) -> float:
        """Keep the delay from going below none, and beyond what the commands take."""
        delay = self._delay or 0.0
        return min(max(by, delay - LONGEST_S), delay)

    def give_up(self) -> None:
        """Move it back, and say so."""
        self.put_back()
        self.moved.emit(0.0, True)

    def put_back(self) -> None:
        """Forget how far it was moved."""
        self._by = 0.0
        self._grabbed = None
        self._fit()

    def paintEvent(self, event: QPaintEvent) -> None:
        """Draw it as something to take hold of."""
        del event
        painter, theme = QPainter(self), self._theme
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        tried = abs(self._by) > 1e-9
        fill, ink = (theme.attention, theme.on_attention) if tried else (theme.card, theme.accent)
        painter.setBrush(QColor(fill))
        edge = theme.attention if self.hasFocus() or tried else theme.accent
        painter.setPen(QPen(QColor(edge), 2 if self.hasFocus() else 1))
        painter.drawRoundedRect(self.rect().adjusted(1, 1, -1, -1), 5, 5)
        if tried and self.hasFocus():  # its edge has the colour of its fill
            painter.setPen(QPen(QColor(ink), 1))
            painter.drawRoundedRect(self.rect().adjusted(3, 3, -3, -3), 4, 4)
        font = QFont(self.font())
        painter.setFont(font)
        painter.setPen(QColor(ink))
        painter.drawText(self.rect(), Qt.AlignmentFlag.AlignCenter, self.words)
        painter.end()

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Take hold of the shifted wideband."""
        if event.button() == Qt.MouseButton.LeftButton:
            self._grabbed = event.globalPosition().toPoint() - QPoint(self._px(), 0)

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """Move it."""
        if self._grabbed is not None:
            self._by = self._held((event.globalPosition().toPoint() - self._grabbed).x() * self._per_px)
            self._fit()
            self.moved.emit(self._by, False)

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        """Leave it there."""
        if self._grabbed is not None and event.button() == Qt.MouseButton.LeftButton:
            self._grabbed = None
            self.moved.emit(self._by, True)

    @property
    def _per_px(self) -> float:
        return min(self._span / self._wide, MOST_PER_PX)

    def _px(self) -> int:
        return round(self._by / self._per_px)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Move it by Left and Right; Esc puts it back."""
        step = NUDGE_S * (FAR if event.modifiers() & Qt.KeyboardModifier.ShiftModifier else 1)
        if event.key() in (Qt.Key.Key_Left, Qt.Key.Key_Right):
            self.nudge(step if event.key() == Qt.Key.Key_Right else -step)
        elif event.key() == Qt.Key.Key_Escape and self._by:
            self.give_up()
        else:
            super().keyPressEvent(event)

    def focusInEvent(self, event: QFocusEvent) -> None:
        """Show that it has the keyboard."""
        super().focusInEvent(event)
        self.update()

    def focusOutEvent(self, event: QFocusEvent) -> None:
        """Show that it no longer has it."""
        super().focusOutEvent(event)
        self.update()
