"""The samples: made again bit for bit, and the whole job done once on them with a virtual car to drive."""

import os
import sys
from collections.abc import Generator, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from typing import Any, TypeVar

from workbench.commands.declaring.kinds import Folder
from workbench.commands.declaring.registry import Answer, Job, command
from workbench.commands.evidence.evidence import correct, evidence
from workbench.commands.logs.logs import add_log
from workbench.commands.record.approving import approved, standing_against
from workbench.commands.record.exports import check, export
from workbench.commands.record.undoing import undo
from workbench.commands.table.shaping import smooth
from workbench.commands.table.tables import MadeSession, new
from workbench.demo.drive import DriveRecord, drive
from workbench.demo.judging import judge
from workbench.demo.recorder import csv_text
from workbench.demo.samples import CURVE_CAR, sample_files
from workbench.errors import FileError
from workbench.files.disk.atomic_write import write_whole
from workbench.model.cells import read_cells
from workbench.model.counting import signed
from workbench.model.evidence import Evidence, Target
from workbench.model.history import Json
from workbench.session import Session
from workbench.work import Progress

SESSION_NAME = "enlarged_intake.session"
STATED = {"SOURCE_DATE_EPOCH": "1764000000", "LOGNAME": "calibrator"}  # stand in for the clock and the login name

T = TypeVar("T")


@command("Take the tour", menu="Session", icon="tour")
def tour(folder: Folder) -> Job[MadeSession]:
    """Run the whole job on sample data: from a wrong table and two drives to an approved, exported table.

    A virtual car is driven once more with the corrected table, so that the end shows how far inside its target it is.

    Args:
        folder: folder for the sample files, the session and the exported table; made if missing.

    Example:
        tour out
    """
    session_file = _empty_place(folder, "tour.session")
    again, corrected_file = folder / "drive_on_the_corrected_table.csv", folder / "airflow_corrected.csv"
    names = ("airflow_stale.csv", "part_throttle_drive.csv", "pulls_drive.csv")
    paths = [folder / name for name in names]
    _check_free([*paths, again, corrected_file])
    texts = sample_files()
    for path in paths:
        write_whole(path, texts[path.name].encode())
    lines = ["1. A session from the table that is in the car:", *new(session_file, paths[0], name="airflow").lines]
    with Session.open(session_file) as session:
        yield Progress(1, 6, "reading the drives")
        added = yield from _job(session, add_log(session.state, tuple(paths[1:])))
        lines += ["2. Two drives with it:", *(line for line in added.lines if line.startswith("Log "))]
        yield Progress(2, 6, "gathering evidence")
        before = yield from _job(session, evidence(session.state))
        lines += ["3. The evidence:", *before.lines[:4], *_targets(before.lines)]
        corrected = yield from _job(session, correct(session.state, note="first round, whole step"))
        lines += ["4. One correction:", *corrected.lines[:-1]]  # what comes next is done here
        yield Progress(4, 6, "driving the virtual car again")
        record = drive(replace(CURVE_CAR, minutes=8.0, pulls=3), session.state.table(), number=3)
        write_whole(again, csv_text(record.log).encode())
        yield from _job(session, add_log(session.state, (again,)))
        after = yield from _job(session, evidence(session.state, from_="latest"))
        lines += ["5. A drive with the corrected table in the car:", *_targets(after.lines)]
        yield Progress(5, 6, "approving and exporting")
        lines += ["6. Approval, export and check:", *(yield from _handed_over(session, corrected_file))]
        lines += _verdict(session, after.value, record, session_file)
        files: dict[str, Json] = {"session": str(session_file), "table": str(corrected_file)}
        return Answer(MadeSession(session_file), lambda: files, tuple(lines))


@command("Make the samples again", menu="Session", icon="samples", button="Make them")
def samples(folder: Folder) -> Job[MadeSession]:
    """Write the sample files and a session with several revisions.

    Args:
        folder: folder for them; made if missing, and nothing in it is replaced.

    Example:
        samples fresh_samples
    """
    texts = sample_files()
    session_file = _empty_place(folder, SESSION_NAME)
    _check_free([folder / name for name in texts])
    for name, text in texts.items():
        write_whole(folder / name, text.encode())
    yield Progress(1, 3, "driving the virtual car")
    with _stated():
        new(session_file, folder / "airflow_stale.csv", name="airflow", note="as read from the ECU, old intake")
        with Session.open(session_file) as session:
            yield from _rounds(session, folder)
    made = [*texts, SESSION_NAME]
    return Answer(
        MadeSession(session_file),
        lambda: {"folder": str(folder), "files": list[Json](made)},
        tuple(str(folder / name) for name in made),
    )


def _rounds(session: Session, folder: Path) -> Generator[Progress, None, None]:
    """Drive and correct twice, try a smoothing and take it back, and approve."""
    yield from _job(session, add_log(session.state, (folder / "part_throttle_drive.csv", folder / "pulls_drive.csv")))
    yield from _job(session, correct(session.state, share=0.5, note="half a step, to see that it goes the right way"))
    for number in (2, 3):
        car = replace(CURVE_CAR, minutes=4.0, pulls=2, rate_hz=10.0)
        name = f"round_{number}.csv"
        write_whole(folder / name, csv_text(drive(car, session.state.table(), number=number + 1).log).encode())
        yield from _job(session, add_log(session.state, (folder / name,)))
        (folder / name).unlink()  # the session keeps its logs
        if number == 2:
            yield from _job(session, correct(session.state, note="the rest, from all drives"))
    _record(session, smooth(session.state, cells=read_cells("20:30"), note="a look without the bump"))
    _record(session, undo(session.state))
    _record(session, (yield from _approved(session, "The bump is real: two drives show it.")))


def _handed_over(session: Session, file: Path) -> Generator[Progress, None, tuple[str, ...]]:
    approval = yield from _approved(session, "tour on a virtual car")
    _record(session, approval)
    written = export(session.state, file)
    _record(session, written)
    return (*approval.lines, *written.lines, *check(session.state, against=file).lines)


def _approved(session: Session, note: str) -> Job[Any]:
    state = session.state
    weighed = yield from standing_against(state, state.head())
    return approved(state, state.head(), weighed.objections, "A. Calibrator", note, weighed.rests_on)


def _verdict(session: Session, seen: object, record: DriveRecord, session_file: Path) -> tuple[str, ...]:
    """Return how far inside the target the sample came, as its own evidence and as the truth behind it say."""
    assert isinstance(seen, Evidence)  # noqa: S101 - what `evidence` answers with
    truth = judge(CURVE_CAR, session.state.table(), (record,))
    result = (
        f"Result: part throttle {_inside(seen.part_target)}; full throttle {_inside(seen.full_target)}. The virtual "
        f"car's own truth: worst {truth.part.largest:.2f} % and {truth.full.largest:.2f} %."
    )
    return "", result, f"Look at it in the window: {started_as()} {session_file}"


def started_as() -> str:
    """Return the words that start the program just as it was started now; not every system has a `python`."""
    python = Path(sys.executable)
    inside = python.is_relative_to(Path.cwd())
    started = str(python.relative_to(Path.cwd()) if inside else python)
    return started if getattr(sys, "frozen", False) else f"{started} -m workbench"


def _targets(lines: tuple[str, ...]) -> tuple[str, ...]:
    return tuple(line for line in lines if line.startswith(("Part throttle", "Full throttle")))


def _inside(target: Target) -> str:
    return f"{target.shares}, worst {signed(100 * target.worst)} %"


def _empty_place(folder: Path, name: str) -> Path:
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise FileError(f"The folder {folder} cannot be made: {error.strerror}.", "Name another folder.") from None
    if (folder / name).exists():
        raise FileError(f"{folder / name} already exists.", "Name another folder, or remove it first.")
    return folder / name


def _check_free(paths: Sequence[Path]) -> None:
    for path in paths:
        if path.exists():
            raise FileError(f"{path} already exists.", "Name an empty or a new folder.")


def _job(session: Session, outcome: Answer[T] | Job[T]) -> Job[T]:
    """Drive a command to its end inside another one, and record what it changes."""
    answer = outcome if isinstance(outcome, Answer) else (yield from outcome)
    _record(session, answer)
    return answer


def _record(session: Session, answer: Answer[Any]) -> None:
    if answer.change is not None:
        session.record(answer.change)


@contextmanager
def _stated() -> Iterator[None]:
    """Let clock and login name be the stated ones, so that the session comes out bit for bit the same."""
    before = {name: os.environ.get(name) for name in STATED}
    os.environ.update(STATED)
    try:
        yield
    finally:
        for name, value in before.items():
            if value is None:
                del os.environ[name]
            else:
                os.environ[name] = value
