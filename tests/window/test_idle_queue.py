"""Work done piece by piece: in order, one piece per turn, and the panels that wait show the latest scene."""

from pathlib import Path

from PySide6.QtCore import QObject, Qt, QTimer
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot
from screen import Screen

from workbench.window.kit.idle_queue import Turns


def test_each_thing_has_a_turn_of_its_own(qtbot: QtBot) -> None:
    host, done = QObject(), list[str]()
    turns = Turns(host)
    turns.put(lambda: (done.append("a"), QTimer.singleShot(0, host, lambda: done.append("between"))), lambda: None)
    turns.put(lambda: done.append("b"))
    assert done == []
    qtbot.waitUntil(lambda: not turns.waiting)
    assert done.index("a") < done.index("between") < done.index("b")


def test_whoever_has_something_to_do_takes_turns(qtbot: QtBot) -> None:
    """Never two things in one turn of the event loop, whose they may be; nothing is done for what is gone."""
    host, turn, done = QObject(), [0], list[tuple[str, int]]()
    count = QTimer(host)
    count.timeout.connect(lambda: turn.__setitem__(0, turn[0] + 1))
    count.start(0)
    mine, yours, gone = Turns(host), Turns(host), Turns(host)
    for turns, name in ((mine, "mine"), (yours, "yours"), (gone, "gone")):
        turns.put(*[lambda name=name: done.append((name, turn[0]))] * 3)  # type: ignore[misc]
    gone.deleteLater()
    qtbot.waitUntil(lambda: not mine.waiting and not yours.waiting)
    names, when = [name for name, _ in done if name != "gone"], [at for _, at in done]
    assert names == ["mine", "yours"] * 3
    assert len(set(when)) == len(when)
    assert [name for name, _ in done].count("gone") < 3


def test_what_waits_is_done_at_once_or_never(qtbot: QtBot) -> None:
    done = list[int]()
    host = QObject()
    turns = Turns(host)
    turns.put(*(lambda i=i: done.append(i) for i in range(3)))  # type: ignore[misc]
    turns.finish()
    assert done == [0, 1, 2]
    turns.put(lambda: done.append(3))
    turns.drop()
    qtbot.wait(20)
    assert done == [0, 1, 2]


def test_panels_that_wait_show_what_is_looked_at_by_then(screen: Screen, car_files: Path, tmp_path: Path) -> None:
    screen.begin_from(car_files / "curve.csv", tmp_path / "a.session")
    assert screen.numbers.cells.table is None
    screen.focus(cell=(3,))
    screen.bench.finish()
    assert screen.numbers.currentIndex().row() == 3
    assert screen.bench.rail.model().rowCount() == 1
    screen.close_session()
    screen.begin_from(car_files / "grid.csv", tmp_path / "b.session")
    screen.close_session()  # before any panel showed it
    screen.bench.finish()
    assert screen.scene.state is None
    assert screen.numbers.cells.table.kind == "curve"  # type: ignore[attr-defined]


def test_a_session_takes_the_place_of_another_at_once(screen: Screen, car_files: Path, tmp_path: Path) -> None:
    pages = list[int]()
    screen.window.centralWidget().currentChanged.connect(pages.append)
    for kind in ("curve", "grid", "curve", "curve", "grid"):
        screen.begin_from(car_files / f"{kind}.csv", tmp_path / f"{len(list(tmp_path.iterdir()))}.session")
        screen.bench.finish()
        QApplication.processEvents()
        assert screen.numbers.cells.table.kind == kind
    assert pages == [1]  # the start page was never shown in between
    path = Path(screen.state.path)
    screen.open(path)
    assert Path(screen.state.path) == path


def test_headings_beyond_the_table_are_empty(screen: Screen, car_files: Path, tmp_path: Path) -> None:
    """While a model is reset, one heading asks for the sections of the table before; an exception there ends all."""
    screen.begin_from(car_files / "grid.csv", tmp_path / "a.session")
    screen.bench.finish()
    cells = screen.numbers.cells
    for way, count in ((Qt.Orientation.Horizontal, cells.columnCount()), (Qt.Orientation.Vertical, cells.rowCount())):
        assert cells.headerData(count - 1, way)
        assert cells.headerData(count, way) is None
