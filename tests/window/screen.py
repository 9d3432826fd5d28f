"""What a user does at the window and what is read off it: choose, press, type, fill, click, drop, read.

The few places inside the window that this needs stand here and nowhere else.
"""

import warnings
from collections.abc import Callable
from pathlib import Path

from PySide6.QtCore import QMimeData, QPoint, QPointF, Qt, QUrl
from PySide6.QtGui import QAction, QDragEnterEvent, QDropEvent
from PySide6.QtWidgets import QAbstractButton, QApplication, QDoubleSpinBox, QLineEdit, QPlainTextEdit, QWidget
from pytestqt.qtbot import QtBot
from showing import seen, texts_of

from workbench.model.history import Revision
from workbench.model.state import State
from workbench.window.scene.scene import Scene
from workbench.window.shell.main_window import MainWindow

LETTERS = (QLineEdit, QPlainTextEdit, QDoubleSpinBox)


class Screen:
    """A window and the hands and eyes before it."""

    def __init__(self, window: MainWindow, qtbot: QtBot, settle: Callable[[], None]) -> None:
        """Sit down before a window."""
        self.window, self._qtbot, self.settle = window, qtbot, settle
        self._shop = window.equip()

    def choose(self, title: str) -> None:
        """Choose an entry of the menus by what stands there."""
        found = [each for each in self._shop.acts.actions.values() if each.text() == title]
        assert len(found) == 1, f"{title!r} stands {len(found)} times in the menus"
        assert found[0].isEnabled(), f"{title!r} cannot be chosen now"
        found[0].trigger()

    def entry(self, name: str) -> QAction:
        """Give the menu entry of a name that the code has for it."""
        return self._shop.acts.actions[name]

    def press(self, keys: str, widget: QWidget | None = None) -> None:
        """Press keys where the keyboard is, or in a widget."""
        target = widget or QApplication.focusWidget() or self.window
        self._qtbot.keySequence(target, keys)

    def type(self, text: str, widget: QWidget | None = None) -> None:
        """Type where the keyboard is, or in a widget."""
        target = widget or QApplication.focusWidget()
        assert target is not None, "the keyboard is nowhere"
        self._qtbot.keyClicks(target, text)

    def field(self, label: str) -> QWidget:
        """Find the field of the open task that is called so."""
        found = [each for each in self.fields if each.accessibleName() == label]
        assert len(found) == 1, f"{label!r} is the name of {len(found)} fields"
        return found[0]

    @property
    def fields(self) -> list[QWidget]:
        """All fields of the open task in which one writes."""
        task = self.task
        return [] if task is None else [each for each in seen(task) if isinstance(each, LETTERS)]

    def fill(self, label: str, text: str) -> None:
        """Write into a field in place of what it holds."""
        field = self.field(label)
        field.setFocus()
        self.press("Ctrl+A", field)
        self.type(text, field)

    def click(self, text: str) -> None:
        """Click the button on which that stands."""
        found = [each for each in seen(self.window) if isinstance(each, QAbstractButton) and each.text() == text]
        assert len(found) == 1, f"{text!r} stands on {len(found)} buttons"
        self._qtbot.mouseClick(found[0], Qt.MouseButton.LeftButton)

    def drop(self, *paths: Path) -> None:
        """Drop files on the window as a file browser does."""
        data = QMimeData()
        data.setUrls([QUrl.fromLocalFile(str(path)) for path in paths])
        copy, left, none = Qt.DropAction.CopyAction, Qt.MouseButton.LeftButton, Qt.KeyboardModifier.NoModifier
        with warnings.catch_warnings():
            # From Qt 6.12 on this constructor is deprecated; the one that replaces it is not there before.
            warnings.simplefilter("ignore", DeprecationWarning)
            entering = QDragEnterEvent(QPoint(200, 200), copy, data, left, none)
        QApplication.sendEvent(self.window, entering)
        QApplication.sendEvent(self.window, QDropEvent(QPointF(200, 200), copy, data, left, none))

    @property
    def texts(self) -> list[str]:
        """All texts that are seen, heard or told on hovering."""
        return [text for _, text in texts_of(self.window) if text]

    @property
    def notice(self) -> str:
        """What the message bar says."""
        return self._shop.bench.notice.text

    @property
    def task(self) -> QWidget | None:
        """The task that is open beside the table."""
        return self._shop.bench.drawer.task

    @property
    def numbers(self) -> QWidget:
        """The table's numbers."""
        return self._shop.bench.numbers.view

    @property
    def scene(self) -> Scene:
        """What is shown, as a value."""
        return self._shop.bridge.scene

    @property
    def state(self) -> State:
        """The session that is shown."""
        assert self.scene.state is not None, "no session is open"
        return self.scene.state

    @property
    def head(self) -> Revision:
        """The revision that is worked on."""
        assert self.scene.head is not None, "no session is open"
        return self.scene.head
