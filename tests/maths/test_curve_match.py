"""The logged airflow tells a column of another moment, unit or scale from another table in the car."""

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from workbench.demo.rounds import history_of
from workbench.maths.drives.curve_match import moment_of_airflow, values_off
from workbench.maths.verdict.revision_match import fit_of_revisions
from workbench.model.arrays import FloatArray
from workbench.model.log import Channel, Drive, Log
from workbench.model.packing import Column
from workbench.model.table import Axis, Table

TIME = np.arange(6000) * 0.1
BREAKS = np.array([1.0, 1.5, 2.0, 2.5, 3.0, 3.5, 4.0, 4.5])
VALUES = np.array([2.0, 6.0, 14.0, 27.0, 47.0, 77.0, 120.0, 178.0])
TABLE = Table("airflow", "Airflow", "g/s", (Axis("Sensor", "V", BREAKS),), VALUES)
HISTORY = history_of((TABLE,))


def volts() -> FloatArray:
    """A drive that stands and moves by turns, within the curve; made up for this test."""
    held = np.repeat(np.random.default_rng(5).uniform(1.3, 4.2, 200), 30)
    return np.asarray(np.convolve(np.pad(held, 4, mode="edge"), np.ones(9) / 9, mode="valid"))


def used() -> FloatArray:
    return np.asarray(np.interp(volts(), BREAKS, VALUES))


def drive_of(signal: FloatArray, airflow: FloatArray, unit: str = "V", read: str = "g/s") -> Drive:
    columns = (("Sensor", unit, signal, unit), ("Air", "g/s", airflow, read), ("RPM", "rpm", 900 * volts(), "rpm"))
    channels = tuple(Channel(name, base, Column(values), given) for name, base, values, given in columns)
    roles: Any = {"sensor_signal": "Sensor", "airflow": "Air", "engine_speed": "RPM"}
    return Drive(1, Log("drive.csv", "0" * 64, Column(TIME), channels, roles), 1)


@pytest.mark.parametrize(("late", "way"), [(1.0, "1 s later"), (-2.0, "2 s earlier"), (0.6, "0.6 s later")])
def test_an_airflow_of_another_moment_is_told_with_the_shift(late: float, way: str) -> None:
    moved = np.interp(TIME - late, TIME, used())
    said = moment_of_airflow(HISTORY, drive_of(volts(), moved), "airflow")
    assert f"Air is what the table gives at Sensor (V), but {way}" in said
    assert "--role 'airflow='" in said


def test_a_sound_airflow_one_that_is_read_a_row_later_and_a_measured_one_tell_no_moment() -> None:
    assert moment_of_airflow(HISTORY, drive_of(volts(), used()), "airflow") == ""
    for late in (0.1, 0.3):
        moved = np.interp(TIME - late, TIME, used())
        assert moment_of_airflow(HISTORY, drive_of(volts(), moved), "airflow") == ""
    slow = used().copy()  # as an ECU that smooths what it reads
    for row in range(1, slow.size):
        slow[row] = slow[row - 1] + 0.3 * (slow[row] - slow[row - 1])
    assert moment_of_airflow(HISTORY, drive_of(volts(), slow), "airflow") == ""


@pytest.mark.parametrize(
    ("signal", "airflow", "said"),
    [
        (volts() / 2, used(), "2 * 'Sensor'"),
        (volts() + 0.15, used(), "'Sensor' - 0.15"),
        (volts() * 0.97, used(), "1.031 * 'Sensor'"),
        (volts() * 1000, used(), "'Sensor' / 1000"),
        (volts(), used() * 0.1322774, "--unit 'Air=lb/min'"),
        (volts(), used() * 0.06, "--unit 'Air=kg/min'"),
    ],
)
def test_one_factor_or_shift_is_told_as_that(signal: FloatArray, airflow: FloatArray, said: str) -> None:
    drive = drive_of(signal, airflow)
    fit = fit_of_revisions(HISTORY, drive, "airflow")
    assert fit is not None
    assert fit.unexplained
    assert said in fit.sentence(drive)
    assert "another table" not in fit.sentence(drive)


def test_a_curve_that_differs_from_place_to_place_is_another_table() -> None:
    drive = drive_of(volts(), used() * np.interp(volts(), [1.0, 2.5, 4.5], [0.9, 1.04, 0.95]))
    fit = fit_of_revisions(HISTORY, drive, "airflow")
    assert fit is not None
    assert "another table may have been in the car" in fit.sentence(drive)


def test_values_that_were_exchanged_are_told_where_the_logged_airflow_differs_from_them() -> None:
    """Nothing was said of a table whose neighbours differed by 38 % from what the ECU looked up."""
    swapped = VALUES.copy()
    swapped[[3, 4]] = swapped[[4, 3]]
    history = history_of((replace(TABLE, values=swapped),))
    said = values_off(history, drive_of(volts(), used()), "airflow")
    assert "at 2.5 V, 3 V the table holds" in said
    assert values_off(HISTORY, drive_of(volts(), used()), "airflow") == ""
    bent = used() * (1 + 0.1 * np.clip(2.2 - volts(), 0, 1))  # as where another table has a say at the low end
    assert values_off(HISTORY, drive_of(volts(), bent), "airflow") == ""
