"""The controls all panels are put together from: each with a name for those who listen, and a finger's height."""

from collections.abc import Iterable

from PySide6.QtCore import QEvent, QPoint, QRect, QSize, Qt
from PySide6.QtGui import QPaintEvent, QWheelEvent
from PySide6.QtWidgets import (
    QApplication,
    QCheckBox,
    QComboBox,
    QFrame,
    QGridLayout,
    QHBoxLayout,
    QLabel,
    QLayout,
    QLineEdit,
    QPushButton,
    QScrollArea,
    QSizePolicy,
    QSlider,
    QStyle,
    QStyleOptionComboBox,
    QStylePainter,
    QVBoxLayout,
    QWidget,
)

SPARE = 4  # px beside the text of a list, so that it is not cut where widths are rounded
BESIDE_EM = 18  # lines of text that a form is wide, from which on a field stands beside its caption


class Card(QFrame):
    """A quiet sheet with a heading."""

    def __init__(self, name: str, parent: QWidget) -> None:
        """Name it for those who listen."""
        super().__init__(parent)
        self.setProperty("card", "true")
        self.setAccessibleName(name)
        self.column = QVBoxLayout(self)
        self.column.setContentsMargins(10, 8, 10, 8)
        self.column.setSpacing(6)

    def height_for(self, width: int) -> int:
        """Return how tall it is at a width, its border counted in, px."""
        across, along = self.width() - self.contentsRect().width(), self.height() - self.contentsRect().height()
        return self.column.heightForWidth(width - across) + along


def label(text: str, parent: QWidget, kind: str = "", *, wrap: bool = False) -> QLabel:
    """Make a text; kind is soft, title, figure, good, attention or trouble."""
    made = QLabel(text, parent)
    made.setProperty("kind", kind)
    made.setWordWrap(wrap)
    made.setTextFormat(Qt.TextFormat.PlainText)
    if wrap:
        spread(made, QSizePolicy.Policy.Preferred)
        made.setMinimumWidth(40)
    return made


def spread(made: QLabel, across: QSizePolicy.Policy) -> None:
    """Give wrapping text the width of its layout and the height it then needs."""
    policy = QSizePolicy(across, QSizePolicy.Policy.Preferred)
    policy.setHeightForWidth(True)
    made.setSizePolicy(policy)


def rekind(made: QWidget, kind: str) -> None:
    """Give a control another kind and draw it so."""
    _mark(made, "kind", kind)


def set_low(panel: QWidget, *, low: bool) -> None:
    """Have the controls of a panel as low as their text lets them be, for the desk, or as high as a finger asks for."""
    for kind in (QPushButton, QComboBox, QLineEdit):
        for each in panel.findChildren(kind):
            _mark(each, "low", "true" if low else "false")
            QApplication.sendEvent(each, QEvent(QEvent.Type.StyleChange))  # else a list keeps the height that it had


def _mark(made: QWidget, name: str, value: str) -> None:
    if made.property(name) != value:
        made.setProperty(name, value)
        made.style().unpolish(made)
        made.style().polish(made)
        made.updateGeometry()


def button(text: str, tip: str, parent: QWidget, kind: str = "") -> QPushButton:
    """Make a button that says what and, in its tip, why."""
    made = QPushButton(text, parent)
    made.setProperty("kind", kind)
    made.setToolTip(tip)
    made.setAccessibleName(text.replace("&", ""))
    made.setAccessibleDescription(tip)
    made.setAutoDefault(True)  # so that Enter presses the button that has the keyboard
    return made


def unwheeled(made: QWidget) -> None:
    """Let the wheel over a widget leave the keyboard where it is: what is typed next is meant for there."""
    made.setFocusPolicy(Qt.FocusPolicy.StrongFocus)


LISTED = 14  # choices of a list that are seen at once


class Choice(QComboBox):
    """A list to choose one from; a text with too little room ends in dots instead of being cut."""

    def __init__(self, parent: QWidget) -> None:
        """Make it empty."""
        super().__init__(parent)
        unwheeled(self)
        self.setMaxVisibleItems(LISTED)

    def wheelEvent(self, event: QWheelEvent) -> None:
        """Leave the wheel to the page: who scrolls past does not mean to choose."""
        event.ignore()

    def sizeHint(self) -> QSize:
        """Ask for room for the widest text where it is to show whole: Qt forgets what a style takes beside it."""
        hint = super().sizeHint()
        if self.sizeAdjustPolicy() is QComboBox.SizeAdjustPolicy.AdjustToContents and self.count():
            metrics = self.fontMetrics()
            widest = max(metrics.horizontalAdvance(self.itemText(i)) for i in range(self.count()))
            hint.setWidth(max(hint.width(), hint.width() - self._place(QRect(QPoint(), hint)).width() + widest + SPARE))
        return hint

    def minimumSizeHint(self) -> QSize:
        """Require that room too."""
        whole = self.sizeAdjustPolicy() is QComboBox.SizeAdjustPolicy.AdjustToContents
        return self.sizeHint() if whole else super().minimumSizeHint()

    def _place(self, within: QRect) -> QRect:
        """Return where its text stands in it."""
        option = QStyleOptionComboBox()
        self.initStyleOption(option)
        option.rect = within
        return self.style().subControlRect(
            QStyle.ComplexControl.CC_ComboBox, option, QStyle.SubControl.SC_ComboBoxEditField, self
        )

    @property
    def whole_width(self) -> int:
        """The width at which what is chosen shows whole, px."""
        return self.width_of(self._text)

    def width_of(self, text: str) -> int:
        """Return the width at which a text shows whole, px."""
        hint = super().sizeHint()
        beside = hint.width() - self._place(QRect(QPoint(), hint)).width()
        return beside + self.fontMetrics().horizontalAdvance(text) + SPARE

    @property
    def shown(self) -> str:
        """What is written, with what of it has room."""
        text, place = self._text, self._place(self.rect())
        if self.fontMetrics().horizontalAdvance(text) > place.width():
            room = place.width() - 2  # Qt keeps 1 px on each side
            text = self.fontMetrics().elidedText(text, Qt.TextElideMode.ElideRight, room)
        return text

    @property
    def _text(self) -> str:
        return self.currentText() if self.currentIndex() >= 0 or self.isEditable() else self.placeholderText()

    def paintEvent(self, event: QPaintEvent) -> None:
        """Draw it with what of its text has room."""
        del event
        painter, option = QStylePainter(self), QStyleOptionComboBox()
        self.initStyleOption(option)
        option.currentText = self.shown
        painter.drawComplexControl(QStyle.ComplexControl.CC_ComboBox, option)
        painter.drawControl(QStyle.ControlElement.CE_ComboBoxLabel, option)
        painter.end()


def choice(
    name: str, items: Iterable[tuple[str, object]], parent: QWidget, tip: str = "", *, whole: bool = False
) -> QComboBox:
    """Make a list to choose one of (text, value) from; it shrinks where room is scarce unless it is to show whole."""
    made = Choice(parent)
    made.setAccessibleName(name)
    made.setToolTip(tip or name)
    shrinks = QComboBox.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon
    made.setSizeAdjustPolicy(QComboBox.SizeAdjustPolicy.AdjustToContents if whole else shrinks)
    if not whole:
        made.setMinimumContentsLength(8)
    for text, value in items:
        made.addItem(text, value)
    return made


class Slider(QSlider):
    """A slider that lies along; it is moved by keys and by dragging."""

    def __init__(self, name: str, most: int, parent: QWidget) -> None:
        """Start the range at 0."""
        super().__init__(Qt.Orientation.Horizontal, parent)
        self.setAccessibleName(name)
        self.setRange(0, most)
        unwheeled(self)

    def wheelEvent(self, event: QWheelEvent) -> None:
        """Leave the wheel to the page: who scrolls past does not mean to change it."""
        event.ignore()


def tick(text: str, parent: QWidget, tip: str = "", *, on: bool = False) -> QCheckBox:
    """Make a box to tick."""
    made = QCheckBox(text, parent)
    made.setAccessibleName(text)
    made.setToolTip(tip)
    made.setChecked(on)
    return made


def row(*widgets: QWidget | None, spacing: int = 8) -> QHBoxLayout:
    """Lay controls side by side; None takes what room is left."""
    made = QHBoxLayout()
    made.setContentsMargins(0, 0, 0, 0)
    made.setSpacing(spacing)
    for widget in widgets:
        if widget is None:
            made.addStretch(1)
        else:
            made.addWidget(widget)
    return made


def with_button(place: QWidget, field: QWidget, asks: QWidget) -> None:
    """Lay a field and the button that fills it into a place; the field takes what room there is, and the keyboard."""
    line = row(field, asks)
    line.setStretch(0, 1)
    field.setSizePolicy(QSizePolicy.Policy.Expanding, field.sizePolicy().verticalPolicy())
    asks.setSizePolicy(QSizePolicy.Policy.Fixed, asks.sizePolicy().verticalPolicy())
    place.setLayout(line)
    place.setFocusProxy(field)


def labelled(text: str, control: QWidget, parent: QWidget) -> QLabel:
    """Make the label of a control, tied to it."""
    made = label(text, parent, "soft")
    made.setBuddy(control)
    return made


class Pairs(QGridLayout):
    """Captions and their fields: side by side, or one above the other where large text leaves little room."""

    def __init__(self) -> None:
        """Make it empty, fields beside."""
        super().__init__()
        self.setHorizontalSpacing(10)
        self.setColumnStretch(1, 1)
        self._pairs: list[tuple[QWidget, QWidget]] = []
        self._above = False

    def add(self, caption: QWidget, field: QWidget) -> None:
        """Take one more pair."""
        self._pairs.append((caption, field))
        self._place(len(self._pairs) - 1)

    def fit(self, wide: int, line: int, need: int = 0) -> None:
        """Put captions above their fields where those would be cut.

        Args:
            wide: what there is, px.
            line: height of a line of text, px.
            need: what captions and fields take side by side, where that is known, px.
        """
        above = wide < max(BESIDE_EM * line, need)
        if above is not self._above:
            self._above = above
            for at in range(len(self._pairs)):
                self._place(at)

    @property
    def captions_width(self) -> int:
        """What captions in one line take beside their fields, px."""
        texts = [caption for caption, _ in self._pairs if isinstance(caption, QLabel)]
        widest = max((each.fontMetrics().horizontalAdvance(each.text()) for each in texts), default=0)
        return widest + self.horizontalSpacing()

    def _place(self, at: int) -> None:
        caption, field = self._pairs[at]
        self.removeWidget(caption)
        self.removeWidget(field)
        if self._above:
            self.addWidget(caption, 2 * at, 0, 1, 2)
            self.addWidget(field, 2 * at + 1, 0, 1, 2)
        else:
            self.addWidget(caption, 2 * at, 0)
            self.addWidget(field, 2 * at, 1)


class Scroll(QScrollArea):
    """A place that shows the control that has the keyboard, wherever the keyboard came from."""

    def __init__(self, parent: QWidget) -> None:
        """Watch where the keyboard goes."""
        super().__init__(parent)
        application = QApplication.instance()
        if isinstance(application, QApplication):
            application.focusChanged.connect(self._on_focus)

    def _on_focus(self, _: QWidget | None, now: QWidget | None) -> None:
        if now is None or not self.isAncestorOf(now):
            return
        seen = now.visibleRegion()
        # What is pressed with the mouse must not move under it; by keys, half a control is not enough.
        by_keys = QApplication.mouseButtons() == Qt.MouseButton.NoButton
        fits = now.height() <= self.viewport().height()  # else it is read from its beginning
        if seen.isEmpty() or (by_keys and fits and seen.boundingRect() != now.rect()):
            self.ensureWidgetVisible(now)

    def focusNextPrevChild(self, following: bool) -> bool:
        """Lead by Tab from the place itself to the first control inside."""
        inside = self.widget()
        if not (following and self.hasFocus() and inside is not None):
            return super().focusNextPrevChild(following)
        at = inside.nextInFocusChain()
        while at is not None and at is not inside:
            takes = at.focusPolicy() & Qt.FocusPolicy.TabFocus == Qt.FocusPolicy.TabFocus
            if takes and at.isEnabled() and at.isVisible() and inside.isAncestorOf(at):
                at.setFocus(Qt.FocusReason.TabFocusReason)
                return True
            at = at.nextInFocusChain()
        return super().focusNextPrevChild(following)


def scrolled(inside: QWidget, name: str, parent: QWidget) -> QScrollArea:
    """Wrap a widget in a scroll area, so that it may be taller than its place."""
    made = Scroll(parent)
    made.setAccessibleName(name)
    made.setWidgetResizable(True)
    made.setFrameShape(QFrame.Shape.NoFrame)
    made.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
    made.setFocusPolicy(Qt.FocusPolicy.NoFocus)
    inside.setProperty("plain", "true")
    made.setWidget(inside)
    return made


def emptied(layout: QLayout) -> None:
    """Take everything out of a layout and have it destroyed."""
    while (item := layout.takeAt(0)) is not None:
        if (widget := item.widget()) is not None:
            widget.hide()
            widget.deleteLater()
        elif (inner := item.layout()) is not None:
            emptied(inner)
