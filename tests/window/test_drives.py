"""Which drives count: one that was left out is named with the reason, and can be taken by name."""

from collections.abc import Callable
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QComboBox, QLabel
from pytestqt.qtbot import QtBot
from screen import Screen

from workbench.window.panels.next_step import figures, next_step
from workbench.window.panels.revision_rows import Entry as RevisionRow
from workbench.window.panels.revision_rows import rows_of
from workbench.window.tasks.correct_task import CorrectTask
from workbench.window.tasks.form import Form
from workbench.window.tasks.log_tasks import DriveTask

Settle = Callable[[], None]


@pytest.fixture
def doubtful(screen: Screen, settle: Settle, car_files: Path, next_drive: Path, tmp_path: Path) -> Screen:
    """A window on two drives, the second of which is said to be of a table that its airflow does not fit."""
    screen.begin_from(car_files / "curve.csv", tmp_path / "car.session")
    screen.take([car_files / "curve_drive.csv"])
    settle()
    screen.run("scale", {"by": 1.1})
    settle()
    screen.run("add-log", {"files": (next_drive,)})
    settle()
    return screen


def test_a_drive_that_does_not_count_is_the_next_step_and_no_round_of_its_own(doubtful: Screen, settle: Settle) -> None:
    """That it was left out stood in a note, while the strip and the history took it for the next drive."""
    step = next_step(doubtful.scene)
    assert (step.title, step.word) == ("Look at log 2: it does not count", "questions")
    assert step.reason.startswith("Danger in again.csv, which does not count: Full throttle ran")
    assert "again.csv fits revision 1, not 2" in step.reason
    shown = {figure.caption: figure.value for figure in figures(doubtful.scene)}
    assert shown["In the car"] == "revision 1, round 1"
    driven = [row.revision.id for row in rows_of(doubtful.scene, {}) if isinstance(row, RevisionRow) and row.in_car]
    assert driven == [1]
    doubtful.press("F5")
    settle()
    task = doubtful.task
    assert isinstance(task, DriveTask)
    assert isinstance(task.first, QComboBox)
    task.first.setCurrentIndex(1)  # the latest stands first
    doubtful.click("Apply")
    settle()
    assert next_step(doubtful.scene).word != "questions"
    assert doubtful.scene.evidence.drives == (1, 2)


def test_a_drive_that_was_left_out_is_taken_by_name(doubtful: Screen, settle: Settle, qtbot: QtBot) -> None:
    assert doubtful.scene.evidence.drives == (1,)
    doubtful.do("correct")
    settle()
    task = doubtful.task
    assert isinstance(task, CorrectTask)
    assert "Left out: drive 2: again.csv" in task._left_out.text()
    assert "fits revision 1, not 2" in task._left_out.text()
    assert not any(box.isVisible() for box in task.named.values())

    task.drives.setFocus()
    qtbot.keyClick(task.drives, Qt.Key.Key_End)
    assert {number: box.isChecked() for number, box in task.named.items()} == {1: True, 2: False}
    box = task.named[2]
    assert box.isVisible()
    for _ in range(20):
        if box.hasFocus():
            break
        qtbot.keyClick(doubtful.window.focusWidget(), Qt.Key.Key_Tab)
    assert box.hasFocus()
    qtbot.keyClick(box, Qt.Key.Key_Space)
    settle()
    assert doubtful.scene.evidence.drives == (1, 2)
    assert doubtful.scene.draft is None  # two that disagree: what was drafted before must not be applied
    assert task._outcome.text() == "None: the command is refused."
    qtbot.keyClick(box, Qt.Key.Key_Return)
    settle()
    assert doubtful.head.operation == "scale"

    task.named[1].setChecked(False)
    settle()
    assert doubtful.scene.draft.revision.arguments["drives"] == [2]  # type: ignore[attr-defined]
    qtbot.keyClick(box, Qt.Key.Key_Return)
    settle()
    head = doubtful.head
    assert (head.operation, head.arguments["drives"]) == ("correct", [2])


def test_enter_applies_what_stands_in_the_fields(doubtful: Screen, settle: Settle) -> None:
    """A draft is worked out a moment after the last change; Enter may come before it."""
    doubtful.do("correct")
    settle()
    task = doubtful.task
    for act in (doubtful.drawer.entered.emit, lambda: doubtful.do("apply")):
        assert doubtful.scene.draft is not None
        task.share.setValue(task.share.value() / 2)
        asked = task.share.value()
        act()
        settle()
        assert doubtful.head.arguments["share"] == pytest.approx(asked / 100)
        doubtful.do("correct")
        settle()
        task = doubtful.task
        task.share.setValue(80)
        settle()


def test_no_drive_at_all_is_refused(doubtful: Screen, settle: Settle) -> None:
    doubtful.do("correct")
    task = doubtful.task
    task.drives.setCurrentIndex(task.drives.count() - 1)
    for box in task.named.values():
        box.setChecked(False)
    settle()
    assert "No drive is named." in " ".join(each.text() for each in doubtful.drawer.findChildren(QLabel))


def test_what_a_form_does_not_say_stays_as_it_is(doubtful: Screen, settle: Settle) -> None:
    doubtful.run("amend-log", {"log": 2, "wideband": "before"})
    doubtful.do("amend-log")
    form = doubtful.task
    assert isinstance(form, Form)
    stated = [box.currentText() for box in form.findChildren(QComboBox)]
    assert stated[-2:] == ["unchanged", "unchanged"]
    assert form.arguments() == {"log": 2}
    doubtful.run("storage", {"step": 0.01, "bits": 16, "signed": True, "rounding": "half-up"})
    kept = doubtful.state.ecu_format("curve").storage
    doubtful.do("storage")
    doubtful.drawer.entered.emit()
    settle()
    assert doubtful.state.ecu_format().storage == kept
    assert kept.signed


def choose_drives(screen: Screen, qtbot: QtBot, settle: Settle, *numbers: int) -> CorrectTask:
    """Open the correction and choose drives one by one."""
    screen.do("correct")
    settle()
    task = screen.task
    assert isinstance(task, CorrectTask)
    task.drives.setFocus()
    qtbot.keyClick(task.drives, Qt.Key.Key_End)
    for number, box in task.named.items():
        if box.isChecked() is not (number in numbers):
            box.click()
    settle()
    return task


def strip_of(screen: Screen) -> list[str]:
    """What the strip says."""
    return [label.text() for label in screen.bench.strip.findChildren(QLabel) if label.isVisible()]


@pytest.mark.parametrize("leave", ["Esc", "another task", "another session"])
def test_a_choice_of_drives_ends_with_its_task(
    doubtful: Screen, settle: Settle, qtbot: QtBot, leave: str, car_files: Path, tmp_path: Path
) -> None:
    fitting = doubtful.scene.evidence
    task = choose_drives(doubtful, qtbot, settle, 2)
    assert doubtful.scene.evidence.drives == (2,)
    assert "drive 2 only" in strip_of(doubtful)
    assert "fits revision 1, not 2" in task._left_out.text()
    if leave == "Esc":
        qtbot.keyClick(task.drives, Qt.Key.Key_Escape)
    elif leave == "another task":
        doubtful.do("gates")
    else:
        doubtful.begin_from(car_files / "curve.csv", tmp_path / "other.session")
        settle()
        doubtful.answer("Drop it and leave")  # a draft waits for a yes
        settle()
        doubtful.take([car_files / "curve_drive.csv"])
    settle()
    assert doubtful.scene.evidence.drives == (1,)
    assert "drive 2 only" not in strip_of(doubtful)
    if leave != "another session":
        assert doubtful.scene.evidence.ratio.tolist() == pytest.approx(fitting.ratio.tolist(), nan_ok=True)


def test_leaving_with_no_drive_chosen_brings_the_evidence_back(doubtful: Screen, settle: Settle, qtbot: QtBot) -> None:
    choose_drives(doubtful, qtbot, settle)
    assert doubtful.scene.evidence is None
    assert "No drive is named" in doubtful.notice
    doubtful.leave_task()
    settle()
    assert doubtful.scene.evidence.drives == (1,)  # type: ignore[attr-defined]
    assert doubtful.notice == ""


def test_objections_are_those_of_all_drives_that_fit(doubtful: Screen, settle: Settle, qtbot: QtBot) -> None:
    doubtful.do("approve")
    settle()
    listed = doubtful.task.arguments()["accept"]
    assert listed
    choose_drives(doubtful, qtbot, settle)  # without evidence there is less to object to
    doubtful.do("approve")
    assert len(doubtful.task.arguments()["accept"]) < len(listed)
    settle()
    assert doubtful.task.arguments()["accept"] == listed
    assert doubtful.drawer.isAncestorOf(doubtful.window.focusWidget())
