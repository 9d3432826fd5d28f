"""A log that is dropped, or offered from a watched folder, is added only where it is plain what was in the car."""

from pathlib import Path

import pytest
from PySide6.QtWidgets import QComboBox, QLineEdit
from screen import Screen


@pytest.fixture
def driven(screen: Screen, car_files: Path, tmp_path: Path) -> Screen:
    screen.begin_from(car_files / "curve.csv", tmp_path / "car.session")
    screen.take([car_files / "curve_drive.csv"])
    screen.settle()
    assert len(screen.state.drives) == 1
    return screen


def shown_names(screen: Screen) -> str:
    assert screen.task is not None
    return " ".join(each.text() for each in screen.task.findChildren(QLineEdit))


def test_after_a_correction_that_never_left_the_desk_it_is_asked_what_was_in_the_car(
    driven: Screen, next_drive: Path
) -> None:
    driven.run("correct", {})
    driven.settle()
    driven.leave_task()
    driven.take([next_drive])
    driven.settle()
    assert len(driven.state.drives) == 1
    assert next_drive.name in shown_names(driven)
    driven.go()  # nobody has said it yet
    driven.settle()
    assert len(driven.state.drives) == 1
    assert any("Which revision was in the car is not said" in text for text in driven.texts)
    (asked,) = [box for box in driven.task.findChildren(QComboBox) if box.accessibleName() == "Driven on revision"]
    assert asked.currentText() == "which was in the car?"
    asked.setCurrentIndex(asked.findData(1))
    driven.go()
    driven.settle()
    assert [drive.revision for drive in driven.state.drives] == [1, 1]


def test_a_form_for_logs_asks_too_and_not_where_somebody_said_it(driven: Screen) -> None:
    driven.run("correct", {})
    driven.settle()
    driven.do("add-log")
    assert any("which was in the car?" in text for text in driven.texts)
    driven.leave_task()
    driven.run("put-in-car", {"revision": 2})
    driven.settle()
    driven.do("add-log")
    assert not any("which was in the car?" in text for text in driven.texts)


def test_after_a_draft_was_handed_over_it_is_added_at_once(driven: Screen, next_drive: Path, tmp_path: Path) -> None:
    driven.run("correct", {})
    driven.settle()
    driven.run("export", {"file": tmp_path / "try.csv", "draft": True})
    driven.settle()
    assert driven.state.history.exports
    driven.take([next_drive])
    driven.settle()
    assert len(driven.state.drives) == 2
