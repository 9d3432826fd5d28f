"""A large session is read aside: the window goes on, and shows it once it is read."""

import threading
from pathlib import Path

import pytest
from pytestqt.qtbot import QtBot

from workbench.session import Session
from workbench.window.shell import opening
from workbench.window.shell.controller import Workshop
from workbench.window.shell.main_window import MainWindow


@pytest.fixture
def readers(monkeypatch: pytest.MonkeyPatch) -> list[int]:
    """The threads that opened a session; every session counts as a large one."""
    monkeypatch.setattr(opening, "LARGE", 0)
    whole, found = Session.open, []

    def noted(path: Path) -> Session:
        found.append(threading.get_ident())
        return whole(path)

    monkeypatch.setattr(Session, "open", noted)
    return found


def note_of(workshop: Workshop) -> str:
    state = workshop.bridge.scene.state
    assert state is not None
    return state.head().note


def test_a_large_session_is_read_aside(window: MainWindow, session: Session, qtbot: QtBot, readers: list[int]) -> None:
    session.close()
    path, workshop = Path(session.state.path), window.equip()
    told: list[str] = []
    workshop.opening.reading.working.connect(lambda title, _: told.append(title))
    workshop.open(path)
    assert workshop.bridge.scene.state is None
    qtbot.waitUntil(lambda: workshop.bridge.scene.state is not None)
    assert readers
    assert threading.get_ident() not in readers
    assert told[0] == f"Opening {path.name}"
    assert told[-1] == ""
    workshop.routes._runner.run("scale", {"by": 1.1, "note": "after"})
    workshop.bench.finish()
    assert note_of(workshop) == "after"
    workshop.opening.open_last()  # as the next start does
    qtbot.waitUntil(lambda: len(readers) > 1 and not workshop.opening.reading.busy)
    assert note_of(workshop) == "after"


def test_what_cannot_be_opened_is_told_as_before(
    window: MainWindow, tmp_path: Path, qtbot: QtBot, readers: list[int]
) -> None:
    (tmp_path / "no.session").write_bytes(b"no session at all" * 100)
    workshop = window.equip()
    workshop.open(tmp_path / "no.session")
    qtbot.waitUntil(lambda: bool(readers) and not workshop.opening.reading.busy)
    assert workshop.bridge.scene.state is None
    assert not workshop.start.isHidden()
    workshop.open(tmp_path / "missing.session")
    assert readers[-1] == threading.get_ident()


def test_a_window_that_goes_does_not_wait_for_ever(window: MainWindow, session: Session, readers: list[int]) -> None:
    session.close()
    workshop = window.equip()
    workshop.open(Path(session.state.path))
    workshop.leave()
    assert len(readers) <= 1
