"""Changes that wait beside a session after a kill: merged where they are its own, kept and named where they are not."""

import shutil
import sqlite3
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from workbench.commands.record.exports import check
from workbench.commands.table.hand import scale
from workbench.errors import FileError
from workbench.files.store import connecting
from workbench.model.log import Drive
from workbench.model.state import DriveAdded
from workbench.session import Session

KILLED = """
import os, signal, sys
from pathlib import Path
from workbench.commands.table.hand import scale
from workbench.files.store.store import Store
from workbench.session import Session
Store._settle = lambda self: None  # as when a kill comes just before it
session = Session.open(Path(sys.argv[1]))
for number in range(int(sys.argv[2])):
    session.record(scale(session.state, by=1.01, note="x" * 3000).change)
os.kill(os.getpid(), signal.SIGKILL)
"""


EXPORTED = KILLED.replace(
    "os.kill(",
    "from workbench.commands.record.exports import export\n"
    "session.record(export(session.state, Path(sys.argv[1]).with_name('out.csv'), draft=True).change)\nos.kill(",
)


def killed_after(path: Path, changes: int) -> Path:
    """Record some changes in a process that is killed before they are in the file itself; give the file beside it."""
    subprocess.run([sys.executable, "-c", KILLED, str(path), str(changes)], check=False)
    wal = path.with_name(path.name + "-wal")
    assert wal.stat().st_size > 0
    return wal


@pytest.fixture
def path(session: Session, make_drive: Callable[..., Drive]) -> Path:
    session.record(DriveAdded((make_drive(1, 1), make_drive(2, 1))))
    session.close()
    return Path(session.state.path)


def test_changes_of_its_own_are_merged(path: Path) -> None:
    killed_after(path, 3)
    with Session.open(path) as session:
        assert session.state.sequence == 5
        assert check(session.state).data["ok"]
    assert [each.name for each in path.parent.iterdir()] == [path.name]


def test_a_session_without_the_changes_that_waited_beside_it_is_told_by_the_exports_beside_it(
    path: Path, tmp_path: Path
) -> None:
    """It is whole, and what it lacks it cannot know; a copy under its own name, or another session, lacks nothing."""
    copy = Path(shutil.copy(path, tmp_path / "copy.session"))
    subprocess.run([sys.executable, "-c", EXPORTED, str(path), "3"], check=False)
    for ending in ("-wal", "-shm"):
        path.with_name(path.name + ending).rename(tmp_path / f"left{ending}")
    with Session.open(path) as session:
        assert session.state.sequence == 2
        told = check(session.state)
        assert "when out.draft.csv was exported it held 5: the latest changes are missing" in told.refusal
        assert told.data["beside"] == ["out.draft.csv"]
        table = session.state.table()
    with Session.open(copy) as session:
        assert check(session.state).data["ok"]
    path.unlink()
    with Session.create(path, table, author="another") as session:
        assert check(session.state).data["ok"]
        assert "Only an exported file" in check(session.state).lines[-1]


@pytest.mark.parametrize("changes", [1, 5, 40])
def test_a_backup_put_back_beside_the_changes_of_another_time_is_left_alone(path: Path, changes: int) -> None:
    """A backup from before, restored over a session that went on: what waits beside it does not fit any more."""
    backup = shutil.copy(path, path.with_name("backup"))
    with Session.open(path) as session:
        for number in range(30):
            session.record(scale(session.state, by=1.01 + number / 1000, note="y" * 2000).change)
    wal = killed_after(path, changes)
    shutil.copy(backup, path)
    before = {each: each.read_bytes() for each in (path, wal)}
    for _ in range(2):
        with pytest.raises(FileError, match=r"is whole, but the file car\.session-wal") as caught:
            Session.open(path)
        assert "move car.session-wal to another folder" in caught.value.hint
        assert {each: each.read_bytes() for each in (path, wal)} == before
    shutil.move(wal, path.with_name("kept-wal"))
    with Session.open(path) as session:
        assert session.state.sequence == 2
        assert check(session.state).data["ok"]


def test_the_changes_of_another_session_are_left_alone(path: Path, tmp_path: Path) -> None:
    other = path.with_name("other.session")
    with Session.open(path) as session:
        Session.create(other, session.state.table()).close()
        for _ in range(20):
            session.record(scale(session.state, by=1.01, note="z" * 3000).change)
    wal = killed_after(path, 2)
    stray = other.with_name("other.session-wal")
    shutil.copy(wal, stray)
    before = other.read_bytes(), stray.read_bytes()
    with pytest.raises(FileError, match=r"other\.session-wal"):
        Session.open(other)
    assert (other.read_bytes(), stray.read_bytes()) == before


def test_a_new_session_never_takes_in_what_waits_for_one_that_went_away(path: Path) -> None:
    """What waits may hold every page: a session made under the name would be the old one, and nobody would notice."""
    with Session.open(path) as session:
        table = session.state.table()
    path = path.with_name("new.session")
    Session.create(path, table).close()
    killed_after(path, 5)
    wal, away = path.with_name(path.name + "-wal"), path.with_name("away.session")
    path.rename(away)
    with pytest.raises(FileError, match=r"new\.session-wal beside it holds changes") as caught:
        Session.create(path, table)
    assert "away.session" not in caught.value.hint
    assert not path.exists()
    other = path.with_name("other.session")
    # One of the same table, made within the same second, would be the same session to the last bit.
    Session.create(other, table.with_values(1.01 * table.values)).close()
    other.rename(path)  # as a file manager does it
    before = path.read_bytes(), wal.read_bytes()
    with pytest.raises(FileError, match=r"is whole, but the file new\.session-wal"):
        Session.open(path)
    assert (path.read_bytes(), wal.read_bytes()) == before
    wal.rename(away.with_name("away.session-wal"))
    with Session.open(away) as session:
        assert session.state.sequence == 6, "what waited is there again where the hint sent it"


def test_a_damaged_file_with_changes_beside_it_is_left_alone(path: Path) -> None:
    wal = killed_after(path, 2)
    content = path.read_bytes()
    path.write_bytes(content[:-30_000] + bytes(20_000) + content[-10_000:])
    before = path.read_bytes(), wal.read_bytes()
    with pytest.raises(FileError, match=r"damaged|differs|altered"):
        Session.open(path)
    assert (path.read_bytes(), wal.read_bytes()) == before


def test_changes_that_another_program_keeps_to_itself_are_not_called_strange(
    path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    killed_after(path, 3)
    monkeypatch.setattr(connecting, "PATIENCE_S", 0.05)
    other = sqlite3.connect(path, isolation_level=None)
    other.execute("PRAGMA locking_mode = EXCLUSIVE")
    other.execute("BEGIN IMMEDIATE")
    with pytest.raises(FileError, match="written to by another program"):
        Session.open(path)
    other.execute("ROLLBACK")
    other.close()
    with Session.open(path) as session:
        assert session.state.sequence == 5
