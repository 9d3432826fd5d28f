"""A role changed in place: the log is understood anew with it, and so are later logs of the same shape."""

import math
from collections.abc import Callable
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from workbench.window.shell.main_window import MainWindow
from workbench.window.tasks.log_tasks import DriveTask, RoleBox

TABLE = "Sensor (Hz),Airflow (g/s)\n1000,2\n2000,6\n3000,15\n4000,40\n"


def log_text(phase: float) -> str:
    """A drive whose mixture channel has neither a telling name nor a unit; made up for this test."""
    rows = [
        f"{i / 10},{2000 + 900 * math.sin(i / 40):.1f},{3 + math.sin(i / 9 + phase):.2f},"
        f"{14.7 + 0.2 * math.sin(i / 31 + phase):.3f},{2000 + 50 * math.sin(i / 13):.0f},{85 + i / 400:.1f}"
        for i in range(600)
    ]
    head = "Time (s),Sensor (Hz),Short trim (%),sonde,Engine speed (rpm),Coolant (degC)"
    return "\n".join([head, *rows])


@pytest.fixture
def logged(window: MainWindow, settle: Callable[[], None], tmp_path: Path) -> MainWindow:
    for name, text in (("table.csv", TABLE), ("one.csv", log_text(0.0)), ("two.csv", log_text(1.0))):
        (tmp_path / name).write_text(text)
    window._workshop.opening.begin_from(tmp_path / "table.csv", tmp_path / "car.session")
    window._workshop.routes.take([tmp_path / "one.csv"])
    settle()
    return window


def box_of(window: MainWindow, channel: str) -> RoleBox:
    task = window._workshop.bench.drawer.task
    assert isinstance(task, DriveTask)
    return next(box for box in task.findChildren(RoleBox) if box.accessibleName() == f"Role of {channel}")


def choose(qtbot: QtBot, box: RoleBox, role: str) -> None:
    """Choose a role with the keyboard."""
    box.setFocus(Qt.FocusReason.TabFocusReason)
    QApplication.processEvents()
    target = box.findData(role)
    assert target >= 0
    steps = target - box.currentIndex()
    for left in range(abs(steps), 0, -1):
        box.blockSignals(left > 1)  # only where it ends counts
        qtbot.keyClick(box, Qt.Key.Key_Down if steps > 0 else Qt.Key.Key_Up)


def test_a_role_is_changed_in_place_and_kept_for_files_of_the_same_shape(
    logged: MainWindow, settle: Callable[[], None], qtbot: QtBot, tmp_path: Path
) -> None:
    scene = logged._workshop.bridge.scene
    assert "lambda_measured" not in scene.drive.log.roles
    assert "after" not in scene.evidence.wideband.values()
    choose(qtbot, box_of(logged, "sonde"), "lambda_measured")
    settle()
    scene = logged._workshop.bridge.scene
    log = scene.state.drives[0].log
    assert log.roles["lambda_measured"] == "sonde"
    assert log.channel("sonde").unit == "lambda"
    assert log.channel("sonde").values == pytest.approx(
        [1 + 0.2 / 14.7 * math.sin(i / 31) for i in range(600)], abs=1e-4
    )
    assert scene.evidence.wideband[1] != "none"
    task = logged._workshop.bench.drawer.task
    assert any("lambda = AFR / 14.7" in label for label in (task._notes.text(),))
    assert box_of(logged, "sonde").currentData() == "lambda_measured"

    logged._workshop.routes.take([tmp_path / "two.csv"])
    settle()
    again = logged._workshop.bridge.scene.state.drives[1].log
    assert again.roles["lambda_measured"] == "sonde"
    assert again.channel("sonde").unit == "lambda"
    assert any("earlier log of the same shape" in note for note in again.notes)


def test_what_is_kept_is_there_after_the_session_was_closed(
    logged: MainWindow, settle: Callable[[], None], qtbot: QtBot, tmp_path: Path
) -> None:
    choose(qtbot, box_of(logged, "sonde"), "lambda_measured")
    settle()
    before = logged._workshop.bridge.scene.state.drives[0].log
    logged._workshop.do("start")
    logged.open(tmp_path / "car.session")
    after = logged._workshop.bridge.scene.state.drives[0].log
    assert (after.roles, after.notes) == (before.roles, before.notes)
    assert after.channel("sonde").values.tolist() == before.channel("sonde").values.tolist()
    settle()


def test_a_role_that_does_not_fit_is_refused_and_the_box_goes_back(
    logged: MainWindow, settle: Callable[[], None], qtbot: QtBot
) -> None:
    choose(qtbot, box_of(logged, "sonde"), "lambda_measured")
    settle()
    choose(qtbot, box_of(logged, "sonde"), "stft_2")
    settle()
    told = logged._workshop.bench.drawer._message.text()
    assert "does not fit stft_2" in told
    assert "Add the log again with “Roles” stft_2=sonde." in told
    assert box_of(logged, "sonde").currentData() == "lambda_measured"
    assert logged._workshop.bridge.scene.state.drives[0].log.roles["lambda_measured"] == "sonde"
