"""From 9 to 24 pt: no label or button has less room than its text needs, on any screen."""

from collections.abc import Callable
from pathlib import Path

import pytest
from PySide6.QtWidgets import QTableWidget
from screen import Screen
from showing import cut_of

from workbench.window.kit.style import LARGEST_PT, SMALLEST_PT
from workbench.window.panels.history_rail import BESIDE_LINES, told_of, wrapped
from workbench.window.panels.revision_rows import Entry

TASKS = (
    "drive gates lanes keys correct approve export add-log smooth settings roll-back amend-log difference physics "
    "storage parts carry-on resample-donor cautions pulls help blend wideband-delay"
).split()


def sideways(screen: Screen) -> list[QTableWidget]:
    """Find the tables of the open task that do not show all their columns at once."""
    tables = screen.drawer.findChildren(QTableWidget)
    return [each for each in tables if each.horizontalHeader().length() > each.viewport().width()]


def cut_lines(screen: Screen) -> list[str]:
    """Find the lines of the history, titles apart, that end in dots."""
    rail = screen.bench.rail
    room, entries = (
        rail.viewport().width() - BESIDE_LINES,
        (row for row in rail._entries.rows if isinstance(row, Entry)),
    )
    lines = (line for row in entries for text in told_of(row) for line in wrapped(text, rail.fontMetrics(), room))
    return [line for line in lines if line.endswith("…")]


@pytest.mark.parametrize(
    ("kind", "points"), [("curve", SMALLEST_PT), ("grid", 14), ("curve", 18), ("grid", LARGEST_PT)]
)
def test_nothing_is_cut(
    kind: str,
    points: int,
    screen: Screen,
    settle: Callable[[], None],
    car_files: Path,
    asking_log: Path,
    tmp_path: Path,
) -> None:
    screen.dress("light", points)
    settle()
    cut = {("start", each) for each in cut_of(screen.window)}
    screen.begin_from(car_files / f"{kind}.csv", tmp_path / "car.session")
    settle()
    cut |= {("no log", each) for each in cut_of(screen.window)}
    screen.take([car_files / f"{kind}_drive.csv"])
    settle()
    other = "grid" if kind == "curve" else "curve"
    screen.run("add-table", {"file": car_files / f"{other}.csv", "name": "another"})  # a list of tables comes up
    screen.run("scale", {"by": 0.987, "table": kind})
    settle()
    cell = (20,) if kind == "curve" else (5, 4)
    screen.focus(layer="ratio", cell=cell, blocks=())
    for name in TASKS:
        screen.do(name)
        settle()
        cut |= {(name, each) for each in cut_of(screen.window)}
        inside, place = screen.drawer._inside, screen.drawer._place.viewport()
        if inside.width() > place.width():
            cut |= {(name, f"the task is {inside.width() - place.width()} px wider than its place")}
        cut |= {(name, f"table {each.accessibleName()} is scrolled sideways") for each in sideways(screen)}
    screen.run("add-log", {"files": (asking_log,), "again": True})
    settle()
    assert screen.scene.drive is not None
    assert screen.scene.drive.log.questions
    cut |= {("questions", each) for each in cut_of(screen.window)}
    screen.leave_task()
    settle()
    cut |= {("history", each) for each in cut_lines(screen)}
    screen.bench.notice.say("What happened is said here, in a sentence that takes more than one line of text. " * 2)
    settle()
    cut |= {("notice", each) for each in cut_of(screen.window)}
    assert not cut, "\n".join(map(str, sorted(cut)))
