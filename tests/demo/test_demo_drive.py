"""The virtual car: what its log shows must follow from what is wrong with its table."""

from collections.abc import Mapping

import numpy as np
import pytest

from workbench.demo.drive import DriveRecord, drive
from workbench.demo.engine import stale_table, true_multipliers, true_table
from workbench.demo.recorder import CHANNELS
from workbench.demo.scenario import Scenario
from workbench.errors import InputError
from workbench.model.arrays import BoolArray, FloatArray
from workbench.model.log import Role

PLAIN = Scenario(minutes=6.0, pulls=1, purge="off")


def played(record: DriveRecord, role: Role) -> FloatArray:
    values = record.log.playing(role)
    assert values is not None
    return values


def steady(record: DriveRecord, change: float = 0.1) -> BoolArray:
    """Closed loop for 4 s, warm, airflow changing by less than a tenth a second, no purge."""
    rate = record.log.rate_hz
    moving = np.abs(np.gradient(record.airflow, 1 / rate)) / record.airflow > change
    bad = ~record.closed | moving | (record.vapour_share > 0)
    recent = np.convolve(bad, np.ones(round(4 * rate)))[: bad.size] > 0
    return ~recent & (played(record, "coolant_temperature") >= 75)


@pytest.fixture(scope="module")
def record() -> DriveRecord:
    return drive(Scenario())


@pytest.fixture(scope="module")
def plain() -> DriveRecord:
    return drive(PLAIN)


def test_ratio_is_fuel_factor_times_mixture_to_the_last_digit() -> None:
    """r = g * q holds exactly where no fuel film, vapour or sensor noise stands between."""
    record = drive(Scenario(minutes=4.0, film_share=0.0, purge="off", sensor_noise_hz=0.0))
    fuelled = ~record.cut
    shown = record.fuel_factor * record.mixture / record.commanded
    assert shown[fuelled] == pytest.approx(record.ratio[fuelled], rel=1e-12)
    assert fuelled.mean() > 0.6


def test_with_film_and_noise_it_holds_on_average_where_things_are_steady(record: DriveRecord) -> None:
    chosen = steady(record)
    error = (record.fuel_factor * record.mixture / record.commanded / record.ratio)[chosen] - 1
    assert chosen.sum() > 800
    assert abs(np.mean(error)) < 0.002
    assert np.percentile(np.abs(error), 90) < 0.02


def test_the_ratio_lies_on_the_true_multipliers(plain: DriveRecord) -> None:
    """Between two breakpoints the ratio stays between their multipliers."""
    multipliers = true_multipliers(PLAIN, plain.table)
    signal = played(plain, "sensor_signal")
    below = np.searchsorted(plain.truth.axes[0].breakpoints, signal, side="right") - 1
    ends = np.stack([multipliers[below], multipliers[below + 1]])
    inner = np.abs(signal - plain.truth.axes[0].breakpoints[below]) > 15  # further than noise and rounding reach
    inner &= np.abs(signal - plain.truth.axes[0].breakpoints[below + 1]) > 15
    assert inner.sum() > 3000
    assert np.all(plain.ratio[inner] >= ends.min(axis=0)[inner] - 1e-9)
    assert np.all(plain.ratio[inner] <= ends.max(axis=0)[inner] + 1e-9)


@pytest.mark.parametrize(("scale", "sign"), [(1.0, 1), (-1.0, -1)])
def test_a_table_too_low_gives_positive_trims(scale: float, sign: int) -> None:
    record = drive(Scenario(minutes=6.0, pulls=0, purge="off", error_scale=scale))
    total = (record.fuel_factor - 1)[steady(record)]
    assert 0.06 < sign * np.median(total) < 0.20
    logged = (1 + played(record, "stft_1") / 100) * (1 + played(record, "ltft_1") / 100) - 1
    assert np.median(logged[steady(record)]) == pytest.approx(np.median(total), abs=0.005)


def test_a_right_table_needs_no_trims_and_meets_its_command_at_full_throttle() -> None:
    scenario = Scenario(minutes=6.0, pulls=2)
    record = drive(scenario, true_table(scenario))
    assert abs(np.mean(record.fuel_factor[steady(record)]) - 1) < 0.005
    late = record.full & (np.convolve(record.full, np.ones(40))[: record.full.size] >= 40)
    assert played(record, "lambda_measured")[late] / record.commanded[late] == pytest.approx(1.0, abs=0.05)
    assert np.mean(played(record, "lambda_measured")[late] / record.commanded[late]) == pytest.approx(1.0, abs=0.01)


def test_in_open_loop_a_table_too_low_runs_lean() -> None:
    record = drive(Scenario(minutes=4.0, pulls=1, closed_loop=False))
    assert np.all(played(record, "stft_1") == 0)
    assert not record.closed.any()
    calm = ~record.cut & (np.abs(np.gradient(record.airflow, 0.05)) / record.airflow < 0.1)
    assert np.median((record.mixture / record.commanded)[calm]) == pytest.approx(
        np.median(record.ratio[calm]), abs=0.01
    )
    assert np.median(record.ratio[calm]) > 1.08


def test_closed_loop_keeps_the_mean_at_1_and_swings_around_it(record: DriveRecord) -> None:
    """Switching control of a narrow-band sensor swings a few percent at 0.5 to 2 Hz (common practice, no source)."""
    chosen = steady(record)
    assert 1 / np.mean(1 / record.mixture[chosen]) == pytest.approx(1.0, abs=0.004)
    assert 0.003 < np.std(record.mixture[chosen]) < 0.03
    jumps = np.diff(played(record, "stft_1"))
    turns = (np.abs(jumps) > 1.4) & chosen[1:]
    hertz = turns.sum() / 2 / (chosen.sum() / record.log.rate_hz)
    assert 0.5 < hertz < 2.0


def test_long_trims_learn_where_the_engine_has_been(record: DriveRecord) -> None:
    assert min(record.long_trims[:5]) > 4
    assert np.all(played(record, "ltft_1")[played(record, "coolant_temperature") < 69] == 0)
    frozen = drive(Scenario(minutes=3.0, pulls=0, learning=False))
    assert np.all(played(frozen, "ltft_1") == 0)


def test_long_trims_stay_applied_in_open_loop_and_can_be_carried_over(record: DriveRecord) -> None:
    kept = drive(Scenario(minutes=1.0, pulls=1, start_long_trims=record.long_trims), number=2)
    assert np.all(played(kept, "stft_1")[kept.full] == 0)
    assert np.all(played(kept, "ltft_1")[kept.full] > 0)
    with pytest.raises(InputError, match="6 long trims"):
        drive(Scenario(minutes=1.0, start_long_trims=(1.0, 2.0)))


def test_the_command_ramps_down_within_a_pull(record: DriveRecord) -> None:
    time, command = record.log.time.values, played(record, "lambda_commanded")
    assert len(record.pulls) == 3
    for begin, end in record.pulls:
        inside = (time > begin + 0.15) & (time < end)
        assert 5 <= end - begin <= 9
        assert np.all(np.diff(command[inside]) <= 0)
        assert command[inside][0] > 0.98
        assert 0.86 < command[inside][round(1.1 * record.log.rate_hz)] < 0.9
        assert command[inside][-1] == pytest.approx(0.85, abs=0.002)
        assert np.all(played(record, "fuel_system")[inside] == 4)
        assert np.all(np.diff(record.airflow[inside][10:]) > 0)


def test_drives_cover_part_and_full_throttle(record: DriveRecord) -> None:
    peak = record.airflow.max()
    part = record.closed & (np.convolve(record.closed, np.ones(40))[: record.closed.size] >= 40)
    part &= played(record, "throttle") > 14
    assert 180 < peak < 195
    assert 0.55 * peak < record.airflow[part].max() < 0.8 * peak
    points = record.truth.axes[0].breakpoints
    nearest = np.argmin(np.abs(played(record, "sensor_signal")[:, None] - points), axis=1)
    counts = np.bincount(nearest[record.closed], minlength=points.size)
    driven = np.flatnonzero(counts >= 50)
    assert driven.size >= 30
    assert counts[driven[0] : driven[-1]].min() >= 10
    assert np.count_nonzero(np.bincount(nearest[record.full], minlength=points.size) >= 10) >= 14


def test_fuel_is_cut_on_overrun_only(record: DriveRecord) -> None:
    rpm, status = played(record, "engine_speed"), played(record, "fuel_system")
    assert 0.05 < record.cut.mean() < 0.35
    assert rpm[record.cut].min() >= 1245
    assert np.all(status[record.cut] == 4)
    assert np.all(played(record, "throttle")[record.cut] < 14)
    begins = np.flatnonzero(np.diff(record.cut.astype(int)) == 1) + 1
    assert np.all(rpm[begins] > 1495)
    deep = np.convolve(record.cut, np.ones(60))[: record.cut.size] >= 60
    assert np.all(played(record, "lambda_measured")[deep] == 1.999)


def test_a_cold_start_runs_open_loop_on_a_rich_command() -> None:
    record = drive(Scenario(minutes=4.0, pulls=0, start_coolant_c=20.0))
    coolant, command = played(record, "coolant_temperature"), played(record, "lambda_commanded")
    assert coolant[0] == 20
    assert coolant.max() > 70
    cold = coolant < 44
    assert np.all(played(record, "fuel_system")[cold & ~record.cut] == 1)
    assert np.all(command[cold & ~record.cut] < 0.99)
    assert np.all(played(record, "stft_1")[cold] == 0)


def test_purge_makes_it_rich_logged_or_not() -> None:
    logged, hidden, off = (drive(Scenario(minutes=6.0, pulls=0, purge=way)) for way in ("logged", "hidden", "off"))
    on = logged.vapour_share > 0
    shown = logged.fuel_factor * logged.mixture / logged.commanded / logged.ratio
    calm = on & (np.abs(np.gradient(logged.airflow, 0.05)) / logged.airflow < 0.1) & ~logged.cut
    assert 0.02 < np.median(logged.vapour_share[on]) < 0.07
    assert np.median(shown[calm]) == pytest.approx(1 - np.median(logged.vapour_share[calm]), abs=0.01)
    assert np.all((played(logged, "purge") > 0) == on)
    assert hidden.log.playing("purge") is None
    assert np.array_equal(hidden.mixture, logged.mixture)
    assert not off.vapour_share.any()


def test_the_wideband_reads_what_left_the_engine_before() -> None:
    scenario = Scenario(minutes=3.0, pulls=1, noise=0.0, lag_s=0.0)
    record = drive(scenario)
    time = record.log.time.values
    seen = np.interp(time - record.delay_s, time, record.mixture)
    near = seen < 1.2
    error = np.abs(seen - played(record, "lambda_measured"))[near]
    assert np.median(error) < 0.001
    assert np.percentile(error, 95) < 0.02  # between rows the mixture is not a straight line
    idle = record.delay_s[(record.airflow < 3.2) & (time > 2)]
    assert np.median(idle) == pytest.approx(0.08 + 0.6 / np.median(record.airflow[record.airflow < 3.2]), rel=0.05)
    assert record.delay_s[record.airflow > 150].max() < 0.09
    later = drive(Scenario(minutes=3.0, pulls=1, noise=0.0, lag_s=0.0, delay_extra_s=1.0))
    assert later.delay_s[100:] - record.delay_s[100:] == pytest.approx(1.0, abs=0.25)


def test_behind_the_catalyst_the_reading_is_calm_in_closed_loop_and_true_in_a_pull() -> None:
    before, after = (drive(Scenario(minutes=5.0, wideband=place, noise=0.0)) for place in ("before", "after"))
    chosen = steady(before)
    still = [float(np.mean(np.abs(played(r, "lambda_measured")[chosen] - 1) < 0.0015)) for r in (before, after)]
    assert still[0] < 0.25
    assert still[1] > 0.7
    late = np.convolve(before.full, np.ones(80))[: before.full.size] >= 80
    assert late.sum() > 100
    assert np.max(np.abs(played(after, "lambda_measured") - played(before, "lambda_measured"))[late]) < 0.01
    assert drive(Scenario(minutes=1.0, pulls=0, wideband="none")).log.playing("lambda_measured") is None


def test_two_banks_trim_apart_by_their_imbalance() -> None:
    record = drive(Scenario(minutes=6.0, pulls=0, purge="off", banks=2, imbalance=0.02))
    first, second = (
        (1 + played(record, short) / 100) * (1 + played(record, long) / 100)
        for short, long in (("stft_1", "ltft_1"), ("stft_2", "ltft_2"))  # type: ignore[arg-type]
    )
    chosen = steady(record)
    assert np.mean((first - second)[chosen]) == pytest.approx(0.04 * np.mean(record.ratio[chosen]), abs=0.01)
    shown = record.fuel_factor * record.mixture / record.commanded / record.ratio
    assert np.mean(shown[chosen]) == pytest.approx(1.0, abs=0.003)


def test_every_value_lies_on_its_channels_raster(record: DriveRecord) -> None:
    """SAE J1979 scalings (formulas from public copies of its table), rounded to the decimals a log carries."""
    steps: Mapping[Role, float] = {
        "engine_speed": 0.25, "airflow": 0.01, "stft_1": 100 / 128, "ltft_1": 100 / 128, "throttle": 100 / 255,
        "lambda_commanded": 2 / 65536, "coolant_temperature": 1.0, "intake_temperature": 1.0, "vehicle_speed": 1.0,
        "manifold_pressure": 1.0, "barometer": 1.0, "sensor_signal": 1.0, "lambda_measured": 0.001, "purge": 100 / 255,
    }  # fmt: skip
    for role, step in steps.items():
        codes = played(record, role) / step
        assert np.max(np.abs(codes - np.round(codes))) * step <= 0.5 * 10.0 ** -CHANNELS[role][4] + 1e-9, role
    assert set(np.unique(played(record, "fuel_system"))) <= {1.0, 2.0, 4.0}
    assert np.all(np.isfinite(played(record, "lambda_measured")))


def test_the_same_seed_drives_the_same_drive_bit_for_bit(plain: DriveRecord) -> None:
    again = drive(PLAIN)
    assert again.log.sha256 == plain.log.sha256
    assert all(np.array_equal(a.values, b.values) for a, b in zip(again.log.channels, plain.log.channels, strict=True))
    other = drive(PLAIN, number=2)
    assert other.log.sha256 != plain.log.sha256
    assert np.array_equal(other.truth.values, plain.truth.values)


def test_a_slower_log_is_the_same_drive_with_fewer_rows(plain: DriveRecord) -> None:
    slow = drive(Scenario(minutes=6.0, pulls=1, purge="off", rate_hz=5.0))
    assert slow.log.rate_hz == pytest.approx(5.0)
    assert np.array_equal(slow.log.time.values, plain.log.time.values[::4])
    assert np.array_equal(played(slow, "stft_1"), played(plain, "stft_1")[::4])


def test_another_table_in_the_car_changes_the_log_not_the_truth() -> None:
    scenario = Scenario(minutes=2.0, pulls=0)
    half = stale_table(scenario)
    half = half.with_values(half.values * np.sqrt(true_multipliers(scenario, half)))
    record = drive(scenario, half)
    stale = drive(scenario)
    assert np.median(record.ratio) == pytest.approx(np.sqrt(np.median(stale.ratio)), rel=0.005)
    assert np.array_equal(record.airflow, stale.airflow)
    with pytest.raises(InputError, match="other axes"):
        drive(scenario, stale_table(Scenario(kind="grid")))


def test_a_grid_car_logs_no_sensor_and_what_its_ecu_worked_out() -> None:
    scenario = Scenario(kind="grid", minutes=6.0, pulls=1, purge="off")
    record = drive(scenario)
    assert record.log.playing("sensor_signal") is None
    assert record.truth.shape == (14, 10)
    chosen = steady(record)
    shown = record.fuel_factor * record.mixture / record.commanded / record.ratio
    assert np.mean(shown[chosen]) == pytest.approx(1.0, abs=0.003)
    assert played(record, "airflow") * record.ratio == pytest.approx(record.airflow, rel=0.06)
    assert np.median(played(record, "airflow") * record.ratio / record.airflow) == pytest.approx(1.0, abs=0.001)


def needed(fault: str, **more: float) -> tuple[DriveRecord, FloatArray]:
    """Fuel factor that the fault asks for on top of the table's error."""
    record = drive(Scenario(minutes=8.0, pulls=1, purge="off", error_scale=0.0, fault=fault, **more))  # type: ignore[arg-type]
    return record, record.fuel_factor * record.mixture / record.commanded / record.ratio


def test_an_injector_fault_grows_with_load() -> None:
    record, shown = needed("injector")
    calm = steady(record, 0.2)
    low, high = calm & (record.airflow < 10), calm & (record.airflow > 30)
    assert np.median(shown[low]) == pytest.approx(1.0, abs=0.006)
    assert np.median(shown[high]) > 1.012


def test_a_vacuum_leak_shrinks_with_flow() -> None:
    record, shown = needed("vacuum_leak")
    calm = steady(record, 0.2)
    idle, high = calm & (record.airflow < 4), calm & (record.airflow > 30)
    assert np.median(shown[idle]) > 1.10
    assert 0.998 < np.median(shown[high]) < 1.02


@pytest.mark.parametrize(
    ("fault", "role"), [("engine_speed", "engine_speed"), ("intake_temperature", "intake_temperature")]
)
def test_faults_of_other_tables_follow_their_channel(fault: str, role: Role) -> None:
    record, shown = needed(fault)
    calm = steady(record, 0.2)
    assert np.corrcoef(shown[calm], played(record, role)[calm])[0, 1] > 0.5


def test_trims_from_other_cells_are_put_right_in_time() -> None:
    record, _ = needed("wrong_cell")
    long = played(record, "ltft_1")
    assert set(long[:20]) <= {10.15625, -6.25, 9.375, -7.03125, 7.8125, -4.6875}
    assert np.abs(record.long_trims[1]) < 4


def test_a_table_too_far_off_clips_the_short_trim() -> None:
    record = drive(Scenario(minutes=5.0, pulls=0, fault="clipped_trims", learning=False))
    clipped = played(record, "stft_1") >= 25.0
    assert played(record, "stft_1").max() == 25.0
    assert clipped[record.closed].mean() > 0.4
    assert np.median(record.mixture[clipped]) > 1.03
