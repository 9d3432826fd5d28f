"""Cautions: listed with their place in the log, acknowledged with a reason, and no longer in the way then."""

import shutil
from collections.abc import Callable
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication, QLineEdit, QPushButton
from pytestqt.qtbot import QtBot
from screen import Screen

from workbench.cli import main as command_line
from workbench.commands.evidence.next_step import against
from workbench.session import Session
from workbench.window.tasks.cautions_task import CautionsTask
from workbench.window.tasks.form import Form
from workbench.window.tasks.pulls_task import PullsTask


@pytest.fixture
def careful(screen: Screen, settle: Callable[[], None], car_files: Path, tmp_path: Path) -> Screen:
    """A window on a session whose log carries cautions: the engine runs lean at full throttle on the stale table."""
    path = tmp_path / "car.session"
    assert command_line(["new", str(path), str(car_files / "curve.csv")]) == 0
    assert command_line(["add-log", str(path), str(car_files / "curve_drive.csv")]) == 0
    screen.window.open(path)
    settle()
    assert screen.scene.cautions
    return screen


def open_ones(screen: Screen) -> set[str]:
    scene = screen.scene
    return {each.name for each in against(scene.state, scene.head, scene.fitting_evidence)}


def test_each_is_acknowledged_with_a_reason_and_stands_no_longer_in_the_way(
    careful: Screen, settle: Callable[[], None], qtbot: QtBot
) -> None:
    assert "open-cautions" in open_ones(careful)
    careful.do("cautions")
    settle()
    task = careful.task
    assert isinstance(task, CautionsTask)
    many = len(careful.scene.cautions)
    for left in range(many, 0, -1):
        lines = task.findChildren(QLineEdit)
        lines = [line for line in lines if line.isVisibleTo(task)]
        assert len(lines) == left
        qtbot.keyClicks(lines[0], f"looked into it, {left}")
        qtbot.keyClick(lines[0], Qt.Key.Key_Return)
        settle()
        assert careful.notice == ""  # the task says it
    assert "open-cautions" not in open_ones(careful)
    state = careful.state
    assert {said.reason for said in state.acknowledged.values()} == {f"looked into it, {n + 1}" for n in range(many)}
    careful.do("undo")
    settle()
    assert "open-cautions" in open_ones(careful)


def test_what_is_typed_after_one_reason_goes_into_the_next(
    careful: Screen, settle: Callable[[], None], next_drive: Path
) -> None:
    careful.take([next_drive])
    settle()
    careful.do("cautions")
    settle()
    many = len(careful.scene.cautions)
    assert many > 1
    for number in range(many):
        focus = QApplication.focusWidget()
        assert isinstance(focus, QLineEdit)
        careful.type(f"seen {number}")
        careful.press("Return")
        settle()
    assert {said.reason for said in careful.state.acknowledged.values()} == {f"seen {n}" for n in range(many)}
    assert isinstance(QApplication.focusWidget(), CautionsTask)  # not on a button that letters would press


def test_acknowledging_leads_to_where_the_cautions_stand(careful: Screen, settle: Callable[[], None]) -> None:
    careful.do("acknowledge")
    settle()
    assert isinstance(careful.task, CautionsTask)


def test_a_caution_shows_its_place_in_the_log(careful: Screen, settle: Callable[[], None]) -> None:
    careful.do("cautions")
    settle()
    looks = [b for b in careful.drawer.findChildren(QPushButton) if "Show it in the log" in b.text()]
    assert looks
    worst = next(each.found for each in careful.scene.cautions if each.found.name == "lean-at-full-throttle")
    assert worst.at < worst.worst_at < worst.until
    (look,) = [button for button in looks if f"at {worst.worst_at:.1f}" in button.text().replace(",", "")]
    look.click()
    assert careful.scene.focus.cursor_s == worst.worst_at


def test_the_command_line_acknowledges_and_the_approval_tells(
    car_files: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "car.session"
    assert command_line(["new", str(path), str(car_files / "curve.csv")]) == 0
    assert command_line(["add-log", str(path), str(car_files / "curve_drive.csv")]) == 0
    capsys.readouterr()
    assert command_line(["cautions", str(path)]) == 0
    names = [line.split("  ")[0] for line in capsys.readouterr().out.splitlines()]
    assert "1:lean-at-full-throttle" in names
    assert command_line(["acknowledge", str(path), "1:lean-at-full-throttle", "--because", " "]) == 1
    assert command_line(["acknowledge", str(path), "1:no-such", "--because", "x"]) == 1
    assert "1:lean-at-full-throttle" in capsys.readouterr().err
    for name in names:
        assert command_line(["acknowledge", str(path), name, "--because", "known, see note"]) == 0
    capsys.readouterr()
    assert command_line(["approve", str(path), "--by", "Tester"]) == 1
    told = capsys.readouterr().err
    assert "open-cautions" not in told
    accepted = [word for name in _listed(told) for word in ("--accept", f"{name}=seen")]
    assert command_line(["approve", str(path), "--by", "Tester", *accepted]) == 0
    assert "Acknowledged: 1:lean-at-full-throttle. known, see note" in capsys.readouterr().out
    shutil.copy(path, tmp_path / "copy.session")
    with Session.open(tmp_path / "copy.session") as again:
        assert again.state.history.approvals[1].acknowledged == dict.fromkeys(names, "known, see note")


def _listed(refusal: str) -> list[str]:
    return [line[2:].split(":")[0] for line in refusal.splitlines() if line.startswith("- ")]


def test_pulls_are_a_table_and_a_choice_goes_to_the_place_in_the_log(
    careful: Screen, settle: Callable[[], None]
) -> None:
    careful.do("pulls")
    settle()
    task = careful.task
    assert isinstance(task, PullsTask)
    assert task._table.rowCount() == len(task._pulls) > 0
    pull = task._pulls[0]
    assert pull["start"] <= pull["leanest_at"] <= pull["end"]
    assert pull["low_rpm"] <= pull["leanest_rpm"] <= pull["high_rpm"]
    heads = [task._table.horizontalHeaderItem(place).text() for place in range(task._table.columnCount())]
    row = dict(zip(heads, (task._table.item(0, place).text() for place in range(len(heads))), strict=True))
    assert float(row["at s"]) == pytest.approx(pull["leanest_at"], abs=0.06)
    assert float(row["at rpm"].replace(",", "")) == pytest.approx(pull["leanest_rpm"], abs=1)
    assert row["Leanest"].startswith("+")
    assert task._table.viewport().height() >= len(task._pulls) * task._table.rowHeight(
        0
    )  # whole rows, no bar over them
    task._table.setCurrentCell(0, 0)
    focus = careful.scene.focus
    assert focus.cursor_s == pull["leanest_at"]
    assert focus.span == (pull["start"], pull["end"])
    assert len([item for item in task._plot.box.addedItems if hasattr(item, "getData")]) == len(task._pulls)
    assert row["Pull"].split()[0] == pull["name"] == "1:1"
    task._leave.click()
    settle()
    form = careful.task
    assert isinstance(form, Form)
    assert careful.drawer._title.text() == "Leave a pull out"
    assert form.arguments()["what"] == "1:1"
    reason = next(each for each in form.findChildren(QLineEdit) if each.accessibleName() == "Because")
    reason.setText("foot came up")
    careful.go()
    settle()
    (left,) = careful.state.drives[0].left_out
    assert left.reason == "foot came up"
    assert left.start == pytest.approx(pull["start"], abs=0.5)
    careful.do("pulls")
    settle()
    again = careful.task
    assert isinstance(again, PullsTask)
    careful.do("undo")
    settle()
    assert careful.state.drives[0].left_out == ()


def test_logs_are_looked_through_once_however_many_revisions_follow(
    careful: Screen, settle: Callable[[], None]
) -> None:
    looks = list[str]()
    careful.jobs.working.connect(lambda title, _: looks.append(title) if "cautions" in title else None)
    before = careful.scene.cautions
    for _ in range(3):
        careful.run("scale", {"by": 1.01})
        settle()
    assert looks == []
    assert careful.scene.cautions == before
    careful.run("settings", {"caution": ("coolant_c=90",)})
    settle()
    assert looks
