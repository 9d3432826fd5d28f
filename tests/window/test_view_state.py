"""The next start is as the last end: what was looked at in each session, and how the window stood."""

import json
from collections.abc import Callable
from pathlib import Path

import pytest
from pytestqt.qtbot import QtBot
from screen import Screen

from workbench.window.shell.view_state import KEY, SESSIONS

Settle = Callable[[], None]


@pytest.fixture
def worked(screen: Screen, settle: Settle, car_files: Path, tmp_path: Path) -> Screen:
    """The window on a session in which much was looked at."""
    screen.begin_from(car_files / "curve.csv", tmp_path / "car.session")
    screen.take([car_files / "curve_drive.csv"])
    settle()
    screen.leave_task()
    log = screen.scene.drive.log
    names = [channel.name for channel in log.channels]
    screen.bench.log.choose_lanes(log, ((names[1], names[2]), (names[3],)))
    settle()
    screen.bench.log.lanes.show_range(30.0, 60.0)
    screen.focus(layer="half_width", cell=(5,), blocks=(((3, 6),), ((9, 9),)), against=1, drive=1)
    return screen


def test_what_was_looked_at_comes_back(worked: Screen, qtbot: QtBot) -> None:
    before, log = worked.scene.focus, worked.bench.log
    lanes, seen = log.lanes_of(worked.scene.drive.log), log.lanes.seen
    again = worked.start_again()
    try:
        assert again.scene.focus == before
        qtbot.waitUntil(lambda: not again.jobs.busy and not again.bench.log.lanes.stack.building, timeout=60_000)
        qtbot.waitUntil(lambda: len(again.bench.log.lanes.stack.plots) == 2, timeout=5000)
        assert again.bench.log.lanes_of(again.scene.drive.log) == lanes
        assert again.bench.log.lanes.seen == pytest.approx(seen)
        assert [len(plot.lane.traces) for plot in again.bench.log.lanes.stack.plots] == [2, 1]
    finally:
        again.quit()


def test_splitters_theme_and_text_size_come_back(worked: Screen, qtbot: QtBot) -> None:
    worked.do("theme")
    worked.do("larger")
    worked.settle()
    for _, splitter in worked.bench._splitters():
        sizes = splitter.sizes()
        splitter.setSizes([sizes[0] + 40, sizes[1] - 40])
        splitter.splitterMoved.emit(sizes[0] + 40, 1)  # as a drag of the handle does
    worked.settle()
    before = {name: splitter.sizes() for name, splitter in worked.bench._splitters()}
    theme = worked.bench.theme.name
    again = worked.start_again()
    try:
        bench = again.bench
        qtbot.waitUntil(lambda: not bench._late)
        qtbot.wait(30)
        # While the session is being judged the strip is higher; once it is settled every handle stands where it did.
        qtbot.waitUntil(
            lambda: {name: splitter.sizes() for name, splitter in bench._splitters()} == before, timeout=10_000
        )
        assert bench.theme.name == theme
        assert bench.font().pointSize() == 11
    finally:
        again.quit()


def test_each_session_has_its_own(worked: Screen, car_files: Path, tmp_path: Path, settle: Settle) -> None:
    before = worked.scene.focus
    worked.begin_from(car_files / "grid.csv", tmp_path / "other.session")
    worked.focus(cell=(2, 3), layer="samples")
    worked.open(tmp_path / "car.session")
    assert worked.scene.focus == before
    worked.open(tmp_path / "other.session")
    assert worked.scene.focus.cell == (2, 3)
    assert worked.scene.focus.layer == "samples"
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
    screen: Screen, car_files: Path, tmp_path: Path, told: object
) -> None:
    path = tmp_path / "car.session"
    screen.begin_from(car_files / "curve.csv", path)
    screen.do("start")
    memory = screen.window._memory
    memory.keep(KEY, told if isinstance(told, str) else json.dumps({str(path): told}))
    screen.open(path)
    focus = screen.scene.focus
    assert (focus.cell, focus.blocks, focus.layer, focus.against) == ((0,), (), "value", None)


def test_only_the_latest_sessions_are_kept(screen: Screen, car_files: Path, tmp_path: Path) -> None:
    screen.window._memory.keep(KEY, json.dumps({f"/gone/{i}": {} for i in range(50)}))
    screen.begin_from(car_files / "curve.csv", tmp_path / "car.session")
    screen.window.close()
    known = json.loads(screen.window._memory.text(KEY))
    assert len(known) == SESSIONS
    assert list(known)[-1] == str(tmp_path / "car.session")
