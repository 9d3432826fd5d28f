"""Room for what one looks at: panels hidden or alone, low rows; menus in the order of the job, and where one points."""

from collections.abc import Callable
from pathlib import Path

import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtWidgets import QApplication, QMenu
from pytestqt.qtbot import QtBot
from screen import Screen

from workbench.cli import main as command_line
from workbench.window.shell.main_window import MainWindow, first_size
from workbench.window.shell.menu_order import ORDER, SAYINGS


@pytest.fixture
def driven(screen: Screen, settle: Callable[[], None], car_files: Path, tmp_path: Path) -> Screen:
    path = tmp_path / "car.session"
    assert command_line(["new", str(path), str(car_files / "curve.csv")]) == 0
    assert command_line(["add-log", str(path), str(car_files / "curve_drive.csv")]) == 0
    assert command_line(["scale", str(path), "--by", "1.1"]) == 0
    screen.window.open(path)
    settle()
    return screen


def shown(screen: Screen) -> set[str]:
    bench = screen.bench
    panels = {"numbers": bench.numbers, "picture": bench.picture, "evidence": bench.evidence, "log": bench.log}
    panels |= {"history": bench._side}
    return {name for name, panel in panels.items() if panel.isVisibleTo(screen.window)}


ALL = {"numbers", "picture", "evidence", "log", "history"}


def test_a_panel_is_brought_alone_and_back_by_one_key(driven: Screen, settle: Callable[[], None]) -> None:
    assert shown(driven) == ALL
    for name in ("numbers", "picture", "history", "log"):
        driven.do(f"go-{name}")
        driven.do("alone")
        settle()
        assert shown(driven) == {name}
        driven.do("alone")
        settle()
        assert shown(driven) == ALL


@pytest.mark.parametrize("task", ["", "smooth"])
def test_panels_have_their_room_back_after_one_was_alone(task: str, driven: Screen, settle: Callable[[], None]) -> None:
    driven.dress("light", 9)
    driven.window.resize(1366, 744)
    if task:
        driven.do(task)
    settle()
    before = [splitter.sizes() for _, splitter in driven.bench._splitters()]
    for name in ("numbers", "picture", "history", "log"):
        driven.do(f"go-{name}")
        driven.do("alone")
        settle()
        driven.do("alone")
        settle()
        assert [splitter.sizes() for _, splitter in driven.bench._splitters()] == before, name


def test_a_task_leaves_most_of_the_room_to_the_log_that_was_to_be_alone(
    driven: Screen, settle: Callable[[], None]
) -> None:
    driven.do("go-log")
    driven.do("alone")
    driven.do("correct")
    settle()
    bench = driven.bench
    assert bench.log.height() > 1.2 * bench._side.height()


def test_every_panel_can_be_hidden_but_not_all_of_them(driven: Screen, settle: Callable[[], None]) -> None:
    for name in sorted(ALL):
        driven.do(f"hide-{name}")
        settle()
        assert name not in shown(driven) or name == "picture"
    assert shown(driven)
    driven.do("correct")  # a task at hand is always seen
    settle()
    assert "history" in shown(driven)


def test_dense_rows_show_twenty_of_a_curve(driven: Screen, settle: Callable[[], None]) -> None:
    driven.window.resize(1366, 744)
    driven.do("rows")
    settle()
    view = driven.numbers
    seen = [row for row in range(view.cells.rowCount()) if 0 <= view.rowViewportPosition(row)
            <= view.viewport().height() - view.rowHeight(row)]  # fmt: skip
    assert len(seen) >= 20
    driven.do("rows")
    settle()
    assert view.rowHeight(0) >= 24


def test_at_large_text_the_log_is_reached_without_scrolling_the_page(
    driven: Screen, settle: Callable[[], None]
) -> None:
    for points in (14, 18, 24):
        driven.dress("light", points)
        driven.window.resize(1366, 744)
        settle()
        bench = driven.bench
        page = bench.parentWidget().height()
        if bench.height() > page:  # not all fit: they are offered by name
            assert bench.room.bar.isVisibleTo(driven.window)
            for reach in (bench.room._buttons["log"].click, lambda: driven.do("go-log")):
                reach()
                settle()
                place = bench.log.lanes.mapTo(bench.parentWidget(), QPoint(0, bench.log.lanes.height()))
                assert place.y() <= page, points
                bench.room.bring("")
                settle()


def test_the_first_window_fits_its_screen(window: MainWindow) -> None:
    size, screen = first_size(window), window.screen().availableSize()
    assert size.width() < screen.width()
    assert size.height() < screen.height()


def test_menus_begin_with_what_comes_first_and_name_nothing_that_is_not_there(driven: Screen) -> None:
    acts = driven.actions
    for menu, groups in ORDER.items():
        for group in groups:
            assert [name for name in group if name not in acts.actions and name != "card"] == [], menu
    assert set(SAYINGS) <= set(acts.actions)
    menus = driven.window.menuBar().actions()  # held: older Qt bindings let go of what they hold
    first = menus[0].menu()
    assert isinstance(first, QMenu)
    assert [action.objectName() for action in first.actions()[:3]] == ["new", "paste-table", "open"]
    assert any(action.isSeparator() for action in first.actions())


@pytest.mark.parametrize(
    ("said", "found"),
    [("roll back some cells", "roll-back"), ("half", "correct"), ("undo log", "undo"), ("go to cell", "go-numbers")],
)
def test_the_search_finds_what_people_say(driven: Screen, qtbot: QtBot, said: str, found: str) -> None:
    driven.do("search")
    palette = driven.palette
    palette._line.setText(said)
    palette._filter(said)
    names = [palette._list.item(i).data(Qt.ItemDataRole.UserRole) for i in range(palette._list.count())]
    assert found in names
    palette.leave()


@pytest.mark.parametrize(
    ("said", "meant"),
    [("caution", "cautions"), ("roll back", "roll-back"), ("lanes", "lanes"), ("extrapolate", "carry-on")],
)
def test_enter_does_what_bears_the_word_before_what_only_explains_itself_by_it(
    driven: Screen, said: str, meant: str
) -> None:
    driven.do("search")
    palette = driven.palette
    palette._filter(said)
    assert palette._list.currentItem().data(Qt.ItemDataRole.UserRole) == meant
    palette.leave()


def test_a_click_on_a_revision_shows_it(driven: Screen, settle: Callable[[], None], qtbot: QtBot) -> None:
    rail, bridge = driven.bench.rail, driven.bridge
    index = next(i for i, row in enumerate(rail.model().rows) if row.revision.id == 1)  # type: ignore[attr-defined]
    place = rail.visualRect(rail.model().index(index, 0)).center()
    qtbot.mouseClick(rail.viewport(), Qt.MouseButton.LeftButton, pos=place)
    settle()
    values = bridge.scene.state.history.revision(1).table.values
    assert bridge.scene.shown_table.values.tolist() == values.tolist()
    assert "revision 1" in driven.bench.numbers._meaning.text()
    head = next(i for i, row in enumerate(rail.model().rows) if row.revision.id == 2)  # type: ignore[attr-defined]
    place = rail.visualRect(rail.model().index(head, 0)).center()
    qtbot.mouseClick(rail.viewport(), Qt.MouseButton.LeftButton, pos=place)
    settle()
    assert bridge.scene.shown_table is bridge.scene.table


@pytest.mark.qt_log_ignore("This plugin does not support")
def test_the_other_button_offers_what_one_does_there(driven: Screen, settle: Callable[[], None]) -> None:
    bench = driven.bench
    for widget, name in (
        (bench.numbers.view, "scale-percent"),
        (bench.curve, "correct"),
        (bench.log, "pulls"),
        (bench.rail, "roll-back"),
    ):
        widget.customContextMenuRequested.emit(QPoint(5, 5))
        QApplication.processEvents()
        menu = QApplication.activePopupWidget()
        assert isinstance(menu, QMenu)
        assert name in [action.objectName() for action in menu.actions()]
        menu.close()
        settle()


@pytest.mark.parametrize("word", ["correct", "approve", "smooth", "drive", "blend"])
def test_a_task_and_its_button_are_seen_whole_at_any_text_size(
    word: str, driven: Screen, settle: Callable[[], None]
) -> None:
    """Also where the draft of the task has changed the height of the strip over it."""
    for points in (10, 18, 24):
        driven.dress("light", points)
        driven.window.resize(1366, 744)
        settle()
        driven.do(word)
        settle()
        page = driven.bench.parentWidget()
        top, bottom = (driven.drawer.mapTo(page, QPoint(0, y)).y() for y in (0, driven.drawer.height()))
        assert 0 <= top < bottom <= page.height(), (word, points)
        driven.leave_task()
        settle()
