"""The line in which changes are typed: of all chosen cells, never lost with a refusal, and then out of the way."""

from collections.abc import Callable
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from workbench.commands.handbook import COMMANDS
from workbench.session import Session
from workbench.window.shell.main_window import MainWindow

Settle = Callable[[], None]


@pytest.fixture
def opened(window: MainWindow, settle: Settle, car_files: Path, tmp_path: Path) -> MainWindow:
    """The window on a session of the curve, just opened."""
    window._workshop.opening.begin_from(car_files / "curve.csv", tmp_path / "car.session")
    settle()
    return window


def type_change(window: MainWindow, qtbot: QtBot, text: str) -> None:
    """Type a change of all cells, one character after the other."""
    view = window._workshop.bench.numbers.view
    view.setFocus()
    qtbot.keyClick(view, Qt.Key.Key_A, Qt.KeyboardModifier.ControlModifier)
    qtbot.keyClick(view, Qt.Key.Key_F2)
    for character in text:
        qtbot.keyClicks(QApplication.focusWidget(), character)


def test_the_first_change_of_all_cells_changes_all(opened: MainWindow, qtbot: QtBot) -> None:
    scene = opened._workshop.bridge
    before = scene.scene.table.values
    type_change(opened, qtbot, "+2 %")
    assert scene.scene.chosen().all()
    qtbot.keyClick(QApplication.focusWidget(), Qt.Key.Key_Return)
    assert scene.scene.table.values.tolist() == pytest.approx((before * 1.02).tolist())
    assert QApplication.focusWidget() is opened._workshop.bench.numbers.view


def test_ctrl_home_goes_to_the_first_cell(opened: MainWindow, qtbot: QtBot) -> None:
    view, bridge = opened._workshop.bench.numbers.view, opened._workshop.bridge
    view.setFocus()
    qtbot.keySequence(view, "Ctrl+End")
    assert bridge.scene.focus.cell == (len(bridge.scene.table.values) - 1,)
    qtbot.keySequence(view, "Ctrl+Home")
    assert bridge.scene.state is not None
    assert bridge.scene.focus.cell == (0,)


def test_undo_works_from_an_entry_in_which_nothing_stands(opened: MainWindow, qtbot: QtBot) -> None:
    bridge = opened._workshop.bridge
    type_change(opened, qtbot, "+2 %")
    qtbot.keyClick(QApplication.focusWidget(), Qt.Key.Key_Return)
    assert bridge.scene.head.id == 2
    qtbot.keyClick(QApplication.focusWidget(), Qt.Key.Key_Return)  # once too often: it begins an entry
    assert QApplication.focusWidget() is opened._workshop.bench.numbers._line
    qtbot.keySequence(QApplication.focusWidget(), "Ctrl+Z")
    assert bridge.scene.head.id == 1


def test_a_change_that_came_too_late_stays_typed_with_its_refusal(opened: MainWindow, qtbot: QtBot) -> None:
    numbers, bridge = opened._workshop.bench.numbers, opened._workshop.bridge
    type_change(opened, qtbot, "+2 %")
    with Session.open(Path(bridge.scene.state.path)) as other:
        other.record(COMMANDS["scale"].function(other.state, by=1.1).change)
    qtbot.keyClick(numbers._line, Qt.Key.Key_Return)
    assert bridge.scene.head.id == 2
    refusal = numbers._meaning.text()
    assert numbers._meaning.property("kind") == "trouble"

    opened._look_again()
    bridge.focus(layer="change")
    bridge.put_evidence(None, "whatever the logs say")
    with Session.open(Path(bridge.scene.state.path)) as other:
        other.record(COMMANDS["scale"].function(other.state, by=1.1).change)
    opened._look_again()
    assert bridge.scene.head.id == 3
    assert (numbers._line.text(), numbers._meaning.text()) == ("+2 %", refusal)
    assert QApplication.focusWidget() is numbers._line

    now = bridge.scene.table.values
    qtbot.keyClick(numbers._line, Qt.Key.Key_Return)  # it is seen before it is done
    assert bridge.scene.draft is not None
    assert "Enter applies" in numbers._meaning.text()
    qtbot.keyClick(numbers._line, Qt.Key.Key_Return)
    assert bridge.scene.head.id == 4
    assert bridge.scene.table.values.tolist() == pytest.approx((now * 1.02).tolist())
    assert numbers._line.text() == ""


def test_a_refusal_is_closed_by_escape(opened: MainWindow, qtbot: QtBot) -> None:
    numbers = opened._workshop.bench.numbers
    type_change(opened, qtbot, "*0")
    assert numbers._meaning.property("kind") == "trouble"
    qtbot.keyClick(numbers._line, Qt.Key.Key_Return)
    assert numbers._line.text() == "*0"
    assert QApplication.focusWidget() is numbers._line
    qtbot.keyClick(numbers._line, Qt.Key.Key_Escape)
    assert (numbers._line.text(), numbers._meaning.property("kind")) == ("", "soft")
    assert QApplication.focusWidget() is numbers.view
