"""Two tables that share the work: told apart by the airflow that the ECU used, which the evidence is taken from.

The car blends its curve with a grid below 2250 rpm, and in transients (tests/family/two_tables.py). What it logs is
read as a user's files are, and its truth is the curve it was made with.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from family.car import Run, run, write
from family.conditions import forced
from family.judge import Desk
from family.lottery import draw
from family.two_tables import CURVE_ABOVE, blended, grid_of

from workbench.maths.signals import sharing
from workbench.maths.verdict import revision_match
from workbench.model.packing import Column
from workbench.session import Session

SEED = 1  # of those for work


@dataclass(frozen=True)
class Driven:
    """A car's run, and a desk with its session."""

    run: Run
    desk: Desk
    folder: Path

    def off(self) -> np.ndarray:
        """Errors of all proven cells of the curve, as ratios."""
        found = self.desk.ask("evidence", "--table", "table")
        truth = (self.run.true.values / self.run.driven.values).ravel()
        proven = np.array([cell["standing"] == "proven" for cell in found["cells"]])
        ratios = np.array([cell["ratio"] or np.nan for cell in found["cells"]])
        return np.abs(ratios[proven] / truth[proven] - 1)


@cache
def _run(both: bool) -> Run:
    car = forced(draw(SEED, "curve"), "pipe")
    if not both:
        return run(car)
    with blended():
        return run(car)


@pytest.fixture
def driven(tmp_path: Path) -> Callable[..., Driven]:
    def made(*, both: bool, grid: bool = False) -> Driven:
        car, result = draw(SEED, "curve"), _run(both)
        desk = Desk(tmp_path)
        table, logs = write(tmp_path, result, "curve", car.meter.unit)
        desk.ask("new", str(table))
        if grid:
            stale = replace(result, driven=grid_of(forced(car, "pipe")))
            desk.ask("add-table", str(write(tmp_path, stale, "grid", "", "efficiency_")[0]))
        assert not desk.add(logs)
        return Driven(result, desk, tmp_path)

    return made


def notes(answer: dict[str, Any]) -> str:
    return " ".join(answer["notes"])


def test_it_is_said_from_which_engine_speed_on_the_curve_alone_counts(driven: Callable[..., Driven]) -> None:
    car = driven(both=True)
    with Session.open(car.desk.session) as session:
        drive = session.state.drives[0]
        found = sharing.sharing(drive.log, session.state.table())
    assert found is not None
    assert CURVE_ABOVE - 300 <= found.from_speed <= CURVE_ABOVE + 300
    told = car.desk.ask("evidence")
    assert "from there on the curve alone counts" in notes(told)
    gates = {gate["name"]: gate["rejected"] for gate in told["gates"]}
    assert gates[sharing.SHARED] > 100


def test_nothing_is_said_or_gated_where_the_curve_is_looked_up_alone(driven: Callable[..., Driven]) -> None:
    told = driven(both=False).desk.ask("evidence")
    assert "ECU used" not in notes(told)
    assert sharing.SHARED not in [gate["name"] for gate in told["gates"]]


def test_an_airflow_logged_in_coarse_steps_is_no_other_tables(
    driven: Callable[..., Driven], monkeypatch: pytest.MonkeyPatch
) -> None:
    """At idle one step of 0.5 g/s is a sixth of the airflow, and rounds the same way as long as the engine idles."""
    with Session.open(driven(both=False).desk.session) as session:
        log, table = session.state.drives[0].log, session.state.table()
    name = log.roles["airflow"]
    coarse = tuple(
        replace(each, column=Column(np.floor(each.values / 0.5) * 0.5)) if each.name == name else each
        for each in log.channels
    )
    log = replace(log, channels=coarse)
    assert sharing.sharing(log, table) is None
    monkeypatch.setattr(sharing, "quantisation_step", lambda _: 0.0)
    assert sharing.sharing(log, table) is not None


def test_channels_read_apart_at_some_engine_speed_are_no_other_table(
    driven: Callable[..., Driven], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Another table has its say below an edge; just before a change of gear, say, one channel is only older."""
    with Session.open(driven(both=False).desk.session) as session:
        log, table = session.state.drives[0].log, session.state.table()
    name, speed = log.roles["airflow"], log.playing("engine_speed")
    assert speed is not None
    of_250_rpm = (speed // 250).astype(int)
    band = 7 + int(np.argmax(np.bincount(of_250_rpm)[7:]))  # the most driven one from 1750 rpm on
    apart = np.where(of_250_rpm == band, 1.06, 1.0)
    channels = tuple(
        replace(each, column=Column(each.values * apart)) if each.name == name else each for each in log.channels
    )
    log = replace(log, channels=channels)
    assert sharing.sharing(log, table) is None
    monkeypatch.setattr(sharing, "_has_an_edge", lambda *_: True)
    assert sharing.sharing(log, table) is not None
    monkeypatch.setattr(sharing, "FEWEST_VISITS", 10_000)
    assert sharing.sharing(log, table) is None


def test_the_evidence_is_taken_from_the_airflow_that_the_ecu_used(
    driven: Callable[..., Driven], monkeypatch: pytest.MonkeyPatch
) -> None:
    car = driven(both=True)
    assert np.max(car.off()) < 0.02
    for module in (sharing, revision_match):
        monkeypatch.setattr(module, "sharing", lambda *_: None)
    assert np.max(car.off()) > 0.04


def test_with_both_tables_each_sample_speaks_of_its_own(driven: Callable[..., Driven]) -> None:
    car = driven(both=True, grid=True)
    told = car.desk.ask("evidence", "--table", "efficiency_table")
    assert "only the first speak of efficiency_table" in notes(told)
    gates = {gate["name"]: gate["rejected"] for gate in told["gates"]}
    with Session.open(car.desk.session) as session:
        rows = session.state.drives[0].log.rows
    assert 0.2 * rows < gates[sharing.SHARED] < rows
    slowest = [cell["axis"][0] for cell in told["cells"] if cell["standing"] == "proven"]
    assert slowest
    assert max(slowest) <= CURVE_ABOVE
