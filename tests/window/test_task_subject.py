"""An open task speaks of the table, revision and cells that are shown, and acts on no others."""

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from PySide6.QtWidgets import QComboBox, QLabel

from workbench.cli import main as command_line
from workbench.window.shell.main_window import MainWindow
from workbench.window.tasks.approve_task import ApproveTask
from workbench.window.tasks.correct_task import CorrectTask
from workbench.window.tasks.form import Form

Settle = Callable[[], None]


@pytest.fixture
def two(window: MainWindow, settle: Settle, car_files: Path, tmp_path: Path) -> MainWindow:
    """A session of a curve, corrected once, and a grid."""
    path = tmp_path / "car.session"
    for words in (
        ("new", str(path), str(car_files / "curve.csv")),
        ("add-log", str(path), str(car_files / "curve_drive.csv")),
        ("correct", str(path), "--share", "0.5"),
        ("add-table", str(path), str(car_files / "grid.csv")),
    ):
        assert command_line(list(words)) == 0
    window.open(path)
    settle()
    return window


def told(window: MainWindow) -> str:
    labels = window._workshop.bench.drawer.findChildren(QLabel)
    return "\n".join(each.text() for each in labels if not each.isHidden())


def test_a_form_turns_to_the_table_that_is_shown_and_keeps_what_was_typed(two: MainWindow, settle: Settle) -> None:
    shop = two._workshop
    shop.bridge.focus(table="grid")
    settle()
    shop.do("scale")
    form = shop.bench.drawer.task
    assert isinstance(form, Form)
    form.first.setText("0.97")  # type: ignore[union-attr]
    settle()
    grid = shop.bridge.scene.head
    assert f"{grid.table.values.size} cells" in told(two)
    shop.bridge.focus(table="curve")
    settle()
    curve = shop.bridge.scene.head
    assert f"{curve.table.values.size} cells" in told(two)
    assert f"{grid.table.values.size} cells" not in told(two)
    shop.bench.drawer.entered.emit()
    settle()
    history = shop.bridge.scene.state.history
    assert history.heads["grid"] == grid.id
    assert np.allclose(history.revision(history.heads["curve"]).table.values, 0.97 * curve.table.values)


def test_a_form_follows_the_cells_that_are_chosen(two: MainWindow, settle: Settle) -> None:
    shop = two._workshop
    shop.bridge.focus(table="curve", cell=(4,), blocks=(((4, 9),),))
    settle()
    shop.do("scale-percent")
    form = shop.bench.drawer.task
    assert isinstance(form, Form)
    form.first.setText("3")  # type: ignore[union-attr]
    settle()
    assert "6 cells" in told(two)
    shop.bridge.focus(cell=(20,), blocks=(((20, 21),),))
    settle()
    assert "2 cells" in told(two)
    assert "the 2 chosen cells (20:21)" in [box.currentText() for box in form.findChildren(QComboBox)]
    moved = shop.bridge.scene.draft.revision.table.values != shop.bridge.scene.head.table.values
    assert np.flatnonzero(moved).tolist() == [20, 21]
    shop.bridge.focus(cell=(7,), blocks=())
    settle()
    assert "the chosen cell (7:7)" in [box.currentText() for box in form.findChildren(QComboBox)]


def test_approving_speaks_of_the_revision_that_it_would_approve(two: MainWindow, settle: Settle) -> None:
    shop = two._workshop
    shop.bridge.focus(table="curve")
    settle()
    shop.do("approve")
    settle()
    assert "Revision 2 of curve" in told(two)
    shop.do("undo")
    settle()
    task = shop.bench.drawer.task
    assert isinstance(task, ApproveTask)
    assert "Revision 1 of curve" in told(two)
    assert task.arguments()["revision"] == 1
    shop.bridge.focus(table="grid")
    settle()
    assert "Revision 3 of grid" in told(two)
    assert shop.bench.drawer.task.arguments()["revision"] == 3


def test_a_correction_is_drafted_anew_for_another_revision(two: MainWindow, settle: Settle) -> None:
    shop = two._workshop
    shop.bridge.focus(table="curve")
    settle()
    shop.do("correct")
    settle()
    first = shop.bridge.scene.draft.revision
    assert first.parent == 2
    shop.do("undo")
    settle()
    assert isinstance(shop.bench.drawer.task, CorrectTask)
    assert shop.bridge.scene.draft.revision.parent == 1
