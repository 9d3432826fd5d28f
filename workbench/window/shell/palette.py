"""Search over all commands: type any words of one, Enter does it."""

from PySide6.QtCore import QEvent, QModelIndex, QObject, QPersistentModelIndex, QRect, QSize, Qt
from PySide6.QtGui import QAction, QKeyEvent, QKeySequence, QPainter, QPalette
from PySide6.QtWidgets import (
    QFrame,
    QLineEdit,
    QListWidget,
    QListWidgetItem,
    QStyle,
    QStyledItemDelegate,
    QStyleOptionViewItem,
    QVBoxLayout,
    QWidget,
)

from workbench.window.kit.style import TOUCH
from workbench.window.words.wording import tr

Index = QModelIndex | QPersistentModelIndex
KEYS = Qt.ItemDataRole.UserRole + 1
WIDE_EM, TOP_EM = 40, 2  # lines of text across, and from the window's upper edge


class _Line(QStyledItemDelegate):
    """Draws a command with its keys at the right end, as high as a finger."""

    def sizeHint(self, option: QStyleOptionViewItem, index: Index) -> QSize:
        hint = super().sizeHint(option, index)
        return QSize(hint.width(), max(hint.height(), TOUCH))

    def paint(self, painter: QPainter, option: QStyleOptionViewItem, index: Index) -> None:
        super().paint(painter, option, index)
        chosen = bool(option.state & QStyle.StateFlag.State_Selected)
        group = QPalette.ColorGroup.Active if chosen else QPalette.ColorGroup.Disabled
        role = QPalette.ColorRole.HighlightedText if chosen else QPalette.ColorRole.Text
        painter.save()
        painter.setPen(option.palette.color(group, role))
        place = QRect(option.rect).adjusted(0, 0, -12, 0)
        painter.drawText(place, Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter, index.data(KEYS) or "")
        painter.restore()


class Palette(QFrame):
    """A sheet over the window, away again by Esc."""

    def __init__(self, parent: QWidget) -> None:
        """Make it hidden."""
        super().__init__(parent)
        self._over = parent
        self.setProperty("card", "true")
        self.setAccessibleName(tr("Search all commands"))
        self._actions: list[QAction] = []
        column = QVBoxLayout(self)
        self._line = QLineEdit(self)
        self._line.setAccessibleName(tr("Words of the command"))
        self._line.setPlaceholderText(tr("Search all commands"))
        self._line.textChanged.connect(self._filter)
        self._line.installEventFilter(self)
        self._list = QListWidget(self)
        self._list.setAccessibleName(tr("Commands found"))
        self._list.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self._list.setItemDelegate(_Line(self._list))
        self._list.itemClicked.connect(lambda _: self._do())
        column.addWidget(self._line)
        column.addWidget(self._list)
        self._back: QWidget | None = None
        self.hide()

    def open(self, actions: list[QAction], back: QWidget | None) -> None:
        """Show it over the window; the keyboard goes back to `back` afterwards."""
        self._actions, self._back = actions, back
        self.place()
        self._line.clear()
        self._filter("")
        self.show()
        self.raise_()
        self._line.setFocus()

    def redraw(self) -> None:
        """Draw the icons anew, after a change of theme."""
        if self.isVisible():
            self._filter(self._line.text())

    def place(self) -> None:
        """Stand in the upper middle of the window."""
        over = self._over.rect()
        width = min(WIDE_EM * self.fontMetrics().height(), over.width() - 40)
        top = TOP_EM * self.fontMetrics().height()
        self.setGeometry((over.width() - width) // 2, top, width, over.height() * 2 // 3 - top)

    def _filter(self, text: str) -> None:
        self._list.clear()
        words = text.lower().split()
        for action in self._actions:
            # Its name too: whoever knows the command line types the command's word.
            says = (action.text(), action.statusTip(), action.property("sayings") or "", action.objectName())
            haystack = " ".join(says).lower()
            if all(word in haystack for word in words):
                keys = action.shortcut().toString(QKeySequence.SequenceFormat.NativeText)
                item = QListWidgetItem(action.icon(), action.text())
                item.setData(KEYS, keys)
                item.setData(Qt.ItemDataRole.AccessibleTextRole, f"{action.text()} {keys}".rstrip())
                item.setData(Qt.ItemDataRole.UserRole, action.objectName())
                item.setToolTip(action.statusTip())
                if not action.isEnabled():
                    item.setFlags(item.flags() & ~Qt.ItemFlag.ItemIsEnabled)
                self._list.addItem(item)
        self._list.setCurrentRow(self._meant(text.lower()))

    def _meant(self, typed: str) -> int:
        """Give the row of the command of that very name, else the first whose title begins so, or holds it.

        What says a word only in its explanation, as many do, is not what was meant by it.
        """
        items = [self._list.item(row) for row in range(self._list.count())]
        names = [str(item.data(Qt.ItemDataRole.UserRole)) for item in items]
        titles, words = [item.text().lower() for item in items], typed.split()
        named = [row for row, name in enumerate(names) if name == typed]
        begun = [row for row, title in enumerate(titles) if title.startswith(typed)]
        held = [row for row, title in enumerate(titles) if all(word in title for word in words)]
        sayings = {action.objectName(): str(action.property("sayings") or "").lower() for action in self._actions}
        said = [row for row, name in enumerate(names) if all(word in sayings[name] for word in words)]
        return next(iter(named + begun + held + said), 0)

    def _do(self) -> None:
        item = self._list.currentItem()
        self.leave()
        if item is not None:
            name = item.data(Qt.ItemDataRole.UserRole)
            action = next((action for action in self._actions if action.objectName() == name), None)
            if action is not None:
                action.trigger()

    def leave(self) -> None:
        """Hide it."""
        self.hide()
        if self._back is not None:
            self._back.setFocus()

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Walk the list by arrows, do by Enter, leave by Esc."""
        if watched is self._line and isinstance(event, QKeyEvent) and event.type() == QEvent.Type.KeyPress:
            step = {Qt.Key.Key_Down: 1, Qt.Key.Key_Up: -1, Qt.Key.Key_PageDown: 8, Qt.Key.Key_PageUp: -8}.get(
                Qt.Key(event.key())
            )
            if step is not None:
                row = max(0, min(self._list.count() - 1, self._list.currentRow() + step))
                self._list.setCurrentRow(row)
                return True
            if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
                self._do()
                return True
            if event.key() == Qt.Key.Key_Escape:
                self.leave()
                return True
        return super().eventFilter(watched, event)
