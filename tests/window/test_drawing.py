"""What is drawn: no spike lost, gaps kept, the right pixel in the right colour, and no reference to None dropped."""

import sys
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from PySide6.QtCore import Qt
from PySide6.QtGui import QColor
from PySide6.QtWidgets import QWidget
from pytestqt.qtbot import QtBot

from workbench.commands.declaring.making import revised
from workbench.model.table import Table
from workbench.session import Session
from workbench.window.kit.spans import Spans, spans_of
from workbench.window.kit.theme import LIGHT, change_ramp
from workbench.window.log.pyramid import build
from workbench.window.scene.scene import Focus, Scene, draft_of
from workbench.window.table.table_view import TableView

PIXELS = 200
SceneOf = Callable[[Table, Table], Scene]


@given(st.integers(2, 60_000), st.integers(0, 59_999), st.booleans())
def test_a_spike_of_one_sample_is_always_drawn(rows: int, at: int, high: bool) -> None:
    at %= rows
    time = np.arange(rows) / 20
    values = np.zeros(rows)
    values[at] = 7.0 if high else -7.0
    x, y, _ = build(time, values).reduced(time[0], time[-1], PIXELS)
    assert len(x) == len(y) <= 20 * PIXELS
    assert (y.max() if high else -y.min()) == 7.0
    where = x[np.argmax(np.abs(y))]
    assert abs(where - time[at]) <= 2 * (time[-1] - time[0]) / PIXELS + 0.05


@given(st.floats(0, 0.98), st.floats(0.001, 1))
def test_any_zoom_shows_the_extremes_of_what_is_seen(start: float, width: float) -> None:
    rng = np.random.default_rng(1)
    time = np.sort(rng.uniform(0, 1, 50_000))
    values = rng.normal(size=50_000)
    low, high = start, min(start + width, 1.0)
    _, y, _ = build(time, values).reduced(low, high, PIXELS)
    inside = values[(time >= low) & (time <= high)]
    assert np.nanmax(y) >= inside.max(initial=-np.inf)
    assert np.nanmin(y) <= inside.min(initial=np.inf)


@pytest.mark.parametrize("rows", [3000, 60_000])
def test_a_gap_stays_a_gap(rows: int) -> None:
    values = np.ones(rows)
    values[rows // 4 : rows // 2] = np.nan
    time = np.arange(rows) / 20
    x, y, _ = build(time, values).reduced(0, time[-1], PIXELS)
    inside = (x > time[rows // 4] + 3) & (x < time[rows // 2] - 3)
    assert inside.any()
    assert np.isnan(y[inside]).all()


def test_what_does_not_change_is_drawn_as_one_line() -> None:
    """Strokes of no length are not drawn by every pen: a trim that stood still would vanish."""
    time = np.arange(200_000) / 20
    x, y, pairs = build(time, np.full(200_000, 3.0)).reduced(0, time[-1], PIXELS)
    assert pairs
    assert set(y) == {3.0}
    assert (x[1::2] > x[0::2])[:-1].all()
    assert x[1:-1:2] == pytest.approx(x[2::2])


def test_stretches_that_are_nearer_than_a_pixel_are_joined() -> None:
    marked = np.zeros(10_000, dtype=bool)
    marked[::2] = True
    time = np.arange(10_000) / 20
    assert len(spans_of(marked, time).starts) == 5000
    assert len(spans_of(marked, time).seen(0, 500, PIXELS).starts) == 1
    apart = Spans(np.array([0.0, 10.0]), np.array([1.0, 11.0]))
    assert len(apart.seen(0, 20, PIXELS).starts) == 2
    assert len(apart.seen(5, 8, PIXELS).starts) == 0


@pytest.fixture
def numbers(qtbot: QtBot) -> Iterator[TableView]:
    host = QWidget()
    qtbot.addWidget(host)
    host.resize(700, 400)
    view = TableView(host)
    view.setGeometry(0, 0, 700, 400)
    host.show()
    yield view
    host.close()


@pytest.fixture
def scene_of(tmp_path: Path) -> SceneOf:
    """Makes the scene of a session in which a table became another."""

    def make(before: Table, after: Table) -> Scene:
        with Session.create(tmp_path / "drawn.session", before) as made:
            change = revised(made.state, after, "set", {}, "").change
            assert change is not None
            state = made.record(change)
        return Scene(state=state, focus=Focus(table=before.name, cell=(0, 0), layer="change", against=1))

    return make


def test_a_raised_cell_is_teal_and_a_lowered_one_brown(numbers: TableView, grid: Table, scene_of: SceneOf) -> None:
    values = grid.values.copy()
    values[1, 1] *= 1.1
    values[2, 2] *= 0.9
    numbers.show_scene(scene_of(grid, grid.with_values(values)), LIGHT)
    picture = numbers.viewport().grab().toImage()

    def colour(row: int, column: int) -> tuple[int, int, int]:
        place = numbers.visualRect(numbers.cells.index(row, column))
        pixel = QColor(picture.pixel(place.left() + 4, place.top() + 4))
        return pixel.red(), pixel.green(), pixel.blue()

    ramp = np.round(change_ramp(LIGHT) * 255).astype(int)
    assert colour(1, 1) == tuple(ramp[-1])
    assert colour(2, 2) == tuple(ramp[0])
    assert colour(0, 3) == tuple(ramp[128]) == (255, 255, 255)


def test_one_cell_that_changes_redraws_one_cell(
    numbers: TableView, grid: Table, scene_of: SceneOf, qtbot: QtBot
) -> None:
    values = grid.values.copy()
    values[0, 0] *= 1.2
    first = scene_of(grid, grid.with_values(values))
    numbers.show_scene(first, LIGHT)
    told: list[tuple[int, int, int, int]] = []
    numbers.cells.dataChanged.connect(lambda a, b, _: told.append((a.row(), a.column(), b.row(), b.column())))
    values[2, 3] *= 1.01
    answer = revised(first.state, grid.with_values(values), "set", {}, "")
    numbers.show_scene(replace(first, draft=draft_of("set", answer)), LIGHT)
    assert told == [(2, 3, 2, 3)]


@pytest.mark.skipif(sys.version_info >= (3, 12), reason="None is immortal from Python 3.12 on")
def test_painting_loses_no_reference_to_none(numbers: TableView, grid: Table, scene_of: SceneOf) -> None:
    """PySide6 6.12.0 on Python before 3.12 dropped one reference to None at every void call, until it aborted."""
    numbers.show_scene(scene_of(grid, grid.with_values(grid.values * 1.1)), LIGHT)
    numbers.viewport().repaint()
    before = sys.getrefcount(None)
    for _ in range(300):
        numbers.viewport().repaint()
    assert abs(sys.getrefcount(None) - before) < 300


def test_what_is_typed_over_the_cells_begins_an_entry(
    numbers: TableView, grid: Table, scene_of: SceneOf, qtbot: QtBot
) -> None:
    numbers.show_scene(scene_of(grid, grid.with_values(grid.values * 1.1)), LIGHT)
    typed: list[str] = []
    numbers.typed.connect(typed.append)
    qtbot.keyClicks(numbers, "+7")
    qtbot.keyClick(numbers, Qt.Key.Key_F2)
    assert typed == ["+", "7", ""]
