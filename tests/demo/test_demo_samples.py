"""The sample files: readable, small, and the same every time."""

import csv
import io

import numpy as np
import pytest

from workbench.demo.drive import drive
from workbench.demo.engine import stale_table
from workbench.demo.recorder import csv_text
from workbench.demo.samples import CURVE_CAR, GRID_CAR, sample_files
from workbench.demo.scenario import Scenario
from workbench.files.tables.tables import read_table_text


@pytest.fixture(scope="module")
def files() -> dict[str, str]:
    return sample_files()


def test_there_are_five_and_they_are_small(files: dict[str, str]) -> None:
    assert sorted(files) == [
        "airflow_stale.csv", "efficiency_drive.csv", "efficiency_stale.csv", "part_throttle_drive.csv",
        "pulls_drive.csv",
    ]  # fmt: skip
    assert sum(len(text.encode()) for text in files.values()) < 3.5e6


def test_they_are_the_same_every_time(files: dict[str, str]) -> None:
    assert sample_files() == files


def test_the_tables_read_back_exactly(files: dict[str, str]) -> None:
    for name, scenario in (("airflow_stale.csv", CURVE_CAR), ("efficiency_stale.csv", GRID_CAR)):
        table, _ = read_table_text(files[name], name)
        expected = stale_table(scenario)
        assert table.same_axes(expected)
        assert np.array_equal(table.values, expected.values)
        assert (table.value_name, table.unit) == (expected.value_name, expected.unit)


def test_the_drives_name_their_channels_and_units(files: dict[str, str]) -> None:
    for name, sensor in (("part_throttle_drive.csv", True), ("pulls_drive.csv", True), ("efficiency_drive.csv", False)):
        head = next(csv.reader(io.StringIO(files[name])))
        assert head[:2] == ["Time (s)", "Engine speed (rpm)"]
        assert ("Airflow sensor (Hz)" in head) == sensor
        assert {"Airflow (g/s)", "Measured lambda (lambda)", "Short trim bank 1 (%)", "Fuel system status"} <= set(head)


def test_the_text_holds_the_log_exactly() -> None:
    log = drive(Scenario(minutes=0.5, pulls=1)).log
    rows = list(csv.reader(io.StringIO(csv_text(log), newline="")))
    assert {len(row) for row in rows} == {len(log.channels) + 1}
    numbers = np.array(rows[1:], dtype=np.float64)
    assert np.array_equal(numbers[:, 0], log.time.values)
    for i, channel in enumerate(log.channels):
        assert np.array_equal(numbers[:, i + 1], channel.values)


def test_only_the_second_drive_has_pulls(files: dict[str, str]) -> None:
    def throttle(name: str) -> list[float]:
        rows = list(csv.DictReader(io.StringIO(files[name])))
        return [float(row["Throttle (%)"]) for row in rows]

    assert max(throttle("part_throttle_drive.csv")) < 65
    wide = np.array(throttle("pulls_drive.csv")) > 90
    assert np.count_nonzero(np.diff(wide.astype(int)) == 1) == 3
