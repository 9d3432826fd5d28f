"""A log that is dropped, or offered from a watched folder, is added only where it is plain what was in the car."""

from pathlib import Path

import pytest
from PySide6.QtWidgets import QLineEdit
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


def test_after_a_draft_was_handed_over_it_is_added_at_once(driven: Screen, next_drive: Path, tmp_path: Path) -> None:
    driven.run("correct", {})
    driven.settle()
    driven.run("export", {"file": tmp_path / "try.csv", "draft": True})
    driven.settle()
    assert driven.state.history.exports
    driven.take([next_drive])
    driven.settle()
    assert len(driven.state.drives) == 2
