"""Logs recorded by others, which are not part of this project: skipped where the folder `../shared/logs` is absent.

The expected numbers are those of the catalogue beside the files, found by independent readers.
"""

from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
import pytest

from workbench.errors import FileError, InputError
from workbench.files.logs import read_log
from workbench.maths.signals.sample_hold import held_notes, renewal_period
from workbench.model.log import Channel, Log, Role
from workbench.work import run

LOGS = Path(__file__).parents[2].parent / "shared" / "logs"
pytestmark = pytest.mark.skipif(not LOGS.is_dir(), reason="the folder ../shared/logs with real logs is absent")

DRIVE: dict[Role, str] = {
    "engine_speed": "ENGINE_RPM",
    "manifold_pressure": "INTAKE_MANIFOLD_PRESSURE",
    "load": "ENGINE_LOAD",
    "stft_1": "SHORT_TERM_FUEL_TRIM_BANK_1",
    "ltft_1": "LONG_TERM_FUEL_TRIM_BANK_1",
    "coolant_temperature": "COOLANT_TEMPERATURE",
    "intake_temperature": "INTAKE_AIR_TEMP",
    "throttle": "THROTTLE",
    "pedal": "PEDAL_D",
    "purge": "COMMANDED_EVAPORATIVE_PURGE",
    "battery_voltage": "CONTROL_MODULE_VOLTAGE",
    "vehicle_speed": "VEHICLE_SPEED",
    "barometer": "ABSOLUTE_BAROMETRIC_PRESSURE",
}


@dataclass(frozen=True)
class Reading:
    """What a file must give: rows, last stamp in s, roles, words in the notes."""

    rows: int
    last: float
    roles: dict[Role, str]
    said: list[str] = field(default_factory=list)


CAN = {
    "engine_speed": "engine speed",
    "manifold_pressure": "intake manifold pressure",
    "stft_1": "short term fuel trim bank 1",
    "ltft_1": "long term fuel trim bank 1",
    "lambda_measured": "measured lambda bank 1 sensor 1",
    "lambda_commanded": "commanded lambda",
}
SPREAD = [
    "TINE is used as time",
    "spread evenly",
    "reads 0 throughout (not supported)",
    "No units are given",
]
EXPECTED = {
    "town_1.csv": Reading(2709, 1330, DRIVE, SPREAD),
    "town_2.csv": Reading(4389, 2157, DRIVE, SPREAD),
    "road_1.csv": Reading(5454, 2681, DRIVE, SPREAD),
    "road_2.csv": Reading(3836, 1884, DRIVE, SPREAD),
    "road_3.csv": Reading(3853, 1893, DRIVE, SPREAD),
    "road_4_cut_last_row.csv": Reading(3791, 1859, DRIVE, [*SPREAD, "line 3793"]),
    "slow_1.csv": Reading(1354, 663, DRIVE, SPREAD),
    "idle_1.csv": Reading(1212, 590, DRIVE, [*SPREAD, "fewer cells than the header: line 1214"]),
    "long_form_never_overlap.csv": Reading(
        2288,
        628.7592824,
        {"engine_speed": "Engine RPM", "airflow": "MAF air flow rate"},
        ["never logged at the same moment", "Long form: 3000 readings"],
    ),
    "can_trims_lambda_unfinalised.mf4": Reading(6826, 1911.0947, CAN, ["responses of 7E8", "not finalised"]),
    "can_map_rpm_finalised.mf4": Reading(
        541, 2390.2947, {"engine_speed": "engine speed", "manifold_pressure": "intake manifold pressure"}
    ),
    "can_trims_lambda_candump.log": Reading(1335, 1725695373.1632, CAN),
    "can_trims_lambda.blf": Reading(1335, 1725695373.1632, CAN),
    "can_trims_lambda.asc": Reading(1335, 373.47575, CAN),
    "multirate_conversions.mf4": Reading(8979, 2.9, {}, ["6 time bases"]),
    "two_groups.mf4": Reading(2, 1.0, {}, []),
}
_READ: dict[str, Log] = {}


def read(name: str) -> Log:
    if name not in _READ:
        _READ[name] = run(read_log(LOGS / name))
    return _READ[name]


def channel(name: str, channel_name: str) -> Channel:
    found = read(name).channel(channel_name)
    assert found is not None
    return found


def samples(name: str, channel_name: str) -> tuple[np.ndarray, np.ndarray]:
    """Give the samples of a channel that has a time of its own: where its value is new or its gap is over."""
    log = read(name)
    values = channel(name, channel_name).values
    there = np.isfinite(values)
    fresh = there & np.r_[True, ~there[:-1] | (values[1:] != values[:-1])]
    return log.time.values[fresh], values[fresh]


@pytest.mark.parametrize("name", EXPECTED)
def test_a_real_log_is_read_right(name: str) -> None:
    expected = EXPECTED[name]
    log = read(name)
    assert log.rows == expected.rows
    assert expected.last <= log.time.values[-1] < expected.last + 3
    assert {role: log.roles.get(role) for role in expected.roles} == expected.roles
    assert np.all(np.diff(log.time.values) >= 0)
    for words in expected.said:
        assert any(words in note for note in log.notes), (words, log.notes)


def test_the_first_row_of_a_drive() -> None:
    first = {one.name: one.values[0] for one in read("town_1.csv").channels}
    assert first["THROTTLE"] == 17.647058
    assert first["COOLANT_TEMPERATURE"] == 81
    assert first["LONG_TERM_FUEL_TRIM_BANK_1"] == -4.6875
    assert first["SHORT_TERM_FUEL_TRIM_BANK_1"] == 0
    assert first["INTAKE_MANIFOLD_PRESSURE"] == 101


@pytest.mark.parametrize("name", ["town_1.csv", "town_2.csv", "road_1.csv", "road_2.csv", "road_3.csv", "slow_1.csv"])
def test_the_rows_of_a_drive_come_evenly_and_hold_their_values(name: str) -> None:
    log = read(name)
    steps = np.diff(log.time.values)
    assert np.median(steps) == pytest.approx(0.49, abs=0.01)
    assert np.quantile(steps, 0.99) < 0.65
    for role in ("engine_speed", "manifold_pressure", "stft_1"):
        values = log.playing(role)  # type: ignore[arg-type]
        assert values is not None
        assert renewal_period(values, log.time.values) == pytest.approx(1.8, abs=0.05)
    assert any("1.8 s" in note for note in held_notes(log))


def test_commanded_ratio_zero_is_missing() -> None:
    log = read("town_1.csv")
    assert "lambda_commanded" not in log.roles
    assert np.isnan(channel("town_1.csv", "FUEL_AIR_COMMANDED_EQUIV_RATIO").values).all()


def test_a_log_that_no_car_made_is_refused() -> None:
    with pytest.raises(InputError, match="cannot be used for calibration") as refusal:
        run(read_log(LOGS / "long_form_implausible.csv"))
    assert "Engine RPM jumps" in refusal.value.message
    log = run(read_log(LOGS / "long_form_implausible.csv", must_be_plausible=False))
    time, values = log.time.values, log.playing("engine_speed")
    assert values is not None
    first = int(np.flatnonzero(np.isfinite(values))[0])
    assert (time[first], values[first]) == (10190.2177871, 15308)
    airflow = log.playing("airflow")
    assert airflow is not None
    first = int(np.flatnonzero(np.isfinite(airflow))[0])
    assert (time[first], airflow[first]) == (10190.2228009, 612.35)


def test_channels_that_never_meet_give_no_pair() -> None:
    log = read("long_form_never_overlap.csv")
    speed, airflow = log.playing("engine_speed"), log.playing("airflow")
    assert speed is not None
    assert airflow is not None
    assert np.isfinite(speed).any()
    assert np.isfinite(airflow).any()
    assert not np.any(np.isfinite(speed) & np.isfinite(airflow))


def test_a_log_without_time_needs_a_rate() -> None:
    with pytest.raises(InputError, match="no column usable as time"):
        run(read_log(LOGS / "no_time_column.csv"))
    log = run(read_log(LOGS / "no_time_column.csv", rate_hz=1))
    assert log.rows == 13726
    rows = np.column_stack([one.values for one in log.channels])
    assert rows[0].tolist() == [7, 898, 44]
    assert rows[-1].tolist() == [0, 0, 0]


def test_raw_frames_hold_diagnosis_answers() -> None:
    """Values found by decoding the frames by hand with the scalings of SAE J1979."""
    name = "can_trims_lambda_unfinalised.mf4"
    log = read(name)
    time = log.time.values
    at = {
        ("short term fuel trim bank 1", 3.0933): 0,
        ("short term fuel trim bank 1", 352.9726): 1.5625,
        ("long term fuel trim bank 1", 703.0206): -4.6875,
        ("engine speed", 353.5723): 1630.75,
        ("commanded lambda", 6.6934): 1.22928,
        ("measured lambda bank 1 sensor 1", 355.7714): 0.96970,
    }
    for (channel_name, second), value in at.items():
        row = int(np.argmin(np.abs(time - second)))
        assert abs(time[row] - second) < 6e-4
        assert channel(name, channel_name).values[row] == pytest.approx(value, abs=6e-6)
    trim, long, speed = (channel(name, CAN[role]).values for role in ("stft_1", "ltft_1", "engine_speed"))
    assert (np.nanmin(trim), np.nanmax(trim)) == (-16.40625, 10.9375)
    assert (np.nanmin(long), np.nanmax(long)) == (-4.6875, 0)
    assert (np.nanmin(speed), np.nanmax(speed)) == pytest.approx((0, 2957), abs=1)
    pressure = channel(name, CAN["manifold_pressure"]).values
    assert np.nanmin(pressure) == 20
    assert np.nanmax(pressure) < 255
    assert any("255" in note and "saturated" in note for note in log.notes)


def test_bus_time_does_not_start_at_zero() -> None:
    name = "can_map_rpm_finalised.mf4"
    pressure_time, pressure = samples(name, "intake manifold pressure")
    speed_time, speed = samples(name, "engine speed")
    assert (pressure[0], speed[0]) == (76, 1785)
    assert pressure_time[0] == pytest.approx(2345.7716, abs=1e-4)
    assert speed_time[0] == pytest.approx(2345.7916, abs=1e-4)
    assert (pressure.min(), pressure.max(), speed.min(), speed.max()) == (28, 86, 929.5, 1785)


def test_three_formats_of_one_capture_agree() -> None:
    logs = [read(f"can_trims_lambda{end}") for end in ("_candump.log", ".blf", ".asc")]
    start = [log.time.values[0] for log in logs]
    for log, first in zip(logs[1:], start[1:], strict=True):
        np.testing.assert_allclose(log.time.values - first, logs[0].time.values - start[0], atol=2e-5)
        assert log.roles == logs[0].roles
        for one, other in zip(log.channels, logs[0].channels, strict=True):
            np.testing.assert_array_equal(one.values, other.values)


def test_decoded_channels_keep_their_conversions() -> None:
    name = "multirate_conversions.mf4"
    hours = channel(name, "ASAM.M.SCALAR.SBYTE.IDENTICAL.DISCRETE")
    assert hours.unit == "hours"
    assert samples(name, hours.name)[1][:3].tolist() == [0, 10, 20]
    assert samples(name, "ASAM.M.SCALAR.UBYTE.FORM_X_PLUS_4")[1][:3].tolist() == [29, 32, 34]
    values = channel("two_groups.mf4", "ASAM.M.SCALAR.FLOAT32.IDENTICAL").values
    assert values.tolist() == [300, 400]
    assert read("two_groups.mf4").time.values.tolist() == [0, 1]


def test_a_capture_without_answers_says_what_it_holds(tmp_path: Path) -> None:
    lines = (LOGS / "can_trims_lambda_candump.log").read_text().splitlines()
    path = tmp_path / "requests.log"
    path.write_text("\n".join(line for line in lines if " 7E0#" in line) + "\n")
    with pytest.raises(FileError, match=r"1504 frames of 1 identifiers: 7E0|frames of 1 identifiers: 7E0"):
        run(read_log(path))
