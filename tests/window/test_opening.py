"""A large session is read aside: the window goes on, and shows it once it is read."""

import threading
from collections.abc import Iterator
from contextlib import ExitStack
from pathlib import Path

import pytest
from pytestqt.qtbot import QtBot
from screen import Screen

from workbench.session import Session
from workbench.window.scene import large_files


@pytest.fixture
def readers(monkeypatch: pytest.MonkeyPatch) -> Iterator[list[int]]:
    """The threads that opened a session; every session counts as a large one."""
    monkeypatch.setattr(large_files, "LARGE", 0)
    whole, found = Session.open, list[int]()
    with ExitStack() as opened:  # one that a window no longer takes, as it goes, is closed by nobody

        def noted(path: Path) -> Session:
            found.append(threading.get_ident())
            return opened.enter_context(whole(path))

        monkeypatch.setattr(Session, "open", noted)
        yield found


def note_of(screen: Screen) -> str:
    state = screen.state
    assert state is not None
    return state.head().note


def test_a_large_session_is_read_aside(screen: Screen, session: Session, qtbot: QtBot, readers: list[int]) -> None:
    session.close()
    path = Path(session.state.path)
    told: list[str] = []
    screen.opening.reading.working.connect(lambda title, _: told.append(title))
    screen.open(path)
    assert screen.scene.state is None
    qtbot.waitUntil(lambda: screen.state is not None)
    assert readers
    assert threading.get_ident() not in readers
    assert told[0] == f"Opening {path.name}"
    assert told[-1] == ""
    screen.run("scale", {"by": 1.1, "note": "after"})
    screen.bench.finish()
    assert note_of(screen) == "after"
    screen.opening.open_last()  # as the next start does
    qtbot.waitUntil(lambda: len(readers) > 1 and not screen.opening.reading.busy)
    assert note_of(screen) == "after"


def test_what_cannot_be_opened_is_told_as_before(
    screen: Screen, tmp_path: Path, qtbot: QtBot, readers: list[int]
) -> None:
    (tmp_path / "no.session").write_bytes(b"no session at all" * 100)
    screen.open(tmp_path / "no.session")
    qtbot.waitUntil(lambda: bool(readers) and not screen.opening.reading.busy)
    assert screen.scene.state is None
    assert not screen.start_page.isHidden()
    screen.open(tmp_path / "missing.session")
    assert readers[-1] == threading.get_ident()


def test_a_window_that_goes_does_not_wait_for_ever(screen: Screen, session: Session, readers: list[int]) -> None:
    session.close()
    screen.open(Path(session.state.path))
    screen.window.close()
    assert len(readers) <= 1
