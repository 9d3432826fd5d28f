"""Sessions that are read while open, moved, replaced, cut short or written over: nothing acknowledged is lost."""

import ast
import os
import shutil
import subprocess
import sys
import threading
from collections.abc import Callable
from pathlib import Path

import pytest

from workbench.commands.record.copies import save_copy
from workbench.commands.record.exports import check
from workbench.commands.table.hand import scale
from workbench.errors import FileError, WorkbenchError
from workbench.files.disk import plain_files
from workbench.model.log import Drive
from workbench.model.state import DriveAdded
from workbench.model.table import Table
from workbench.session import Session, looks_like_session

HOUSE = Path(__file__).parents[2] / "workbench"
# Modules that open files of their own making or of the program itself, or that run in a process of their own.
MAY_OPEN = {
    "__main__.py": "the null device",
    "cli.py": "the null device",
    "commands/handbook.py": "the README, by hand",
    "files/disk/plain_files.py": "the one place",
    "files/disk/atomic_write.py": "drafts that it made, and folders",
    "files/disk/signing.py": "a key that it makes",
    "files/export/page_writer.py": "a process of its own",
    "files/export/printing.py": "a folder that it made",
    "files/formats/data_files.py": "a folder that it made",
    "files/formats/data_reader.py": "a process of its own",
    "files/formats/mdf.py": "a folder that it made",
    "files/formats/mdf_reader.py": "a process of its own",
    "files/formats/percent_cells.py": "parts of an archive that is open",
    "files/formats/sheet_reader.py": "a process of its own",
    "files/formats/sheets.py": "a folder that it made",
    "files/plain/unpacking.py": "a folder that it made",
    "files/store/connecting.py": "SQLite, which guards its locks itself, and copies in a folder that it made",
    "files/store/writing.py": "SQLite",
    "window/kit/crash_report.py": "a report that it makes",
    "window/kit/style.py": "icons of the program",
    "window/tasks/help_task.py": "the README",
    "window/shell/opening.py": "a folder that it made",
}
OPENERS = {"read_bytes", "read_text", "write_bytes", "write_text", "copyfile", "copy2", "touch", "fdopen"}


def opens(node: ast.AST) -> bool:
    """Tell whether a piece of source opens a file by its path."""
    called = node.func if isinstance(node, ast.Call) else None
    if not isinstance(node, ast.Call) or not isinstance(called, ast.Attribute):
        return isinstance(called, ast.Name) and called.id == "open"
    owner = ast.unparse(called.value)
    if called.attr == "open":
        words = [each.value for each in node.args[:1] if isinstance(each, ast.Constant)]
        return owner == "os" or any(isinstance(word, str) and set(word) <= set("rwxab+t") for word in words)
    if called.attr in ("connect", "copy"):
        return owner in ("sqlite3", "shutil")
    if called.attr in ("GzipFile", "ZipFile"):
        return bool(node.args) and "path" in ast.unparse(node.args[0])
    return called.attr in OPENERS and owner not in ("plain_files", "np")


def test_every_file_is_opened_in_one_place() -> None:
    """Whoever opens and closes a session plainly drops the locks that SQLite holds on it in the same process."""
    found = {
        str(path.relative_to(HOUSE))
        for path in HOUSE.rglob("*.py")
        if any(opens(node) for node in ast.walk(ast.parse(path.read_text())))
    }
    assert found - MAY_OPEN.keys() == set()
    assert MAY_OPEN.keys() - found == set(), "these open nothing any more"


# What a process does that records, does the thing in question, and records again whenever it is told to.
TAKES_TURNS = """
import sys
from pathlib import Path
from workbench.commands.evidence import evidence
from workbench.commands.record.exports import check
from workbench.commands.report.reports import report
from workbench.commands.table.hand import scale
from workbench.commands.table.tables import add_table
from workbench.commands.logs.inspection import inspect
from workbench.errors import WorkbenchError
from workbench.files.disk.atomic_write import write_whole
from workbench.session import Session, looks_like_session
from workbench.work import run

path = Path(sys.argv[1])
def reopened(session):
    Session.open(path).close()
def refused(act):
    def done(session):
        try:
            outcome = act(session)
            outcome if not hasattr(outcome, "send") else run(outcome)
        except WorkbenchError:
            return
        raise AssertionError("this had to be refused")
    return done
ACTS = {
    "check": lambda session: check(session.state),
    "reopening": reopened,
    "looking": lambda session: looks_like_session(path),
    "a report into the session": refused(lambda session: report(session.state, path, replace=True)),
    "a file in its place": refused(lambda session: write_whole(path, b"anything")),
    "the session as a table": refused(lambda session: add_table(session.state, path)),
    "the session as a log": refused(lambda session: inspect(path)),
    "nothing": lambda session: None,
}
session = Session.open(path)
for line in sys.stdin:
    word = line.strip()
    if word == "record":
        session.reload()
        session.record(scale(session.state, by=1.01).change)
    elif word == "end":
        session.close()
    else:
        ACTS[word](session)
    print(session.state.sequence, flush=True)
"""


class Turns:
    """A process that does what it is told, one word at a time."""

    def __init__(self, path: Path) -> None:
        self.process = subprocess.Popen(
            [sys.executable, "-c", TAKES_TURNS, str(path)], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
        )

    def do(self, word: str) -> int:
        assert self.process.stdin is not None
        assert self.process.stdout is not None
        print(word, file=self.process.stdin, flush=True)
        return int(self.process.stdout.readline())

    def end(self) -> None:
        self.process.communicate()
        assert self.process.returncode == 0


@pytest.mark.parametrize(
    "act",
    [
        "check",
        "reopening",
        "looking",
        "a report into the session",
        "a file in its place",
        "the session as a table",
        "the session as a log",
    ],
)
def test_two_processes_take_turns_and_one_looks_at_the_file(session: Session, act: str) -> None:
    """The second one, closing, must not take itself for the last and remove what the first is still using."""
    path = Path(session.state.path)
    session.close()
    one, other = Turns(path), Turns(path)
    assert other.do("record") == 2
    assert one.do("record") == 3
    one.do(act)
    assert other.do("record") == 4
    other.do("end")
    other.end()
    wal = path.with_name(path.name + "-wal")
    assert wal.exists(), "the changes that wait were taken away from a session that is in use"
    acknowledged = [one.do("record") for _ in range(3)]
    third = Turns(path)
    assert third.do("record") == acknowledged[-1] + 1
    third.end()
    assert one.do("record") == acknowledged[-1] + 2
    one.end()
    with Session.open(path) as again:
        assert again.state.sequence == acknowledged[-1] + 2
        assert check(again.state).data["ok"]


@pytest.mark.skipif(not hasattr(os, "link"), reason="no hard links")
def test_a_session_with_two_names_is_only_read(session: Session, tmp_path: Path) -> None:
    """What SQLite keeps beside a file goes by its name: two programs by two names would lose each other's changes."""
    path, other = Path(session.state.path), tmp_path / "other.session"
    session.record(scale(session.state, by=1.01).change)
    os.link(path, other)
    for name in (path, other):
        with Session.open(name) as again:
            assert "second name" in again.read_only
            with pytest.raises(FileError, match="second name"):
                again.record(scale(again.state, by=1.01).change)
    assert session.record(scale(session.state, by=1.02).change).sequence == 3, "it was open before there were two"
    session.close()
    draft = path.with_name(".workbench-0123456789abcdef.new")
    other.rename(draft)  # as a kill just after a session was given its name leaves it
    with Session.open(path) as again:
        assert not again.read_only
        assert again.state.sequence == 3
    assert not draft.exists()


def test_a_file_that_is_held_is_read_without_being_opened_again(tmp_path: Path) -> None:
    path = tmp_path / "a"
    path.write_bytes(b"0123456789")
    hold = plain_files.Hold(path)
    before = len(os.listdir("/proc/self/fd")) if Path("/proc/self/fd").exists() else 0
    with plain_files.reading(path) as one, plain_files.reading(path) as other:
        assert (one.read(3), other.read(), one.seek(-2, 2), one.read()) == (b"012", b"0123456789", 8, b"89")
        if before:
            assert len(os.listdir("/proc/self/fd")) == before
    assert os.fstat(hold.descriptor).st_size == 10
    hold.release()
    hold.release()
    with pytest.raises(OSError, match="Bad file descriptor"):
        os.fstat(hold.descriptor)


def test_a_file_that_is_held_while_it_is_read_stays_open(tmp_path: Path) -> None:
    path = tmp_path / "a"
    path.write_bytes(b"0123456789")
    with plain_files.reading(path) as file:
        descriptor = file.fileno()
        hold = plain_files.Hold(path)
    os.fstat(descriptor)
    hold.release()
    with pytest.raises(OSError, match="Bad file descriptor"):
        os.fstat(descriptor)


@pytest.mark.skipif(os.name != "posix", reason="no pipes by name")
def test_a_pipe_is_refused_at_once(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe")
    with pytest.raises(FileError, match="not a regular file"), plain_files.reading(tmp_path / "pipe"):
        pass
    with pytest.raises(FileError, match="not a regular file"), plain_files.reading(Path(os.devnull)):
        pass
    assert not looks_like_session(tmp_path / "pipe")


def other_session(path: Path, curve: Table) -> Path:
    with Session.create(path, curve) as other:
        for number in range(20):
            other.record(scale(other.state, by=1.1 + number / 100).change)
    return path


def moved(path: Path, curve: Table) -> None:
    path.rename(path.with_name("elsewhere"))


def deleted(path: Path, curve: Table) -> None:
    path.unlink()


def deleted_with_all_beside(path: Path, curve: Table) -> None:
    for each in path.parent.glob(path.name + "*"):
        each.unlink()


def replaced(path: Path, curve: Table) -> None:
    other_session(path.with_name("other"), curve).replace(path)


def written_over(path: Path, curve: Table) -> None:
    path.write_bytes(other_session(path.with_name("other"), curve).read_bytes())


def written_over_by_its_beginning(path: Path, curve: Table) -> None:
    path.write_bytes((path.parent / "backup").read_bytes() + bytes(64 * 16384))


def written_over_by_text(path: Path, curve: Table) -> None:
    path.write_text("rpm,maf\n800,3\n" * 100_000)


def cut_short(path: Path, curve: Table) -> None:
    os.truncate(path, 40_000)


def emptied(path: Path, curve: Table) -> None:
    os.truncate(path, 0)


def folder_moved(path: Path, curve: Table) -> None:
    shutil.move(path.parent, path.parent.with_name("moved"))


def waiting_changes_taken_away(path: Path, curve: Table) -> None:
    path.with_name(path.name + "-wal").unlink()


LOSSES: list[Callable[[Path, Table], None]] = [
    moved,
    deleted,
    deleted_with_all_beside,
    replaced,
    written_over,
    written_over_by_its_beginning,
    written_over_by_text,
    cut_short,
    emptied,
    folder_moved,
    waiting_changes_taken_away,
]


@pytest.mark.parametrize("lose", LOSSES)
def test_a_session_that_went_away_is_told_and_can_be_saved_whole(
    tmp_path: Path, curve: Table, make_drive: Callable[..., Drive], lose: Callable[[Path, Table], None]
) -> None:
    folder = tmp_path / "job"
    folder.mkdir()
    path = folder / "car.session"
    with Session.create(path, curve) as session:
        session.record(DriveAdded((make_drive(1, 1), make_drive(2, 1, 'a "b".csv'))))
        shutil.copy(path, folder / "backup")
        for _ in range(3):
            session.record(scale(session.state, by=1.05, note="“Ω”").change)
        before, known = session.state, dict(session._store.record.digests)
        lose(path, curve)
        left = {each: each.read_bytes() for each in folder.glob("*") if not each.name.endswith(("-shm", "-wal"))}
        for _ in range(2):
            with pytest.raises(FileError, match="while it was open") as caught:
                session.record(scale(session.state, by=1.1).change)
            assert "save-copy" in caught.value.hint
        with pytest.raises(FileError, match="while it was open"):
            session.reload()
        assert session.state is before
        saved = tmp_path / "saved.session"
        answer = save_copy(session.state, saved)
        assert str(saved) in answer.lines[0]
    for each, content in left.items():
        assert each.read_bytes() == content, each
    with Session.open(saved) as again:
        assert again.state.sequence == before.sequence
        assert dict(again._store.record.digests) == known
        assert check(again.state).data["ok"]
        again.record(scale(again.state, by=1.01).change)


def test_a_session_that_comes_back_goes_on(session: Session, tmp_path: Path) -> None:
    path = Path(session.state.path)
    path.rename(tmp_path / "x")
    with pytest.raises(FileError, match="moved, renamed or deleted"):
        session.record(scale(session.state, by=1.1).change)
    (tmp_path / "x").rename(path)
    session.record(scale(session.state, by=1.1).change)
    assert session.state.sequence == 2


def test_a_copy_never_replaces_and_takes_what_others_recorded(session: Session, tmp_path: Path) -> None:
    with pytest.raises(FileError, match="exists already"):
        save_copy(session.state, Path(session.state.path))
    with Session.open(Path(session.state.path)) as other:
        other.record(scale(other.state, by=1.1).change)
    session.reload()
    save_copy(session.state, tmp_path / "copy")
    with Session.open(tmp_path / "copy") as copy:
        assert copy.state.sequence == 2


def test_threads_that_read_while_sessions_open_and_close_drop_no_locks(session: Session) -> None:
    path, stop = Path(session.state.path), threading.Event()
    faults: list[BaseException] = []

    def read() -> None:
        try:
            while not stop.is_set():
                plain_files.read_bytes(path)
        except (OSError, WorkbenchError, ValueError) as error:
            faults.append(error)

    threads = [threading.Thread(target=read) for _ in range(3)]
    for thread in threads:
        thread.start()
    for _ in range(20):
        with Session.open(path) as again:
            again.record(scale(again.state, by=1.001).change)
    assert is_locked_elsewhere(path)
    stop.set()
    for thread in threads:
        thread.join()
    assert faults == []
    assert is_locked_elsewhere(path)


LOCKED = """
import fcntl, struct, sys
ask = struct.pack("hhqqi", fcntl.F_WRLCK, 0, 0x40000002, 510, 0)  # where SQLite keeps its shared locks
with open(sys.argv[1], "rb+") as file:
    print(struct.unpack("hhqqi", fcntl.fcntl(file, fcntl.F_GETLK, ask))[0] != fcntl.F_UNLCK)
"""


def is_locked_elsewhere(path: Path) -> bool:
    """Tell, as another process sees it, whether a session is in use; where such locks can be asked for."""
    if sys.platform != "linux":
        return True
    done = subprocess.run([sys.executable, "-c", LOCKED, str(path)], capture_output=True, text=True, check=True)
    return done.stdout.strip() == "True"
