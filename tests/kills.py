"""Kill recorders and commands at random moments and at single system calls, and count what was lost.

Run by itself: `.venv/bin/python tests/kills.py KILLS [SEED [COMMAND...]]`; the suite does it a few times.
A kill is SIGKILL: the system's page cache survives it, so a loss of power is not tried.
"""

import contextlib
import hashlib
import io
import os
import random
import shutil
import signal
import subprocess
import sys
import tempfile
import time
import warnings
from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np

from workbench.cli import main as command_line
from workbench.commands.record.exports import check
from workbench.commands.table.hand import scale
from workbench.errors import WorkbenchError
from workbench.files.export.exporting import is_unchanged
from workbench.model.table import Axis, Table
from workbench.session import Session

ROOT = Path(__file__).parents[1]

# What Python asks of the system that changes something on the disk.
WATCHED = {"os.rename", "os.remove", "os.link", "os.truncate", "os.chmod", "sqlite3.connect", "os.mkdir", "os.utime"}
SYSTEM_CALLS = ("pwrite64", "fsync", "fdatasync", "ftruncate", "rename", "link", "unlink", "mkdir", "fcntl")
WRITES = os.O_WRONLY | os.O_RDWR | os.O_CREAT


def in_a_child(act: Callable[[int], int]) -> tuple[int, int]:
    """Run something in a child of this process, which has all it needs in memory; give its number and what it says.

    Args:
        act: is given the end of a pipe to write to, and gives the exit code.
    """
    read, write = os.pipe()
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", DeprecationWarning)  # of threads that a fork does not take along: they idle
        pid = os.fork()
    if pid:
        os.close(write)
        return pid, read
    code = 70
    try:
        nowhere = os.open(os.devnull, os.O_RDWR)
        os.dup2(nowhere, 1)
        os.dup2(nowhere, 2)
        code = act(write)
    finally:
        os._exit(code)


def record_on_and_on(path: Path, say: int) -> int:
    """Record without end, and say the number of each change once it is acknowledged."""
    with Session.open(path) as session:
        while True:
            session.record(scale(session.state, by=1.0001, note="x" * 500).change)
            os.write(say, f"{session.state.sequence}\n".encode())


def die_at(at: int, words: list[str]) -> int:
    """Run a command, and die at one of its calls that change something on the disk."""
    seen = 0

    def hook(event: str, args: tuple[object, ...]) -> None:
        nonlocal seen
        flags = args[-1] if event == "open" and isinstance(args[-1], int) else 0
        if event in WATCHED or flags & WRITES:
            seen += 1
            if seen == at:
                os.kill(os.getpid(), signal.SIGKILL)

    sys.addaudithook(hook)
    return command_line(words)


def new_session(folder: Path) -> Path:
    axis = Axis("sensor signal", "Hz", np.array([1000.0, 2000, 3000, 4500, 6000]))
    table = Table("airflow", "mass airflow", "g/s", (axis,), np.array([2.0, 6.0, 15.5, 48.0, 110.0]))
    Session.create(folder / "car.session", table).close()
    return folder / "car.session"


def kill_recorders(folder: Path, kills: int, seed: int) -> Iterator[tuple[int, int]]:
    """Kill a recorder again and again; give after each kill what was acknowledged, and what is there."""
    path, chance = new_session(folder), random.Random(seed)
    for number in range(kills):
        if number % 10 == 9:  # a history of thousands takes ever longer to open, which is not what is tried here
            path.unlink()
            path = new_session(folder)
        pid, said = in_a_child(lambda say, path=path: record_on_and_on(path, say))
        with os.fdopen(said) as lines:
            acknowledged = 0
            for _ in range(chance.randrange(1, 30)):
                acknowledged = int(lines.readline())
            time.sleep(chance.random() * 0.01)
            os.kill(pid, signal.SIGKILL)
            rest = lines.read().split("\n")[:-1]
        os.waitpid(pid, 0)
        acknowledged = int(rest[-1]) if rest else acknowledged
        with Session.open(path) as session:
            assert check(session.state).data["ok"]
            yield acknowledged, session.state.sequence
        assert sorted(os.listdir(folder)) == [path.name]


def kill_at_every_call(folder: Path, words: Callable[[Path], list[str]], most: int = 400) -> Iterator[int]:
    """Run a command once for each of its calls of the system that change something, and kill it there.

    Args:
        folder: an empty one.
        words: of the command, for a folder with a session `car.session` in it, of which revision 1 was exported.
        most: calls at which to stop trying.

    Yields:
        The number of the call, once what is there was looked at.
    """
    for at in range(1, most):
        place = folder / str(at)
        place.mkdir()
        path = new_session(place)
        run(["export", str(path), str(place / "out.csv"), "--draft"])
        out = place / "out.draft.csv"
        known = {hashlib.sha256(each.read_bytes()).hexdigest() for each in place.iterdir() if each.suffix == ".csv"}
        run(["scale", str(path), "--by", "1.01"])
        pid, said = in_a_child(lambda _, at=at, place=place: die_at(at, words(place)))
        os.close(said)
        died = os.waitstatus_to_exitcode(os.waitpid(pid, 0)[1]) == -signal.SIGKILL
        with Session.open(path) as session:
            assert check(session.state).data["ok"], at
            assert session.state.sequence >= 3
        _look_at_what_is_there(place, out, known)
        run_or_already(words(place))
        if not died:
            return
        yield at


def kill_at_every_system_call(folder: Path, words: Callable[[Path], list[str]]) -> Iterator[tuple[str, int]]:
    """The same at the calls of the system itself, SQLite's own among them; takes `strace`, and a while.

    Yields:
        The call and its number, once what is there was looked at.
    """
    for call in SYSTEM_CALLS:
        for at in range(1, 200):
            place = folder / f"{call} {at}"
            place.mkdir()
            path = new_session(place)
            run(["export", str(path), str(place / "out.csv"), "--draft"])
            out = place / "out.draft.csv"
            known = {hashlib.sha256(out.read_bytes()).hexdigest()}
            run(["scale", str(path), "--by", "1.01"])
            inject = ["strace", "-f", "-qq", "-o", os.devnull, "-e", f"inject={call}:signal=KILL:when={at}"]
            program = [*inject, sys.executable, "-m", "workbench", *words(place)]
            died = subprocess.run(program, capture_output=True, check=False, cwd=ROOT).returncode not in (0, 1)
            with Session.open(path) as session:
                assert check(session.state).data["ok"], (call, at)
                assert session.state.sequence >= 3
            _look_at_what_is_there(place, out, known)
            run_or_already(words(place))
            if not died:
                break
            yield call, at


def _look_at_what_is_there(place: Path, out: Path, known: set[str]) -> None:
    """Each file is whole: a new session opens, a report ends, an export is the one before or the one after."""
    for each in place.iterdir():
        if each.name.startswith("."):
            assert each.name.startswith(".workbench-"), each
        elif each.suffix == ".session":
            Session.open(each).close()
        elif each.suffix == ".html":
            assert each.read_text().endswith("</html>\n"), each
    assert is_unchanged(out) or hashlib.sha256(out.read_bytes()).hexdigest() in known


def run(words: list[str]) -> None:
    """Run a command that must not be refused."""
    with contextlib.redirect_stdout(io.StringIO()):
        assert command_line(words) == 0, words


def run_or_already(words: list[str]) -> None:
    """Run a command again after a kill: nothing is in its way, unless the kill came after it was done."""
    told = io.StringIO()
    with contextlib.redirect_stdout(told), contextlib.redirect_stderr(told):
        code = command_line(words)
    assert code == 0 or "already" in told.getvalue(), (words, told.getvalue())


COMMANDS: dict[str, Callable[[Path], list[str]]] = {
    "new": lambda place: ["new", str(place / "other.session"), str(ROOT / "sample_sessions" / "airflow_stale.csv")],
    "export": lambda place: ["export", str(place / "car.session"), str(place / "out.csv"), "--draft"],
    "report": lambda place: ["report", str(place / "car.session"), str(place / "r.html"), "--replace"],
    "save-copy": lambda place: ["save-copy", str(place / "car.session"), str(place / "copy.session")],
}


def main() -> None:
    kills, seed = int(sys.argv[1]), int(sys.argv[2]) if len(sys.argv) > 2 else 1
    with tempfile.TemporaryDirectory() as name:
        acknowledged = lost = done = 0
        for told, held in kill_recorders(Path(name), kills, seed):
            acknowledged += told
            lost += max(0, told - held)
            done += 1
        print(f"{done} kills of a recorder, {lost} acknowledged changes lost")
    for word, words in COMMANDS.items():
        with tempfile.TemporaryDirectory() as name:
            try:
                print(f"{word}: killed at {len(list(kill_at_every_call(Path(name), words)))} calls, nothing lost")
            except WorkbenchError as refusal:
                print(f"{word}: {refusal}")
    if shutil.which("strace") is None:
        print("strace is not there: single system calls were not tried")
        return
    for word in sys.argv[3:] or COMMANDS:
        with tempfile.TemporaryDirectory() as name:
            tried = list(kill_at_every_system_call(Path(name), COMMANDS[word]))
            print(f"{word}: killed at {len(tried)} system calls, nothing lost")


if __name__ == "__main__":
    main()
