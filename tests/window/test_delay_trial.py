"""A delay tried by eye: what is offered is about what is seen, by pointer and by keys alone."""

from collections.abc import Callable
from pathlib import Path

import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot
from screen import Screen

from workbench.cli import main as command_line

Settle = Callable[[], None]


@pytest.fixture
def two_drives(screen: Screen, settle: Settle, car_files: Path, next_drive: Path, tmp_path: Path) -> Screen:
    screen.begin_from(car_files / "curve.csv", tmp_path / "car.session")
    screen.take([car_files / "curve_drive.csv", next_drive])
    settle()
    screen.leave_task()
    screen.focus(drive=1)
    settle()
    return screen


def nudge(screen: Screen, settle: Settle) -> None:
    screen.do("go-log")
    screen.press(",", screen.bench.log.lanes.view)
    settle()
    assert "does not use it yet" in screen.bench.notice.text
    assert screen.bench.log.lanes.handle.by != 0


def gone(screen: Screen) -> bool:
    return "does not use it yet" not in screen.bench.notice.text and screen.bench.log.lanes.handle.by == 0


def test_the_offer_goes_with_the_log_the_table_or_the_evidence_it_was_about(two_drives: Screen, settle: Settle) -> None:
    """Else 'this drive' would be another than the one that is seen, and its figures those of other evidence."""
    screen = two_drives
    path = str(screen.state.path)

    def by_another_process() -> None:
        assert command_line(["wideband-delay", path, "0.3", "--log", "2"]) == 0
        screen.reload()

    acts: tuple[Callable[[], None], ...] = (
        lambda: screen.focus(drive=2),
        lambda: screen.run("settings", {"gate": ("warm_c=61",)}),
        lambda: screen.run("scale", {"by": 1.01}),
        lambda: screen.do("undo"),
        by_another_process,
    )
    for act in acts:
        screen.focus(drive=1)
        settle()
        nudge(screen, settle)
        act()
        settle()
        assert gone(screen)


def test_while_it_is_dragged_on_nothing_is_offered_of_where_it_was(
    two_drives: Screen, settle: Settle, qtbot: QtBot
) -> None:
    nudge(two_drives, settle)
    handle = two_drives.bench.log.lanes.handle
    at = handle.rect().center()
    qtbot.mousePress(handle, Qt.MouseButton.LeftButton, pos=at)
    qtbot.mouseMove(handle, at + QPoint(12, 0))
    assert two_drives.bench.notice.text == ""
    assert handle.by != 0
    qtbot.mouseRelease(handle, Qt.MouseButton.LeftButton, pos=at + QPoint(12, 0))
    settle()
    assert "does not use it yet" in two_drives.bench.notice.text


def test_by_keys_alone_it_is_tried_kept_and_given_up(two_drives: Screen, settle: Settle) -> None:
    screen, lanes, notice = two_drives, two_drives.bench.log.lanes, two_drives.bench.notice
    screen.window.activateWindow()
    nudge(screen, settle)
    screen.press("Esc", lanes.view)
    settle()
    assert gone(screen)
    assert notice.isHidden()

    nudge(screen, settle)
    screen.press("Tab", lanes.view)
    assert QApplication.focusWidget() is lanes.handle
    screen.press("Tab")
    assert QApplication.focusWidget() is notice._accept
    screen.press("Tab")
    assert QApplication.focusWidget() is notice._other
    screen.press("Space")  # for this drive alone
    settle()
    assert [kept.drive for kept in screen.state.settings.delays] == [1]

    screen.do("undo")
    settle()
    nudge(screen, settle)
    screen.do("go-message")
    assert QApplication.focusWidget() is notice._accept
    screen.press("Space")
    settle()
    assert [kept.drive for kept in screen.state.settings.delays] == [0]
    assert QApplication.focusWidget() is not None
    assert lanes.isAncestorOf(QApplication.focusWidget()) or QApplication.focusWidget() is lanes


def test_the_field_takes_seconds_as_they_are_said(two_drives: Screen, settle: Settle) -> None:
    two_drives.do("wideband-delay")
    two_drives.fill("Delay", "1.1")
    two_drives.go()
    settle()
    (kept,) = two_drives.state.settings.delays
    assert (kept.drive, kept.fixed_s) == (0, 1.1)
