"""The help inside the window: the README's job step by step, searched without a network."""

import pytest
from pytestqt.qtbot import QtBot
from screen import Screen

from workbench.window.shell.main_window import MainWindow
from workbench.window.tasks.help_task import SECTIONS, HelpTask, help_text


@pytest.fixture
def task(qtbot: QtBot, window: MainWindow) -> HelpTask:
    """The help, shown."""
    made = HelpTask(window)
    made.show()
    return made


def test_it_holds_cautions_and_every_step(task: HelpTask) -> None:
    assert all(f"## {each}\n" in help_text() for each in SECTIONS)
    shown = task._text.toPlainText()
    assert "destroy engines" in shown
    assert shown.index("Make a session") < shown.index("add the log") < shown.index("Approve and export")


def test_it_is_searched_and_says_what_it_does_not_hold(task: HelpTask, qtbot: QtBot) -> None:
    qtbot.keyClicks(task._wanted, "wideband")
    assert task._text.textCursor().selectedText().lower() == "wideband"
    task._wanted.clear()
    qtbot.keyClicks(task._wanted, "zebra")
    assert "zebra" in task._none.text()
    assert task._none.isVisibleTo(task)
    task._wanted.clear()
    qtbot.keyClicks(task._wanted, "export")
    assert not task._none.isVisibleTo(task)
    first = task._text.textCursor().position()
    task._wanted.returnPressed.emit()
    assert task._text.textCursor().position() > first


def test_shift_f1_opens_it(screen: Screen) -> None:
    screen.do("help")
    assert screen.window.findChildren(HelpTask)
