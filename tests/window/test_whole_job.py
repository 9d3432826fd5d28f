"""The whole job through the window, by keyboard and mouse, ending in the file the command line writes."""

import warnings
from collections.abc import Callable
from pathlib import Path

import pytest
from PySide6.QtCore import QMimeData, QPoint, QPointF, Qt, QUrl
from PySide6.QtGui import QDragEnterEvent, QDropEvent, QGuiApplication
from PySide6.QtWidgets import QApplication, QCheckBox, QLineEdit
from pytestqt.qtbot import QtBot

from workbench.cli import main as command_line
from workbench.window.shell.main_window import MainWindow
from workbench.window.tasks.approve_task import ApproveTask
from workbench.window.tasks.correct_task import CorrectTask
from workbench.window.tasks.form import Form

Settle = Callable[[], None]


def drop(window: MainWindow, *paths: Path) -> None:
    """Drop files on the window as a file browser does."""
    data = QMimeData()
    data.setUrls([QUrl.fromLocalFile(str(path)) for path in paths])
    copy, left, none = Qt.DropAction.CopyAction, Qt.MouseButton.LeftButton, Qt.KeyboardModifier.NoModifier
    with warnings.catch_warnings():
        # From Qt 6.12 on this constructor is deprecated; the one that replaces it is not there before.
        warnings.simplefilter("ignore", DeprecationWarning)
        entering = QDragEnterEvent(QPoint(200, 200), copy, data, left, none)
    QApplication.sendEvent(window, entering)
    QApplication.sendEvent(window, QDropEvent(QPointF(200, 200), copy, data, left, none))


def press(qtbot: QtBot, keys: str, widget: object = None) -> None:
    """Press a key sequence where the keyboard is."""
    target = widget or QApplication.focusWidget()
    assert target is not None
    qtbot.keySequence(target, keys)


def approve_by_keyboard(qtbot: QtBot, task: ApproveTask) -> None:
    """Tick every objection with the space bar, tab to its reason, type, and tab on."""
    for box in task.findChildren(QCheckBox):
        box.setFocus()
        qtbot.keyClick(box, Qt.Key.Key_Space)
        assert box.isChecked()
        qtbot.keyClick(box, Qt.Key.Key_Tab)
        reason = QApplication.focusWidget()
        assert isinstance(reason, QLineEdit)
        qtbot.keyClicks(reason, "looked into it")
    task.by.setFocus()
    task.by.selectAll()
    qtbot.keyClicks(task.by, "A. Calibrator")
    assert task.missing == ""
    qtbot.keyClick(task.by, Qt.Key.Key_Return)


def by_command_line(folder: Path, kind: str, files: Path, accepted: tuple[str, ...]) -> bytes:
    """Do the same job by the command line."""
    session, out = str(folder / "line.session"), folder / "line.csv"
    accept = [word for name in accepted for word in ("--accept", name)]
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


def begin(qtbot: QtBot, window: MainWindow, settle: Settle, kind: str, files: Path, folder: Path) -> None:
    """Drop the table on the start page, then add the log by its name."""
    table = folder / f"{kind}.csv"
    table.write_bytes((files / f"{kind}.csv").read_bytes())
    drop(window, table)
    state = window._workshop.bridge.scene.state
    assert state is not None
    assert Path(state.path) == table.with_suffix(".session")
    assert "is fed by the" in window._workshop.bench.notice.text
    press(qtbot, "Ctrl+L")
    qtbot.keyClicks(QApplication.focusWidget(), str(files / f"{kind}_drive.csv"))
    press(qtbot, "Return")
    settle()
    assert len(window._workshop.bridge.scene.state.drives) == 1
    assert window._workshop.bridge.scene.evidence is not None
    press(qtbot, "Escape")


def work_by_hand(qtbot: QtBot, window: MainWindow, kind: str) -> None:
    """Scale two cells by what is typed over them; undo, redo, roll back."""
    view = window._workshop.bench.numbers.view
    press(qtbot, "Alt+1", window)
    press(qtbot, "Shift+Down" if kind == "curve" else "Shift+Right", view)
    qtbot.keyClicks(view, "*")
    line = QApplication.focusWidget()
    assert isinstance(line, QLineEdit)
    qtbot.keyClicks(line, "1.02")
    assert window._workshop.bridge.scene.draft is not None
    qtbot.keyClick(line, Qt.Key.Key_Return)
    assert window._workshop.bridge.scene.draft is None
    heads = [window._workshop.bridge.scene.head.id]
    for keys in ("Ctrl+Z", "Ctrl+Shift+Z"):
        press(qtbot, keys, window)
        heads.append(window._workshop.bridge.scene.head.id)
    assert heads == [2, 1, 2]
    press(qtbot, "Alt+3", window)
    rail = window._workshop.bench.rail
    rail.setCurrentIndex(rail.model().index(1, 0))
    assert rail.revision == 1
    press(qtbot, "Ctrl+Shift+B", window)
    assert isinstance(window._workshop.bench.drawer.task, Form)
    press(qtbot, "Return")
    assert window._workshop.bridge.scene.head.id == 3


def correct(qtbot: QtBot, window: MainWindow, settle: Settle) -> None:
    """Take the next step that the strip names, with nine tenths of the step."""
    press(qtbot, "F5", window)
    task = window._workshop.bench.drawer.task
    assert isinstance(task, CorrectTask)
    task.share.setFocus()
    task.share.selectAll()
    qtbot.keyClicks(task.share, "90")
    qtbot.keyClick(task.share, Qt.Key.Key_Tab)
    settle()
    assert window._workshop.bridge.scene.draft is not None
    qtbot.keyClick(task.note, Qt.Key.Key_Return)
    assert window._workshop.bridge.scene.head.id == 4
    assert window._workshop.bridge.scene.head.operation == "correct"


@pytest.mark.parametrize("kind", ["curve", "grid"])
def test_from_the_empty_start_to_the_exported_file(
    kind: str, qtbot: QtBot, window: MainWindow, settle: Settle, car_files: Path, tmp_path: Path
) -> None:
    begin(qtbot, window, settle, kind, car_files, tmp_path)
    work_by_hand(qtbot, window, kind)
    settle()
    correct(qtbot, window, settle)
    settle()

    press(qtbot, "Ctrl+Shift+A", window)
    task = window._workshop.bench.drawer.task
    assert isinstance(task, ApproveTask)
    approve_by_keyboard(qtbot, task)
    settle()
    approval = window._workshop.bridge.scene.state.history.approvals[4]
    assert approval.by == "A. Calibrator"
    assert all(f"{name}: looked into it" in approval.note for name in approval.accepted)

    qtbot.mouseClick(window._workshop.bench.strip._button, Qt.MouseButton.LeftButton)  # the strip now offers to export
    form = window._workshop.bench.drawer.task
    assert isinstance(form, Form)
    out = tmp_path / "window.csv"
    field = form.findChild(QLineEdit)
    field.setText(str(out))
    qtbot.keyClick(field, Qt.Key.Key_Return)
    assert out.read_bytes() == by_command_line(tmp_path, kind, car_files, approval.accepted)


def test_a_table_from_the_clipboard_begins_a_session(
    qtbot: QtBot, window: MainWindow, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(window._workshop.opening, "_folder", lambda: str(tmp_path))
    QGuiApplication.clipboard().setText("1000\t2,5\n2000\t6,25\n3000\t14\n")
    press(qtbot, "Ctrl+Shift+P", window)
    scene = window._workshop.bridge.scene
    assert scene.table is not None
    assert scene.table.values.tolist() == [2.5, 6.25, 14.0]
    assert (tmp_path / "pasted.session").exists()


def test_a_point_is_dragged_and_the_draft_dropped_or_applied(
    qtbot: QtBot, window: MainWindow, car_files: Path, tmp_path: Path
) -> None:
    window._workshop.opening.begin_from(car_files / "curve.csv", tmp_path / "drag.session")
    window._workshop.bench.finish()
    window._workshop.bridge.focus(cell=(20,))
    picture = window._workshop.bench.curve
    before = float(window._workshop.bridge.scene.table.values[20])

    def at(value: float) -> QPoint:
        place = picture.plot.box.mapViewToScene(QPointF(float(picture._xs[20]), value))
        return picture.plot.widget.mapFromScene(place)

    qtbot.wait(50)
    viewport = picture.plot.widget.viewport()
    qtbot.mousePress(viewport, Qt.MouseButton.LeftButton, pos=at(before))
    qtbot.mouseMove(viewport, at(before * 1.5))
    draft = window._workshop.bridge.scene.draft
    assert draft is not None
    assert draft.revision.table.values[20] == pytest.approx(before * 1.5, rel=0.1)
    qtbot.mouseRelease(viewport, Qt.MouseButton.LeftButton, pos=at(before * 1.5))
    press(qtbot, "Escape", window)
    assert window._workshop.bridge.scene.draft is None
    assert window._workshop.bridge.scene.table.values[20] == before

    picture.plot.widget.setFocus()
    press(qtbot, "Up", picture.plot.widget)
    press(qtbot, "Up", picture.plot.widget)
    assert window._workshop.bridge.scene.draft.revision.table.values[20] == pytest.approx(before * 1.005**2)  # type: ignore[attr-defined]
    press(qtbot, "Return", picture.plot.widget)
    assert window._workshop.bridge.scene.head.id == 2
