"""Approving by keys alone: Tab goes on, what was typed stays, and what is missing has the keyboard."""

from collections.abc import Callable
from pathlib import Path

import pytest
from PySide6.QtWidgets import QApplication, QFileDialog, QLabel
from screen import Screen

from workbench.window.scene import file_dialogs
from workbench.window.tasks.approve_task import Acceptance, ApproveTask, Reason

Settle = Callable[[], None]


@pytest.fixture
def asked(with_drive: Screen, settle: Settle) -> Screen:
    """Show the task of approving a correction that no drive was made with: it meets several objections."""
    screen = with_drive
    screen.run("correct", {})
    settle()
    screen.window.activateWindow()
    screen.do("approve")
    settle()
    assert len(task_of(screen)._accepted) >= 2
    return screen


def task_of(screen: Screen) -> ApproveTask:
    task = screen.task
    assert isinstance(task, ApproveTask)
    return task


def test_tab_goes_from_a_reason_to_the_next_objection_and_to_the_name(asked: Screen) -> None:
    """It led back to the box, where the space bar took the acceptance away."""
    task = task_of(asked)
    first = task._accepted[0][1]
    first.setFocus()
    for _, box, reason in task._accepted:
        assert QApplication.focusWidget() is box
        asked.press("Space")
        assert box.isChecked()
        assert QApplication.focusWidget() is reason
        asked.type("known to me")
        asked.press("Tab")
    assert QApplication.focusWidget() is task.by
    asked.press("Shift+Tab")
    assert isinstance(QApplication.focusWidget(), Reason)
    asked.press("Shift+Tab")
    assert isinstance(QApplication.focusWidget(), Acceptance)


def test_what_is_missing_has_the_keyboard(asked: Screen, settle: Settle) -> None:
    task = task_of(asked)
    (_, box, _), (_, second, reason), *_ = task._accepted
    task.by.setText("Tester")
    asked.click("Approve")
    settle()
    assert QApplication.focusWidget() is box
    for _, each, line in task._accepted:
        each.setChecked(True)
        line.setText("known")
    reason.setText(" ")
    assert not second.isChecked(), "an objection stays accepted for no reason"
    asked.click("Approve")
    settle()
    assert QApplication.focusWidget() is second
    second.setChecked(True)
    asked.click("Approve")
    settle()
    assert QApplication.focusWidget() is reason


def test_only_an_act_of_its_own_accepts_an_objection(asked: Screen, settle: Settle) -> None:
    """A reason that was begun one field early was a yes, and stayed one when it was taken away."""
    task = task_of(asked)
    (name, box, reason), (_, following, _), *_ = task._accepted
    box.setFocus()
    asked.type("k")
    assert QApplication.focusWidget() is reason
    asked.type("nown")
    asked.press("Tab")
    assert (reason.text(), box.isChecked()) == ("known", False)
    assert not task.reasons
    assert "Enter accepts" in task.missing
    asked.do("keys")
    settle()
    asked.do("approve")
    settle()
    task = task_of(asked)
    (_, box, reason), (_, following, _), *_ = task._accepted
    assert (reason.text(), box.isChecked()) == ("known", False), "what was not ticked waits"
    reason.setFocus()
    asked.press("Return")
    assert box.isChecked()
    assert QApplication.focusWidget() is following
    assert task.reasons == {name: "known"}
    reason.setFocus()
    asked.press("Ctrl+A")
    asked.press("Backspace")
    assert not box.isChecked()
    asked.press("Return")
    assert not box.isChecked(), "Enter on an empty line accepted"


def test_three_objections_are_seen_at_once_on_a_small_screen(asked: Screen, settle: Settle) -> None:
    """Each took five rows, so that one and a half were seen at 1366x768."""
    asked.window.resize(1366, 720)
    settle()
    task = task_of(asked)
    names = [name for name, _, _ in task._accepted]
    told = [each for each in task.findChildren(QLabel) if each.text().startswith("<b>")]
    assert len(told) == len(names)
    seen = [name for name, each in zip(names, told, strict=True) if not each.visibleRegion().isEmpty()]
    assert seen[:3] == names[:3], "what is objected is not seen without scrolling"
    boxes = [box for _, box, _ in task._accepted if box.visibleRegion().boundingRect() == box.rect()]
    assert len(boxes) >= 2


def test_what_was_typed_survives_another_panel_but_no_other_revision(asked: Screen, settle: Settle) -> None:
    task = task_of(asked)
    name, box, reason = task._accepted[0]
    box.setChecked(True)
    reason.setText("seen on the road")
    task.by.setText("Tester")
    task.note.setText("a note")
    asked.do("keys")
    settle()
    asked.do("approve")
    settle()
    again = task_of(asked)
    assert again.reasons == {name: "seen on the road"}
    assert (again.by.text(), again.note.text()) == ("Tester", "a note")
    asked.leave_task()
    asked.run("scale", {"by": 0.99})
    settle()
    asked.do("approve")
    settle()
    other = task_of(asked)
    assert not other.reasons
    assert (name, "seen on the road") in [(each, line.text()) for each, _, line in other._accepted]
    assert any("tick again where your reason still holds" in text for text in asked.texts)
    assert (other.by.text(), other.note.text()) == ("Tester", "a note")


def test_a_file_is_asked_for_where_the_session_lies(
    asked: Screen, settle: Settle, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    begun: list[str] = []

    def made(parent: object, title: str, start: str, mode: object) -> QFileDialog:
        del parent, title, mode
        begun.append(start)
        dialog = QFileDialog()
        monkeypatch.setattr(dialog, "exec", lambda: 0)
        return dialog

    monkeypatch.setattr(file_dialogs, "made", made)
    for word in ("open", "new", "watch"):
        asked.do(word)
    asked.do("export")
    settle()
    asked.click("Browse…")
    assert len(begun) == 4
    assert all(Path(each) == tmp_path or Path(each).parent == tmp_path for each in begun)
