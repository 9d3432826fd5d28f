"""The window stays with its user: lanes are built one per turn, logs written down elsewhere, and nothing is lost."""

import itertools
import threading
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from PySide6.QtCore import QEventLoop, QTimer
from PySide6.QtWidgets import QApplication, QWidget
from pytestqt.qtbot import QtBot
from screen import Screen

from workbench.commands.handbook import COMMANDS
from workbench.model.state import SettingsSet
from workbench.window.kit.theme import DARK, LIGHT
from workbench.window.log.lane_plot import Lane, Marks, Trace
from workbench.window.log.lanes import Lanes
from workbench.window.log.pyramid import build
from workbench.window.panels.next_step import next_step

AS_IS = (0.0, 99.0)


@pytest.fixture
def lanes(qtbot: QtBot, qapp: QApplication) -> Iterator[Lanes]:
    host = QWidget()
    qtbot.addWidget(host)
    host.resize(900, 300)
    made = Lanes(host)
    made.setGeometry(0, 0, 900, 300)
    host.show()
    yield made
    host.close()


def made(number: int, traces: int = 1) -> list[Lane]:
    time = np.arange(100.0)
    return [
        Lane(f"{i}", tuple(Trace(f"{i}.{j}", "", build(time, np.sin(time) + i)) for j in range(traces)), (-2.0, 9.0))
        for i in range(number)
    ]


def test_lanes_are_built_one_per_turn_of_the_event_loop(lanes: Lanes, qtbot: QtBot) -> None:
    turns, built = [0], []
    ticking = QTimer()
    ticking.setInterval(0)
    ticking.timeout.connect(lambda: turns.__setitem__(0, turns[0] + 1))
    lanes.stack.stepped.connect(lambda n, of: built.append((n, of, turns[0])))
    ticking.start()
    lanes.show_lanes(made(5), LIGHT, AS_IS, Marks())
    assert lanes.stack.plots == []
    qtbot.waitUntil(lambda: not lanes.stack.building, timeout=5000)
    ticking.stop()
    assert [(n, of) for n, of, _ in built] == [(n, 5) for n in range(1, 6)]
    assert all(later - before >= 1 for (*_, before), (*_, later) in itertools.pairwise(built))


def test_plots_are_used_again_for_another_log(lanes: Lanes) -> None:
    lanes.show_lanes(made(4), LIGHT, AS_IS, Marks())
    lanes.stack.finish()
    before = list(lanes.stack.plots)
    other = made(3, traces=2)
    lanes.show_lanes(other, DARK, (0.0, 50.0), Marks())
    assert all(curve.xData is None or not len(curve.xData) for plot in lanes.stack.plots for curve in plot.curves)
    lanes.stack.finish()
    assert lanes.stack.plots == before[:3]
    assert [plot.lane for plot in lanes.stack.plots] == other
    assert [len(plot.curves) for plot in lanes.stack.plots] == [2, 2, 2]
    lanes.show_lanes(made(6), LIGHT, AS_IS, Marks())
    lanes.stack.finish()
    assert lanes.stack.plots[:3] == before[:3]
    assert len(lanes.stack.plots) == 6


def test_a_newer_wish_wins_while_lanes_are_being_built(lanes: Lanes, qtbot: QtBot) -> None:
    lanes.show_lanes(made(5), LIGHT, AS_IS, Marks())
    QApplication.processEvents(QEventLoop.ProcessEventsFlag.AllEvents, 1)
    other = made(2)
    lanes.show_lanes(other, LIGHT, AS_IS, Marks())
    qtbot.waitUntil(lambda: not lanes.stack.building, timeout=5000)
    assert [plot.lane for plot in lanes.stack.plots] == other


@pytest.mark.parametrize("numbers", [(4,), (1, 6), (3, 0, 5), (6, 2), (0, 1)])
def test_lanes_fill_their_view_however_they_came_about(lanes: Lanes, qtbot: QtBot, numbers: tuple[int, ...]) -> None:
    for number in numbers:
        lanes.show_lanes(made(number), LIGHT, AS_IS, Marks())
        qtbot.waitUntil(lambda: not lanes.stack.building, timeout=5000)
        qtbot.wait(20)
    places = [plot.box.geometry() for plot in lanes.stack.plots]
    assert sum(place.height() for place in places) > 0.6 * lanes.view.height()
    assert all(place.width() > 0.8 * lanes.view.width() for place in places)
    assert all(before.bottom() <= after.top() for before, after in itertools.pairwise(places))


def test_all_lanes_show_the_same_stretch_whichever_is_moved(lanes: Lanes, qtbot: QtBot) -> None:
    lanes.show_lanes(made(4), LIGHT, AS_IS, Marks(), seen=(10.0, 40.0))
    qtbot.waitUntil(lambda: not lanes.stack.building, timeout=5000)
    qtbot.wait(20)
    boxes = [*(plot.box for plot in lanes.stack.plots), lanes.stack._ribbon.box]
    for moved, stretch in ((None, (10.0, 40.0)), (boxes[2], (20.0, 30.0)), (boxes[0], (5.0, 95.0))):
        if moved is not None:
            moved.setXRange(*stretch, padding=0)
        assert lanes.seen == pytest.approx(stretch)
        for box in boxes:
            assert box.viewRange()[0] == pytest.approx(list(stretch))
            corner = box.mapSceneToView(box.sceneBoundingRect().topLeft())
            assert corner.x() == pytest.approx(stretch[0], abs=0.2)


@pytest.fixture
def opened(screen: Screen, car_files: Path, tmp_path: Path) -> Screen:
    screen.begin_from(car_files / "curve.csv", tmp_path / "car.session")
    return screen


def test_a_log_is_written_down_on_the_workers_thread(
    opened: Screen, settle: Callable[[], None], car_files: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    session = opened.bridge._session
    store = type(session._store)
    wrote: list[int] = []
    append = store.append
    monkeypatch.setattr(store, "append", lambda *args: (wrote.append(threading.get_ident()), append(*args))[1])
    shown: list[int] = []
    opened.bridge.shown.connect(lambda _: shown.append(threading.get_ident()))
    opened.take([car_files / "curve_drive.csv"])
    settle()
    assert len(wrote) == 1
    assert wrote[0] != threading.get_ident()
    assert set(shown) == {threading.get_ident()}
    assert len(opened.state.drives) == 1


def test_what_is_applied_while_a_log_is_written_down_is_kept(
    opened: Screen, settle: Callable[[], None], car_files: Path
) -> None:
    bridge = opened.bridge
    opened.take([car_files / "curve_drive.csv"])
    applied = 0
    while opened.jobs.busy and applied < 20:
        bridge.record(COMMANDS["scale"].function(bridge.scene.state, by=1.001).change)
        applied += 1
        QApplication.processEvents()
    settle()
    state = bridge.scene.state
    assert len(state.history.revisions) == 1 + applied
    assert len(state.drives) == 1
    assert state.sequence == 2 + applied
    assert bridge._session.state is state


def test_a_log_that_waits_for_a_session_that_was_left_is_not_written(
    opened: Screen, car_files: Path, settle: Callable[[], None], tmp_path: Path
) -> None:
    opened.take([car_files / "curve_drive.csv"])
    opened.begin_from(car_files / "grid.csv", tmp_path / "other.session")
    settle()
    assert opened.scene.table.kind == "grid"
    assert opened.state.drives == ()
    assert "closed before this finished" in opened.notice


def test_a_log_with_questions_is_the_next_step_and_each_answer_one_click(
    opened: Screen, asking_log: Path, settle: Callable[[], None]
) -> None:
    opened.take([asking_log])
    settle()
    opened.leave_task()
    step = next_step(opened.scene)
    assert (step.title, step.word) == ("Answer the questions of log 1", "questions")
    assert "asking.csv holds is not clear yet" in step.reason
    assert opened.entry("questions").isEnabled()
    opened.press("F5")
    settle()
    opened.click("no")
    settle()
    assert not opened.state.drives[0].log.questions
    assert next_step(opened.scene).word == "correct"
    assert not opened.entry("questions").isEnabled()


def test_where_the_wideband_sits_is_the_next_step_and_each_answer_one_click(
    opened: Screen, car_files: Path, settle: Callable[[], None]
) -> None:
    """Logged once a second, no swing of the mixture can be followed: the log cannot tell."""
    head, *rows = (car_files / "curve_drive.csv").read_text("utf-8").splitlines()
    coarse = car_files / "coarse.csv"
    coarse.write_text("\n".join((head, *rows[::10])), encoding="utf-8", newline="")
    opened.take([coarse])
    settle()
    opened.leave_task()
    evidence = opened.scene.fitting_evidence
    assert evidence is not None
    assert evidence.wideband == {1: "unknown"}
    step = next_step(opened.scene)
    assert (step.title, step.word) == ("Say where the wideband sits", "wideband-place")
    opened.press("F5")
    settle()
    assert any("The readings do not show it (drive 1: coarse.csv)" in text for text in opened.texts)
    opened.record(SettingsSet(replace(opened.state.settings, wideband="after")))  # as another program would
    settle()
    assert any("Stated: After the catalyst." in text for text in opened.texts)
    opened.click("Before the catalyst")
    settle()
    assert opened.task is None
    assert opened.state.settings.wideband == "before"
    assert opened.scene.fitting_evidence is not None
    assert opened.scene.fitting_evidence.wideband == {1: "before"}
    assert next_step(opened.scene).word == "correct"
    opened.do("wideband-place")
    assert any("Stated: Before the catalyst." in text for text in opened.texts)
    for _ in range(2):
        opened.do("undo")
        settle()
    assert opened.state.settings.wideband == "auto"
    assert next_step(opened.scene).word == "wideband-place"
    opened.press("F5")
    opened.click("Nobody knows")
    settle()
    assert opened.state.settings.wideband == "unknown"
    assert next_step(opened.scene).word == "correct"


def test_a_place_that_the_logs_tell_otherwise_asks_for_a_second_click(
    with_drive: Screen, settle: Callable[[], None]
) -> None:
    """It was taken by one click, without a word, and most readings were left out."""
    with_drive.do("wideband-place")
    with_drive.click("After the catalyst")
    settle()
    assert with_drive.state.settings.wideband == "auto"
    assert any("it is before the catalyst" in text and "Nothing was recorded" in text for text in with_drive.texts)
    with_drive.click("It is so all the same")
    settle()
    assert with_drive.state.settings.wideband == "after"
    assert with_drive.task is None
