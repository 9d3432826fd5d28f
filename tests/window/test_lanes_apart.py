"""However the window came to be as it is, the lanes of the log stand apart, as high as two figures of their scales."""

import itertools
import math
import random
from collections.abc import Callable
from functools import partial
from pathlib import Path

import pytest
from PySide6.QtGui import QFontMetrics
from screen import Screen

from workbench.window.log.lane_plot import SPACING, small_font
from workbench.window.log.lane_shapes import LOWEST_LINES

ACTS = 60
EVERY = ("ratio", "value", "change", "samples")


def check_apart(screen: Screen, after: str) -> None:
    """Hold that no lane, and no name beside one, is lower than it may be or lies on the next."""
    lanes = screen.bench.log.lanes
    if not lanes.isVisibleTo(screen.window):
        return
    stack = lanes.stack
    line = QFontMetrics(small_font(lanes.font())).height()
    heights = stack.heights()
    assert min(heights) >= math.floor(LOWEST_LINES * line), (after, heights)
    plots = [plot.box.sceneBoundingRect() for plot in stack.plots]
    names = [each.geometry() for each in stack._captions.labels]
    for upper, lower in itertools.pairwise(plots):
        assert lower.top() >= upper.bottom() + SPACING - 2, after
    for above, below in itertools.pairwise(names):
        assert below.top() > above.bottom(), after
    assert plots[-1].bottom() <= lanes.view.height(), after
    assert stack._time_axis.sceneBoundingRect().bottom() <= lanes.view.height(), after
    for plot, name in zip(plots, names, strict=True):
        assert abs(plot.top() - name.top()) <= 2, after


@pytest.fixture(params=["curve", "grid"])
def driven(
    request: pytest.FixtureRequest, screen: Screen, settle: Callable[[], None], car_files: Path, tmp_path: Path
) -> Screen:
    kind = request.param
    screen.window.resize(1354, 720)  # what a window manager leaves of 1366 x 768
    screen.begin_from(car_files / f"{kind}.csv", tmp_path / "car.session")
    screen.take([car_files / f"{kind}_drive.csv"])
    settle()
    screen.leave_task()
    return screen


def test_lanes_stand_apart_whatever_is_done(driven: Screen, settle: Callable[[], None]) -> None:
    """A sentence more in the strip, or a mark in the legend, squeezed them onto each other."""
    lot = random.Random(60)

    def at_random(name: str) -> Callable[[], None]:
        table = driven.scene.table
        assert table is not None
        cell = tuple(lot.randrange(n) for n in table.shape)
        return lambda: driven.focus(**({"cell": cell, "blocks": ()} if name == "cell" else {"layer": name}))

    for _ in range(ACTS):
        cell, layer = at_random("cell"), at_random(lot.choice(EVERY))
        size = lot.choice((1354, 1366, 1300)), lot.choice((720, 706, 744))
        limit, times, points = lot.choice((0.03, 0.05)), lot.randrange(1, 8), lot.choice((9, 10, 10, 12))
        acts: dict[str, Callable[[], object]] = {"cell": cell, "layer": layer, "leave": driven.leave_task}
        acts |= {name: partial(driven.do, name) for name in ("undo", "redo", "lanes", "rows", "gates")}
        acts |= {
            "correct": partial(driven.run, "correct", {}),
            "settings": partial(driven.run, "settings", {"part_throttle": limit}),
            "said": partial(driven.bench.notice.say, "What happened is said here. " * times),
            "wider": partial(driven.window.resize, *size),
            "text": partial(driven.dress, "light", points),
        }
        name = lot.choice(sorted(acts))
        acts[name]()
        settle()
        check_apart(driven, name)


def test_the_room_is_shared_out_alike_whatever_was_shown_before(driven: Screen, settle: Callable[[], None]) -> None:
    """Two ways to stand at one size are one too many: a window that was once crowded stayed so."""
    driven.window.resize(1354, 720)
    driven.focus(layer="ratio")
    settle()
    bench = driven.bench

    def stands() -> tuple[object, ...]:
        cards = (bench.strip, bench.numbers, bench.picture, bench.evidence, bench.log)
        return tuple((card.width(), card.height()) for card in cards)

    before = stands()
    for wide, high in ((1354, 560), (1000, 720), (1354, 760), (920, 580)):
        driven.window.resize(wide, high)
        settle()
        driven.window.resize(1354, 720)
        settle()
        assert stands() == before, (wide, high)


def test_times_are_not_cut_where_a_log_has_fewer_lanes_than_the_one_before(
    driven: Screen, settle: Callable[[], None]
) -> None:
    """The row of a lane that went kept the gap beside it, and the times were cut through."""
    log = driven.scene.drive.log
    lanes = driven.bench.log.lanes_of(log)
    for few in (lanes[:1], lanes[:3], lanes, lanes[:2]):
        driven.bench.log.choose_lanes(log, few)
        settle()
        assert len(driven.bench.log.lanes.stack.plots) == len(few)
        check_apart(driven, f"{len(few)} lanes")
