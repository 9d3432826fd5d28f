"""Channels that are written only where they change: held and told, asked about, or left as they are."""

from pathlib import Path

import numpy as np
import pytest

from workbench.files.gaps.on_change import AS_READ, ON_CHANGE
from workbench.files.logs import read_log
from workbench.model.arrays import FloatArray
from workbench.model.log import Log
from workbench.model.state import Reread
from workbench.work import run

ROWS = 1500
AT = np.arange(ROWS)
SPEED = 2000 + 900 * np.sin(AT / 40)
STATE = np.where(AT % 90 < 60, 2.0, 4.0)
TRIM = np.round(3 * np.sin(AT / 25) / 0.8) * 0.8
LAMBDA = 1 + 0.02 * np.sin(AT / 7) + 0.003 * np.cos(AT * 1.7)
ROUND = {"Engine speed (rpm)": 1, "Fuel system status": 0, "STFT bank 1 (%)": 1, "Lambda measured": 5}
ALL = dict(zip(ROUND, (SPEED, STATE, TRIM, LAMBDA), strict=True))


def read(tmp_path: Path, there: dict[str, np.ndarray], **choices: object) -> Log:  # type: ignore[type-arg]
    """Read a log of which the cells of some columns are blank where `there` is false."""
    lines = ["Time (s)," + ",".join(ALL)]
    for row in AT:
        cells = [f"{v[row]:.{ROUND[k]}f}" if there.get(k, np.ones(ROWS))[row] else "" for k, v in ALL.items()]
        lines.append(f"{row / 10:.1f},{','.join(cells)}")
    path = tmp_path / "drive.csv"
    path.write_text("\n".join(lines) + "\n")
    return run(read_log(path, **choices))  # type: ignore[arg-type]


def changed(values: FloatArray, digits: int) -> np.ndarray:  # type: ignore[type-arg]
    return np.diff(np.round(values, digits), prepend=np.nan) != 0


def test_a_state_and_a_trim_written_on_change_hold_and_are_told(tmp_path: Path) -> None:
    names = ["Fuel system status", "STFT bank 1 (%)"]
    log = read(tmp_path, {name: changed(ALL[name], ROUND[name]) for name in names})
    np.testing.assert_array_equal(log.playing("fuel_system"), STATE)
    np.testing.assert_allclose(log.playing("stft_1"), TRIM, atol=0.06)
    assert any("Fuel system status, STFT bank 1 are written only on change" in note for note in log.notes)
    assert not log.questions


def test_channels_that_are_asked_in_turn_or_lack_cells_at_random_are_not_held(tmp_path: Path) -> None:
    random = np.random.default_rng(3)
    there = {"Engine speed (rpm)": AT % 3 == 0, "STFT bank 1 (%)": random.random(ROWS) < 0.7}
    log = read(tmp_path, there)
    assert not any("written only on change" in note for note in log.notes)
    assert not log.questions
    speed, trim = log.playing("engine_speed"), log.playing("stft_1")
    assert speed is not None
    assert trim is not None
    np.testing.assert_array_equal(np.isfinite(speed), there["Engine speed (rpm)"])
    np.testing.assert_array_equal(np.isfinite(trim), there["STFT bank 1 (%)"])


def in_pieces() -> np.ndarray:  # type: ignore[type-arg]
    """A fast channel of many digits that is away for a while every now and then: on change, or a plug that is loose."""
    return (AT % 25 < 9) | (np.random.default_rng(4).random(ROWS) < 0.2)


def test_a_fast_channel_in_pieces_is_asked_about_and_both_answers_work(tmp_path: Path) -> None:
    there = {"Lambda measured": in_pieces()}
    log = read(tmp_path, there)
    (asked,) = log.questions
    assert "Is it written only where it changes?" in asked.question
    measured = log.playing("lambda_measured")
    assert measured is not None
    np.testing.assert_array_equal(np.isfinite(measured), there["Lambda measured"])
    as_read, on_change = asked.alternatives
    assert (as_read.answer, on_change.answer) == (AS_READ, ON_CHANGE)
    channel = log.channel("Lambda measured")
    assert channel is not None
    held = Reread.as_answered(on_change).channel(channel)
    assert held.unit == channel.unit
    assert np.isfinite(held.values).all()
    for word, filled in ((AS_READ, there["Lambda measured"]), (ON_CHANGE, np.ones(ROWS, dtype=bool))):
        answered = read(tmp_path, there, units={"Lambda measured": word})
        assert not answered.questions
        found = answered.playing("lambda_measured")
        assert found is not None
        np.testing.assert_array_equal(np.isfinite(found), filled)


@pytest.mark.parametrize("window", [None, 0.5])
def test_a_stated_window_holds_no_longer_than_it_says(tmp_path: Path, window: float | None) -> None:
    log = read(tmp_path, {"Fuel system status": changed(STATE, 0)}, window_s=window)
    state = log.playing("fuel_system")
    assert state is not None
    assert np.isfinite(state).all() == (window is None)
