"""Channels on their own time in one file: several clocks, rounds, blocks, and cells that name themselves."""

from pathlib import Path

import numpy as np
import pytest

from workbench.errors import InputError
from workbench.files.channels.merging import merge
from workbench.files.logs import read_log
from workbench.files.vocabulary.recording import Series
from workbench.maths.signals.resync import played
from workbench.model.log import Log
from workbench.model.series import written_on_change
from workbench.work import run

T = np.arange(0, 60, 0.1)
RPM = 1500 + 400 * np.sin(T)
COOLANT = np.round(60 + T / 3)


def read(place: Path, text: str) -> Log:
    path = place / "drive.csv"
    path.write_text(text)
    return run(read_log(path))


def test_two_clocks_in_one_file_keep_their_rates(tmp_path: Path) -> None:
    lines = ["Time (s),Engine speed (rpm),Time 2 (s),Coolant (degC)"]
    for at, (t, rpm) in enumerate(zip(T, RPM, strict=True)):
        slow = f"{T[10 * at]:.1f},{COOLANT[10 * at]:.0f}" if 10 * at < T.size else ","
        lines.append(f"{t:.1f},{rpm:.1f},{slow}")
    log = read(tmp_path, "\n".join(lines) + "\n")
    coolant = log.playing("coolant_temperature")
    assert coolant is not None
    assert np.isfinite(coolant).sum() == 60
    known = played(log, "coolant_temperature")
    assert known is not None
    assert np.nanmax(np.abs(known - (60 + log.time.values / 3))) < 1.0


@pytest.mark.parametrize(("skew", "rows"), [(0.0, 1), (0.012, 1), (0.06, 4)])
def test_a_clock_before_each_channel_is_read_as_one_where_a_row_is_a_round(
    tmp_path: Path, skew: float, rows: int
) -> None:
    lines = ["Time (s),Engine speed (rpm),Time (s),Coolant (degC),Time (s),Throttle (%),Time (s),Airflow (g/s)"]
    for t, rpm, c in zip(T, RPM, COOLANT, strict=True):
        values = (f"{rpm:.1f}", f"{c:.0f}", f"{rpm / 50:.1f}", f"{rpm / 100:.2f}")
        lines.append(",".join(f"{t + skew * at:.3f},{value}" for at, value in enumerate(values)))
    log = read(tmp_path, "\n".join(lines) + "\n")
    assert log.rows == rows * T.size
    assert not any(channel.name.startswith("Time") for channel in log.channels)
    assert {"engine_speed", "coolant_temperature", "throttle", "airflow"} <= set(log.roles)
    assert not any("#2" in note for note in log.notes) or rows > 1
    assert log.time.values[0] == pytest.approx(2 * skew if rows == 1 else 0.0)


def test_clocks_that_begin_apart_are_refused(tmp_path: Path) -> None:
    lines = ["Time (s),Engine speed (rpm),Time 2 (s),Coolant (degC)"]
    lines += [f"{t:.1f},{rpm:.1f},{3600 + 2 * t:.1f},80" for t, rpm in zip(T, RPM, strict=True)]
    with pytest.raises(InputError, match="do not run over the same time"):
        read(tmp_path, "\n".join(lines) + "\n")


def test_a_second_clock_of_the_same_rows_is_none_of_its_own(tmp_path: Path) -> None:
    lines = ["Time (s),Engine speed (rpm),Time of day (s),Coolant (degC)"]
    lines += [f"{t:.1f},{rpm:.1f},{50000 + t:.1f},80" for t, rpm in zip(T, RPM, strict=True)]
    assert read(tmp_path, "\n".join(lines) + "\n").rows == T.size


def test_blocks_below_one_another_are_one_drive(tmp_path: Path) -> None:
    fast = "\n".join(f"{t:.1f},{rpm:.1f}" for t, rpm in zip(T, RPM, strict=True))
    slow = "\n".join(f"{t:.1f},{c:.0f}" for t, c in zip(T[::20], COOLANT[::20], strict=True))
    log = read(tmp_path, f"Time (s),Engine speed (rpm)\n{fast}\n\nTime (s),Coolant (degC)\n{slow}\n")
    assert set(log.roles) == {"engine_speed", "coolant_temperature"}
    coolant = log.playing("coolant_temperature")
    assert coolant is not None
    assert np.isfinite(coolant).sum() == 30


def test_clocks_are_counted_whatever_channels_they_have(tmp_path: Path) -> None:
    fast = "\n".join(f"{t:.1f},{rpm:.1f},{rpm / 50:.1f}" for t, rpm in zip(T, RPM, strict=True))
    slow = "\n".join(f"{t:.1f},{c:.0f},{c / 3:.0f}" for t, c in zip(T[::20], COOLANT[::20], strict=True))
    heads = "Time (s),Engine speed (rpm),Airflow (g/s)", "Time (s),Coolant (degC),Intake air temperature (degC)"
    log = read(tmp_path, f"{heads[0]}\n{fast}\n\n{heads[1]}\n{slow}\n")
    assert any("have 2 time bases" in note for note in log.notes)


@pytest.mark.parametrize("before", ["Mar 02 {clock} box logger[312]: ", "[{clock}] INFO ", "{clock} ", ""])
def test_pairs_behind_what_a_logger_writes_before_each_line_are_read(tmp_path: Path, before: str) -> None:
    lines = []
    for t, rpm, c in zip(T, RPM, COOLANT, strict=True):
        head = before.format(clock=f"16:{int(t // 60):02d}:{t % 60:06.3f}")
        clock = "" if before else f"t={t:.2f} "
        lines.append(f"{head}{clock}Engine_speed_rpm={rpm:.1f} Coolant_°C={c:.0f} Fuel_status=Closed loop")
    log = read(tmp_path, "\n".join(lines) + "\n")
    assert log.rows == T.size
    np.testing.assert_allclose(log.time.values - log.time.values[0], T - T[0], atol=0.002)
    np.testing.assert_allclose(log.playing("engine_speed"), RPM, atol=0.06)
    assert log.roles["coolant_temperature"] == "Coolant_°C"
    np.testing.assert_array_equal(log.playing("fuel_system"), np.full(T.size, 2.0))
    assert all("logger" not in channel.name for channel in log.channels)


def test_cells_that_name_themselves_are_read(tmp_path: Path) -> None:
    lines = [
        f"{t:.1f};Engine speed (rpm)={rpm:.1f};Coolant (degC)={c:.0f}"
        for t, rpm, c in zip(T, RPM, COOLANT, strict=True)
    ]
    log = read(tmp_path, "\n".join(lines) + "\n")
    np.testing.assert_allclose(log.playing("engine_speed"), RPM, atol=0.06)


def test_a_round_of_channels_stands_in_one_row() -> None:
    series = [Series(f"c{k}", "", T + 0.004 * k, T + k) for k in range(5)]
    recording = merge("drive", series, [], None)
    assert recording.rows == T.size
    assert all(np.isfinite(field.values).all() for field in recording.fields)
    assert "0.008 s" in recording.notes[-1]
    apart = merge("drive", [Series(f"c{k}", "", T + 0.02 * k, T + k) for k in range(5)], [], None)
    assert apart.rows == 5 * T.size  # readings that are a fifth of a round and more away stay where they were


def _changes(values: np.ndarray) -> list[str]:  # type: ignore[type-arg]
    return [f"{v:g}" if k == 0 or v != values[k - 1] else "" for k, v in enumerate(values)]


def test_a_log_written_only_on_change_holds_every_value(tmp_path: Path) -> None:
    rpm = np.where((T > 20) & (T < 40), 800.0, np.round(RPM))
    columns = [
        _changes(rpm),
        _changes(COOLANT),
        _changes(np.round(10 + 5 * np.sin(T / 3))),
        _changes(np.floor(T / 9) % 3),
    ]
    lines = ["Time (s),Engine speed (rpm),Coolant (degC),Throttle (%),Purge (%)"]
    lines += [f"{t:.1f},{','.join(cells)}" for t, *cells in zip(T, *columns, strict=True)]
    log = read(tmp_path, "\n".join(lines) + "\n")
    assert any("written only on change: each value stands until the next one" in note for note in log.notes)
    assert not written_on_change(log)  # nothing is left to hold
    np.testing.assert_array_equal(played(log, "engine_speed"), rpm)
    assert not log.questions


def test_a_fast_channel_with_blanks_does_not_hold(tmp_path: Path) -> None:
    lines = ["Time (s),Engine speed (rpm),Coolant (degC),Throttle (%)"]
    for k, (t, rpm, c) in enumerate(zip(T, RPM, COOLANT, strict=True)):
        shown = "" if 200 < k < 300 else f"{rpm:.1f}"
        lines.append(f"{t:.1f},{shown},{'' if k % 7 == 3 else f'{c:.0f}'},{'' if k % 5 == 2 else f'{10 + k % 3}'}")
    log = read(tmp_path, "\n".join(lines) + "\n")
    assert not written_on_change(log)
    known = played(log, "engine_speed")
    assert known is not None
    assert np.isnan(known[230:270]).all()


def test_a_slower_block_beside_an_empty_column_follows_its_own_clock(tmp_path: Path) -> None:
    lines = ["Time (s),Engine speed (rpm),,Time slow (s),Coolant (degC),Fuel status"]
    for at, (t, rpm) in enumerate(zip(T, RPM, strict=True)):
        slow = f"{T[10 * at]:.1f},{COOLANT[10 * at]:.0f},{'CL' if at % 7 else 'OL'}" if 10 * at < T.size else ",,"
        lines.append(f"{t:.1f},{rpm:.1f},,{slow}")
    log = read(tmp_path, "\n".join(lines) + "\n")
    coolant, state = log.playing("coolant_temperature"), log.playing("fuel_system")
    assert coolant is not None
    np.testing.assert_allclose(log.time.values[np.isfinite(coolant)], T[::10], atol=1e-9)
    assert state is not None
    assert set(state[np.isfinite(state)]) == {1.0, 2.0}
    assert any("follow clocks of their own: Time, Time slow" in note for note in log.notes)
