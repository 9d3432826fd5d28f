"""The rail: the present line whole, what branches off it folded to one row."""

from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QComboBox, QPushButton
from pytestqt.qtbot import QtBot
from screen import Screen

from workbench.commands.handbook import COMMANDS
from workbench.window.panels.revision_rows import Branch, Entry, rows_of
from workbench.window.tasks.form import Form


@pytest.fixture
def branched(screen: Screen, car_files: Path, tmp_path: Path) -> Screen:
    """Revisions 1, 2 and 6 on the line; 3, 4 and 5 are a branch of 2."""
    screen.begin_from(car_files / "curve.csv", tmp_path / "car.session")
    for word, by in (("scale", 1.01), ("scale", 1.02), ("scale", 1.03), ("scale", 1.04)):
        screen.run(word, {"by": by})
    for _ in range(3):
        screen.run("undo", {})
    screen.run("scale", {"by": 0.99})
    screen.bench.finish()
    return screen


def shown(screen: Screen) -> list[str]:
    model = screen.bench.rail.model()
    return [model.index(row, 0).data() for row in range(model.rowCount())]


def test_a_branch_is_one_row_until_it_is_unfolded(branched: Screen, qtbot: QtBot) -> None:
    rail = branched.bench.rail
    assert [text.split()[0] for text in shown(branched)] == ["6", "3", "2", "1"]
    assert shown(branched)[1] == "3 revisions, branch of 2"
    rail.setFocus()
    qtbot.keyClick(rail, Qt.Key.Key_Down)
    assert rail.revision is None
    qtbot.keyClick(rail, Qt.Key.Key_Right)
    assert [text.split()[0] for text in shown(branched)] == ["6", "3", "5", "4", "3", "2", "1"]
    qtbot.keyClick(rail, Qt.Key.Key_Down)
    assert rail.revision == 5
    qtbot.keyClick(rail, Qt.Key.Key_Left)
    assert len(shown(branched)) == 4
    qtbot.keyClick(rail, Qt.Key.Key_Return)
    assert len(shown(branched)) == 7
    place = rail.visualRect(rail.model().index(1, 0)).center()
    qtbot.mouseClick(rail.viewport(), Qt.MouseButton.LeftButton, pos=place)
    assert len(shown(branched)) == 4
    branched.window.grab()


def test_what_redo_would_bring_back_is_not_hidden(branched: Screen) -> None:
    branched.run("undo", {})
    rows = rows_of(branched.scene, {})
    undone = [row for row in rows if isinstance(row, Entry) and row.undone]
    assert [row.revision.id for row in undone] == [6]
    assert [(row.size, row.folded) for row in rows if isinstance(row, Branch)] == [(1, False), (3, True)]
    assert next(row for row in rows if isinstance(row, Branch)).words == "1 revision, branch of 2"


def test_a_branch_of_a_branch_stands_further_in(branched: Screen) -> None:
    branched.run("roll-back", {"revision": 4})
    for word in ("undo", "undo"):
        branched.run(word, {})
    branched.run("redo", {})
    state = branched.state
    assert state.head().id == 6
    rows = rows_of(branched.scene, {3: False, 7: False})
    places = {row.revision.id: row.depth for row in rows if isinstance(row, Entry)}
    assert places == {7: 1, 6: 0, 5: 1, 4: 1, 3: 1, 2: 0, 1: 0}


def test_rolling_back_proposes_the_revision_before(branched: Screen, qtbot: QtBot) -> None:
    def proposed() -> str:
        branched.do("roll-back")
        form = branched.task
        assert isinstance(form, Form)
        return form.findChild(QComboBox).currentText().split()[0]

    assert proposed() == "2"
    branched.leave_task()
    rail = branched.bench.rail
    rail.setCurrentIndex(rail.model().index(3, 0))
    assert proposed() == "1"
    go = next(b for b in branched.window.findChildren(QPushButton) if b.accessibleName() == COMMANDS["roll-back"].title)
    assert go.text() == "Roll back"
    assert go.sizeHint().width() <= go.width()
