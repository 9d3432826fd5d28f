"""The next start is as the last end: what was looked at in each session, and how the window stood."""

import json
from collections.abc import Callable
from pathlib import Path

import pytest
from pytestqt.qtbot import QtBot

from workbench.window.scene.preferences import Memory
from workbench.window.shell.main_window import MainWindow
from workbench.window.shell.view_state import KEY, SESSIONS

Settle = Callable[[], None]


@pytest.fixture
def worked(window: MainWindow, settle: Settle, car_files: Path, tmp_path: Path) -> MainWindow:
    """The window on a session in which much was looked at."""
    shop = window._workshop
    shop.opening.begin_from(car_files / "curve.csv", tmp_path / "car.session")
    shop.routes.take([car_files / "curve_drive.csv"])
    settle()
    shop.bench.drawer.leave()
    log = shop.bridge.scene.drive.log
    names = [channel.name for channel in log.channels]
    shop.bench.log.choose_lanes(log, ((names[1], names[2]), (names[3],)))
    settle()
    shop.bench.log.lanes.show_range(30.0, 60.0)
    shop.bridge.focus(layer="half_width", cell=(5,), blocks=(((3, 6),), ((9, 9),)), against=1, drive=1)
    return window


def reopened(window: MainWindow, path: Path | None = None) -> MainWindow:
    window.close()
    again = MainWindow(Memory())
    again.resize(window.size())  # the screen of a test is smaller than the window
    again.show()
    again.open(path)
    return again


def left(window: MainWindow) -> None:
    window._workshop.do("start")
    window.close()
    window.deleteLater()


def test_what_was_looked_at_comes_back(worked: MainWindow, qtbot: QtBot) -> None:
    before, log = worked._workshop.bridge.scene.focus, worked._workshop.bench.log
    lanes, seen = log.lanes_of(worked._workshop.bridge.scene.drive.log), log.lanes.seen
    again = reopened(worked)
    try:
        shop = again._workshop
        assert shop.bridge.scene.focus == before
        qtbot.waitUntil(lambda: not shop.jobs.busy and not shop.bench.log.lanes.stack.building, timeout=60_000)
        qtbot.waitUntil(lambda: len(shop.bench.log.lanes.stack.plots) == 2, timeout=5000)
        assert shop.bench.log.lanes_of(shop.bridge.scene.drive.log) == lanes
        assert shop.bench.log.lanes.seen == pytest.approx(seen)
        assert [len(plot.lane.traces) for plot in shop.bench.log.lanes.stack.plots] == [2, 1]
    finally:
        left(again)


def test_splitters_theme_and_text_size_come_back(worked: MainWindow, qtbot: QtBot) -> None:
    shop = worked._workshop
    shop.do("theme")
    shop.do("larger")
    qtbot.waitUntil(lambda: not shop._dressing.waiting)
    for _, splitter in shop.bench._splitters():
        sizes = splitter.sizes()
        splitter.setSizes([sizes[0] + 40, sizes[1] - 40])
        splitter.splitterMoved.emit(sizes[0] + 40, 1)  # as a drag of the handle does
    qtbot.wait(10)
    before = {name: splitter.sizes() for name, splitter in shop.bench._splitters()}
    theme = shop.bench.theme.name
    again = reopened(worked)
    try:
        bench = again._workshop.bench
        qtbot.waitUntil(lambda: not bench._late)
        qtbot.wait(30)
        for name, splitter in bench._splitters():  # the strip above may be a few pixels higher or lower
            assert splitter.sizes() == pytest.approx(before[name], abs=8)
        assert bench.theme.name == theme
        assert bench.font().pointSize() == 11
    finally:
        left(again)


def test_each_session_has_its_own(worked: MainWindow, car_files: Path, tmp_path: Path, settle: Settle) -> None:
    shop = worked._workshop
    before = shop.bridge.scene.focus
    shop.opening.begin_from(car_files / "grid.csv", tmp_path / "other.session")
    shop.bridge.focus(cell=(2, 3), layer="samples")
    shop.opening.open(tmp_path / "car.session")
    assert shop.bridge.scene.focus == before
    shop.opening.open(tmp_path / "other.session")
    assert shop.bridge.scene.focus.cell == (2, 3)
    assert shop.bridge.scene.focus.layer == "samples"
    settle()


@pytest.mark.parametrize(
    "told",
    [
        "no json",
        [1, 2],
        {"table": "gone"},
        {"table": "curve", "cell": [999], "blocks": [[[0, 999]]], "layer": "colour", "against": 77, "drive": 5},
        {"table": "curve", "cell": "x", "blocks": [[[1]]], "lanes": {"a": 3}, "seen": {"b": [1]}},
    ],
)
def test_what_no_longer_makes_sense_is_left_alone(
    window: MainWindow, car_files: Path, tmp_path: Path, told: object
) -> None:
    shop = window._workshop
    path = tmp_path / "car.session"
    shop.opening.begin_from(car_files / "curve.csv", path)
    shop.do("start")
    memory = window._memory
    memory.keep(KEY, told if isinstance(told, str) else json.dumps({str(path): told}))
    shop.opening.open(path)
    focus = shop.bridge.scene.focus
    assert (focus.cell, focus.blocks, focus.layer, focus.against) == ((0,), (), "value", None)


def test_only_the_latest_sessions_are_kept(window: MainWindow, car_files: Path, tmp_path: Path) -> None:
    shop = window._workshop
    window._memory.keep(KEY, json.dumps({f"/gone/{i}": {} for i in range(50)}))
    shop.opening.begin_from(car_files / "curve.csv", tmp_path / "car.session")
    shop._recall.save()
    known = json.loads(window._memory.text(KEY))
    assert len(known) == SESSIONS
    assert list(known)[-1] == str(tmp_path / "car.session")
