"""A role changed in place: the log is understood anew with it, and so are later logs of the same shape."""

import math
from collections.abc import Callable
from pathlib import Path

import pytest
from PySide6.QtCore import QPoint, QPointF, Qt
from PySide6.QtGui import QWheelEvent
from PySide6.QtWidgets import QApplication, QComboBox, QDoubleSpinBox, QPushButton, QSlider, QWidget
from pytestqt.qtbot import QtBot
from screen import Screen

from workbench.cli import main as command_line
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
def logged(screen: Screen, settle: Callable[[], None], tmp_path: Path) -> Screen:
    for name, text in (("table.csv", TABLE), ("one.csv", log_text(0.0)), ("two.csv", log_text(1.0))):
        (tmp_path / name).write_text(text)
    screen.begin_from(tmp_path / "table.csv", tmp_path / "car.session")
    # What so small a log leaves open besides is answered: it has neither a long trim nor anything that shows a cut.
    answers = ("ltft_1=", "fuel_system=")
    screen.run("add-log", {"files": (tmp_path / "one.csv",), "role": answers})
    settle()
    return screen


def box_of(screen: Screen, channel: str) -> RoleBox:
    task = screen.task
    assert isinstance(task, DriveTask)
    return next(box for box in task.findChildren(RoleBox) if box.accessibleName() == f"Role of {channel}")


def choose(qtbot: QtBot, box: RoleBox, role: str) -> None:
    """Choose a role with the keyboard."""
    box.setFocus(Qt.FocusReason.TabFocusReason)
    QApplication.processEvents()
    target = box.findData(role)
    assert target >= 0
    steps = target - box.currentIndex()
    for _ in range(abs(steps)):
        qtbot.keyClick(box, Qt.Key.Key_Down if steps > 0 else Qt.Key.Key_Up)


def apply(screen: Screen) -> None:
    """Press the task's button, which is only there for what is said otherwise."""
    go = next(b for b in screen.drawer.findChildren(QPushButton) if b.text() == "Apply")
    assert go.isEnabled()
    go.click()


def test_a_role_is_changed_in_place_and_kept_for_files_of_the_same_shape(
    logged: Screen, settle: Callable[[], None], qtbot: QtBot, tmp_path: Path
) -> None:
    scene = logged.scene
    assert "lambda_measured" not in scene.drive.log.roles
    assert "after" not in scene.evidence.wideband.values()
    choose(qtbot, box_of(logged, "sonde"), "lambda_measured")
    apply(logged)
    settle()
    scene = logged.scene
    log = scene.state.drives[0].log
    assert log.roles["lambda_measured"] == "sonde"
    assert log.channel("sonde").unit == "lambda"
    assert log.channel("sonde").values == pytest.approx(
        [1 + 0.2 / 14.7 * math.sin(i / 31) for i in range(600)], abs=1e-4
    )
    assert scene.evidence.wideband[1] != "none"
    task = logged.task
    assert any("lambda = AFR / 14.7" in label for label in (task._notes.text(),))
    assert box_of(logged, "sonde").currentData() == "lambda_measured"

    logged.take([tmp_path / "two.csv"])
    settle()
    again = logged.state.drives[1].log
    assert again.roles["lambda_measured"] == "sonde"
    assert again.channel("sonde").unit == "lambda"
    assert any("earlier log of the same shape" in note for note in again.notes)


def test_what_is_kept_is_there_after_the_session_was_closed(
    logged: Screen, settle: Callable[[], None], qtbot: QtBot, tmp_path: Path
) -> None:
    choose(qtbot, box_of(logged, "sonde"), "lambda_measured")
    apply(logged)
    settle()
    before = logged.state.drives[0].log
    logged.do("start")
    logged.window.open(tmp_path / "car.session")
    after = logged.state.drives[0].log
    assert (after.roles, after.notes) == (before.roles, before.notes)
    assert after.channel("sonde").values.tolist() == before.channel("sonde").values.tolist()
    settle()


def test_a_role_that_does_not_fit_is_refused_and_the_box_goes_back(
    logged: Screen, settle: Callable[[], None], qtbot: QtBot
) -> None:
    choose(qtbot, box_of(logged, "sonde"), "lambda_measured")
    apply(logged)
    settle()
    choose(qtbot, box_of(logged, "sonde"), "stft_2")
    apply(logged)
    settle()
    told = logged.drawer._message.text()
    assert "does not fit stft_2" in told
    assert "Undo adding the log, then add it again with “Roles” stft_2=sonde." in told
    assert box_of(logged, "sonde").currentData() == "lambda_measured"
    assert logged.state.drives[0].log.roles["lambda_measured"] == "sonde"


def test_nothing_is_recorded_before_apply_and_undo_takes_it_back(
    logged: Screen, settle: Callable[[], None], qtbot: QtBot
) -> None:
    before = logged.state.sequence
    choose(qtbot, box_of(logged, "sonde"), "lambda_measured")
    choose(qtbot, box_of(logged, "Short trim"), "")
    settle()
    assert logged.state.sequence == before
    told = logged.drawer._message.text()
    assert "sonde becomes measured lambda." in told
    assert "Short trim is no longer short trim, bank 1." in told
    assert "re-evaluates" in told
    apply(logged)
    settle()
    state = logged.state
    assert state.sequence == before + 1
    assert state.drives[0].log.roles["lambda_measured"] == "sonde"
    assert "stft_1" not in state.drives[0].log.roles
    logged.do("undo")
    settle()
    state = logged.state
    assert "lambda_measured" not in state.drives[0].log.roles
    assert state.drives[0].log.roles["stft_1"] == "Short trim"
    assert "settings of the log one.csv" in logged.notice
    assert box_of(logged, "Short trim").currentData() == "stft_1"


def test_the_wheel_changes_no_control(logged: Screen, settle: Callable[[], None], qtbot: QtBot) -> None:
    before = logged.state.sequence
    for task in ("drive", "correct", "gates", "lanes", "smooth", "export", "roll-back"):
        logged.do(task)
        settle()
        inside = logged.task
        assert inside is not None
        kinds = (QComboBox, QDoubleSpinBox, QSlider)
        for control in [each for each in inside.findChildren(QWidget) if isinstance(each, kinds)]:
            if isinstance(control, RoleBox):
                control.fill()
            now = control.currentIndex() if isinstance(control, QComboBox) else control.value()
            control.setFocus()
            for down in (-120, 120):
                spot = QPointF(5, 5)
                place = control.mapToGlobal(spot)
                event = QWheelEvent(
                    spot, place, QPoint(), QPoint(0, down), Qt.MouseButton.NoButton,
                    Qt.KeyboardModifier.NoModifier, Qt.ScrollPhase.NoScrollPhase, False,
                )  # fmt: skip
                QApplication.sendEvent(control, event)
            assert (control.currentIndex() if isinstance(control, QComboBox) else control.value()) == now, task
    settle()
    assert logged.state.sequence == before


def test_the_wheel_leaves_the_keyboard_where_it_is(logged: Screen, settle: Callable[[], None]) -> None:
    """What is typed after scrolling over a list went into that list."""
    taking = set[str]()
    for task in ("drive", "correct", "gates", "lanes", "pulls", "help", "multiply-by-paste", "cautions", "start"):
        logged.do(task)
        settle()
        for each in logged.window.findChildren(QWidget):
            if each.focusPolicy() == Qt.FocusPolicy.WheelFocus and each.isVisible():
                taking.add(f"{task}: {type(each).__name__} {each.accessibleName()}")
    assert not taking


def test_a_unit_that_cannot_fit_is_refused_on_the_command_line_too(
    logged: Screen, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = str(tmp_path / "car.session")
    logged.do("start")
    assert command_line(["amend-log", path, "1", "--role", "barometer=Short trim"]) == 1
    told = capsys.readouterr().err
    assert "cannot be barometer" in told
    assert "'%'" in told


@pytest.mark.parametrize("points", [10, 14, 24])
def test_names_and_roles_show_whole_in_a_narrow_drawer(logged: Screen, points: int) -> None:
    """Side by side they may cut each other, so that nothing tells which bank a trim is of."""
    logged.dress("light", points)
    logged.do("drive")
    logged.settle()
    task = logged.task
    assert isinstance(task, DriveTask)
    written = [part.shown for part in task._boxes.values()] + [part.shown for part in task._units.values()]
    assert not [text for text in written if "…" in text], points
