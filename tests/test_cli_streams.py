"""The command line from outside: closed and full streams, signals, names that are no text, devices and pipes."""

import json
import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import NamedTuple

import pytest

from workbench.cli import main
from workbench.commands.record.exports import export
from workbench.commands.table.hand import scale
from workbench.errors import FileError
from workbench.files.disk.atomic_write import check_place, tidy, write_whole
from workbench.files.export.exporting import read_paper
from workbench.model.history import Approval
from workbench.model.state import Approved
from workbench.model.table import Table
from workbench.session import Session

ROOT = Path(__file__).parents[1]
LOG = ROOT / "sample_sessions" / "part_throttle_drive.csv"
PROGRAM = [sys.executable, "-m", "workbench"]

pytestmark = pytest.mark.skipif(os.name != "posix", reason="streams and signals of another kind")


class Told(NamedTuple):
    """What a command answered."""

    code: int
    out: str
    err: str


@pytest.fixture
def told(capsys: pytest.CaptureFixture[str]) -> Callable[..., Told]:
    """Runs a command in this process; what it raises fails the test."""

    def run(*words: object) -> Told:
        code = main([str(word) for word in words])
        return Told(code, *capsys.readouterr())

    return run


@pytest.fixture
def path(session: Session) -> Path:
    session.close()
    return Path(session.state.path)


def test_an_answer_comes_though_nobody_hears_the_progress(path: Path) -> None:
    for shell in ('exec "$@" 2>&-', 'exec "$@" 2>/dev/full'):
        words = ["sh", "-c", shell, "sh", *PROGRAM, "add-log", str(path), str(LOG), "--json", "--again"]
        done = subprocess.run(words, stdout=subprocess.PIPE, check=False, cwd=ROOT)
        assert done.returncode == 0, shell
        assert "error" not in json.loads(done.stdout)


def test_help_and_version_can_be_json_too(told: Callable[..., Told]) -> None:
    for words, key in ((("--help",), "help"), (("--version",), "version"), (("history", "--help"), "help")):
        done = told(*words, "--json")
        assert (done.code, list(json.loads(done.out))) == (0, [key])


def test_a_program_that_is_asked_to_end_takes_its_helpers_and_folders_along(path: Path, tmp_path: Path) -> None:
    """A spreadsheet is read by a process of its own, in a folder of its own."""
    sys.path.insert(0, str(ROOT / "tests" / "files"))
    from workbooks import xlsx

    book = tmp_path / "big.xlsx"
    book.write_bytes(xlsx({"Log": [["Time (s)", "RPM (rpm)"], *([i / 5, 900.0 + i] for i in range(60_000))]}))
    folder = tmp_path / "temporary"
    folder.mkdir()
    child = subprocess.Popen(
        [*PROGRAM, "add-log", path, book],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        env={**os.environ, "TMPDIR": str(folder)},
        cwd=ROOT,
    )
    deadline = time.monotonic() + 60
    while not list(folder.iterdir()) and child.poll() is None and time.monotonic() < deadline:
        time.sleep(0.01)
    child.send_signal(signal.SIGTERM)
    _, said = child.communicate(timeout=60)
    assert b"Traceback" not in said
    assert child.returncode == 128 + signal.SIGTERM
    assert list(folder.iterdir()) == []


def test_an_interrupt_is_never_a_traceback(path: Path) -> None:
    for delay in (0.05, 0.1, 0.2, 0.35, 0.5):
        child = subprocess.Popen([*PROGRAM, "evidence", path], stdout=subprocess.PIPE, stderr=subprocess.PIPE, cwd=ROOT)
        time.sleep(delay)
        child.send_signal(signal.SIGINT)
        _, said = child.communicate(timeout=60)
        # What comes before our first line is Python's own, and names no file of ours.
        assert b"/workbench/" not in said.replace(b'/workbench/__main__.py", line 3', b""), delay


def test_names_that_are_no_text_are_sentences(path: Path, tmp_path: Path, told: Callable[..., Told]) -> None:
    strange = Path(os.fsdecode(os.fsencode(tmp_path) + b"/caf\xe9\x1b[2J.csv"))
    strange.write_bytes(LOG.read_bytes())
    odd = Path(os.fsdecode(os.fsencode(tmp_path) + b"/caf\xe9.session"))
    table = ROOT / "sample_sessions" / "airflow_stale.csv"
    for words in (
        ("new", odd, table, "--name", "airflow"),
        ("history", odd),
        ("add-log", odd, strange),
        ("check", odd),
        ("export", odd, Path(os.fsdecode(os.fsencode(tmp_path) + b"/out\xe9.csv")), "--draft"),
        ("report", odd, Path(os.fsdecode(os.fsencode(tmp_path) + b"/out\xe9.html"))),
        ("history", strange),
        ("inspect", strange),
        ("new", tmp_path / "b.session", strange),
    ):
        for more in ((), ("--json",)):
            done = told(*words, *more)
            assert done.code in (0, 1), words
            assert "\x1b" not in done.out + done.err, words
            (done.out + done.err).encode()


def test_devices_and_pipes_are_never_replaced_or_waited_for(
    path: Path, tmp_path: Path, told: Callable[..., Told]
) -> None:
    pipe, link = tmp_path / "pipe", tmp_path / "link"
    os.mkfifo(pipe)
    link.symlink_to(os.devnull)
    for place in (pipe, link, Path(os.devnull), tmp_path):
        with pytest.raises(FileError):
            check_place(place)
        with pytest.raises(FileError):
            write_whole(place, b"x")
    for words in (
        ("report", path, link, "--replace"),
        ("add-log", path, pipe),
        ("new", tmp_path / "x.session", pipe),
        ("history", pipe),
        ("check", path, "--against", pipe),
        ("inspect", os.devnull),
    ):
        done = told(*words)
        assert (done.code, done.out) == (1, ""), words
    assert link.is_symlink()
    assert pipe.is_fifo()


def test_a_session_is_never_called_as_what_lies_beside_one(path: Path, curve: Table) -> None:
    for ending in ("-wal", "-shm", "-journal"):
        with pytest.raises(FileError, match="cannot end in"):
            Session.create(path.with_name(f"other.session{ending}"), curve)
    assert os.listdir(path.parent) == [path.name]


def test_what_a_killed_process_left_is_tidied_and_never_in_the_way(session: Session, tmp_path: Path) -> None:
    session.record(scale(session.state, by=1.1).change)
    session.record(Approved(2, Approval("A. Tester", "", "2026-01-01T00:00:00Z")))
    out = tmp_path / "out.csv"
    session.record(export(session.state, out).change)
    session.record(scale(session.state, by=1.1).change)
    session.record(Approved(3, Approval("A. Tester", "", "2026-01-01T00:00:00Z")))
    old = out.read_bytes()
    other = tmp_path / "other"
    other.mkdir()
    (other / "out.csv").write_bytes(old)
    (other / "out.csv.provenance.json").write_bytes(out.with_name("out.csv.provenance.json").read_bytes())
    export(session.state, other / "out.csv")
    # as a kill between the two renames leaves it: the new paper beside the old file
    out.with_name("out.csv.provenance.json").write_bytes((other / "out.csv.provenance.json").read_bytes())
    assert out.read_bytes() == old
    leftover, fresh = tmp_path / f".workbench-{'0' * 16}.new", tmp_path / f".workbench-{'1' * 16}.old"
    mine = tmp_path / ".workbench-notes.new"
    for each in (leftover, fresh, mine):
        each.write_bytes(b"x")
    for each in (leftover, mine):
        os.utime(each, (1, 1))
    session.record(export(session.state, out).change)
    paper = read_paper(out)
    assert paper is not None
    assert paper["revision"] == 3
    assert [each.exists() for each in (leftover, fresh, mine)] == [False, True, True]
    tidy(tmp_path / "none")
    out.write_bytes(b"mine")
    with pytest.raises(FileError, match="not an unchanged export"):
        export(session.state, out)


FULL = """
import resource, signal, sys
from workbench.cli import main
signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
resource.setrlimit(resource.RLIMIT_FSIZE, (0, 0))
sys.exit(main(sys.argv[1:]))
"""


def test_on_a_full_disk_a_session_is_still_read(path: Path) -> None:
    before = path.read_bytes()
    program = [sys.executable, "-c", FULL]
    done = subprocess.run([*program, "history", str(path)], capture_output=True, check=False, cwd=ROOT)
    assert done.returncode == 0, done.stderr
    assert b"airflow" in done.stdout
    done = subprocess.run([*program, "scale", str(path), "--by", "1.1"], capture_output=True, check=False, cwd=ROOT)
    assert done.returncode == 1
    assert b"disk is full" in done.stderr
    assert path.read_bytes() == before
