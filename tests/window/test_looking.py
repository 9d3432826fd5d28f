"""Looking at things: where the engine was, why a sample does not count, now against before, the story of a cell."""

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from pyqtgraph import PlotDataItem
from PySide6.QtCore import Qt
from PySide6.QtGui import QGuiApplication
from pytestqt.qtbot import QtBot
from screen import Screen

from workbench.window.log import log_view
from workbench.window.scene.scene import LAYERS, engine_point
from workbench.window.tasks.story_task import StoryTask

Settle = Callable[[], None]


@pytest.fixture
def driven(with_drive: Screen) -> Screen:
    return with_drive


def apply(screen: Screen, entry: str, qtbot: QtBot) -> None:
    numbers = screen.bench.numbers
    numbers.begin(entry)
    qtbot.keyClick(numbers._line, Qt.Key.Key_Return)


def test_the_engine_is_shown_at_every_sample_where_its_signal_is_logged(driven: Screen) -> None:
    scene = driven.scene
    samples, time = scene.samples, scene.drive.log.time.values
    signal = scene.drive.log.playing("sensor_signal")
    gated = np.flatnonzero((samples.rejected_by >= 0) & np.isfinite(signal))
    assert len(gated)
    for row in (*gated[:: len(gated) // 5], *samples.rows[:: len(samples.rows) // 5]):
        driven.focus(cursor_s=float(time[row]))
        point = driven.numbers._engine
        assert point == engine_point(driven.scene)
        gate = samples.rejected_by[row]
        assert point.gate == ("" if gate < 0 else samples.gates[gate])
        assert point.position[0] == pytest.approx(signal[row], rel=0.05)
        assert driven.bench.curve._engine.isVisible()
        assert driven.bench.curve._engine.value() == point.position[0]
        told = driven.bench.log._reading.text()
        assert told.endswith("kept") or f"gated: {point.gate}" in told
        assert driven.bench.log.lanes.view.viewport().toolTip() == told
        driven.window.grab()


def test_a_gated_sample_is_marked_by_a_hollow_ring(driven: Screen) -> None:
    scene = driven.scene
    samples, time = scene.samples, scene.drive.log.time.values
    view = driven.numbers

    def middle_is_filled(row: int) -> bool:
        driven.focus(cursor_s=float(time[row]))
        cell = int(np.argmin(np.abs(scene.table.axes[0].breakpoints - view._engine.position[0])))
        view.scrollTo(view.cells.index(cell, 0))
        spot = round(view._along(float(np.interp(view._engine.position[0], scene.table.axes[0].breakpoints,
                                                 np.arange(len(scene.table.axes[0])))), rows=True))  # fmt: skip
        picture = view.viewport().grab().toImage()
        return picture.pixelColor(8, spot).name() == driven.bench.theme.attention

    steady = samples.rows[len(samples.rows) // 2]
    gated = np.flatnonzero((samples.rejected_by >= 0) & np.isfinite(samples.everywhere[:, 0]))
    inside = scene.table.axes[0].breakpoints
    gated = gated[(samples.everywhere[gated, 0] > inside[1]) & (samples.everywhere[gated, 0] < inside[-2])]
    assert middle_is_filled(int(steady))
    assert not middle_is_filled(int(gated[len(gated) // 2]))


def test_arrow_keys_in_the_log_say_what_is_there(driven: Screen, qtbot: QtBot, monkeypatch: pytest.MonkeyPatch) -> None:
    spoken: list[str] = []
    monkeypatch.setattr(log_view, "speak", lambda _, words: spoken.append(words))
    lanes = driven.bench.log.lanes
    lanes.view.setFocus()
    qtbot.keyClick(lanes.view, Qt.Key.Key_Home)
    for _ in range(3):
        qtbot.keyClick(lanes.view, Qt.Key.Key_Right)
    qtbot.keyClick(lanes.view, Qt.Key.Key_Left)
    assert len(spoken) == 5
    assert all(words.startswith("at ") and ("kept" in words or "gated: " in words) for words in spoken)
    assert all(words.endswith("Hz") for words in spoken)
    assert spoken[2] == spoken[4]


def test_flicking_shows_the_table_as_it_was_and_back(driven: Screen, qtbot: QtBot) -> None:
    view = driven.numbers
    driven.focus(cell=(4,), blocks=(), layer="value")
    before = [str(view.cells.data(view.cells.index(row, 0))) for row in range(8)]
    apply(driven, "*1.1", qtbot)
    after = [str(view.cells.data(view.cells.index(row, 0))) for row in range(8)]
    assert after != before
    qtbot.keySequence(driven.window, "F4")
    assert [str(view.cells.data(view.cells.index(row, 0))) for row in range(8)] == before
    assert "F4 returns" in driven.bench.picture._legend.text()
    assert driven.head.id == 2
    np.testing.assert_array_equal(driven.scene.shown_table.values, driven.scene.reference.table.values)
    qtbot.keySequence(driven.window, "F4")
    assert [str(view.cells.data(view.cells.index(row, 0))) for row in range(8)] == after
    assert "F4 returns" not in driven.bench.picture._legend.text()


def test_flicking_goes_between_the_two_revisions_that_were_picked(driven: Screen, qtbot: QtBot) -> None:
    driven.focus(cell=(4,), blocks=(), layer="value")
    for entry in ("*1.1", "*1.2", "*1.3"):
        apply(driven, entry, qtbot)
    driven.bench.rail.compare.emit(2)
    driven.focus(layer="value")
    qtbot.keySequence(driven.window, "F4")
    assert driven.scene.shown_table is driven.state.history.revision(2).table
    qtbot.keySequence(driven.window, "F4")
    assert driven.scene.shown_table is driven.state.history.revision(4).table


def test_the_story_of_a_cell_tells_every_revision_that_changed_it(driven: Screen, qtbot: QtBot, settle: Settle) -> None:
    driven.focus(cell=(4,), blocks=(), layer="value")
    first = float(driven.scene.table.values[4])
    apply(driven, "*1.1; lean at cruise", qtbot)
    driven.focus(cell=(9,))
    apply(driven, "*1.5", qtbot)
    driven.focus(cell=(4,))
    apply(driven, "=7.25", qtbot)
    qtbot.keySequence(driven.window, "Ctrl+Shift+H")
    settle()
    drawer = driven.drawer
    assert driven.bench.side.shown is drawer
    story = drawer.task
    assert isinstance(story, StoryTask)
    last, middle, begun = story.text.text().split("<p>")[1:]
    assert [part.split("&nbsp;")[0] for part in (last, middle, begun)] == ["<b>4", "<b>2", "<b>1"]
    assert "7.25" in last
    assert "+10.0" in middle
    assert "lean at cruise" in middle
    assert f"{first:.4g}"[:4] in begun
    (line,) = [item for item in story.plot.box.addedItems if isinstance(item, PlotDataItem)]
    numbers, changes = line.getData()
    assert numbers.tolist() == [0, 1, 2]
    assert [words for _, words in story.plot._bottom._tickLevels[0]] == ["1", "2", "4"]
    assert changes[:2] == pytest.approx([0.0, 10.0])
    assert changes[2] == pytest.approx(100 * (7.25 / first - 1))
    qtbot.keyClick(drawer, Qt.Key.Key_Escape)
    assert driven.bench.side.shown is driven.bench.rail_card
    assert QGuiApplication.focusObject() is driven.numbers


def test_what_is_known_of_the_table_is_not_said_of_an_earlier_one(driven: Screen, settle: Callable[[], None]) -> None:
    """Beside the values of revision 1 stood how far revision 2 is off."""
    driven.run("correct", {})
    settle()
    driven.focus(layer="ratio")
    settle()

    def told() -> tuple[int, int, int]:
        view, curve = driven.numbers, driven.bench.curve
        column = view.cells.columns.index("ratio")
        texts = [str(view.cells.data(view.cells.index(row, column)) or "") for row in range(view.cells.rowCount())]
        line = curve._now.yData
        dots = curve._dots.data
        return sum(map(bool, texts)), 0 if line is None else int(np.isfinite(line).sum()), len(dots)

    before = told()
    assert min(before) > 10
    driven.do("flick")
    settle()
    assert told() == (0, 0, 0)
    driven.do("flick")
    settle()
    assert told() == before


@pytest.mark.parametrize("kind", ["curve", "grid"])
def test_a_drafted_axis_is_drawn_in_every_layer_of_the_evidence(
    screen: Screen, settle: Settle, car_files: Path, tmp_path: Path, kind: str
) -> None:
    """The draft stands on other breakpoints than the evidence and the table that it is made from."""
    screen.begin_from(car_files / f"{kind}.csv", tmp_path / "car.session")
    screen.take([car_files / f"{kind}_drive.csv"])
    settle()
    screen.leave_task()
    assert screen.scene.evidence is not None
    table = screen.state.table()
    points = table.axes[0].breakpoints
    screen.focus(cell=tuple(n - 1 for n in table.shape))
    for layer in LAYERS:
        for wanted in ((*points, points[-1] + 500), points[:-2]):
            screen.focus(layer=layer)
            to = " ".join(f"{each:g}" for each in wanted)
            screen._shop.routes._runner.draft("change-axis", {"to": to, "axis": "row"})
            settle()
            shown = screen.scene.shown_table
            assert screen.scene.draft is not None, screen.notice
            assert shown is not None
            assert shown.shape[0] == len(wanted), layer
            assert screen.scene.fitting_evidence is None
            assert kind == "grid" or screen.bench.curve._xs.size == len(wanted)
