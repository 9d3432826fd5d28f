"""Rows out of order, counters that are full, clocks in digits, and what is said where no column tells the time."""

from pathlib import Path

import numpy as np
import pytest

from workbench.errors import InputError
from workbench.files.logs import read_log
from workbench.files.moments.order import order_of
from workbench.files.moments.stamps import make_clock
from workbench.files.vocabulary.name_aliases import alone
from workbench.files.vocabulary.packed_clock import packed_clock
from workbench.work import run

T = np.arange(0, 20, 0.05)


def test_halves_that_changed_places_are_sorted() -> None:
    swapped = np.concatenate([T[200:], T[:200]])
    order = order_of(swapped)
    assert order is not None
    assert np.allclose(swapped[order], T)


@pytest.mark.parametrize(
    "stamps",
    [
        T,
        np.concatenate([T, T]),
        np.concatenate([T, T + 3600.0]),
        T[::-1],
        np.maximum(T - 0.06 * (np.arange(400) == 77), 0),
        np.arange(0, 700, 0.1) % 65.536,
    ],
    ids=["rising", "two drives", "a pause", "newest first", "a clock that wavers once", "a counter of 16 bits"],
)
def test_what_is_no_other_order_stays(stamps: np.ndarray) -> None:  # type: ignore[type-arg]
    assert order_of(stamps) is None


@pytest.mark.parametrize("step", [1e-3, 0.01])
def test_a_full_counter_goes_on(step: float) -> None:
    period = 65536 * step
    true = np.arange(0.2 * period, 2.4 * period, 50 * step)
    clock = make_clock(true % period)
    assert np.allclose(np.diff(clock.time), 50 * step)
    assert "counter" in " ".join(clock.notes)


def test_a_drive_that_begins_anew_is_no_counter() -> None:
    clock = make_clock(np.concatenate([T, T]))
    assert "restarts" in " ".join(clock.notes)


def test_digits_are_a_clock_only_where_they_pass_a_minute_as_one() -> None:
    seconds = 14 * 3600 + 2 * 60 + 50 + T
    digits = np.floor(seconds / 3600) * 1e4 + np.floor(seconds / 60) % 60 * 100 + seconds % 60
    read = packed_clock(digits)
    assert read is not None
    assert np.allclose(read, seconds)
    assert packed_clock(T) is None
    assert packed_clock(seconds) is None
    dated = packed_clock(20260303.0 * 1e6 + digits)
    assert dated is not None
    assert np.allclose(np.diff(dated), 0.05, atol=0.005)
    assert packed_clock(20261399.0 * 1e6 + digits) is None


def _refusal(tmp_path: Path, text: str) -> str:
    path = tmp_path / "log.csv"
    path.write_text(text)
    with pytest.raises(InputError) as refused:
        run(read_log(path))
    return f"{refused.value.message} {refused.value.hint}"


def test_a_rate_is_offered_only_where_rows_may_be_samples(tmp_path: Path) -> None:
    lines = "\n".join(f"{800 + k % 7},{3 + k % 5 / 10}" for k in range(60))
    assert "--rate" in _refusal(tmp_path, f"Engine speed (rpm),Airflow (g/s)\n{lines}\n")
    random = np.random.default_rng(1)
    frames = "\n".join(f"{a},{b},x" for a, b in random.integers(0, 2000, (60, 2)).tolist())
    assert "--rate" not in _refusal(tmp_path, f"id,length,data\n{frames}\n")


def test_a_column_that_rises_is_offered_as_the_time(tmp_path: Path) -> None:
    lines = "\n".join(f"{0.05 * k:.2f},{800 + k % 7},{3 + k % 5 / 10}" for k in range(60))
    assert "--unit 'A=s'" in _refusal(tmp_path, f"A,B,C\n{lines}\n")


def test_names_are_read_beside_their_neighbours() -> None:
    names = [
        f"ECU1.Engine.{name}" for name in ("Vehicle speed", "RPM", "STFT L", "STFT R", "MAF min", "MAF avg", "MAF max")
    ]
    said = alone(names)
    assert said["ECU1.Engine.Vehicle speed"] == "Vehicle speed"
    assert said["ECU1.Engine.STFT R"] == "stft bank 2"
    assert said["ECU1.Engine.MAF avg"] == "maf"
    assert alone(["STFT 0", "STFT 1", "STFT 2", "RPM"]) == {"STFT 1": "stft bank 2"}
    both = {"STFT+LTFT": "total trim", "Short trim B2 + long trim B2": "total trim bank 2"}
    assert alone(["STFT", "LTFT", *both, "STFT-LTFT"]) == both


def test_a_first_column_named_by_a_sign_is_no_comment(tmp_path: Path) -> None:
    path = tmp_path / "log.csv"
    rows = [f"{k}\t{0.1 * k:.1f}\t{800 + k % 9}\t{40 + k % 5}" for k in range(40)]
    path.write_text("\n".join(["#\tTime (s)\tRPM\tVehicle speed, m/s", *rows]) + "\n")
    log = run(read_log(path))
    assert [channel.name for channel in log.channels] == ["#", "RPM", "Vehicle speed"]
    assert log.playing("vehicle_speed")[0] == pytest.approx(144.0)  # type: ignore[index]


@pytest.mark.parametrize(
    "line", ["Sample rate: 10 Hz", "Logging interval;100 ms", "Abtastrate = 10,0 Hz", "Recorded every 0.1 s"]
)
def test_a_rate_that_the_file_states_gives_the_time_where_no_column_does(tmp_path: Path, line: str) -> None:
    rpm = 1500 + 700 * np.sin(np.arange(600) / 20)
    lines = ["Logger 3", line, "Engine speed (rpm);Coolant (degC)", *(f"{value:.0f};80" for value in rpm)]
    path = tmp_path / "x.csv"
    path.write_text("\n".join(lines) + "\n")
    log = run(read_log(path))
    assert log.time.values[-1] == pytest.approx(59.9)
    assert any("computed from the 10 Hz that the file states" in note for note in log.notes)


@pytest.mark.parametrize("line", ["Sample rate: 1000 Hz", "Wheel size: 17 s", "Version 10"])
def test_a_rate_at_which_no_engine_revs_or_none_at_all_is_not_taken(tmp_path: Path, line: str) -> None:
    rpm = 1500 + 700 * np.sin(np.arange(4000) / 20)
    path = tmp_path / "x.csv"
    path.write_text(
        "\n".join([line, "Engine speed (rpm);Coolant (degC)", *(f"{value:.0f};80" for value in rpm)]) + "\n"
    )
    with pytest.raises(InputError, match="no column usable as time"):
        run(read_log(path))


def test_rows_that_are_written_twice_count_once_and_readings_of_one_stamp_do_not(tmp_path: Path) -> None:
    rows = [f"{t:.2f},{1500 + 10 * k},{80 + k % 3}" for k, t in enumerate(T)]
    twice = [row for k, row in enumerate(rows) for row in [row] * (1 + (k % 9 == 4))]
    path = tmp_path / "x.csv"
    path.write_text("\n".join(["Time (s),Engine speed (rpm),Coolant (degC)", *twice]) + "\n")
    log = run(read_log(path))
    np.testing.assert_allclose(log.time.values, T, atol=1e-9)
    assert any("written twice count once: 44 rows left out" in note for note in log.notes)
    other = [row if k % 9 != 5 else f"{T[k - 1]:.2f}{row[row.index(',') :]}" for k, row in enumerate(rows)]
    path.write_text("\n".join(["Time (s),Engine speed (rpm),Coolant (degC)", *other]) + "\n")
    assert run(read_log(path)).rows == T.size


def test_a_line_that_names_a_clock_first_names_columns_also_by_numbers(tmp_path: Path) -> None:
    rows = [f"{at / 10:.1f},{1500 + at % 90},{80 + at % 3},{at % 9}" for at in range(200)]
    path = tmp_path / "x.csv"
    path.write_text("\n".join(["time,010C,0105,0111", *rows]) + "\n")
    log = run(read_log(path))
    assert [channel.name for channel in log.channels] == ["010C", "0105", "0111"]
    assert log.rows == 200


def _drive(seconds: float = 240.0, seed: int = 3) -> dict[str, np.ndarray]:  # type: ignore[type-arg]
    """Make a drive of slow waves that begins and ends at rest."""
    time = np.arange(0, seconds, 0.1)
    draw = np.random.default_rng(seed)
    wave = sum(draw.uniform(3, 9) * np.sin(time / draw.uniform(3, 25) + draw.uniform(0, 6)) for _ in range(8))
    speed = np.clip((40.0 + wave) * np.clip(np.minimum(time - 20, seconds - 20 - time) / 8, 0, 1), 0, None)
    rpm = np.maximum(800.0 + 3 * np.sin(time + seed), 35.0 * speed)
    return {
        "Time (s)": time,
        "Engine speed (rpm)": rpm,
        "Vehicle speed (km/h)": speed,
        "Airflow (g/s)": rpm / 200 + speed / 9,
    }


def _read(tmp_path: Path, columns: dict[str, np.ndarray]) -> tuple[float, str]:  # type: ignore[type-arg]
    path = tmp_path / "drive.csv"
    rows = zip(*columns.values(), strict=True)
    path.write_text("\n".join([",".join(columns), *(",".join(f"{v:.2f}" for v in row) for row in rows)]) + "\n")
    log = run(read_log(path))
    return float(np.ptp(log.time.values)), " ".join(log.notes)


def test_a_clock_of_laps_goes_on_where_the_car_does(tmp_path: Path) -> None:
    drive = _drive()
    drive["Time (s)"] = drive["Time (s)"] % 61.3
    seconds, notes = _read(tmp_path, drive)
    assert abs(seconds - 239.9) < 0.3
    assert "goes on" in notes or "go on" in notes


def test_a_clock_that_was_set_back_goes_on(tmp_path: Path) -> None:
    drive = _drive()
    drive["Time (s)"] = 1.7e9 + drive["Time (s)"] - 3.2 * (drive["Time (s)"] > 100)
    seconds, notes = _read(tmp_path, drive)
    assert abs(seconds - 239.9) < 0.3
    assert "sorted" not in notes


def test_drives_that_meet_at_rest_or_nowhere_are_no_one_drive(tmp_path: Path) -> None:
    one, other = _drive(), _drive(seed=5)
    joined = {name: np.concatenate([one[name], other[name]]) for name in one}
    seconds, notes = _read(tmp_path, joined)
    assert "pause" in notes
    assert abs(seconds - 2 * 239.9 - 60.0) < 0.3
    cut = {name: np.concatenate([one[name][:1100], other[name][900:]]) for name in one}
    cut["Time (s)"] = np.concatenate([one["Time (s)"][:1100], one["Time (s)"][:-900]])
    assert "pause" in _read(tmp_path, cut)[1]


def test_minutes_and_seconds_side_by_side_are_one_clock(tmp_path: Path) -> None:
    drive = _drive()
    time = drive.pop("Time (s)")
    parted = {"Min": np.floor(time / 60), "Sec": time % 60, **drive}
    seconds, notes = _read(tmp_path, parted)
    assert abs(seconds - 239.9) < 0.05
    assert "put together" in notes
