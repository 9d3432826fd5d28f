"""Lanes of any height on scales of their own, by mouse and keys, and the delay tried by its handle."""

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pyqtgraph
import pytest
from hypothesis import given
from hypothesis import strategies as st
from PySide6.QtCore import QPoint, Qt
from PySide6.QtGui import QFont, QFontMetrics, QImage, QPainter
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot
from screen import Screen

from workbench.window.kit.plots import finer_steps, space_ticks
from workbench.window.kit.theme import LIGHT
from workbench.window.log.lane_plot import LanePlot, Marks, small_font
from workbench.window.log.lane_shapes import LOWEST_LINES, moved_border, shared_heights, zoomed
from workbench.window.log.lanes import Lanes

Settle = Callable[[], None]
LINES = st.lists(st.integers(1, 4), min_size=1, max_size=6)


@given(LINES, st.lists(st.floats(0.05, 20), min_size=6, max_size=6), st.floats(20, 900))
def test_lanes_fill_the_room_and_none_vanishes(lines: list[int], factors: list[float], room: float) -> None:
    heights = shared_heights(lines, factors[: len(lines)], room, 12.0)
    assert sum(heights) == pytest.approx(room)
    assert min(heights) >= min(LOWEST_LINES * 12.0, room / len(lines)) * (1 - 1e-9)


@given(LINES.filter(lambda lines: len(lines) > 1), st.floats(-300, 300))
def test_a_border_moves_two_lanes_and_leaves_the_others(lines: list[int], by: float) -> None:
    room, even, least = 400.0, [1.0] * len(lines), LOWEST_LINES * 12
    before = shared_heights(lines, even, room, 12.0)
    after = shared_heights(lines, moved_border(lines, even, room, 12.0, 0, by), room, 12.0)
    assert after[2:] == pytest.approx(before[2:])
    assert after[0] + after[1] == pytest.approx(before[0] + before[1])
    assert after[0] - before[0] == pytest.approx(min(max(by, least - before[0]), before[1] - least))


def test_a_scale_is_zoomed_about_a_value_that_stays() -> None:
    assert zoomed((0.7, 1.3), 0.5, 1.0) == pytest.approx((0.85, 1.15))
    assert zoomed((0.0, 10.0), 2.0) == pytest.approx((-5.0, 15.0))


@given(st.floats(1e-6, 1e6))
def test_finer_steps_fall_and_stay_below(step: float) -> None:
    found = finer_steps(step)
    assert found == sorted(found, reverse=True)
    assert max(found) < step


@given(
    st.floats(1e-3, 1e4), st.floats(-3, 3), st.sampled_from([9, 10, 14, 18, 24]), st.floats(0, 60), st.floats(1.0, 3.0)
)
def test_the_lowest_lane_shows_two_figures_that_do_not_touch(
    qapp: QApplication, span: float, begin: float, points: int, more: float, lead: float
) -> None:
    """Whatever it spans and wherever that begins; with one figure a scale is not told."""
    del qapp
    font = small_font(QFont("sans", points))
    metrics, axis = QFontMetrics(font), pyqtgraph.AxisItem("left")
    low, high = begin * span, (begin + 1) * span
    size = LOWEST_LINES * metrics.height() + more
    space_ticks(axis, font, upright=True, lead=lead)
    ((_, shown),) = axis.tickValues(low, high, size)
    assert len(shown) > 1
    places = (np.array(shown) - low) / (high - low) * size
    assert min(np.diff(places)) >= metrics.capHeight() + 1.9
    assert places[0] >= metrics.capHeight() / 2 - 1.1
    assert places[-1] <= size - metrics.capHeight() / 2 + 1.1


def figures_of(plot: LanePlot) -> list[str]:
    """Read the figures that a lane's axis paints."""
    image = QImage(10, 10, QImage.Format.Format_RGB32)
    painter = QPainter(image)
    *_, painted = plot.axis.generateDrawSpecs(painter)
    painter.end()
    return [text for _, _, text in painted]


@pytest.fixture
def driven(screen: Screen, settle: Settle, car_files: Path, tmp_path: Path) -> Screen:
    """A session with a drive."""
    (tmp_path / "curve.csv").write_text((car_files / "curve.csv").read_text())
    screen.begin_from(tmp_path / "curve.csv")
    screen.take([car_files / "curve_drive.csv"])
    settle()
    screen.drawer.leave()
    settle()
    return screen


@pytest.fixture
def lanes(driven: Screen) -> Lanes:
    """Its lanes, with the keyboard."""
    made = driven.bench.log.lanes
    made.view.setFocus()
    return made


def test_every_lane_shows_two_figures_of_its_scale(driven: Screen, settle: Settle) -> None:
    found = {}
    for points in (9, 10, 14, 24):
        for dense in (False, True):
            driven.dress("light", points)
            driven.bench.set_dense(dense=dense)
            for task in ("", "smooth"):
                driven.do(task) if task else driven.leave_task()
                settle()
                for plot in driven.bench.log.lanes.stack.plots:
                    found[points, dense, task, plot.lane.caption] = figures_of(plot)
    assert len(found) == 64
    assert not {where: shown for where, shown in found.items() if len(shown) < 2}


def test_keys_make_a_lane_higher_and_zoom_its_scale(lanes: Lanes, qtbot: QtBot) -> None:
    before, scale = lanes.stack.heights(), lanes.stack.plots[-1].limits
    for _ in range(4):
        qtbot.keyClick(lanes.view, Qt.Key.Key_Down)
    assert lanes.stack.current == 3
    qtbot.keyClick(lanes.view, Qt.Key.Key_Up, Qt.KeyboardModifier.ShiftModifier)
    qtbot.keyClick(lanes.view, Qt.Key.Key_Up, Qt.KeyboardModifier.ControlModifier)
    after, zoom = lanes.stack.heights(), lanes.stack.plots[-1].limits
    assert after[3] > before[3]
    assert sum(after) == sum(before)
    assert scale[0] < zoom[0] < zoom[1] < scale[1]
    assert tuple(lanes.stack.plots[-1].box.viewRange()[1]) == pytest.approx(zoom)
    qtbot.waitUntil(lambda: abs(lanes.stack.plots[-1].box.height() - after[3]) <= 1)
    qtbot.keyClick(lanes.view, Qt.Key.Key_A)
    assert lanes.stack.heights() == before
    assert lanes.stack.plots[-1].limits == scale


def test_the_border_between_two_lanes_is_dragged(lanes: Lanes, qtbot: QtBot) -> None:
    before = lanes.stack.heights()
    under = lanes.stack.place_of(2)
    start = QPoint(400, under.bottom() + 2)
    view = lanes.view.viewport()
    qtbot.mousePress(view, Qt.MouseButton.LeftButton, pos=start)
    qtbot.mouseMove(view, start - QPoint(0, 8))
    qtbot.mouseRelease(view, Qt.MouseButton.LeftButton, pos=start - QPoint(0, 8))
    after = lanes.stack.heights()
    assert after[:2] == before[:2]
    assert after[2] == pytest.approx(before[2] - 8, abs=1)
    assert after[3] == pytest.approx(before[3] + 8, abs=1)


def test_heights_and_scales_are_as_they_were_when_the_session_is_opened_again(
    driven: Screen, lanes: Lanes, qtbot: QtBot, settle: Settle
) -> None:
    qtbot.keyClick(lanes.view, Qt.Key.Key_Down)
    qtbot.keyClick(lanes.view, Qt.Key.Key_Up, Qt.KeyboardModifier.ShiftModifier)
    qtbot.keyClick(lanes.view, Qt.Key.Key_Up, Qt.KeyboardModifier.ControlModifier)
    (wanted,) = driven.bench.log.shapes.values()
    (shape,) = wanted.values()
    path = Path(driven.state.path)
    other = driven.start_again(path)
    other.settle()
    log = other.bench.log
    qtbot.waitUntil(lambda: bool(log.lanes.stack.plots), timeout=20_000)
    assert list(log.shapes.values()) == [wanted]
    qtbot.waitUntil(lambda: log.lanes.stack.plots[0].limits == shape.limits, timeout=20_000)
    other.quit()


def test_the_handle_tries_a_delay_by_keys_and_puts_it_back(driven: Screen, lanes: Lanes, qtbot: QtBot) -> None:
    handle, notice = lanes.handle, driven.bench.notice
    assert handle.isVisible()
    before = driven.scene.evidence.delay[1].fixed_s
    assert f"{before:.2f} s" in handle.words
    handle.setFocus()
    qtbot.keyClick(handle, Qt.Key.Key_Left, Qt.KeyboardModifier.ShiftModifier)
    assert f"{before + 0.1:.2f} s" in handle.words
    assert f"{before + 0.1:.2f}\N{NO-BREAK SPACE}s" in notice.text
    qtbot.waitUntil(lambda: "airflow ratio moves by up to" in notice.text, timeout=60_000)
    assert driven.scene.evidence.delay[1].source != "stated"
    driven.dress("dark", 12)  # what is drawn anew keeps what is being tried, as the offer still names it
    qtbot.waitUntil(lambda: bool(lanes.stack.plots) and not lanes.stack._turns.waiting, timeout=20_000)
    assert f"{before + 0.1:.2f} s" in handle.words
    moved = [c.pos().x() for p in lanes.stack.plots for t, c in zip(p.lane.traces, p.curves, strict=True) if t.delayed]
    assert moved == pytest.approx([handle.by])
    notice._close.click()
    assert f"{before:.2f} s" in handle.words
    handle.setFocus()
    for keys in ((Qt.Key.Key_Left, Qt.Key.Key_Right), (Qt.Key.Key_Left, Qt.Key.Key_Escape)):
        qtbot.keyClick(handle, keys[0])
        assert notice.text
        qtbot.keyClick(handle, keys[1])
        assert not notice.text  # what is offered is what the handle shows, or nothing
        assert f"{before:.2f} s" in handle.words


def test_dragging_the_handle_moves_the_wideband_with_it(lanes: Lanes, qtbot: QtBot) -> None:
    handle, told = lanes.handle, list[tuple[float, bool]]()
    lanes.show_range(60.0, 70.0)
    lanes.shifted.connect(lambda by, done: told.append((by, done)))
    middle = handle.rect().center()
    qtbot.mousePress(handle, Qt.MouseButton.LeftButton, pos=middle)
    qtbot.mouseMove(handle, middle - QPoint(20, 0))
    qtbot.mouseRelease(handle, Qt.MouseButton.LeftButton, pos=middle - QPoint(20, 0))
    assert told[-1][1]
    assert told[-1][0] == pytest.approx(-20 * 10.0 / lanes.stack.place_of(0).width(), rel=0.1)
    curve = next(c for p in lanes.stack.plots for t, c in zip(p.lane.traces, p.curves, strict=True) if t.delayed)
    assert curve.pos().x() == pytest.approx(told[-1][0])


@pytest.mark.parametrize("points", [10, 18, 24])
def test_a_value_beside_a_lane_is_never_cut(driven: Screen, settle: Settle, points: int) -> None:
    """Part of a number would read as another: its name, then its unit give way."""
    driven.dress("light", points)
    driven.focus(cursor_s=104.0)
    settle()
    labels = driven.bench.log.lanes.stack._captions.labels
    assert len(labels) > 2
    assert any("<b>" in each.text() and "<b></b>" not in each.text() for each in labels)
    for caption in labels:
        assert caption.sizeHint().width() <= caption.width() + 1, (points, caption.text())


def test_lanes_that_are_shown_again_before_they_are_built_show_the_whole_log(lanes: Lanes) -> None:
    """A log that is drawn anew while it is still being laid out, as by another text size, is not cut to a second."""
    shown, whole, marks = [plot.lane for plot in lanes.stack.plots], lanes._whole, Marks()
    assert whole[1] - whole[0] > 60
    lanes.show_lanes((), LIGHT, (0.0, 1.0), marks)
    lanes.stack.finish()
    lanes._range = (0.0, 1.0)  # as in a window that was just made
    lanes.show_lanes(shown, LIGHT, whole, marks)
    lanes.show_lanes(shown, LIGHT, whole, marks)
    lanes.stack.finish()
    assert lanes.seen == pytest.approx(whole)
    assert lanes.stack.plots[0].box.viewRange()[0] == pytest.approx(whole, abs=1.0)


def test_the_handle_names_no_delay_that_is_none(lanes: Lanes, driven: Screen, settle: Settle) -> None:
    """It said −0.70 s where what was asked about was 0.00 s."""
    handle = lanes.handle
    before = driven.scene.fitting_evidence.delay[1].fixed_s
    for by, tried in ((3.0, 0.0), (-30.0, 5.0)):
        handle.nudge(by)
        settle()
        assert f"{tried:.2f} s" in handle.words
        assert f"Fixed delay {tried:.2f}\N{NO-BREAK SPACE}s" in driven.notice
        assert handle.by == pytest.approx(before - tried)


@pytest.mark.parametrize("high", [750.4, 752.0, 760.0, 1000.0, 99.9])
def test_no_figure_of_the_time_axis_is_cut_at_its_end(qapp: QApplication, high: float) -> None:
    """It would be read as another number."""
    del qapp
    axis, font, size = pyqtgraph.AxisItem("bottom"), QFont("sans", 10), 1000.0
    space_ticks(axis, font, upright=False, inside=True)
    ((_, figures),) = axis.tickValues(0.0, high, size)
    half = QFontMetrics(font).horizontalAdvance(f"{figures[-1]:g}") / 2
    assert len(figures) > 1
    assert figures[-1] / high * size + half <= size


def test_a_log_that_begins_late_is_seen_whole(screen: Screen, settle: Settle, car_files: Path, tmp_path: Path) -> None:
    """A clock may tell the time of day; a lane shows other times when it is made, or when it comes from another log."""
    screen.begin_from(car_files / "curve.csv", tmp_path / "car.session")
    head, *rows = (car_files / "curve_drive.csv").read_text("utf-8").splitlines()
    begins = (2.0, 36_000.0, 0.0)
    paths = []
    for begin in begins:
        shifted = (f"{float(row.partition(',')[0]) + begin:.3f},{row.partition(',')[2]}" for row in rows)
        path = tmp_path / f"from_{begin:.0f}.csv"
        path.write_text("\r\n".join((head, *shifted, "")), encoding="utf-8", newline="")
        paths.append(path)
    lanes = screen.bench.log.lanes
    for path in paths:  # one after the other: the lanes of one log become those of the next
        screen.run("add-log", {"files": (path,), "again": True})
        settle()
        screen.leave_task()
        settle()
        _check_whole(screen, lanes)
    for number in (1, 2, 3, 2, 1):
        screen.focus(drive=number)
        settle()
        _check_whole(screen, lanes)


def _check_whole(screen: Screen, lanes: Lanes) -> None:
    time = screen.scene.drive.log.time.values
    low, high = float(time[0]), float(time[-1])
    assert lanes.seen == pytest.approx((low, high))
    for plot in lanes.stack.plots:
        assert plot.box.viewRange()[0] == pytest.approx([low, high])
        assert any(len(curve.getData()[0] if curve.getData()[0] is not None else ()) for curve in plot.curves)
