"""A number for no value is taken out of states and valves as well; a state is told by what the trim does in it."""

import math
from pathlib import Path

import numpy as np
import pytest

from workbench.files.logs import read_log
from workbench.model.log import Log
from workbench.work import run

HEAD = ["Time (s)", "Engine speed (rpm)", "Vehicle speed (km/h)", "Airflow (g/s)", "Throttle (%)",
        "Coolant temperature (°C)", "Manifold pressure (kPa)", "Evaporative purge (%)", "Short term trim (%)",
        "Long term trim (%)", "Lambda commanded", "Lambda measured", "Fuel system status"]  # fmt: skip
ROWS = 1500
NONE_EVERY = 9  # rows; each channel lacks its value in other ones


def in_pull(row: int) -> bool:
    return row % 500 >= 430


def cells(row: int) -> list[str]:
    """Give a row of a drive made up for this test: short pulls in open loop, in which the trim rests."""
    pull = in_pull(row)
    wave = math.sin(row / 31)
    trim = 0 if pull else round(2.5 * math.sin(row / 7) + 0.8 * math.sin(row * 2.3), 2)
    values = [row / 10, 2100 + 800 * wave, 70 + 25 * math.sin(row / 60), 16 + 8 * wave, 88 if pull else 21 + 9 * wave,
              84 + row / 400, 95 if pull else 52 + 17 * wave, 0, trim, -1.6 + 0.9 * math.sin(row / 300),
              0.88 if pull else 1, (0.88 if pull else 1) + 0.015 * math.sin(row * 1.1), 4 if pull else 2]  # fmt: skip
    return [f"{value:.4g}" if at else f"{value:.1f}" for at, value in enumerate(values)]


def drive(tmp_path: Path, none: str = "", **columns: object) -> Log:
    """Write and read it, with a text for no value now and then, and with some columns named or written otherwise."""
    head, lines = list(HEAD), []
    for row in range(ROWS):
        line = cells(row)
        for at in range(1, len(line)):
            if none and (row * 5 + at * 7) % NONE_EVERY == 0:
                line[at] = none
        lines.append(line)
    for name, change in columns.items():
        at = next(at for at, each in enumerate(HEAD) if each.casefold().startswith(name.replace("_", " ")))
        if isinstance(change, str):
            head[at] = change
        elif callable(change):
            for row, line in enumerate(lines):
                line[at] = change(row)
    path = tmp_path / "made_up.csv"
    path.write_text("\n".join(",".join(line) for line in [head, *lines]), encoding="utf-8")
    return run(read_log(path))


@pytest.mark.parametrize("none", ["8191.875", "2147483647", "-1", "0", "1E+20", "-7777"])
def test_a_number_for_no_value_is_none_in_every_kind_of_channel(tmp_path: Path, none: str) -> None:
    log = drive(tmp_path, none)
    # Trims and mixture are made up and answer to nothing, which is asked; of numbers for no value nothing is.
    made_up = ("where the engine breathes alike", "it is worked out from the command")
    assert not [each for each in log.questions if not any(text in each.question for text in made_up)]
    state = log.playing("fuel_system")
    assert state is not None
    assert set(np.unique(state[np.isfinite(state)])) == {2.0, 4.0}
    assert np.mean(np.isnan(state)) == pytest.approx(1 / NONE_EVERY, abs=0.01)
    purge = log.playing("purge")
    assert purge is not None
    assert np.nanmax(purge) == 0
    for role in ("stft_1", "ltft_1"):
        trim = log.playing(role)
        assert trim is not None
        code = float(none)
        alone = np.flatnonzero(trim == code)  # what is left of it is where the trim itself rests
        assert all(in_pull(int(row)) or abs(code) < 0.01 for row in alone)


def test_a_trim_that_rests_at_nought_is_a_reading(tmp_path: Path) -> None:
    trim = drive(tmp_path, "-7777").playing("stft_1")
    assert trim is not None
    resting = [row for row in range(ROWS) if in_pull(row)]
    assert np.mean(trim[resting] == 0) > 0.85


@pytest.mark.parametrize(
    ("marked", "bare"), [("x", ""), ("✓", ""), ("замкнут", "разомкнут"), ("kiinni", "auki"), ("閉", "開")]
)
def test_words_for_the_loop_are_told_by_the_trim(tmp_path: Path, marked: str, bare: str) -> None:
    log = drive(tmp_path, fuel_system=lambda row: bare if in_pull(row) else marked)
    expected = [1.0 if in_pull(row) else 2.0 for row in range(ROWS)]
    np.testing.assert_array_equal(log.playing("fuel_system"), expected)
    assert any(repr(marked) in note for note in log.notes)


def test_words_stay_unread_where_the_trim_moves_in_all_of_them(tmp_path: Path) -> None:
    log = drive(
        tmp_path,
        fuel_system=lambda row: "kiinni" if row % 700 < 350 else "auki",
        short=lambda row: f"{2.5 * math.sin(row / 7):.2f}",
    )
    assert log.playing("fuel_system") is None
    assert any("not recognised" in note for note in log.notes)


@pytest.mark.parametrize("name", ["status", "Zustand", "st", "Regelung", "Beställning"])
def test_a_state_of_another_name_is_known_by_its_codes(tmp_path: Path, name: str) -> None:
    assert drive(tmp_path, fuel_system=name).roles.get("fuel_system") == name


def test_a_gear_is_no_state_of_the_loop(tmp_path: Path) -> None:
    log = drive(tmp_path, fuel_system=lambda row: "124"[row // 40 % 3])
    other = drive(tmp_path, fuel_system="Gear", short=lambda row: f"{2.5 * math.sin(row / 7):.2f}")
    assert other.roles.get("fuel_system") is None
    assert log.rows == other.rows == ROWS
