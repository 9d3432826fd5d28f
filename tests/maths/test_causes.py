"""Cautions of channels and pulls: each comes up where its cause was put in, with its figures, and not without."""

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from workbench.demo.drive import DriveRecord
from workbench.demo.rounds import Round
from workbench.maths.cautions.cautions import find_cautions
from workbench.maths.cautions.sensor_cautions import free_air
from workbench.maths.drives import delay_estimation
from workbench.maths.signals import sampling
from workbench.maths.signals.disturbances import DRY
from workbench.maths.signals.gating import engine_gates
from workbench.maths.signals.ratio import Signals, signals
from workbench.model.arrays import FloatArray
from workbench.model.evidence import Caution
from workbench.model.gate import Gates, Limits
from workbench.model.log import Channel, Drive
from workbench.model.packing import Column
from workbench.model.table import Table

MakeRound = Callable[..., Round]
Alter = Callable[..., DriveRecord]
DRIVE = {"seed": 5, "minutes": 6.0, "pulls": 2, "start_coolant_c": 85.0}


@pytest.fixture(scope="module")
def right(round_of: MakeRound) -> DriveRecord:
    """A drive on a table that is right."""
    return round_of(error_scale=0.0, **DRIVE).records[0]


def seen_of(record: DriveRecord, table: Table | None = None) -> Signals:
    return signals(Drive(1, record.log, 1), table or record.table, Gates())


def found_in(record: DriveRecord, name: str, table: Table | None = None, limits: Limits | None = None) -> list[Caution]:
    table = table or record.table
    seen = seen_of(record, table)
    cautions = find_cautions(record.log, seen, engine_gates(seen, table, Gates()), "", limits or Limits(), table)
    return [each for each in cautions if each.name.startswith(name)]


def within(record: DriveRecord, first: float, last: float) -> FloatArray:
    begin, _ = record.pulls[0]
    time = record.log.time.values
    return (time >= begin + first) & (time < begin + last)


def test_a_drive_without_a_fault_has_none(right: DriveRecord) -> None:
    assert found_in(right, "") == []


def test_a_spike_in_a_pull_is_told_apart_from_a_lean_table(right: DriveRecord, altered: Alter) -> None:
    rows = within(right, 3.4, 4.0)
    spiked = altered(right, lambda_measured=lambda values: np.where(rows, 1.15 * values, values))
    (caution,) = found_in(spiked, "lean-spike")
    assert caution.kind == "danger"
    assert caution.at == pytest.approx(right.pulls[0][0] + 3.4, abs=0.1)
    assert caution.until == pytest.approx(right.pulls[0][0] + 4.0, abs=0.15)
    assert caution.value == pytest.approx(0.15, abs=0.02)
    assert caution.limit == Limits().spike
    assert found_in(spiked, "lean-at-full") == []
    assert found_in(spiked, "lean-spike", limits=Limits(spike=0.3)) == []


def test_a_long_trim_that_steps_in_a_pull_is_no_spike(right: DriveRecord, altered: Alter) -> None:
    """What it takes away for a moment, from one learning cell to the next, is logged: fuel supply has no part in it."""
    stepped, later = within(right, 3.4, 4.0), within(right, 3.7, 4.3)

    def made(trim: float) -> DriveRecord:
        return altered(
            right,
            ltft_1=lambda values: np.where(stepped, values + trim, values),
            lambda_measured=lambda values: np.where(later, 1.12 * values, values),
        )

    assert found_in(made(-10.7), "lean-spike") == []
    assert len(found_in(made(10.0), "lean-spike")) == 1  # it gave more fuel: that does not lean it out


def test_a_spike_is_told_while_the_command_falls_and_the_mixture_leans_out(right: DriveRecord, altered: Alter) -> None:
    """Enrichment that begins late and a table whose error grows along the pull hide none; neither is one itself."""
    time, (begin, _) = right.log.time.values, right.pulls[0]
    falls = 1 - 0.06 * np.clip((time - begin - 1.5) / 2.4, 0, 1)
    grows = 1 + 0.02 * np.clip(time - begin - 2.0, 0, 6)
    hump = 0.15 * within(right, 3.4, 4.0)

    def found(height: FloatArray) -> list[Caution]:
        return found_in(
            altered(
                right,
                lambda_commanded=lambda values: values * falls,
                lambda_measured=lambda values: values * falls * grows * (1 + height),
            ),
            "lean-spike",
        )

    assert found(0 * hump) == []
    (caution,) = found(hump)
    assert caution.at == pytest.approx(begin + 3.4, abs=0.1)


def test_what_stays_lean_to_the_end_of_the_pull_is_no_spike(right: DriveRecord, altered: Alter) -> None:
    rows = within(right, 2.5, 60.0)
    lean = altered(right, lambda_measured=lambda values: np.where(rows, 1.15 * values, values))
    assert found_in(lean, "lean-spike") == []
    (caution,) = found_in(lean, "lean-at-full")
    assert caution.value > 0.13


def test_a_lean_mixture_under_load_at_part_throttle_is_told(right: DriveRecord, altered: Alter) -> None:
    rows = within(right, 2.0, 6.0)
    eased = altered(
        right,
        throttle=lambda values: np.where(rows, 60.0, values),
        lambda_commanded=lambda values: np.where(rows, 1.0, values),
        lambda_measured=lambda values: np.where(rows, 1.08, values),
        fuel_system=lambda values: np.where(rows, 2.0, values),
    )
    limits = Limits(load_lean_s=0.5)
    found = found_in(eased, "lean-under-load", limits=limits)
    assert [each.value for each in found] == [pytest.approx(0.08, abs=0.015)]
    assert found_in(right, "lean-under-load") == []


def test_burnt_air_of_a_gear_change_is_no_lean_mixture_under_the_load_that_follows(
    right: DriveRecord, altered: Alter
) -> None:
    """The throttle is shut for half a second, the ECU does not say that it cuts fuel, and the gas arrives late."""
    loaded, shut, air = within(right, 0.0, 6.0), within(right, 2.0, 2.5), within(right, 2.4, 3.2)

    def found(shut: FloatArray) -> list[Caution]:
        changed = altered(
            right,
            throttle=lambda values: np.where(shut, 0.0, np.where(loaded, 60.0, values)),
            airflow=lambda values: np.where(shut, values / 5, values),
            lambda_commanded=lambda values: np.where(loaded, 1.0, values),
            lambda_measured=lambda values: np.where(air, 1.9, np.where(loaded, 1.0, values)),
            fuel_system=lambda values: np.where(loaded, 2.0, values),
        )
        return found_in(changed, "lean-under-load", limits=Limits(load_lean_s=0.5))

    assert found(shut) == []
    assert found(np.zeros_like(shut))


def test_a_loop_may_hold_another_mixture_than_1(right: DriveRecord, altered: Alter) -> None:
    """With a wide-range sensor in its loop an ECU holds what it commands (SAE J1979, PID 44, from memory)."""
    closed = seen_of(right).closed

    def by(factor: float) -> Callable[[FloatArray], FloatArray]:
        return lambda values: np.where(closed, factor * values, values)

    wide = altered(right, lambda_commanded=by(0.97), lambda_measured=by(0.97))
    assert found_in(wide, "wideband-offset") == []
    (caution,) = found_in(altered(right, lambda_commanded=by(0.97), lambda_measured=by(0.94)), "wideband-offset")
    assert caution.value == pytest.approx(-0.03, abs=0.01)
    assert "holds 0.97:" in caution.sentence

    def trims_say(record: DriveRecord) -> FloatArray:
        read = sampling.read_drive(
            seen_of(record), right.table, Gates(), delay_estimation.DEFAULT, DRY, "trims", "none"
        )
        return np.asarray(read.ratio[read.kept])

    np.testing.assert_allclose(trims_say(wide), trims_say(right), rtol=1e-9)
    unread = altered(right, drop=("lambda_measured",), lambda_commanded=by(0.97))
    np.testing.assert_allclose(trims_say(unread), trims_say(right), rtol=1e-9)
    narrow = altered(right, lambda_commanded=by(0.97))  # commanded, but not held
    np.testing.assert_array_equal(seen_of(narrow).loop_holds, 1.0)


@pytest.mark.parametrize("role", ["sensor_signal", "airflow", "engine_speed", "throttle"])
def test_a_channel_that_stands_still_is_told(right: DriveRecord, altered: Alter, role: str) -> None:
    time = right.log.time.values
    rows = (time > 60) & (time < 160)
    values = right.log.playing(role)  # type: ignore[arg-type]
    assert values is not None
    held = altered(right, **{role: lambda v: np.where(rows, v[np.argmax(rows)], v)})
    (caution,) = found_in(held, "frozen-channel")
    assert caution.at == pytest.approx(60, abs=0.2)
    assert caution.value == pytest.approx(100, abs=1)
    assert found_in(held, "frozen-channel", limits=Limits(frozen_s=200)) == []


def test_an_airflow_read_off_beyond_the_end_of_the_table_does_not_stand_still(
    right: DriveRecord, altered: Alter
) -> None:
    """Below its first breakpoint an ECU reads one value, however the sensor moves."""
    time = right.log.time.values
    rows = (time > 60) & (time < 160)
    lowest = float(right.table.axes[0].breakpoints[0])
    below = lowest * (0.9 + 0.05 * np.sin(np.arange(time.size)))
    held = altered(
        right,
        sensor_signal=lambda values: np.where(rows, below, values),
        airflow=lambda values: np.where(rows, right.table.values[0], values),
    )
    assert found_in(held, "frozen-channel") == []


def test_a_pressure_may_stand_twice_as_long(right: DriveRecord, altered: Alter) -> None:
    time = right.log.time.values
    for lasted, many in ((45, 0), (100, 1)):
        rows = (time > 60) & (time < 60 + lasted)
        held = altered(right, manifold_pressure=lambda v, rows=rows: np.where(rows, 86.0, v))
        assert len(found_in(held, "frozen-channel")) == many


def test_a_pressure_stands_while_the_engine_takes_as_much_at_each_turn(right: DriveRecord, altered: Alter) -> None:
    """As under an open throttle up a long hill, where it is the barometer's."""
    time, speed = right.log.time.values, right.log.playing("engine_speed")
    rows = (time > 60) & (time < 160)
    assert speed is not None
    climbed = altered(
        right,
        manifold_pressure=lambda values: np.where(rows, 86.0, values),
        airflow=lambda values: np.where(rows, 0.02 * speed, values),
    )
    assert found_in(climbed, "frozen-channel") == []


def test_a_throttle_that_never_moves_in_a_whole_log_is_told(right: DriveRecord, altered: Alter) -> None:
    held = altered(right, throttle=lambda values: np.full(values.size, 25.0))
    (caution,) = found_in(held, "frozen-channel")
    assert caution.value == pytest.approx(right.log.time.values[-1] - right.log.time.values[0])


def test_a_shut_throttle_stands_while_the_car_coasts(right: DriveRecord, altered: Alter) -> None:
    """The engine speed falls, and the flow past the stop with it; where more flows the throttle's sensor stands."""
    time, throttle = right.log.time.values, right.log.playing("throttle")
    assert throttle is not None
    rows = (time > 60) & (time < 160)
    for most, many in ((9.0, 0), (60.0, 1)):
        held = altered(
            right,
            throttle=lambda values: np.where(rows, np.nanmin(values), values),  # its stop
            airflow=lambda values, most=most: np.where(rows, most * (1.2 + np.sin(time / 10)) / 2.2, values),
        )
        assert len(found_in(held, "frozen-channel")) == many


@pytest.mark.parametrize(("role", "value", "flow"), [("throttle", 25.0, 20.0), ("engine_speed", 800.0, 3.0)])
def test_a_foot_and_an_idling_engine_may_rest_while_hardly_more_flows(
    right: DriveRecord, altered: Alter, role: str, value: float, flow: float
) -> None:
    """On a long hill the engine speed changes, and at idle the load; the flow does so by a part of itself."""
    time = right.log.time.values
    rows = (time > 60) & (time < 160)
    held = altered(
        right,
        **{role: lambda values: np.where(rows, value, values)},
        airflow=lambda values: np.where(rows, flow * (1 + np.sin(time / 10) / 3), values),
    )
    assert found_in(held, "frozen-channel") == []


def test_a_wideband_whose_link_was_lost_is_told_and_left_out_there(right: DriveRecord, altered: Alter) -> None:
    """A logger goes on writing the last value, through the first pull too."""
    time = right.log.time.values
    pull = time[np.flatnonzero(seen_of(right).full)[0]]
    rows = (time > pull - 40) & (time < pull + 40)
    held = altered(right, lambda_measured=lambda values: np.where(rows, 0.993, values))
    (caution,) = found_in(held, "frozen-channel")
    assert caution.at == pytest.approx(pull - 40, abs=0.2)
    assert caution.sentence.endswith("It is left out there: mend it before the next drive.")
    seen = seen_of(held)
    assert np.isnan(seen.measured[rows][2:]).all()
    assert any("Measured lambda stood at 0.993 from" in note for note in seen.notes)
    assert found_in(held, "lean-at-full-throttle") == []


def test_a_wideband_that_stood_often_is_told_of_once(right: DriveRecord, altered: Alter) -> None:
    """Twenty-seven notes of the same are read by nobody: one says how often, how long, and where the longest was."""
    time = right.log.time.values
    rows = ((time > 60) & (time < 100)) | ((time > 150) & (time < 210)) | ((time > 260) & (time < 300))
    seen = seen_of(altered(right, lambda_measured=lambda values: np.where(rows, 0.993, values)))
    (note,) = [each for each in seen.notes if "Measured lambda stood" in each]
    assert note.startswith(
        "Measured lambda stood still 3 times, 140 s in all, the longest at 0.993 from 150 s to 210 s"
    )
    assert np.isnan(seen.measured[(time > 62) & (time < 98)]).all()


def test_a_coarse_wideband_behind_a_catalyst_may_stand(right: DriveRecord, altered: Alter) -> None:
    time = right.log.time.values
    bumps = 0.01 * (np.sin(time / 40) > 0.9) + 0.01 * (np.random.default_rng(3).random(time.size) > 0.999)
    held = altered(right, lambda_measured=lambda values: np.where(seen_of(right).full, values, 1 + bumps))
    assert found_in(held, "frozen-channel") == []


def test_a_signal_at_its_end_is_told(right: DriveRecord, altered: Alter) -> None:
    signal = right.log.playing("sensor_signal")
    assert signal is not None
    most = float(np.quantile(signal[within(right, 0.5, 60) & seen_of(right).full], 0.4))
    cut = altered(right, sensor_signal=lambda values: np.minimum(values, most))
    (caution,) = found_in(cut, "channel-at-its-end")
    assert caution.value == pytest.approx(most)


def test_running_beyond_the_last_breakpoint_is_told(right: DriveRecord) -> None:
    axis = right.table.axes[0]
    short = replace(
        right.table, axes=(replace(axis, breakpoints=axis.breakpoints[:-12]),), values=right.table.values[:-12]
    )
    (caution,) = found_in(right, "table-end", short)
    assert caution.limit == axis.breakpoints[-13]
    assert caution.value > caution.limit
    assert caution.source == "the table itself"


def test_free_air_is_told_of_an_air_fuel_ratio_that_lost_its_role(right: DriveRecord) -> None:
    log, seen = right.log, seen_of(right)
    stuck = Channel("Wideband AFR", "", Column(np.full(log.rows, 29.25)))
    roles = {role: name for role, name in log.roles.items() if role != "lambda_measured"}
    others = tuple(each for each in log.channels if each.name != log.roles["lambda_measured"])
    (caution,) = free_air(replace(log, channels=(*others, stuck), roles=roles), seen, np.isfinite(seen.time))
    assert caution.value == pytest.approx(29.25 / 14.7)
    assert caution.unit == "lambda"
