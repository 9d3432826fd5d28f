"""The line in which changes are typed: of all chosen cells, never lost with a refusal, and then out of the way."""

from collections.abc import Callable
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot
from screen import Screen

from workbench.commands.handbook import COMMANDS
from workbench.session import Session

Settle = Callable[[], None]


@pytest.fixture
def opened(screen: Screen, settle: Settle, car_files: Path, tmp_path: Path) -> Screen:
    """The window on a session of the curve, just opened."""
    screen.begin_from(car_files / "curve.csv", tmp_path / "car.session")
    settle()
    return screen


def type_change(screen: Screen, qtbot: QtBot, text: str) -> None:
    """Type a change of all cells, one character after the other."""
    view = screen.numbers
    view.setFocus()
    qtbot.keyClick(view, Qt.Key.Key_A, Qt.KeyboardModifier.ControlModifier)
    qtbot.keyClick(view, Qt.Key.Key_F2)
    for character in text:
        qtbot.keyClicks(QApplication.focusWidget(), character)


def test_the_first_change_of_all_cells_changes_all(opened: Screen, qtbot: QtBot) -> None:
    scene = opened.bridge
    before = scene.scene.table.values
    type_change(opened, qtbot, "+2 %")
    assert scene.scene.chosen().all()
    qtbot.keyClick(QApplication.focusWidget(), Qt.Key.Key_Return)
    assert scene.scene.table.values.tolist() == pytest.approx((before * 1.02).tolist())
    assert QApplication.focusWidget() is opened.numbers


def test_ctrl_home_goes_to_the_first_cell(opened: Screen, qtbot: QtBot) -> None:
    view, bridge = opened.numbers, opened.bridge
    view.setFocus()
    qtbot.keySequence(view, "Ctrl+End")
    assert bridge.scene.focus.cell == (len(bridge.scene.table.values) - 1,)
    qtbot.keySequence(view, "Ctrl+Home")
    assert bridge.scene.state is not None
    assert bridge.scene.focus.cell == (0,)


def test_undo_works_from_an_entry_in_which_nothing_stands(opened: Screen, qtbot: QtBot) -> None:
    bridge = opened.bridge
    type_change(opened, qtbot, "+2 %")
    qtbot.keyClick(QApplication.focusWidget(), Qt.Key.Key_Return)
    assert bridge.scene.head.id == 2
    qtbot.keyClick(QApplication.focusWidget(), Qt.Key.Key_Return)  # once too often: it begins an entry
    assert QApplication.focusWidget() is opened.bench.numbers._line
    qtbot.keySequence(QApplication.focusWidget(), "Ctrl+Z")
    assert bridge.scene.head.id == 1


def test_a_change_that_came_too_late_stays_typed_with_its_refusal(opened: Screen, qtbot: QtBot) -> None:
    numbers, bridge = opened.bench.numbers, opened.bridge
    type_change(opened, qtbot, "+2 %")
    with Session.open(Path(bridge.scene.state.path)) as other:
        other.record(COMMANDS["scale"].function(other.state, by=1.1).change)
    qtbot.keyClick(numbers._line, Qt.Key.Key_Return)
    assert bridge.scene.head.id == 2
    refusal = numbers._meaning.text()
    assert numbers._meaning.property("kind") == "trouble"

    opened.window._look_again()
    bridge.focus(layer="change")
    bridge.put_evidence(None, "whatever the logs say")
    with Session.open(Path(bridge.scene.state.path)) as other:
        other.record(COMMANDS["scale"].function(other.state, by=1.1).change)
    opened.window._look_again()
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


def test_a_refusal_is_closed_by_escape(opened: Screen, qtbot: QtBot) -> None:
    numbers = opened.bench.numbers
    type_change(opened, qtbot, "*0")
    assert numbers._meaning.property("kind") == "trouble"
    qtbot.keyClick(numbers._line, Qt.Key.Key_Return)
    assert numbers._line.text() == "*0"
    assert QApplication.focusWidget() is numbers._line
    qtbot.keyClick(numbers._line, Qt.Key.Key_Escape)
    assert (numbers._line.text(), numbers._meaning.property("kind")) == ("", "soft")
    assert QApplication.focusWidget() is numbers.view


def test_no_bare_number_is_taken_where_no_values_are_seen(
    screen: Screen, settle: Settle, qtbot: QtBot, car_files: Path, tmp_path: Path
) -> None:
    """As a ratio of 1.02 was meant what set a volumetric efficiency of 95 % to 1.02 %, and no cell showed it."""
    screen.begin_from(car_files / "grid.csv", tmp_path / "car.session")
    screen.focus(layer="ratio", cell=(2, 3), blocks=())
    settle()
    numbers, cells = screen.bench.numbers, screen.numbers.cells
    before = screen.scene.table.values[2, 3]
    qtbot.keyClicks(screen.numbers, "1")
    qtbot.keyClicks(numbers._line, ".02")
    refusal = "Ratios are seen here: type x1.02 or +2 %, or look at values (Ctrl+1)."
    for _ in range(2):
        assert screen.scene.draft is None
        assert (numbers._line.text(), numbers._meaning.text()) == ("1.02", refusal)
        qtbot.keyClick(numbers._line, Qt.Key.Key_Return)
    assert screen.head.id == 1
    screen.numbers.setFocus()
    screen.bridge.put_evidence(None, "whatever the logs say")  # what is drawn again takes nothing from the line
    assert (numbers._line.text(), numbers._meaning.text()) == ("1.02", refusal)
    screen.focus(layer="value")
    settle()
    assert " → 1.02 " in numbers._meaning.text()
    assert screen.scene.draft is not None
    numbers._line.setFocus()
    qtbot.keyClick(numbers._line, Qt.Key.Key_Escape)
    screen.focus(layer="ratio")

    numbers.begin("x0.5")
    place, beside = cells.index(2, 3), cells.index(2, 4)
    assert (cells.data(place), cells.data(beside)) == ("\N{MINUS SIGN}50.0", "")
    words = numbers._meaning.text()
    assert f"{before:.4g}".rstrip("0").rstrip(".") + " → " in words
    assert "\N{MINUS SIGN}50.0" in words
    assert "draft" in cells.data(place, Qt.ItemDataRole.ToolTipRole)
    qtbot.keyClick(numbers._line, Qt.Key.Key_Escape)
    assert cells.data(place) == ""
