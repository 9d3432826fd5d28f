"""An open task speaks of the table, revision and cells that are shown, and acts on no others."""

from pathlib import Path

import numpy as np
import pytest
from PySide6.QtWidgets import QComboBox, QLabel
from screen import Screen

from workbench.cli import main as command_line
from workbench.window.tasks.approve_task import ApproveTask
from workbench.window.tasks.correct_task import CorrectTask
from workbench.window.tasks.form import Form


@pytest.fixture
def two(screen: Screen, car_files: Path, tmp_path: Path) -> Screen:
    """A session of a curve, corrected once, and a grid."""
    path = tmp_path / "car.session"
    for words in (
        ("new", str(path), str(car_files / "curve.csv")),
        ("add-log", str(path), str(car_files / "curve_drive.csv")),
        ("correct", str(path), "--share", "0.5"),
        ("add-table", str(path), str(car_files / "grid.csv")),
    ):
        assert command_line(list(words)) == 0
    screen.open(path)
    return screen


def told(screen: Screen) -> str:
    labels = screen.drawer.findChildren(QLabel)
    return "\n".join(each.text() for each in labels if not each.isHidden())


def test_a_form_turns_to_the_table_that_is_shown_and_keeps_what_was_typed(two: Screen) -> None:
    two.focus(table="grid")
    two.settle()
    two.do("scale")
    form = two.task
    assert isinstance(form, Form)
    form.first.setText("0.97")  # type: ignore[union-attr]
    form.findChildren(QComboBox)[0].setCurrentIndex(1)  # all cells
    two.settle()
    grid = two.head
    assert f"{grid.table.values.size} cells" in told(two)
    two.focus(table="curve")
    two.settle()
    curve = two.head
    two.task.findChildren(QComboBox)[0].setCurrentIndex(1)  # type: ignore[union-attr]
    two.settle()
    assert f"{curve.table.values.size} cells" in told(two)
    assert f"{grid.table.values.size} cells" not in told(two)
    two.press("Return", two.task.first)  # type: ignore[union-attr]
    two.settle()
    history = two.state.history
    assert history.heads["grid"] == grid.id
    assert np.allclose(history.revision(history.heads["curve"]).table.values, 0.97 * curve.table.values)


def test_what_is_undone_is_shown_whichever_table_it_was_of(two: Screen) -> None:
    """One key took the other table back to its first revision, and the screen did not change."""
    two.focus(table="curve", cell=(4,))
    two.run("scale", {"by": 1.05})
    two.settle()
    two.focus(table="grid")
    two.settle()
    two.do("undo")
    two.settle()
    assert two.scene.focus.table == "curve"
    assert two.head.operation == "correct"


def test_a_form_follows_the_cells_that_are_chosen(two: Screen) -> None:
    two.focus(table="curve", cell=(4,), blocks=(((4, 9),),))
    two.settle()
    two.do("scale-percent")
    form = two.task
    assert isinstance(form, Form)
    form.first.setText("3")  # type: ignore[union-attr]
    two.settle()
    assert "6 cells" in told(two)
    two.focus(cell=(20,), blocks=(((20, 21),),))
    two.settle()
    assert "2 cells" in told(two)
    assert "the 2 chosen cells (5243 Hz to 5459 Hz)" in [box.currentText() for box in form.findChildren(QComboBox)]
    moved = two.scene.draft.revision.table.values != two.head.table.values
    assert np.flatnonzero(moved).tolist() == [20, 21]
    two.focus(cell=(7,), blocks=())
    two.settle()
    assert "the chosen cell (2619 Hz)" in [box.currentText() for box in form.findChildren(QComboBox)]


def test_approving_speaks_of_the_revision_that_it_would_approve(two: Screen) -> None:
    two.focus(table="curve")
    two.settle()
    two.do("approve")
    two.settle()
    assert "Approve revision 2 of curve" in two.texts
    two.do("undo")
    two.settle()
    task = two.task
    assert isinstance(task, ApproveTask)
    assert "Approve revision 1 of curve" in two.texts
    assert task.arguments()["revision"] == 1
    two.focus(table="grid")
    two.settle()
    assert "Approve revision 3 of grid" in two.texts
    assert two.task.arguments()["revision"] == 3


def test_a_correction_is_drafted_anew_for_another_revision(two: Screen) -> None:
    two.focus(table="curve")
    two.settle()
    two.do("correct")
    two.settle()
    first = two.scene.draft.revision
    assert first.parent == 2
    two.do("undo")
    two.settle()
    assert isinstance(two.task, CorrectTask)
    assert two.scene.draft.revision.parent == 1


def test_nothing_is_typed_into_a_table_that_is_only_looked_at(two: Screen) -> None:
    """The change would go to the revision that is worked on, from a value that is not the one that was seen."""
    two.focus(table="curve")
    two.settle()
    two.focus(against=1, before=True, layer="value", cell=(3,), blocks=())
    two.type("+", two.numbers)
    two.type("3%", two.bench.numbers._line)
    assert two.scene.draft is None
    assert any("Revision 1 is shown, which is not the one" in text for text in two.texts)
    two.press("Esc", two.bench.numbers._line)
    two.draft("scale", {"by": 1.03, "cells": two.scene.cells})  # as a form does
    assert not two.scene.focus.before
    two.do("apply")
    two.settle()
    assert two.scene.shown_table is two.head.table
