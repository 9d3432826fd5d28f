"""Small sayings: one thing is not many, and nothing is asked of an engine that it cannot do."""

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from workbench.cli import main
from workbench.commands.evidence.evidence_report import pull_line
from workbench.commands.logs.logs import drive_lines
from workbench.commands.record.settings import GATES, settings
from workbench.commands.table.hand import add, scale, set_cells
from workbench.errors import InputError
from workbench.maths.verdict.objections import objections
from workbench.maths.verdict.pulls import Pull
from workbench.model.cells import cells_in_span, read_cells
from workbench.model.counting import counted
from workbench.model.evidence import Target
from workbench.model.gate import Gates
from workbench.model.log import Drive
from workbench.model.state import Settings
from workbench.model.table import Table
from workbench.session import Session


def test_one_is_not_many(session: Session, make_drive: Callable[..., Drive]) -> None:
    assert [counted(n, "row") for n in (0, 1, 2)] == ["0 rows", "1 row", "2 rows"]
    assert counted(2, "boundary", "boundaries") == "2 boundaries"
    assert " 20 rows over" in drive_lines(make_drive())[0]


@pytest.mark.parametrize(
    ("leanest", "words"),
    [(1.102, "leanest point 10.2 % leaner"), (0.98, "leanest point 2.0 % richer"), (1.0, "leanest point as")],
)
def test_how_lean_a_pull_was_is_said_in_words(leanest: float, words: str) -> None:
    pull = Pull(1.0, 4.0, 2000.0, 6000.0, 0.012, leanest, 1)
    line = pull_line("road.csv", pull)
    assert f"{words}" in line
    assert "(1 sample); during the drive" in line


def test_no_engine_speed_is_no_number() -> None:
    nan = float("nan")
    cold = pull_line("road.csv", Pull(1.0, 4.0, nan, nan, nan, 1.102, 0, leanest_at=3.0, leanest_flow=80.0))
    assert "no sample passed the gates; during the drive, leanest point 10.2 % leaner" in cold
    line = pull_line("road.csv", Pull(1.0, 4.0, nan, nan, 0.012, 1.102, 40, leanest_at=3.0, leanest_flow=80.0))
    assert line.startswith("road.csv, 1.0 to 4.0 s: airflow +1.2 %")
    assert "10.2 % leaner than commanded at 3.0 s (80 g/s)" in line


def test_shares_are_named_alike_and_never_whole_unless_all_is_inside(curve: Table) -> None:
    target = Target(0.05, 0.9999, 0.5, 0.061, (2,), 0.004)
    assert target.shares == "99 % of driven cells and 50 % of driven time within ±5 %"
    assert target.worst_of(curve) == "worst +6.1 % (±0.4) at 3000 Hz"
    assert replace(target, worst=-0.0004).worst_of(curve) == "worst 0.0 % (±0.4) at 3000 Hz", "0 has no sign"


def test_every_gate_is_shown_with_its_unit(session: Session) -> None:
    assert set(GATES) == set(Gates.__dataclass_fields__) - {"channels"}  # gates of the user's own have no name here
    lines = settings(session.state).lines
    assert lines[0] == "part throttle within ±5 %"
    assert any("warm_c" in line and "75 °C" in line for line in lines)


@pytest.mark.parametrize("to", [0.0, -3.0])
def test_no_air_is_refused(session: Session, to: float) -> None:
    with pytest.raises(InputError, match="at 3000 Hz is not possible") as caught:
        set_cells(session.state, to=to, cells=read_cells("2"))
    assert "above 0" in caught.value.hint
    with pytest.raises(InputError, match="is not possible"):
        add(session.state, by=-15.5 + to, cells=read_cells("2"))


def test_the_foot_of_a_curve_may_hold_0(session: Session) -> None:
    assert set_cells(session.state, to=0.0, cells=read_cells("0")).change is not None
    with pytest.raises(InputError):
        set_cells(session.state, to=-0.1, cells=read_cells("0"))


def test_other_tables_may_cross_zero(tmp_path: Path, curve: Table) -> None:
    other = Table("advance", "spark advance", "deg", curve.axes, curve.values)
    with Session.create(tmp_path / "other.session", other) as made:
        assert set_cells(made.state, to=-4.0, cells=read_cells("2")).change is not None


def test_a_large_step_by_hand_is_called_one(session: Session) -> None:
    def sentence() -> str:
        found = objections(session.state.history, session.state.head(), (), Settings())
        return next(each.sentence for each in found if each.name == "step-over-limit")

    session.record(set_cells(session.state, to=40.0, cells=read_cells("2")).change)
    assert sentence().endswith("revision 2 (set) changed it by hand: make sure that it is intended.")
    session.record(scale(session.state, by=1.01, cells=read_cells("0")).change)
    assert "revision 2 (set)" in sentence()


def test_spans_are_joined_as_cells_are(curve: Table, grid: Table) -> None:
    assert str(cells_in_span(curve, "900:2100+4000:7000")) == "0:1+3:4"
    assert str(cells_in_span(grid, "800:2000,20:40+4000:4000,100:100")) == "0:1,0:1+2:2,3:3"
    with pytest.raises(InputError, match="names 2 axes"):
        cells_in_span(curve, "900:2100+1:2,3:4")
    assert np.flatnonzero(cells_in_span(curve, "900:2100+4000:7000").mask(curve)).tolist() == [0, 1, 3, 4]


@pytest.mark.parametrize(("typed", "meant"), [("aprove", "approve"), ("evidance", "evidence"), ("frobnicate", "")])
def test_only_near_commands_are_guessed(typed: str, meant: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main([typed]) == 2
    told = capsys.readouterr().err
    assert ("Did you mean" in told) == bool(meant)
    assert meant in told
