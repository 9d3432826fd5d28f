"""From 9 to 24 pt: no label or button has less room than its text needs, on any screen."""

from collections.abc import Callable
from pathlib import Path

import pytest
from screen import Screen
from showing import cut_of

from workbench.window.kit.style import LARGEST_PT, SMALLEST_PT

TASKS = (
    "drive gates lanes keys correct approve export add-log smooth settings roll-back amend-log difference physics "
    "storage parts carry-on resample-donor"
).split()


@pytest.mark.parametrize("points", [SMALLEST_PT, LARGEST_PT])
@pytest.mark.parametrize("kind", ["curve", "grid"])
def test_nothing_is_cut(
    kind: str, points: int, screen: Screen, settle: Callable[[], None], car_files: Path, tmp_path: Path
) -> None:
    screen.dress("light", points)
    settle()
    cut = {("start", each) for each in cut_of(screen.window)}
    screen.begin_from(car_files / f"{kind}.csv", tmp_path / "car.session")
    settle()
    cut |= {("no log", each) for each in cut_of(screen.window)}
    screen.take([car_files / f"{kind}_drive.csv"])
    settle()
    cell = (20,) if kind == "curve" else (5, 4)
    screen.focus(layer="ratio", cell=cell, blocks=())
    for name in TASKS:
        screen.do(name)
        settle()
        cut |= {(name, each) for each in cut_of(screen.window)}
    screen.leave_task()
    screen.bench.notice.say("What happened is said here, in a sentence that takes more than one line of text. " * 2)
    settle()
    cut |= {("notice", each) for each in cut_of(screen.window)}
    assert not cut, "\n".join(map(str, sorted(cut)))
