"""How tables are judged and how a hand would correct them: against published numbers and a pocket calculator."""

from dataclasses import replace

import numpy as np
import pytest

from workbench.demo.drive import DriveRecord, drive
from workbench.demo.engine import stale_table, true_table
from workbench.demo.handwork import FEWEST_ROWS, hand_round, total_trim
from workbench.demo.judging import Linearity, judge, linearity, meter_linearity, true_reading
from workbench.demo.rounds import first_round, next_round
from workbench.demo.scenario import Scenario
from workbench.model.arrays import FloatArray
from workbench.model.log import Channel, Log, Role
from workbench.model.packing import Column
from workbench.model.table import Table

SHORT = Scenario(seed=4, minutes=2.0, pulls=1, start_coolant_c=85.0)


@pytest.fixture(scope="module")
def record() -> DriveRecord:
    return drive(SHORT)


def test_the_criterion_for_airflow_meters() -> None:
    """40 CFR 1065.307 table 1 with the least squares of 1065.602; expected values recomputed with exact fractions."""
    reference = np.array([0.0, 5, 10, 20, 30, 40, 60, 80, 100, 120])
    apart = np.array([0.1, -0.1, 0.2, -0.2, 0.1, -0.1, 0.3, -0.3, 0.2, -0.2])
    found = linearity(reference, 1.01 * reference + 0.3 + apart)
    assert found.slope == pytest.approx(1.0091457048, abs=1e-10)
    assert found.intercept == pytest.approx(0.3397247271, abs=1e-10)
    assert found.deviation == pytest.approx(0.2146121545, abs=1e-10)
    assert found.determination == pytest.approx(0.9999771042, abs=1e-10)
    assert found.offset == pytest.approx(0.3397, abs=1e-4)
    assert found.passed


@pytest.mark.parametrize(
    "change",
    [
        {"slope": 1.021},
        {"slope": 0.979},
        {"deviation": 2.5},
        {"determination": 0.98},
        {"intercept": 1.3},
        {"points": 9},
    ],
)
def test_each_limit_of_the_criterion_fails_by_itself(change: dict[str, float]) -> None:
    """40 CFR 1065.307 table 1: slope 0.98..1.02, SEE 2 % of max, r2 0.990, offset 1 % of max, 10 points."""
    good = Linearity(1.0, 0.1, 0.5, 0.999, 120.0, 0.0, 10)
    assert good.passed
    assert not replace(good, **change).passed


def test_the_right_table_is_right_and_a_wrong_one_is_as_wrong_as_made(record: DriveRecord) -> None:
    truth = true_table(SHORT)
    assert judge(SHORT, truth, [record]).within(1e-9, 1e-9)
    off = truth.with_values(truth.values * 1.03)
    found = judge(SHORT, off, [record])
    for miss in (found.part, found.full):
        assert miss.largest == pytest.approx(3.0)
        assert miss.rms == pytest.approx(3.0)
        assert miss.rows > 20
    assert meter_linearity(SHORT, truth, [record]).passed
    assert not meter_linearity(SHORT, off, [record]).passed


def test_truth_that_bends_between_breakpoints_is_judged_there(record: DriveRecord) -> None:
    bent = replace(SHORT, between="smooth")
    found = judge(bent, true_table(bent), [record])
    assert 0.001 < found.part.largest < 0.5
    grid = replace(SHORT, kind="grid")
    table = true_table(grid)
    corners = np.array([[2000.0, 60.0], [4700.0, 105.0]])
    np.testing.assert_allclose(true_reading(grid, corners), [table.values[4, 4], table.values[10, 7]])


def test_what_was_not_driven_is_not_judged() -> None:
    town = replace(SHORT, pulls=0)
    found = judge(town, stale_table(town), [drive(town)])
    assert np.isnan(found.full.largest)
    assert not found.within(100, 100)


def log_of(**columns: FloatArray) -> Log:
    rows = next(iter(columns.values())).size
    channels = tuple(Channel(name, "", Column(values)) for name, values in columns.items())
    roles: dict[Role, str] = {name: name for name in columns}  # type: ignore[misc] # the names are roles here
    return Log("hand.csv", "", Column(np.arange(rows) / 20), channels, roles)


def worked_by_hand(curve: Table, record: DriveRecord, fuel_system: FloatArray, throttle: FloatArray) -> Table:
    rows = throttle.size
    log = log_of(
        sensor_signal=np.where(np.arange(rows) < 100, 2050.0, 4400.0),
        coolant_temperature=np.full(rows, 88.0),
        fuel_system=fuel_system,
        throttle=throttle,
        stft_1=np.full(rows, 3.0),
        ltft_1=np.full(rows, 5.0),
        lambda_commanded=np.full(rows, 0.88),
        lambda_measured=np.full(rows, 0.88 * 1.02),
    )
    return hand_round(curve, replace(record, log=log))


def test_a_hand_takes_half_the_mean_trim_and_the_whole_error_of_a_pull(curve: Table, record: DriveRecord) -> None:
    """Worked by hand: trims of 3 and 5 % make 8, half of it 4; the pull reads 2 % lean."""
    full = np.arange(160) >= 100
    after = worked_by_hand(curve, record, np.where(full, 4.0, 2.0), np.where(full, 99.0, 20.0))
    np.testing.assert_allclose(after.values / curve.values, [1, 1.04, 1, 1.02, 1])


def test_a_hand_leaves_cells_with_fewer_rows_alone(curve: Table, record: DriveRecord) -> None:
    few = np.where(np.arange(100) < FEWEST_ROWS - 1, 2.0, 1.0)
    after = worked_by_hand(curve, record, few, np.full(100, 20.0))
    assert np.array_equal(after.values, curve.values)


def test_the_first_second_of_a_pull_does_not_count(curve: Table, record: DriveRecord) -> None:
    """At 20 Hz a pull of 25 rows has 5 after the first second, one of 24 has 4: too few."""
    for rows, changed in ((25, 1.02), (24, 1.0)):
        full = (np.arange(160) >= 100) & (np.arange(160) < 100 + rows)
        after = worked_by_hand(curve, record, np.full(160, 4.0), np.where(full, 99.0, 20.0))
        np.testing.assert_allclose(after.values / curve.values, [1, 1, 1, changed, 1])


def test_two_banks_are_averaged() -> None:
    trims = {"stft_1": 2.0, "ltft_1": 4.0, "stft_2": -1.0, "ltft_2": 3.0}
    log = log_of(**{name: np.full(3, value) for name, value in trims.items()})
    assert total_trim(log).tolist() == [4.0, 4.0, 4.0]


def test_rounds_pool_their_drives_and_keep_their_tables(record: DriveRecord) -> None:
    first = first_round(SHORT, record=record)
    second = next_round(first)
    assert second.evidence.drives == (1, 2)
    assert second.tables[:2] == first.tables
    assert second.records[1].table is first.table
    np.testing.assert_array_equal(first.table.values, first.tables[0].values * first.correction.multipliers)


def test_a_careful_hand_leaves_out_purge_and_what_follows_open_loop(curve: Table, record: DriveRecord) -> None:
    """At 20 Hz three seconds are 60 rows: of 130 closed-loop rows 70 are left; 49 once 21 are under purge."""
    closed = np.where(np.arange(140) < 10, 1.0, 2.0)
    for purged, changed in ((0, 1.04), (21, 1.0)):
        log = log_of(
            sensor_signal=np.full(140, 2000.0),
            coolant_temperature=np.full(140, 88.0),
            fuel_system=closed,
            throttle=np.full(140, 20.0),
            stft_1=np.full(140, 3.0),
            ltft_1=np.full(140, 5.0),
            purge=np.where(np.arange(140) >= 140 - purged, 30.0, 0.0),
        )
        after = hand_round(curve, replace(record, log=log), careful=True)
        np.testing.assert_allclose(after.values / curve.values, [1, changed, 1, 1, 1])
