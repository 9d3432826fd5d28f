"""A cell that is typed away from its measurement stays measured, and its figures tell by how much it is off."""

from pathlib import Path

import numpy as np
import pytest

from workbench.commands.evidence.evidence import correct
from workbench.commands.logs.logs import add_log
from workbench.commands.table.hand import scale
from workbench.commands.table.tables import new
from workbench.demo.drive import drive
from workbench.demo.engine import stale_table
from workbench.demo.recorder import csv_text
from workbench.demo.scenario import Scenario
from workbench.files.tables.tables import write_table_text
from workbench.maths.evidence import gather_evidence
from workbench.maths.pooling.cell_samples import cell_samples, sums_of
from workbench.model.cells import read_cells
from workbench.model.evidence import Evidence
from workbench.model.log import Drive
from workbench.session import Session
from workbench.work import run

CARS = {
    "curve": Scenario(seed=7, minutes=4, pulls=1, start_coolant_c=84.0, rate_hz=10.0),
    "grid": Scenario(seed=11, kind="grid", minutes=4, pulls=1, start_coolant_c=84.0, rate_hz=5.0),
}


def gathered(session: Session, drives: tuple[Drive, ...]) -> Evidence:
    return run(gather_evidence(session.state.history, session.state.head(), drives, session.state.settings))


@pytest.mark.parametrize("kind", CARS)
def test_what_was_measured_does_not_depend_on_what_is_typed(kind: str, tmp_path: Path) -> None:
    (tmp_path / "table.csv").write_text(write_table_text(stale_table(CARS[kind])))
    new(tmp_path / "car.session", tmp_path / "table.csv")
    drives = (Drive(1, drive(CARS[kind], number=1).log, 1, "auto", "2026-01-01T00:00:00Z"),)
    with Session.open(tmp_path / "car.session") as session:
        first, stands = gathered(session, drives), 1.0
        amount = np.where(first.stands("proven"), first.samples, 0.0)
        at = tuple(int(i) for i in np.unravel_index(int(np.argmax(amount)), amount.shape))
        beside = tuple(max(i - 1, 0) for i in at)
        for factor in (0.5, 0.7, 1.5, 2.0):
            cells = read_cells(",".join(str(i) for i in at))
            change = scale(session.state, by=factor / stands, cells=cells).change
            assert change is not None
            session.record(change)
            found, stands = gathered(session, drives), factor
            assert np.array_equal(found.standing, first.standing)
            assert np.array_equal(found.samples, first.samples)
            assert np.array_equal(found.visits, first.visits)
            assert found.ratio[at] == pytest.approx(first.ratio[at] / factor, rel=1e-12)
            assert found.half_width[at] == pytest.approx(first.half_width[at] / factor, rel=1e-12)
            assert found.mean[at] == pytest.approx(first.mean[at] / factor, rel=1e-12)
            assert found.median[at] == pytest.approx(first.median[at] / factor, rel=1e-12)
            # What the header says: the cell that was typed is the worst one, and it is outside.
            assert found.part_target.worst_cell == at
            assert found.part_target.worst == pytest.approx(first.ratio[at] / factor - 1, rel=1e-9)
            assert not found.part_target.measured
            assert found.part_target.inside_cells < 1
            # The samples that are listed for a calculator come to the same mean; the cells beside it stay as they were.
            listed = cell_samples(session.state.history, found, drives, at)
            assert sums_of(listed).plain_mean == pytest.approx(found.mean[at], rel=1e-12)
            assert np.array_equal(found.ratio[beside], first.ratio[beside], equal_nan=True)
            assert np.array_equal(found.mean[beside], first.mean[beside], equal_nan=True)


def test_a_correction_of_what_was_corrected_already_makes_no_revision(tmp_path: Path) -> None:
    (tmp_path / "table.csv").write_text(write_table_text(stale_table(CARS["curve"])))
    (tmp_path / "drive.csv").write_text(csv_text(drive(CARS["curve"], number=1).log))
    new(tmp_path / "car.session", tmp_path / "table.csv")
    with Session.open(tmp_path / "car.session") as session:
        added = run(add_log(session.state, (tmp_path / "drive.csv",))).change
        assert added is not None
        session.record(added)
        first = run(correct(session.state))
        assert first.change is not None
        session.record(first.change)
        again = run(correct(session.state))
        assert again.change is None
        assert again.data["changed"] == 0
        assert again.lines[0].startswith("Nothing changes: revision 2")


def test_a_cell_without_readings_of_its_own_that_is_typed_far_away_is_the_worst(tmp_path: Path) -> None:
    """Half the fuel at full load read "expected inside", since nothing was read in that cell itself."""
    (tmp_path / "table.csv").write_text(write_table_text(stale_table(CARS["grid"])))
    new(tmp_path / "car.session", tmp_path / "table.csv")
    drives = (Drive(1, drive(CARS["grid"], number=1).log, 1, "auto", "2026-01-01T00:00:00Z"),)
    with Session.open(tmp_path / "car.session") as session:
        first = gathered(session, drives)
        at = tuple(int(i) for i in np.argwhere(first.followed)[0])
        assert at not in (first.part_target.worst_cell, first.full_target.worst_cell)
        change = scale(session.state, by=0.5, cells=read_cells(",".join(str(i) for i in at))).change
        assert change is not None
        session.record(change)
        found = gathered(session, drives)
    judged = [each for each in (found.part_target, found.full_target) if each.worst_cell == at]
    assert judged
    assert all(each.worst == pytest.approx(2 * first.ratio[at] - 1, rel=1e-9) for each in judged)
