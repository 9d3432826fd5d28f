"""What a user does at the window and what is read off it: choose, press, type, fill, click, drop, read.

The few places inside the window that this needs stand here and nowhere else: a test asks for `screen`, or for a fixture
that gives one at work, and knows nothing of how the window is put together but the names of its panels (`bench`).
"""

import time
import warnings
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from PySide6.QtCore import QMimeData, QPoint, QPointF, Qt, QUrl
from PySide6.QtGui import QAction, QDragEnterEvent, QDropEvent
from PySide6.QtWidgets import (
    QAbstractButton,
    QApplication,
    QDoubleSpinBox,
    QLineEdit,
    QMessageBox,
    QPlainTextEdit,
    QWidget,
)
from pytestqt.qtbot import QtBot
from showing import is_busy, seen, texts_of

from workbench.cli import main as command_line
from workbench.model.history import Revision
from workbench.model.state import Change, State
from workbench.window.kit.task_panel import Drawer
from workbench.window.kit.worker import Jobs
from workbench.window.scene.bridge import Bridge
from workbench.window.scene.preferences import Memory
from workbench.window.scene.scene import Scene
from workbench.window.shell.actions import Actions
from workbench.window.shell.main_window import MainWindow
from workbench.window.shell.opening import Opening
from workbench.window.shell.palette import Palette
from workbench.window.shell.start_page import StartPage
from workbench.window.shell.workspace import Bench
from workbench.window.table.table_view import TableView

LOSE = ("Leave and lose it", "Drop it and leave")  # answers after which nothing is kept
LETTERS = (QLineEdit, QPlainTextEdit, QDoubleSpinBox)
ROUNDS = 8  # of events in which nothing more comes up


class Screen:
    """A window and the hands and eyes before it."""

    def __init__(self, window: MainWindow, qtbot: QtBot) -> None:
        """Sit down before a window."""
        self.window, self._qtbot = window, qtbot
        self._shop = window.equip()

    def settle(self) -> None:
        """Wait until no job runs, no timer is about to do something, and the layout no longer moves."""
        calm, end = 0, time.monotonic() + 120
        while calm < ROUNDS:
            self._qtbot.wait(5)
            calm = 0 if is_busy(self.window) else calm + 1
            assert time.monotonic() < end, "the window never comes to rest"

    def start_again(self, session: Path | None = None) -> "Screen":
        """Close the window and start the program anew, on a session or where it ended; `quit` lets it go."""
        let_go(self.window)
        made = MainWindow(Memory())
        made.resize(self.window.size())  # the screen of a test is smaller than the window
        made.show()
        made.open(session)
        return Screen(made, self._qtbot)

    def quit(self) -> None:
        """Close the session and the window."""
        self.do("start")
        answer(self.window, LOSE)
        let_go(self.window)
        self.window.deleteLater()

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

    def do(self, name: str) -> None:
        """Do what the menu entry does that the code has that name for, without looking whether it is grey."""
        self._shop.do(name)

    def run(self, word: str, arguments: Mapping[str, Any]) -> None:
        """Run a command on the session as a form does once it is filled in."""
        self._shop.routes._runner.run(word, arguments)

    def draft(self, word: str, arguments: Mapping[str, Any]) -> None:
        """Have a command drafted, as a form does while it is filled in."""
        self._shop.routes._runner.draft(word, arguments)

    def change_elsewhere(self, *words: str) -> None:
        """Have another program change the session that is shown by a command, and come back to the window."""
        assert command_line([words[0], self.state.path, *words[1:]]) == 0
        self.reload()
        self.settle()

    def go(self) -> None:
        """Run what the open form says, as its button does."""
        self._shop.routes._tasks.run()

    def begin_from(self, table: Path, session: Path | None = None) -> None:
        """Begin a session from a table's file; it lies beside the table where nothing else is said."""
        self._shop.opening.begin_from(table, session)

    def open(self, session: Path) -> None:
        """Open a session's file."""
        self._shop.opening.open(session)

    def close_session(self) -> None:
        """Go back to the start page."""
        self._shop.opening.leave()

    def take(self, paths: list[Path]) -> None:
        """Take files as if they had been dropped, wherever the mouse is."""
        self._shop.take(paths)

    def reload(self) -> None:
        """Take in what another program wrote, as the window does when the user comes back to it."""
        self._shop.reload()

    def compare(self, reference: str) -> None:
        """Set a file, or another session's revision, beside the table."""
        self._shop.routes.outside.compare(reference)

    def focus(self, **where: Any) -> None:
        """Point at a cell, a moment, a layer, a revision."""
        self._shop.bridge.focus(**where)

    def record(self, change: Change) -> None:
        """Write a change into the session."""
        self._shop.bridge.record(change)

    def dress(self, theme: str, points: int) -> None:
        """Put the window into a theme and a text size at once."""
        self._shop.dress(theme, points)

    def leave_task(self) -> None:
        """Close the task that is open."""
        self.drawer.leave()

    @property
    def question(self) -> QMessageBox | None:
        """What is asked before a session is left; None where nothing is."""
        return self._shop.leaving.box

    def answer(self, words: str) -> None:
        """Answer what is asked before a session is left, by the button on which that stands."""
        assert answer(self.window, (words,)), f"nobody asks about {words!r}"

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
    def drawer(self) -> Drawer:
        """The panel in which tasks open."""
        return self._shop.bench.drawer

    @property
    def numbers(self) -> TableView:
        """The table's numbers."""
        return self._shop.bench.numbers.view

    @property
    def bench(self) -> Bench:
        """The panels round the table, by their names."""
        return self._shop.bench

    @property
    def start_page(self) -> StartPage:
        """What is shown where no session is open."""
        return self._shop.start

    @property
    def actions(self) -> Actions:
        """The menu entries."""
        return self._shop.acts

    @property
    def bridge(self) -> Bridge:
        """What carries the session to the panels, and changes back."""
        return self._shop.bridge

    @property
    def opening(self) -> Opening:
        """What opens and begins sessions."""
        return self._shop.opening

    @property
    def palette(self) -> Palette:
        """The search over all menu entries."""
        return self._shop.palette

    @property
    def jobs(self) -> Jobs:
        """What works aside."""
        return self._shop.jobs

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


def answer(window: MainWindow, words: tuple[str, ...]) -> bool:
    """Answer what is asked before a session is left by one of these buttons; tell whether it was asked."""
    box = window.equip().leaving.box
    found = [] if box is None else [each for each in box.buttons() if each.text() in words]
    for each in found[:1]:
        each.click()
    return bool(found)


def let_go(window: MainWindow) -> None:
    """Close a window, whatever is lost with it."""
    window.close()
    answer(window, LOSE)
