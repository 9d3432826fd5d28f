"""A fuel supply that cannot keep up is suspected from the shape of the pulls, where no fuel pressure is logged."""

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from workbench.demo.drive import DriveRecord
from workbench.maths.cautions.fuel_supply import KNEE, _with_knee, fuel_supply
from workbench.maths.signals.ratio import Signals, signals
from workbench.model.gate import Gates, Limits
from workbench.model.log import Channel, Drive, Log
from workbench.model.packing import Column

MakeRecord = Callable[..., DriveRecord]


@pytest.fixture(scope="session")
def driven(record_of: MakeRecord) -> tuple[Log, Signals]:
    """A drive with pulls on a table that is right."""
    record = record_of(seed=1, minutes=4.0, pulls=2, start_coolant_c=85.0, error_scale=0.0)
    return record.log, signals(Drive(1, record.log, 1), record.table, Gates())


def starved(seen: Signals, missing: float) -> Signals:
    """Take fuel away from a knee on, up to a share of it at the largest flow."""
    fuel = seen.airflow / seen.commanded
    part = fuel / np.nanmax(fuel[seen.full])
    lacks = missing * np.clip((part - KNEE) / (1 - KNEE), 0, 1)
    return replace(seen, measured=np.where(seen.full, seen.measured / (1 - lacks), seen.measured))


def test_a_supply_that_gives_way_from_a_knee_on_is_suspected(driven: tuple[Log, Signals]) -> None:
    log, seen = driven
    assert fuel_supply(log, seen, Limits()) == []
    (told,) = fuel_supply(log, starved(seen, 0.12), Limits())
    assert told.kind == "doubt"
    assert not told.passes  # a table that makes up for the pump would hide it
    assert "Pump, filter or regulator" in told.sentence
    assert "the airflow table must not make up for it" in told.sentence
    assert fuel_supply(log, starved(seen, 0.12), Limits(fuel_supply=0.3)) == []


def test_a_table_that_is_wrong_evenly_or_a_little_more_above_is_not_taken_for_one(driven: tuple[Log, Signals]) -> None:
    log, seen = driven
    part = seen.airflow / np.nanmax(seen.airflow)
    for wrong in (0.12 + 0 * part, 0.05 * part, 0.1 * (1 - part)):
        off = replace(seen, measured=np.where(seen.full, seen.measured * (1 + wrong), seen.measured))
        assert fuel_supply(log, off, Limits()) == []


def test_where_hardly_a_reading_lies_below_the_knee_no_bend_is_made_up() -> None:
    part = np.linspace(KNEE - 0.01, 1.0, 60)
    lean = 0.05 * (part - KNEE) - 0.01 * (part < KNEE)
    slope, bend = _with_knee(part, lean)
    assert slope + bend / (1 - KNEE) == pytest.approx(0.05, abs=0.02)
    assert abs(bend) < 0.08


def test_where_fuel_pressure_is_logged_it_tells_itself(driven: tuple[Log, Signals]) -> None:
    log, seen = driven
    pressure = Channel("Fuel Pressure", "kPa", Column(np.full(log.rows, 380.0)), "kPa")
    with_it = replace(log, channels=(*log.channels, pressure))
    assert fuel_supply(with_it, starved(seen, 0.12), Limits()) == []


def test_without_pulls_or_a_wideband_nothing_is_said(driven: tuple[Log, Signals]) -> None:
    log, seen = driven
    nothing = np.zeros(seen.time.size, dtype=np.bool_)
    assert fuel_supply(log, replace(starved(seen, 0.12), full=nothing), Limits()) == []
    assert fuel_supply(log, replace(seen, measured=np.full(seen.time.size, np.nan)), Limits()) == []
