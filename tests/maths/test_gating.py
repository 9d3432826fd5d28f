"""Gates, roles and fuel factors on logs small enough to be worked out by hand."""

from collections.abc import Callable, Mapping
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra import numpy as arrays

from workbench.errors import InputError
from workbench.maths.signals import gating
from workbench.maths.signals.axes import axis_role, axis_signal
from workbench.maths.signals.gating import counts, engine_gates, follows, precedes
from workbench.maths.signals.ratio import Signals, signals
from workbench.maths.signals.series import change_rate
from workbench.maths.signals.trims import beside_mean, fuel_factor, held_by_loop
from workbench.model.arrays import BoolArray, FloatArray
from workbench.model.gate import Gates
from workbench.model.log import Channel, Drive, Log, Role
from workbench.model.packing import Column
from workbench.model.table import Axis, Table

ROWS = 200
TIME = np.arange(ROWS) / 20
STEADY: Mapping[Role, float] = {
    "sensor_signal": 3000.0,
    "engine_speed": 2000.0,
    "coolant_temperature": 88.0,
    "throttle": 20.0,
    "fuel_system": 2.0,
    "lambda_commanded": 1.0,
    "lambda_measured": 1.0,
    "purge": 0.0,
    "ltft_1": 2.0,
}
MakeSignals = Callable[..., Signals]


def drive_of(drop: tuple[Role, ...] = (), **changed: FloatArray | float) -> Drive:
    """Make ten seconds of steady driving in which some channels read otherwise."""
    columns = {role: np.full(ROWS, value) for role, value in STEADY.items() if role not in drop}
    columns["stft_1"] = np.where(np.arange(ROWS) % 20 < 10, 1.5625, -1.5625)
    columns.update({role: np.broadcast_to(values, ROWS).astype(float) for role, values in changed.items()})  # type: ignore[misc] # the names are roles
    channels = tuple(Channel(role, "", Column(values)) for role, values in columns.items())
    return Drive(1, Log("made.csv", "", Column(TIME), channels, {role: role for role in columns}), 1)


def rejected_by(curve: Table, name: str, gates: Gates, **changed: FloatArray | float) -> BoolArray:
    return engine_gates(signals(drive_of(**changed), curve, gates), curve, gates)[name]


def test_steady_driving_passes_every_gate(curve: Table) -> None:
    seen = signals(drive_of(), curve, Gates())
    for name, mask in engine_gates(seen, curve, Gates()).items():
        assert not mask.any(), name


LATE = TIME >= 5


@pytest.mark.parametrize(
    ("name", "changed", "rows"),
    [
        (gating.NOT_RUNNING, {"engine_speed": np.where(LATE, 300.0, 2000.0)}, LATE),
        (gating.COLD, {"coolant_temperature": np.where(LATE, 74.9, 80.0)}, LATE),
        (gating.CUT, {"fuel_system": np.where((TIME >= 4) & (TIME < 5), 4.0, 2.0)}, (TIME >= 4) & (TIME <= 5.95)),
        (gating.LOOP, {"fuel_system": np.where(LATE, 16.0, 1.0)}, (TIME >= 5) & (TIME <= 5.3)),
        (gating.PURGE, {"purge": np.where((TIME >= 4) & (TIME < 5), 9.0, 0.0)}, (TIME >= 4) & (TIME <= 6.95)),
        (gating.CLIPPED, {"stft_1": np.where(LATE, -25.0, 3.0)}, LATE),
        (gating.BEYOND, {"sensor_signal": np.where(LATE, 6050.0, 6010.0)}, LATE),
        (gating.BEYOND, {"sensor_signal": np.where(LATE, 980.0, 998.0)}, LATE),
        (gating.NO_READING, {"sensor_signal": np.where(LATE, np.nan, 3000.0)}, TIME > 5.12),
        (gating.NO_READING, {"fuel_system": np.where(TIME < 2, np.nan, 2.0)}, TIME < 2),
    ],
)
def test_each_gate_takes_its_rows_and_no_others(
    curve: Table, name: str, changed: dict[str, FloatArray], rows: BoolArray
) -> None:
    """Limits are the defaults of the gates: 400 rpm, 75 degC, 1 s after a cut, 0.3 s of settling, 2 s after purge."""
    np.testing.assert_array_equal(rejected_by(curve, name, Gates(), **changed), rows)


def test_past_an_end_the_slope_of_the_table_says_how_far_a_reading_still_speaks_of_its_cell(curve: Table) -> None:
    """A level table goes on as it ends, as far as a fiftieth of its axis; where it climbs, the engine does as well."""
    level = curve.with_values(np.full(curve.shape, 10.0))
    near, far = (rejected_by(level, gating.BEYOND, Gates(), sensor_signal=6000.0 + past) for past in (90.0, 110.0))
    assert not near.any()
    assert far.all()
    width = float(np.diff(curve.axes[0].breakpoints)[-1])
    # By 0.51 % of the last value in 20 Hz.
    climbs = level.with_values(np.append(np.full(4, 10.0 * (1 - 0.0051 * width / 20)), 10.0))
    assert rejected_by(climbs, gating.BEYOND, Gates(), sensor_signal=6020.0).all()
    assert not rejected_by(climbs, gating.BEYOND, Gates(), sensor_signal=6015.0).any()


def test_limits_are_those_of_the_session(curve: Table) -> None:
    warm = replace(Gates(), warm_c=90.0)
    assert rejected_by(curve, gating.COLD, warm).all()
    lenient = replace(Gates(), trim_limit_percent=50.0)
    assert not rejected_by(curve, gating.CLIPPED, lenient, stft_1=np.where(LATE, -25.0, 3.0)).any()


def test_fast_changes_of_airflow_are_rejected_by_their_rate(curve: Table) -> None:
    """Airflow that grows by e in a second changes at 1/s; in a third of one at 3/s, past the limit of 2/s."""
    assert change_rate(np.exp(TIME), TIME)[5:-5] == pytest.approx(1)
    assert change_rate(np.exp(-3 * TIME), TIME)[5:-5] == pytest.approx(3)
    jump = np.where(LATE, 4500.0, 3000.0)
    fast = rejected_by(curve, gating.FAST, Gates(), sensor_signal=jump)
    assert np.array_equal(np.flatnonzero(fast), np.arange(96, 104))


def test_a_table_over_manifold_pressure_bears_faster_changes(curve: Table) -> None:
    """Behind an airflow sensor the manifold fills first; its own pressure is what the cylinders meet."""
    axes = (
        Axis("Engine speed", "rpm", np.array([1e3, 3e3])),
        Axis("Manifold pressure", "kPa", np.array([20.0, 100.0])),
    )
    grid = Table("ve", "Volumetric efficiency", "%", axes, np.full((2, 2), 80.0))
    seen = signals(drive_of(sensor_signal=np.where(LATE, 4500.0, 3000.0)), curve, Gates())
    jump = change_rate(seen.airflow, seen.time)
    for table, limit in ((curve, Gates().steady_per_s), (grid, Gates().steady_in_manifold_per_s)):
        rejected = engine_gates(replace(seen, position=np.full((ROWS, len(table.axes)), 2e3)), table, Gates())
        np.testing.assert_array_equal(rejected[gating.FAST], jump > limit)


@given(arrays.arrays(np.bool_, 40), st.floats(0.0, 1.0))
def test_follows_and_precedes_mirror_each_other(state: BoolArray, seconds: float) -> None:
    time = np.arange(40) / 10
    after = follows(state, time, seconds)
    assert np.all(after[state])
    for row in range(40):
        near = [t for t in time[state] if 0 <= time[row] - t <= seconds]
        assert bool(near) == after[row]
    mirrored = precedes(state[::-1], time, seconds)[::-1]
    assert np.mean(mirrored == after) > 0.9  # but for rounding of differences at the very edge


@given(arrays.arrays(np.bool_, (4, 30)))
def test_counts_add_up(masks: BoolArray) -> None:
    names = (gating.COLD, gating.CUT, gating.FAST, gating.PURGE)
    told = counts(dict(zip(names, masks, strict=True)))
    assert [count.name for count in told] == [name for name in gating.ORDER if name in names]
    hits = masks.sum(axis=0)
    assert sum(count.rejected for count in told) == hits.sum()
    assert sum(count.alone for count in told) == np.sum(hits == 1)
    assert all(count.alone <= count.rejected for count in told)


def test_no_gates_no_counts() -> None:
    assert counts({}) == ()


def test_fuel_factor_multiplies_short_and_long_trim() -> None:
    """(1 + 5 %) * (1 - 3 %) = 1.0185, by hand."""
    assert fuel_factor(np.array([5.0]), np.array([-3.0]))[0] == pytest.approx(1.0185)


def test_banks_are_averaged_and_compared(curve: Table) -> None:
    seen = signals(drive_of(stft_1=1.0, ltft_1=2.0, stft_2=3.0, ltft_2=4.0), curve, Gates())
    one, two = 1.01 * 1.02, 1.03 * 1.04
    assert seen.fuel == pytest.approx((one + two) / 2)
    moving = signals(drive_of(ltft_1=2.0, stft_2=np.where(LATE, 3.0, 3.5), ltft_2=4.0), curve, Gates())
    assert moving.imbalance == pytest.approx(1.0325 * 1.04 - 1.02, abs=1e-3)
    assert np.isnan(signals(drive_of(), curve, Gates()).imbalance)


@pytest.mark.parametrize("name", ["Measured lambda bank 1", "O2 B1S1 (lambda)", "lambda_bank2", "Wideband"])
def test_a_wideband_in_one_bank_sees_that_bank(name: str) -> None:
    """Bank 1 wants 3 % more than their mean: where no trim acts, it is as much leaner than the engine."""
    rows = 400
    closed = np.arange(rows) < 300
    banks = [np.where(closed, 1.03 * 1.02, 1.0), np.where(closed, 0.97 * 1.02, 1.0)]
    time = Column(np.arange(rows) / 10)
    log = Log("a.csv", "0" * 64, time, (Channel(name, "lambda", time),), {"lambda_measured": name}, {})
    seen, doubt = beside_mean(log, banks, closed)
    of_its_own = {"Measured lambda bank 1": 1.03, "O2 B1S1 (lambda)": 1.03, "lambda_bank2": 0.97}.get(name)
    if of_its_own is None:
        assert seen == 1.0
        np.testing.assert_allclose(doubt, np.where(closed, 0, (2 / 3) ** 0.5 * (1 - 1 / 1.03)), rtol=1e-9)
    else:
        np.testing.assert_allclose(seen, np.where(closed, 1, 1 / of_its_own), rtol=1e-9)
        assert doubt == 0.0
    assert beside_mean(log, banks[:1], closed) == (1.0, 0.0)


def test_commanded_lambda_of_nothing_is_unknown_in_open_loop(curve: Table) -> None:
    """Commanded 0 throughout means not supported: 1 in closed loop, unknown outside it."""
    for drop, changed in ((("lambda_commanded",), {}), ((), {"lambda_commanded": 0.0})):
        state = np.where(LATE, 1.0, 2.0)
        seen = signals(drive_of(drop=drop, fuel_system=state, **changed), curve, Gates())
        assert np.all(seen.commanded[~LATE] == 1)
        assert np.all(np.isnan(seen.commanded[LATE]))
        assert any("Commanded lambda is not logged" in note for note in seen.notes)


def test_a_command_of_one_is_read_through_the_raster(curve: Table) -> None:
    """SAE J1979 PID 44 counts in 2/65536: 0.99997 is written for 1."""
    seen = signals(drive_of(lambda_commanded=0.99997), curve, Gates())
    assert np.all(seen.commanded == 1)
    assert np.all(signals(drive_of(lambda_commanded=0.98), curve, Gates()).commanded == 0.98)


def test_full_throttle_is_told_from_the_throttle(curve: Table) -> None:
    seen = signals(drive_of(throttle=np.where(LATE, 96.0, 40.0)), curve, Gates())
    assert np.array_equal(seen.full, LATE)
    assert not signals(drive_of(throttle=np.where(LATE, 55.0, 20.0)), curve, Gates()).full.any()


def test_without_a_throttle_a_rich_command_tells_it(curve: Table) -> None:
    rich = np.where(LATE, 0.87, 1.0)
    state = np.where(LATE, 4.0, 2.0)
    seen = signals(drive_of(drop=("throttle",), lambda_commanded=rich, fuel_system=state), curve, Gates())
    assert np.array_equal(seen.full, LATE)
    assert not seen.cut.any()


def test_without_a_fuel_system_status_a_command_away_from_1_is_no_closed_loop(curve: Table) -> None:
    """A charged engine asks for enrichment long before its throttle is wide open."""
    asked = np.where(LATE, 0.9, 1.0)
    slow = {"engine_speed": 1000.0}  # no overrun
    seen = signals(drive_of(drop=("fuel_system",), lambda_commanded=asked, **slow), curve, Gates())
    np.testing.assert_array_equal(seen.closed, ~LATE)
    unreported = signals(drive_of(drop=("fuel_system",), lambda_commanded=0.0, **slow), curve, Gates())
    assert unreported.closed.all()


def test_without_a_fuel_system_status_overrun_counts_as_cut(curve: Table) -> None:
    shut = np.where(LATE, 12.0, 25.0)
    seen = signals(drive_of(drop=("fuel_system",), throttle=shut, engine_speed=2500.0), curve, Gates())
    assert np.array_equal(seen.cut, LATE)
    assert np.array_equal(seen.closed, ~LATE)
    assert any("No fuel system status" in note for note in seen.notes)


@pytest.mark.parametrize(
    ("name", "unit", "role"),
    [
        ("Engine speed", "rpm", "engine_speed"),
        ("n", "1/min", "engine_speed"),
        ("Airflow sensor", "Hz", "sensor_signal"),
        ("sensor voltage", "V", "sensor_signal"),
        ("Manifold pressure", "kPa", "manifold_pressure"),
        ("p", "kPa", "manifold_pressure"),
        ("Engine load", "%", "load"),
        ("Accelerator pedal", "%", "pedal"),
        ("x", "", None),
    ],
)
def test_an_axis_names_its_channel(name: str, unit: str, role: str | None) -> None:
    assert axis_role(Axis(name, unit, np.array([1.0, 2]))) == role


def test_an_axis_without_a_channel_is_refused_with_what_there_is() -> None:
    log = drive_of(drop=("engine_speed",)).log
    with pytest.raises(InputError, match="no channel for the axis Engine speed") as refusal:
        axis_signal(Axis("Engine speed", "rpm", np.array([1.0, 2])), log)
    assert "--role engine_speed=CHANNEL" in refusal.value.hint
    assert "sensor_signal" in refusal.value.hint
    assert axis_signal(Axis("PURGE", "odd", np.array([1.0, 2])), log) is not None


def test_a_few_rows_that_bring_nothing_make_no_log_of_held_values(curve: Table) -> None:
    """Whether the loop's swing is followed, and films are looked for, must not hang on a cell that a logger missed."""
    seen = signals(drive_of(), curve, Gates())
    assert not replace(seen, weight=np.where(np.arange(ROWS) % 50 == 7, 0.5, 1.0)).held
    assert replace(seen, weight=np.full(ROWS, 0.2)).held


@pytest.mark.parametrize("reads", ["the command", "one", "nothing"])
def test_a_rich_command_in_closed_loop_is_held_unless_the_wideband_reads_one(reads: str) -> None:
    """A loop with a wide-range sensor may stay closed at full throttle: what it holds there is far from 1."""
    closed = np.ones(600, dtype=np.bool_)
    commanded = np.where(np.arange(600) < 450, 1.0, 0.83)
    measured = {"the command": commanded, "one": np.ones(600), "nothing": np.full(600, np.nan)}[reads]
    np.testing.assert_array_equal(held_by_loop(commanded, measured, closed), 1.0 if reads == "one" else commanded)
    few = closed & (np.arange(600) < 500)
    few_held = held_by_loop(commanded, np.full(600, np.nan), few)
    assert few_held[460] == 0.83  # that they are few makes no difference
    assert few_held[550] == 1.0
