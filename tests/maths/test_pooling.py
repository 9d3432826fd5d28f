"""Drives that differ by a whole offset are pooled between what each of them says, never outside."""

from dataclasses import replace

import numpy as np
import pytest

from workbench.demo.drive import drive
from workbench.demo.engine import stale_table
from workbench.demo.scenario import Scenario
from workbench.errors import InputError
from workbench.maths.evidence import gather_evidence
from workbench.model.evidence import Evidence
from workbench.model.history import History, brought_in
from workbench.model.log import Drive, Log
from workbench.model.packing import Column
from workbench.model.state import Settings
from workbench.work import run

CAR = Scenario(seed=7, minutes=5.0, pulls=0)
FIRST = brought_in(1, stale_table(CAR), "new", {}, "", "", "")
HISTORY = History((FIRST,), {FIRST.table.name: 1}, {}, {})


def evidence_of(*logs: Log) -> Evidence:
    return run(gather_evidence(HISTORY, FIRST, tuple(Drive(i + 1, log, 1) for i, log in enumerate(logs)), Settings()))


def moved(log: Log, role: str, by: float = 0.0, times: float = 1.0) -> Log:
    name = dict(log.roles)[role]  # type: ignore[index]
    return replace(
        log,
        channels=tuple(
            replace(each, column=Column(each.values * times + by)) if each.name == name else each
            for each in log.channels
        ),
    )


@pytest.mark.parametrize("shift", [1.0, 4.0])
def test_the_pool_lies_between_the_drives(shift: float) -> None:
    """Another fuel or other weather shifts all of a drive's trims."""
    log = drive(CAR).log
    other = moved(log, "ltft_1", by=shift)
    one, two, both = evidence_of(log), evidence_of(other), evidence_of(log, other)
    known = both.driven & one.driven & two.driven
    assert known.sum() > 25
    low, high = np.minimum(one.ratio, two.ratio)[known], np.maximum(one.ratio, two.ratio)[known]
    slack = 0.3 * both.half_width[known]
    assert (both.ratio[known] > low - slack).all()
    assert (both.ratio[known] < high + slack).all()
    # The difference is not forgotten: one of a per cent drowns in what else is unknown, but it stands in the budget.
    size, usual = (next(i.size for i in each.budget if i.name == "between drives")[known] for each in (both, one))
    assert np.median(size / usual) > 1.1
    assert shift < 2 or (both.half_width[known] > 1.2 * one.half_width[known]).mean() > 0.8


def test_a_drive_that_fits_no_revision_is_left_out_until_it_is_named() -> None:
    log = drive(CAR).log
    strange = moved(log, "airflow", times=1.1)
    found = evidence_of(log, strange)
    assert found.drives == (1,)
    assert any("It is left out" in note for note in found.notes)
    drives = (Drive(1, log, 1), Drive(2, strange, 1))
    told = run(gather_evidence(HISTORY, FIRST, drives, Settings(), trusted=frozenset({2})))
    assert told.drives == (1, 2)


def test_a_drive_that_cannot_speak_about_the_table_is_left_out_and_said() -> None:
    log = drive(CAR).log
    sensor = log.roles["sensor_signal"]
    blind = replace(
        log,
        name="blind.csv",
        roles={role: name for role, name in log.roles.items() if name != sensor},
        channels=tuple(each for each in log.channels if each.name != sensor),
    )
    found = evidence_of(log, blind)
    assert found.drives == (1,)
    assert any("blind.csv is left out" in note and "has no channel for the axis" in note for note in found.notes)
    with pytest.raises(InputError, match="has no channel for the axis"):
        evidence_of(blind)
    coolant = log.roles["coolant_temperature"]
    channels = (
        replace(each, column=Column(np.zeros(log.rows))) if each.name == coolant else each for each in log.channels
    )
    cold = replace(log, name="cold.csv", channels=tuple(channels))
    with pytest.raises(InputError, match=r"No sample of cold\.csv") as refused:
        evidence_of(cold, blind)
    assert "blind.csv is left out" in str(refused.value.hint)
