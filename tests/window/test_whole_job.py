"""The whole job through the window, by keyboard and mouse, ending in the file the command line writes."""

from pathlib import Path

import pytest
from PySide6.QtCore import QPoint, QPointF, Qt
from PySide6.QtGui import QGuiApplication
from PySide6.QtWidgets import QApplication, QCheckBox, QLineEdit
from pytestqt.qtbot import QtBot
from screen import Screen

from workbench.cli import main as command_line
from workbench.window.shell.opening import Opening
from workbench.window.tasks.approve_task import ApproveTask
from workbench.window.tasks.correct_task import CorrectTask
from workbench.window.tasks.form import Form


def approve_by_keyboard(screen: Screen, qtbot: QtBot, task: ApproveTask) -> None:
    """Tick every objection with the space bar, and type its reason."""
    for box in task.findChildren(QCheckBox):
        box.setFocus()
        qtbot.keyClick(box, Qt.Key.Key_Space)
        assert box.isChecked()
        reason = QApplication.focusWidget()  # ticking turns to it
        assert isinstance(reason, QLineEdit)
        qtbot.keyClicks(reason, "looked into it")
    screen.fill("Your name", "A. Calibrator")
    assert task.missing == ""
    screen.press("Return", task.by)


def by_command_line(folder: Path, kind: str, files: Path, accepted: tuple[str, ...]) -> bytes:
    """Do the same job by the command line."""
    session, out = str(folder / "line.session"), folder / "line.csv"
    accept = [word for name in accepted for word in ("--accept", f"{name}=seen")]
    for words in (
        ["new", session, str(files / f"{kind}.csv")],
        ["add-log", session, str(files / f"{kind}_drive.csv")],
        ["scale", session, "--by", "1.02", "--cells", "0:1" if kind == "curve" else "0:0,0:1"],
        ["roll-back", session, "1"],
        ["correct", session, "--share", "0.9"],
        ["approve", session, "--by", "A. Calibrator", *accept],
        ["export", session, str(out)],
    ):
        assert command_line(words) == 0, words
    return out.read_bytes()


def begin(screen: Screen, kind: str, files: Path, folder: Path) -> None:
    """Drop the table on the start page, then add the log by its name."""
    table = folder / f"{kind}.csv"
    table.write_bytes((files / f"{kind}.csv").read_bytes())
    screen.drop(table)
    assert Path(screen.state.path) == table.with_suffix(".session")
    assert "is fed by the" in screen.notice
    screen.press("Ctrl+L", screen.window)
    screen.type(str(files / f"{kind}_drive.csv"))
    screen.press("Return")
    screen.settle()
    assert len(screen.state.drives) == 1
    assert screen.scene.evidence is not None
    screen.press("Escape")


def work_by_hand(screen: Screen, kind: str) -> None:
    """Scale two cells by what is typed over them; undo, redo, roll back."""
    screen.press("Alt+1", screen.window)
    screen.press("Shift+Down" if kind == "curve" else "Shift+Right", screen.numbers)
    screen.type("*", screen.numbers)
    screen.type("1.02")
    assert screen.scene.draft is not None
    screen.press("Return")
    assert screen.scene.draft is None
    heads = [screen.head.id]
    for title in ("Undo", "Redo"):
        screen.choose(title)
        heads.append(screen.head.id)
    assert heads == [2, 1, 2]
    screen.press("Alt+3", screen.window)
    screen.press("Down")
    screen.press("Ctrl+Shift+B", screen.window)
    assert isinstance(screen.task, Form)
    screen.press("Return")
    assert screen.head.id == 3
    assert screen.head.arguments["to"] == 1


def correct(screen: Screen) -> None:
    """Take the next step that the strip names, with nine tenths of the step."""
    screen.press("F5", screen.window)
    assert isinstance(screen.task, CorrectTask)
    screen.fill(screen.task.share.accessibleName(), "90")
    screen.press("Tab")
    screen.settle()
    assert screen.scene.draft is not None
    screen.press("Return", screen.task.note)
    assert screen.head.id == 4
    assert screen.head.operation == "correct"


@pytest.mark.parametrize("kind", ["curve", "grid"])
def test_from_the_empty_start_to_the_exported_file(
    kind: str, qtbot: QtBot, screen: Screen, car_files: Path, tmp_path: Path
) -> None:
    begin(screen, kind, car_files, tmp_path)
    work_by_hand(screen, kind)
    screen.settle()
    correct(screen)
    screen.settle()

    screen.press("Ctrl+Shift+A", screen.window)
    task = screen.task
    assert isinstance(task, ApproveTask)
    approve_by_keyboard(screen, qtbot, task)
    screen.settle()
    approval = screen.state.history.approvals[4]
    assert approval.by == "A. Calibrator"
    assert all(f"{name}: looked into it" in approval.note for name in approval.accepted)

    screen.press("F5", screen.window)  # the strip now offers to export
    assert isinstance(screen.task, Form)
    out = tmp_path / "window.csv"
    screen.fill("File", str(out))
    screen.press("Return")
    assert out.read_bytes() == by_command_line(tmp_path, kind, car_files, approval.accepted)


def test_a_table_from_the_clipboard_begins_a_session(
    screen: Screen, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(Opening, "_folder", lambda _: str(tmp_path))
    QGuiApplication.clipboard().setText("1000\t2,5\n2000\t6,25\n3000\t14\n")
    screen.choose("New session from the clipboard")
    assert screen.scene.table is not None
    assert screen.scene.table.values.tolist() == [2.5, 6.25, 14.0]
    assert (tmp_path / "pasted.session").exists()


def test_a_point_is_dragged_and_the_draft_dropped_or_applied(
    qtbot: QtBot, screen: Screen, car_files: Path, tmp_path: Path
) -> None:
    screen.begin_from(car_files / "curve.csv", tmp_path / "drag.session")
    screen.bench.finish()
    screen.focus(cell=(20,))
    picture = screen.bench.curve
    before = float(screen.scene.table.values[20])

    def at(value: float) -> QPoint:
        place = picture.plot.box.mapViewToScene(QPointF(float(picture._xs[20]), value))
        return picture.plot.widget.mapFromScene(place)

    qtbot.wait(50)
    viewport = picture.plot.widget.viewport()
    qtbot.mousePress(viewport, Qt.MouseButton.LeftButton, pos=at(before))
    qtbot.mouseMove(viewport, at(before * 1.5))
    draft = screen.scene.draft
    assert draft is not None
    assert draft.revision.table.values[20] == pytest.approx(before * 1.5, rel=0.1)
    qtbot.mouseRelease(viewport, Qt.MouseButton.LeftButton, pos=at(before * 1.5))
    qtbot.keySequence(screen.window, "Escape")
    assert screen.scene.draft is None
    assert screen.scene.table.values[20] == before

    picture.plot.widget.setFocus()
    qtbot.keySequence(picture.plot.widget, "Up")
    qtbot.keySequence(picture.plot.widget, "Up")
    assert screen.scene.draft.revision.table.values[20] == pytest.approx(before * 1.005**2)  # type: ignore[attr-defined]
    qtbot.keySequence(picture.plot.widget, "Return")
    assert screen.head.id == 2
