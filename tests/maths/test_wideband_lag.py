"""A slow wideband is told by how it comes back from air and into pulls; a long pipe is not taken for one."""

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from workbench.demo.drive import DriveRecord
from workbench.maths.cautions.wideband_lag import lazy_wideband
from workbench.maths.signals.delay import seen_by_sensor
from workbench.maths.signals.ratio import Signals, signals
from workbench.maths.signals.series import row_step
from workbench.model.arrays import BoolArray, FloatArray
from workbench.model.gate import Gates, Limits
from workbench.model.log import Drive

MakeRecord = Callable[..., DriveRecord]
AIR = 1.6


@pytest.fixture(scope="session")
def sound(record_of: MakeRecord) -> Signals:
    """A drive with fuel cuts that reach pure air, and two pulls."""
    record = record_of(seed=1, minutes=6.0, pulls=2, start_coolant_c=85.0, error_scale=0.0)
    return signals(Drive(1, record.log, 1), record.table, Gates())


def slow(seen: Signals, lag_s: FloatArray | float) -> Signals:
    """Give the drive as a sensor of some lag shows it; one for each row lets gas mix where little of it flows."""
    gas = np.where(seen.cut, AIR, np.where(seen.full, seen.commanded, 1.0))
    if isinstance(lag_s, float):
        return replace(seen, measured=seen_by_sensor(gas, seen.time, seen.time - 0.1, lag_s, row_step(seen.time)))
    keep, shown = np.exp(-row_step(seen.time) / lag_s), gas.copy()
    for row in range(1, gas.size):
        shown[row] = keep[row] * shown[row - 1] + (1 - keep[row]) * gas[row]
    return replace(seen, measured=shown)


def only(seen: Signals, rows: BoolArray) -> Signals:
    """Keep the readings of some rows."""
    return replace(seen, measured=np.where(rows, seen.measured, np.nan))


def every(seen: Signals, seconds: float) -> BoolArray:
    """Mark a row in each stretch of time."""
    return np.asarray(np.diff(np.floor(seen.time / seconds), prepend=-1) > 0)


def test_a_slow_sensor_is_told_with_its_lag_and_a_quick_one_is_not(sound: Signals) -> None:
    assert lazy_wideband(sound, Limits()) == []
    assert lazy_wideband(slow(sound, 0.15), Limits()) == []
    (told,) = lazy_wideband(slow(sound, 1.2), Limits())
    assert told.kind == "doubt"
    assert told.value == pytest.approx(1.2, abs=0.2)
    assert told.limit == Limits().wideband_lag_s
    assert "lag of 1.2 s" in told.sentence
    assert lazy_wideband(slow(sound, 1.2), Limits(wideband_lag_s=2.0)) == []


def test_it_is_told_from_one_reading_a_second_too(sound: Signals) -> None:
    (told,) = lazy_wideband(only(slow(sound, 1.2), every(sound, 1.0)), Limits())
    assert told.value == pytest.approx(1.2, abs=0.4)
    assert lazy_wideband(only(slow(sound, 0.15), every(sound, 1.0)), Limits()) == []


def test_readings_too_far_apart_to_tell_say_nothing(sound: Signals) -> None:
    assert lazy_wideband(only(slow(sound, 1.2), every(sound, 2.0)), Limits()) == []
    assert lazy_wideband(only(sound, sound.time < 0), Limits()) == []


def test_gas_that_mixes_in_a_long_pipe_is_no_slow_sensor(sound: Signals) -> None:
    assert lazy_wideband(slow(sound, 0.1 + 4.0 / np.maximum(sound.airflow, 1.0)), Limits()) == []


def test_without_fuel_cuts_pulls_tell_it(sound: Signals) -> None:
    uncut = replace(sound, cut=np.zeros_like(sound.cut))
    (told,) = lazy_wideband(slow(uncut, 1.2), Limits())
    assert told.value == pytest.approx(1.2, abs=0.3)
    assert uncut.full[np.searchsorted(uncut.time, told.at)]
    assert lazy_wideband(slow(uncut, 0.15), Limits()) == []


def test_one_pull_alone_must_be_plain(sound: Signals) -> None:
    uncut = replace(sound, cut=np.zeros_like(sound.cut))
    first = uncut.full & (np.cumsum(np.diff(uncut.full.astype(int), prepend=0) > 0) == 1)
    alone = replace(uncut, full=first)
    assert lazy_wideband(slow(alone, 1.2), Limits())
    assert lazy_wideband(only(slow(alone, 1.2), every(sound, 0.5)), Limits()) == []
