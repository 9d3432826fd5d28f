"""The cell that is shown is one of those that a change goes into, however one came there."""

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot
from screen import Screen

from workbench.window.panels.evidence_panel import EvidencePanel

Settle = Callable[[], None]
WALKS = (
    "Ctrl+End",
    "Ctrl+Right",
    "Ctrl+Down",
    "End",
    "Shift+Down",
    "Ctrl+Home",
    "Ctrl+Shift+End",
    "Ctrl+Up",
    "Ctrl+Space",
)


@pytest.fixture(params=["curve", "grid"])
def opened(request: pytest.FixtureRequest, screen: Screen, settle: Settle, car_files: Path, tmp_path: Path) -> Screen:
    """The window on a table whose values are seen, at its second cell."""
    screen.begin_from(car_files / f"{request.param}.csv", tmp_path / "car.session")
    screen.focus(layer="value", cell=(1,) if request.param == "curve" else (1, 1), blocks=())
    settle()
    screen.numbers.setFocus()
    return screen


def holds_together(screen: Screen) -> None:
    """Check that the current cell is a chosen one, in the scene and in the numbers alike."""
    scene, view = screen.scene, screen.numbers
    assert scene.chosen()[scene.focus.cell]
    assert view.selectionModel().isSelected(view.currentIndex())
    assert (view.currentIndex().row(), view.currentIndex().column())[: len(scene.focus.cell)] == scene.focus.cell


@pytest.mark.parametrize("keys", ["Ctrl+End", "Ctrl+Down", "Ctrl+Home"])
def test_a_change_goes_into_the_cell_that_is_shown(opened: Screen, qtbot: QtBot, settle: Settle, keys: str) -> None:
    before = opened.scene.table.values
    qtbot.keySequence(opened.numbers, keys)
    settle()
    cell = opened.scene.focus.cell
    assert cell[0] != 1
    name = opened.scene.table.cell_name(cell)
    assert opened.bench.numbers._where.text() == name
    panel = opened.window.findChild(EvidencePanel)
    assert name in panel._title.text()
    qtbot.keyClicks(opened.numbers, "+")
    qtbot.keyClicks(opened.bench.numbers._line, "5 %")
    assert opened.bench.numbers._meaning.text().startswith(name) or "Leaner" in opened.bench.numbers._meaning.text()
    qtbot.keyClick(QApplication.focusWidget(), Qt.Key.Key_Return)
    assert [tuple(each) for each in np.argwhere(opened.scene.table.values != before)] == [cell]


def test_whatever_key_moves_the_current_cell_is_chosen(opened: Screen, qtbot: QtBot) -> None:
    for first in WALKS:
        for second in WALKS:
            qtbot.keySequence(opened.numbers, first)
            qtbot.keySequence(opened.numbers, second)
            holds_together(opened)


def test_shift_with_ctrl_chooses_all_on_the_way(opened: Screen, qtbot: QtBot) -> None:
    qtbot.keySequence(opened.numbers, "Ctrl+Home")
    qtbot.keySequence(opened.numbers, "Ctrl+Shift+End")
    assert opened.scene.chosen().all()


def test_a_cell_taken_out_by_ctrl_click_is_not_the_one_shown(opened: Screen, qtbot: QtBot) -> None:
    view = opened.numbers
    ctrl, left = Qt.KeyboardModifier.ControlModifier, Qt.MouseButton.LeftButton

    def click(row: int, keys: Qt.KeyboardModifier = Qt.KeyboardModifier.NoModifier) -> None:
        index = view.cells.index(row, 1)
        qtbot.mouseClick(view.viewport(), left, keys, view.visualRect(index).center())
        holds_together(opened)

    click(1)
    click(3, ctrl)
    assert (opened.scene.focus.cell[0], int(opened.scene.chosen().sum())) == (3, 2)
    click(3, ctrl)
    assert (opened.scene.focus.cell[0], int(opened.scene.chosen().sum())) == (1, 1)
    click(1, ctrl)  # the last one stays
    assert (opened.scene.focus.cell[0], int(opened.scene.chosen().sum())) == (1, 1)
