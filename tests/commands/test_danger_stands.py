"""A danger that a table led to stands until full throttle is expected richer, whatever is changed elsewhere."""

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from workbench.commands.evidence.evidence import correct, evidence
from workbench.commands.evidence.next_step import CAUTIONS, against, next_step
from workbench.commands.logs.logs import add_log
from workbench.commands.table.hand import scale
from workbench.commands.table.tables import new
from workbench.demo.drive import drive
from workbench.demo.engine import stale_table
from workbench.demo.recorder import csv_text
from workbench.demo.scenario import Scenario
from workbench.files.tables.tables import write_table_text
from workbench.model.cells import read_cells
from workbench.model.evidence import Caution, Evidence
from workbench.session import Session
from workbench.work import run

CAR = Scenario(seed=7, minutes=4, pulls=1, start_coolant_c=84.0, rate_hz=10.0)
LEAN = Caution("danger", "Full throttle ran 6 % lean.", 0.0, passes=True, name="lean-at-full-throttle")


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    place = tmp_path_factory.mktemp("car")
    (place / "curve.csv").write_text(write_table_text(stale_table(CAR)))
    (place / "first.csv").write_text(csv_text(drive(CAR, number=1).log))
    return place


@pytest.fixture
def driven(folder: Path, tmp_path: Path) -> Iterator[Session]:
    new(tmp_path / "car.session", folder / "curve.csv", name="airflow")
    with Session.open(tmp_path / "car.session") as session:
        record(session, run(add_log(session.state, (folder / "first.csv",))))
        yield session


def record(session: Session, answer: object) -> None:
    change = getattr(answer, "change", None)
    assert change is not None
    session.record(change)


def expected(session: Session, full: float) -> Evidence:
    """Return the evidence of the head, with full throttle as much off as is said, and the danger of the drive."""
    found = run(evidence(session.state)).value
    assert isinstance(found, Evidence)
    pulled = found.full_throttle & (found.standing > 0)
    assert pulled.any()
    ratio = np.where(pulled, 1 + full, found.ratio)
    half = np.where(pulled, 0.01, found.half_width)
    target = replace(found.full_target, worst=full, limit=0.01)
    return replace(found, ratio=ratio, half_width=half, full_target=target, cautions=((1, LEAN),))


def told_of(session: Session, full: float) -> tuple[str, str, bool]:
    """Return the command and the line of the next step, and whether the caution is an objection."""
    found, head = expected(session, full), session.state.head()
    told = next_step(session.state, head, found)
    assert told is not None
    return told.word, told.line, CAUTIONS in [each.name for each in against(session.state, head, found)]


def test_a_change_at_idle_takes_no_danger_away(driven: Session) -> None:
    at_idle = read_cells("3")
    record(driven, scale(driven.state, by=1.001, cells=at_idle))
    word, line, objected = told_of(driven, 0.06)
    assert (word, objected) == ("correct", True)
    assert "Danger: Full throttle ran 6 % lean." in line


def test_a_half_step_that_leaves_full_throttle_lean_sends_nobody_to_pulls(driven: Session) -> None:
    record(driven, run(correct(driven.state, share=0.5)))
    word, line, objected = told_of(driven, 0.06)
    assert (word, objected) == ("correct", True)
    assert "Danger: Full throttle ran 6 % lean." in line
    assert "pulls one at a time" not in line


def test_what_is_expected_inside_the_limit_is_driven_as_a_draft(driven: Session) -> None:
    record(driven, run(correct(driven.state)))
    word, line, objected = told_of(driven, 0.02)
    assert (word, objected) == ("export", False)
    assert "Danger" not in line


def test_a_cell_that_is_hardly_known_keeps_no_danger_alive(driven: Session) -> None:
    record(driven, run(correct(driven.state)))
    found, head = expected(driven, 0.06), driven.state.head()
    blurred = replace(found, half_width=np.where(found.full_throttle, 0.08, found.half_width))
    assert CAUTIONS not in [each.name for each in against(driven.state, head, blurred)]


def test_what_is_inferred_is_told_once(driven: Session) -> None:
    """The line of the correction counted the cells that the next one named."""
    lines = run(correct(driven.state)).lines
    assert len([line for line in lines if "inferred" in line]) == 1
