"""Another name for a channel of a log: kept, undone, remembered for logs of the same shape, and refused where taken."""

from pathlib import Path

import numpy as np
import pytest

from workbench.commands.evidence.evidence import evidence
from workbench.commands.logs.logs import add_log, amend_log
from workbench.commands.record.undoing import undo
from workbench.commands.table.tables import new
from workbench.errors import InputError
from workbench.files.store.verifying import stored_problems
from workbench.session import Session
from workbench.work import run


@pytest.fixture
def session_file(car: Path, tmp_path: Path) -> Path:
    path = tmp_path / "car.session"
    new(path, car / "airflow_stale.csv", name="airflow")
    with Session.open(path) as session:
        session.record(run(add_log(session.state, (car / "part_throttle_drive.csv",))).change)
    return path


def ratio_of(session: Session) -> np.ndarray:  # type: ignore[type-arg]
    return np.asarray(run(evidence(session.state)).value.ratio)


def test_a_channel_is_renamed_with_its_role_and_its_values(session_file: Path) -> None:
    with Session.open(session_file) as session:
        before = ratio_of(session)
        session.record(amend_log(session.state, 1, rename=("Airflow sensor=LMM", "Throttle=Klappe")).change)
    assert stored_problems(session_file) == ()
    with Session.open(session_file) as session:
        (drive,) = session.state.drives
        assert drive.log.roles["sensor_signal"] == "LMM"
        assert drive.log.roles["throttle"] == "Klappe"
        assert drive.log.channel("Airflow sensor") is None
        assert "The channel 'Airflow sensor' is called 'LMM', as stated." in drive.log.notes
        np.testing.assert_array_equal(ratio_of(session), before)
        session.record(undo(session.state).change)
        assert session.state.drives[0].log.roles["sensor_signal"] == "Airflow sensor"


def test_the_next_log_of_the_same_shape_is_named_so_at_once(car: Path, session_file: Path) -> None:
    with Session.open(session_file) as session:
        session.record(amend_log(session.state, 1, rename=("Airflow sensor=LMM",), role=("barometer=",)).change)
        session.record(amend_log(session.state, 1, rename=("LMM=Meter",)).change)
        answer = run(add_log(session.state, (car / "pulls_drive.csv",)))
        (drive,) = answer.value
        assert drive.log.roles["sensor_signal"] == "Meter"
        assert "The channel 'Airflow sensor' is called 'Meter', as stated." in drive.log.notes


def test_a_question_about_a_renamed_channel_is_answered_by_its_new_name(
    car: Path, tmp_path: Path, session_file: Path
) -> None:
    lines = [line.split(",") for line in (car / "part_throttle_drive.csv").read_text().splitlines()[:4000]]
    at = next(number for number, cell in enumerate(lines[0]) if cell.startswith("Manifold pressure"))
    lines[0][at] = "Boost (psig)"
    for line in lines[1:]:
        line[at] = f"{(float(line[at]) - 99.0) / 6.894757:.4f}"
    lines = [[cell for head, cell in zip(lines[0], line, strict=True) if not head.startswith("Baro")] for line in lines]
    path = tmp_path / "x.csv"
    path.write_text("\n".join(",".join(line) for line in lines) + "\n")
    grid = tmp_path / "grid.session"
    new(grid, car / "efficiency_stale.csv", name="efficiency")
    with Session.open(grid) as session:
        session.record(run(add_log(session.state, (path,))).change)
        (question,) = session.state.drives[0].log.questions
        assert question.channel == "Boost"
        session.record(amend_log(session.state, 1, rename=("Boost=p2",)).change)
        session.record(amend_log(session.state, 1, unit=("p2=250 m",)).change)
        log = session.state.drives[0].log
        assert not log.questions
        pressure = log.playing("manifold_pressure")
        assert pressure is not None
        first = float(lines[1][next(n for n, cell in enumerate(lines[0]) if cell.startswith("Boost"))])
        assert pressure[0] == pytest.approx(first * 6.894757 + 98.36, abs=0.02)


@pytest.mark.parametrize(
    ("rename", "why"),
    [
        (("Airflow sensor",), "cannot be read"),
        (("Airflow sensor=",), "cannot be read"),
        (("Nothing=LMM",), "has no channel 'Nothing'"),
        (("Airflow sensor=Airflow",), "has a channel 'Airflow' already"),
        (("Airflow sensor=A", "Throttle=A"), "has a channel 'A' already"),
    ],
)
def test_a_name_that_is_taken_or_unreadable_is_refused(session_file: Path, rename: tuple[str, ...], why: str) -> None:
    with Session.open(session_file) as session, pytest.raises(InputError, match=why):
        amend_log(session.state, 1, rename=rename)
