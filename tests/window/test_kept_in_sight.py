"""What somebody has to read stays in sight: what a file holds, what is still to be said, what is warned of."""

from collections.abc import Callable
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication, QLabel, QLineEdit, QMenu
from pytestqt.qtbot import QtBot
from screen import Screen
from showing import seen

Settle = Callable[[], None]


@pytest.fixture
def driven(with_drive: Screen) -> Screen:
    return with_drive


def test_all_that_was_recognised_in_a_file_is_read_until_it_is_closed(
    driven: Screen, settle: Settle, car_files: Path
) -> None:
    """It was one line, gone after seconds."""
    driven.do("inspect")
    settle()
    driven.fill("File", str(car_files / "curve_drive.csv"))
    driven.press("Return")
    settle()
    told = "\n".join(each.text() for each in seen(driven.drawer) if isinstance(each, QLabel))
    assert "is a log" in told
    drive = driven.scene.drive
    assert drive is not None
    for role, channel in drive.log.roles.items():
        assert f"{role} (" in told, role
        assert channel in told, channel
    assert driven.task is not None
    assert not driven.notice.startswith("curve_drive.csv")


def test_leaving_a_pull_out_begins_at_the_reason(driven: Screen, settle: Settle) -> None:
    driven.window.activateWindow()
    driven.do("pulls")
    settle()
    driven.task.leaving.emit("1:1")
    settle()
    at = QApplication.focusWidget()
    assert isinstance(at, QLineEdit)
    assert at.accessibleName() == "Because"


@pytest.mark.parametrize("panel", ["log", "numbers", "picture"])
def test_a_warning_and_an_offer_are_seen_where_one_panel_is_alone(driven: Screen, settle: Settle, panel: str) -> None:
    notice, bench = driven.bench.notice, driven.bench
    driven.do(f"go-{panel}")
    driven.do("alone")
    settle()
    before = bench._whole.sizes()
    notice.warn("A lean mixture under load can destroy an engine.")
    settle()
    assert notice.isVisibleTo(driven.window)
    assert bench.rect().contains(notice.geometry().translated(bench._side.mapTo(bench, notice.pos()) - notice.pos()))
    notice._close.click()
    settle()
    assert not bench._side.isVisibleTo(bench)
    assert bench._whole.sizes() == before
    notice.offer("Something is offered.", "Take it", lambda: None)
    settle()
    assert notice.isVisibleTo(driven.window)
    driven.click("Take it")
    settle()
    assert not bench._side.isVisibleTo(bench)


def test_the_log_that_is_looked_at_is_the_one_of_which_details_are_open(
    driven: Screen, settle: Settle, asking_log: Path
) -> None:
    """They stayed those of another log, and old ones at that."""
    driven.run("add-log", {"files": (asking_log,), "again": True})
    settle()
    driven.do("drive")
    settle()
    assert driven.task is not None
    first, second = (each.log.name for each in driven.state.drives)
    assert driven.drawer.accessibleName() == second
    driven.focus(drive=1)
    settle()
    assert driven.drawer.accessibleName() == first
    driven.focus(drive=2, cursor_s=12.0)
    driven.run("undo", {})
    settle()
    assert driven.scene.focus.cursor_s is None


def test_esc_brings_all_panels_back(driven: Screen, settle: Settle) -> None:
    driven.do("go-numbers")
    driven.do("alone")
    settle()
    assert driven.bench.room.alone == "numbers"
    driven.press("Esc", driven.numbers)
    settle()
    assert not driven.bench.room.alone


def test_a_draft_is_seen_whole_beside_the_ratios(driven: Screen, settle: Settle) -> None:
    driven.focus(layer="ratio", cell=(20,), blocks=())
    settle()
    driven.draft("scale", {"by": 1.6})
    settle()
    low, high = driven.bench.curve.plot.box.viewRange()[1]
    assert low < 1.0
    assert high >= 1.6


def test_every_menu_is_one_column_on_a_small_screen(driven: Screen) -> None:
    """One entry stood beside all others, over the whole screen."""
    menus = driven.window.menuBar().findChildren(QMenu)
    assert len(menus) > 5
    for menu in menus:
        assert menu.sizeHint().height() <= 768 - 2, menu.title()


def test_the_scale_of_ratios_follows_the_draft_as_it_is_typed(driven: Screen, qtbot: QtBot) -> None:
    """On the way to +2 % stands +2, which adds 2 g/s: the picture stayed squashed after it."""
    driven.focus(layer="ratio", cell=(3,), blocks=())
    box, numbers = driven.bench.curve.plot.box, driven.bench.numbers
    usual = box.viewRange()[1]
    assert usual[1] < 1.5
    numbers.begin("+2")
    assert box.viewRange()[1][1] > 2
    qtbot.keyClicks(numbers._line, " %")
    assert box.viewRange()[1] == pytest.approx(usual)
    qtbot.keyClicks(numbers._line, "0")  # no entry: nothing is drafted
    assert box.viewRange()[1] == pytest.approx(usual)
    numbers._line.clear()
    numbers.begin("+40 %")
    assert box.viewRange()[1][1] > 1.4
    qtbot.keyClick(numbers._line, Qt.Key.Key_Escape)
    assert box.viewRange()[1] == pytest.approx(usual)

    numbers.begin("+40 %")
    box.setYRange(0.5, 3, padding=0)
    qtbot.keyClick(numbers._line, Qt.Key.Key_Escape)
    assert box.viewRange()[1] == pytest.approx([0.5, 3])  # as the user set it
