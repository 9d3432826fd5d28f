"""The samples of a cell: what a pocket calculator makes of the exported file is what the evidence says."""

import csv
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from workbench.commands.declaring.registry import Answer
from workbench.commands.evidence.evidence import gather_for
from workbench.commands.evidence.samples_of_cell import _sum_lines, _write, cell_samples_command
from workbench.errors import FileError, InputError
from workbench.maths.pooling.cell_samples import CellSums, cell_samples
from workbench.model.cells import read_cells
from workbench.model.evidence import Evidence
from workbench.session import Session
from workbench.work import run

SHIPPED = Path(__file__).parent.parent.parent / "sample_sessions" / "enlarged_intake.session"


@pytest.fixture(scope="module")
def shipped() -> Iterator[tuple[Session, Evidence]]:
    with Session.open(SHIPPED) as session:
        yield session, run(gather_for(session.state, "", "all", "both", ""))


@pytest.mark.parametrize("cell", [8, 20, 40])
def test_the_sums_can_be_done_by_hand(cell: int, shipped: tuple[Session, Evidence], tmp_path: Path) -> None:
    """Sum by sum, as one types them into a calculator, from the text of the file alone."""
    session, found = shipped
    path = tmp_path / "cell.csv"
    answer = run(cell_samples_command(session.state, cells=read_cells(str(cell)), file=path))
    assert isinstance(answer, Answer)
    amount = product = solved = plain = 0.0
    count = rejected = 0
    with path.open(newline="") as file:
        for row in csv.DictReader(file):
            assert (row["ratio"] == "") == (row["gate"] != "")
            if row["gate"]:
                rejected += 1
                continue
            amount += float(row["weight"]) * float(row["share"])
            product += float(row["weight"]) * float(row["share"]) * float(row["ratio"])
            solved += float(row["weight"]) * float(row["share_in_solve"])
            if row["nearest"] == "True" and row["plain"] == "True":
                plain += float(row["ratio"])
                count += 1
    assert rejected
    assert count == found.count[cell]
    assert plain / count == pytest.approx(found.mean[cell], rel=1e-12)
    assert solved == pytest.approx(found.samples[cell], rel=1e-9)
    assert product / amount == pytest.approx(answer.data["weighted_mean"], rel=1e-12)
    # What the surface adds: neighbours, smoothness, film and purge. It is said, and within the interval's reach here.
    assert answer.data["ratio"] == found.ratio[cell]
    assert abs(product / amount - found.ratio[cell]) < 3 * found.half_width[cell]
    assert "solved for all cells together" in " ".join(answer.lines)
    listed = answer.data["samples"]
    assert isinstance(listed, list)
    assert len(listed) == len(path.read_text().splitlines()) - 1


def test_every_sample_is_in_the_cells_it_touches_and_no_other(shipped: tuple[Session, Evidence]) -> None:
    """Over all cells the shares of the kept samples add up to the number of samples."""
    session, found = shipped
    total = 0.0
    for cell in range(found.table.values.size):
        for each in cell_samples(session.state.history, found, session.state.drives, (cell,)):
            assert np.all((each.share > 0) & (each.share <= 1))
            assert np.all(np.diff(each.time) >= 0)
            total += float(each.share[each.kept].sum())
    assert total == pytest.approx(found.samples_used, rel=1e-9)


def test_one_cell_is_asked_for_and_nothing_is_replaced(shipped: tuple[Session, Evidence], tmp_path: Path) -> None:
    session, _ = shipped
    with pytest.raises(InputError, match="samples are listed for one"):
        run(cell_samples_command(session.state, cells=read_cells("3:4")))
    path = tmp_path / "mine.csv"
    path.write_text("mine")
    with pytest.raises(FileError, match="already exists"):
        run(cell_samples_command(session.state, cells=read_cells("3"), file=path))
    assert path.read_text() == "mine"


def test_an_undriven_cell_says_so(shipped: tuple[Session, Evidence]) -> None:
    session, _ = shipped
    answer = run(cell_samples_command(session.state, cells=read_cells("0")))
    assert isinstance(answer, Answer)
    assert any("no sample touches it" in line for line in answer.lines)
    assert any("undriven" in line for line in answer.lines)
    assert answer.data["plain_mean"] is None


def test_a_cell_that_only_follows_its_neighbours_says_so() -> None:
    """No reading touches it, so there is no mean that the surface could move it from."""
    with Session.open(SHIPPED) as session:
        found = run(gather_for(session.state, "", "all", "both", ""))
        at = (int(np.flatnonzero(found.driven)[0]),)
        nothing = CellSums(0.0, 0.0, float("nan"), float("nan"), 0)
        lines = [str(line) for line in _sum_lines(found, at, nothing, ())]
    assert any("follows from the cells around" in line for line in lines)
    assert not any("nan" in line for line in lines)


def test_no_name_is_worked_out_by_a_spreadsheet(shipped: tuple[Session, Evidence], tmp_path: Path) -> None:
    """A log's name is what its file is called, by whoever sent it."""
    session, found = shipped
    drives = tuple(replace(each, log=replace(each.log, name="=1+1.csv")) for each in session.state.drives)
    listed = cell_samples(session.state.history, found, drives, (20,))
    _write(session.state, tmp_path / "cell.csv", found, listed, replace=False)
    with (tmp_path / "cell.csv").open(newline="") as file:
        assert {row["log"] for row in csv.DictReader(file)} == {"'=1+1.csv"}
