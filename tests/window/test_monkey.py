"""A monkey at the window while another program writes and the file is moved: nothing falls over, nothing is lost."""

import json
import os
import random
import sqlite3
import subprocess
import sys
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QPushButton
from pytestqt.qtbot import QtBot

from workbench.commands.record.exports import check
from workbench.session import Session
from workbench.window.shell.controller import Workshop
from workbench.window.shell.main_window import MainWindow

sys.path.insert(0, str(Path(__file__).parents[1] / "files"))
from altering import alter

ROOT = Path(__file__).parents[2]

ACTS = int(os.environ.get("ACTS", "120"))  # 1,000 by ACTS=1000; by fixed seed either way


# Another program, which opens the session anew for every change, as the command line does.
OTHER = """
import json, sys
from pathlib import Path
from workbench.commands.table.hand import scale
from workbench.errors import WorkbenchError
from workbench.session import Session
for line in sys.stdin:
    path, note = json.loads(line)
    try:
        with Session.open(Path(path)) as session:
            session.record(scale(session.state, by=1.0005, note=note).change)
        print(json.dumps(""), flush=True)
    except WorkbenchError as refusal:
        print(json.dumps(str(refusal)), flush=True)
"""


class Monkey:
    """Does one thing after another, and keeps count of what the window and the other program acknowledged."""

    def __init__(self, window: MainWindow, path: Path, seed: int) -> None:
        self.other = subprocess.Popen(
            [sys.executable, "-c", OTHER], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True, cwd=ROOT
        )
        self.workshop = window.equip()
        self.path = path
        self.chance = random.Random(seed)
        self.acknowledged: list[str] = []
        self.hidden = path.with_name("moved away")

    def act(self, number: int) -> None:
        self.chance.choice([self.record, self.record, self.press, self.other_program, self.look, self.move, self.back])(
            number
        )

    def record(self, number: int) -> None:
        """Scale through the same door as a form does."""
        self.workshop.routes._runner.run("scale", {"by": 1.0001 + self.chance.random() / 1000, "note": f"w {number}"})
        self.workshop.bench.finish()
        if self.note() == f"w {number}":
            self.acknowledged.append(f"w {number}")

    def press(self, _: int) -> None:
        """Trigger something of the menus that neither ends the program nor asks for a file."""
        names = "undo redo history check settings smooth correct gates keys"
        self.workshop.do(self.chance.choice(names.split()))

    def other_program(self, number: int) -> None:
        """Another program records, or holds the file for a while."""
        if not self.path.exists():
            return
        if self.chance.random() < 0.3:
            other = sqlite3.connect(self.path, isolation_level=None)
            other.execute("BEGIN IMMEDIATE")
            self.workshop.routes._runner.run("scale", {"by": 1.001, "note": f"never {number}"})
            other.execute("ROLLBACK")
            other.close()
            return
        assert self.other.stdin is not None
        assert self.other.stdout is not None
        print(json.dumps([str(self.path), f"o {number}"]), file=self.other.stdin, flush=True)
        if self.chance.random() < 0.5:  # the window writes while the other program does
            self.record(number)
        refusal = json.loads(self.other.stdout.readline())
        assert refusal == "" or "Another program changed" in refusal or "is used by another program" in refusal, refusal
        if not refusal:
            self.acknowledged.append(f"o {number}")

    def look(self, _: int) -> None:
        self.workshop.reload()

    def move(self, _: int) -> None:
        if self.path.exists() and self.chance.random() < 0.4:
            self.path.rename(self.hidden)

    def end(self) -> None:
        """Let the other program end."""
        self.other.communicate()
        assert self.other.returncode == 0

    def back(self, _: int) -> None:
        if self.hidden.exists():
            self.hidden.rename(self.path)

    def note(self) -> str:
        state = self.workshop.bridge.scene.state
        assert state is not None
        return state.head().note


def begun(window: MainWindow, car_files: Path, path: Path) -> Workshop:
    """Begin a session from the car's curve."""
    workshop = window.equip()
    workshop.opening.begin_from(car_files / "curve.csv", path)
    workshop.bench.finish()
    return workshop


def lost(window: MainWindow, car_files: Path, path: Path) -> Workshop:
    """Begin a session and change it once; then its file is gone."""
    workshop = begun(window, car_files, path)
    workshop.routes._runner.run("scale", {"by": 1.1, "note": "before"})
    workshop.bench.finish()
    path.unlink()
    return workshop


def test_a_monkey_at_the_window_loses_nothing(
    window: MainWindow, car_files: Path, tmp_path: Path, qtbot: QtBot, monkeypatch: pytest.MonkeyPatch
) -> None:
    faults: list[BaseException] = []
    monkeypatch.setattr(sys, "excepthook", lambda kind, error, trace: faults.append(error))
    path = tmp_path / "car.session"
    workshop = begun(window, car_files, path)
    monkey = Monkey(window, path, seed=13)
    for number in range(ACTS):
        monkey.act(number)
        if number % 5 == 0:
            qtbot.wait(1)
        assert faults == [], number
    monkey.back(0)
    monkey.end()
    workshop.bench.finish()
    workshop.reload()
    assert workshop.bridge.scene.state is not None
    kept = tmp_path / "kept.session"
    workshop.routes._runner.run("save-copy", {"file": kept})
    workshop.bench.finish()
    workshop.leave()
    for each in (path, kept):
        with Session.open(each) as session:
            notes = [revision.note for revision in session.state.history.revisions]
            assert [note for note in monkey.acknowledged if note not in notes] == []
            assert not any(note.startswith("never") for note in notes)
            assert check(session.state).data["ok"]
    assert len(monkey.acknowledged) >= ACTS // 8
    assert sorted(each.name for each in tmp_path.iterdir() if each.is_file()) == ["car.session", "kept.session"]


def test_a_session_that_is_moved_while_the_window_shows_it_is_told_and_saved(
    window: MainWindow, car_files: Path, tmp_path: Path
) -> None:
    path = tmp_path / "car.session"
    workshop = lost(window, car_files, path)
    workshop.routes._runner.run("roll-back", {"revision": 1, "note": "after"})
    workshop.bench.finish()
    told = workshop.bench.notice.text
    assert "moved, renamed or deleted while it was open" in told
    kept = tmp_path / "kept.session"
    workshop.routes._runner.run("save-copy", {"file": kept})
    workshop.bench.finish()
    with Session.open(kept) as session:
        assert [each.note for each in session.state.history.revisions][-1] == "before"


@pytest.mark.parametrize("way", ["record", "reload"])
def test_what_is_lost_is_saved_by_two_clicks(
    window: MainWindow, car_files: Path, tmp_path: Path, qtbot: QtBot, way: str
) -> None:
    """Whether the window finds out as it writes or as it looks: the refusal has a button, and its form a file."""
    path = tmp_path / "car.session"
    workshop = lost(window, car_files, path)
    if way == "record":
        workshop.routes._runner.run("scale", {"by": 1.2, "note": "after"})
    else:
        workshop.reload()
    workshop.bench.finish()
    saved_by_two_clicks(workshop, qtbot)
    with Session.open(tmp_path / "car_copy.session") as session:
        assert session.state.head().note == "before"


def test_what_was_altered_behind_its_back_is_saved_by_two_clicks(
    window: MainWindow, car_files: Path, tmp_path: Path, qtbot: QtBot
) -> None:
    path = tmp_path / "car.session"
    workshop = begun(window, car_files, path)
    workshop.routes._runner.run("scale", {"by": 1.1, "note": "before"})
    workshop.bench.finish()
    alter(path, ["UPDATE revision SET cell_values = zeroblob(length(cell_values)) WHERE id = 1"])
    workshop.routes._runner.run("export", {"file": tmp_path / "out.csv", "draft": True})
    workshop.bench.finish()
    assert "Revision 1" in workshop.bench.notice.text
    assert list(tmp_path.glob("*.csv")) == []
    saved_by_two_clicks(workshop, qtbot)
    with Session.open(tmp_path / "car_copy.session") as session:
        assert check(session.state).data["ok"]
        assert session.state.head().note == "before"


def saved_by_two_clicks(workshop: Workshop, qtbot: QtBot) -> None:
    """Press the button of the refusal, and that of the form which it opens."""
    button = workshop.bench.notice._accept
    assert button.isVisible()
    assert button.text() == "Save a copy of the session"
    qtbot.mouseClick(button, Qt.MouseButton.LeftButton)
    workshop.bench.finish()
    go = next(
        each for each in workshop.bench.drawer.findChildren(QPushButton) if each.accessibleName() == button.text()
    )
    qtbot.mouseClick(go, Qt.MouseButton.LeftButton)
    workshop.bench.finish()


def test_another_programs_reader_does_not_hold_the_window(window: MainWindow, car_files: Path, tmp_path: Path) -> None:
    """A read transaction elsewhere kept each record and the close waiting for five seconds."""
    import time

    path = tmp_path / "car.session"
    workshop = begun(window, car_files, path)
    reader = sqlite3.connect(path, isolation_level=None)
    reader.execute("BEGIN")
    reader.execute("SELECT count(*) FROM change").fetchone()
    begin = time.process_time(), time.monotonic()
    for _ in range(5):
        workshop.routes._runner.run("scale", {"by": 1.01})
        workshop.bench.finish()
    workshop.bridge.close()
    assert time.monotonic() - begin[1] < 5 + 5 * (time.process_time() - begin[0])
    reader.execute("ROLLBACK")
    reader.close()
    with Session.open(path) as session:
        assert session.state.sequence == 6
