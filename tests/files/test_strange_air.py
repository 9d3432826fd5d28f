"""Air of another drive, turns that were counted twice, and trims beside which another one adds, are asked about."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from field.car import drive
from field.shape import Col, col, log, std

from workbench.files.course.strange_air import strange_air
from workbench.files.gaps.spikes import counted_twice
from workbench.files.logs import read_log
from workbench.model.arrays import FloatArray
from workbench.model.log import Log, Role
from workbench.work import run

CHANNELS: dict[Role, str] = {
    "engine_speed": "rpm",
    "manifold_pressure": "map",
    "throttle": "throttle",
    "sensor_signal": "hz",
    "airflow": "maf",
}


def read(folder: Path, columns: list[Col]) -> Log:
    path = folder / "drive.csv"
    path.write_bytes(log(columns).files["drive.csv"])
    return run(read_log(path))


def other_drive(values: FloatArray) -> FloatArray:
    return np.asarray(np.concatenate((values[values.size // 3 :][::-1], values[: values.size // 3])))


@pytest.mark.parametrize(
    ("foreign", "told"),
    [
        ((), None),
        (("hz", "maf"), "sensor_signal"),
        (("maf",), "airflow"),
        (("map",), "manifold_pressure"),
    ],
)
def test_air_that_goes_with_nothing_else_is_told(foreign: tuple[str, ...], told: Role | None) -> None:
    """Sensor and airflow of another drive moved cells by 5.5 % without a word."""
    columns = {role: drive()[key] for role, key in CHANNELS.items()}
    columns |= {role: other_drive(columns[role]) for role, key in CHANNELS.items() if key in foreign}
    found = strange_air(drive()["time"], columns)
    assert (None if found is None else found[0]) == told


def test_air_of_another_drive_is_asked_about(tmp_path: Path) -> None:
    made = read(tmp_path, std(col("hz", convert=other_drive), col("maf", convert=other_drive)))
    (question,) = (each for each in made.questions if each.channel == "Airflow sensor")
    assert "does it come from another drive" in question.question
    assert question.asks_role("sensor_signal")


def test_turns_that_were_counted_twice_count_as_missing(tmp_path: Path) -> None:
    """One of 168 was left out; the others moved a cell by 3.3 %."""
    sound = drive()["rpm"]
    rows = np.arange(40, sound.size - 40, 97)
    rows = rows[(sound[rows] > 500) & (np.abs(sound[rows + 1] / sound[rows - 1] - 1) < 0.05)]
    doubled = sound.copy()
    doubled[rows] *= 2
    np.testing.assert_array_equal(np.flatnonzero(counted_twice(doubled, drive()["time"])), rows)
    made = read(tmp_path, std(col("rpm", convert=lambda _: doubled)))
    assert f"{rows.size} times" in "".join(each for each in made.notes if "jumps and returns" in each)


def test_an_engine_that_is_revved_is_not_counted_twice() -> None:
    time = np.arange(0.0, 60.0, 0.125)
    blip = 800 + 2200 * np.maximum(np.sin(2 * np.pi * time / 1.5), 0.0)
    assert not counted_twice(blip, time).any()
    assert not counted_twice(drive()["rpm"], drive()["time"]).any()


def test_a_trim_that_adds_beside_a_long_one_is_asked_about(tmp_path: Path) -> None:
    """It counted as 0 without a word: -2.9 % where the engine breathes little."""
    added = Col(
        "added", "Long trim additive", "kg/h", tuple(f"{0.5 + 0.1 * np.sin(t / 9):.3f}" for t in drive()["time"])
    )
    (question,) = read(tmp_path, [*std(), added]).questions
    assert question.channel == "Long trim bank 1"
    assert "\"'Long trim bank 1' + 100 * 'Long trim additive' / 'Airflow'\"" in question.question
    still = Col("added", "Long trim additive", "kg/h", ("0.5",) * drive()["time"].size)
    assert read(tmp_path, [*std(), still]).questions == ()


def test_trims_of_a_size_and_a_word_are_asked_which_word_adds_fuel(tmp_path: Path) -> None:
    """Left out one by one, as was offered, their size was missing in every cell; 'L' was read as litres."""

    def letters(values: FloatArray) -> tuple[str, ...]:
        return tuple(f"{abs(value):.1f} {'L' if value > 0 else 'R'}" for value in values)

    texts = [
        Col(key, name, "", letters(drive()[key] - float(np.median(drive()[key]))))
        for key, name in (("stft", "STFT"), ("ltft", "LTFT"))
    ]
    questions = read(tmp_path, [*std(drop="stft ltft"), *texts]).questions
    assert [each.channel for each in questions] == ["STFT", "LTFT"]
    for question in questions:
        assert "one of two words, 'L' or 'R', in each cell. Which of them adds fuel?" in question.question
        flags = [flag for each in question.alternatives for flag in each.flags]
        assert flags == [f"--unit '{question.channel}=as-logged'", f"--unit '{question.channel}=turned'"]


def test_the_end_in_which_nothing_moves_any_more_counts_as_missing(tmp_path: Path) -> None:
    """Its trims were asked about as filled down, and its throttle was said to stand."""
    rows = np.minimum(np.arange(drive()["time"].size), 5000)
    path = tmp_path / "drive.csv"
    columns = [
        each if each.key == "time" else replace(each, cells=tuple(each.cells[row] for row in rows)) for each in std()
    ]
    path.write_bytes(log(columns).files["drive.csv"])
    made = run(read_log(path))
    assert made.questions == ()
    assert any("nothing moves any more, in 499 rows" in note for note in made.notes)
    played = made.playing("engine_speed")
    assert played is not None
    assert np.isfinite(played[:5000]).all()
    assert np.isnan(played[5001:]).all()


def test_a_status_that_stands_open_while_the_trim_works_is_left_out(tmp_path: Path) -> None:
    """All cells were lost without a word."""
    made = read(tmp_path, std(col("status", convert=lambda v: np.full(v.size, 4))))
    assert "fuel_system" not in made.roles
    assert any("stands at 4 (open loop) throughout" in note for note in made.notes)


def test_a_long_trim_that_is_read_seldom_counts_where_it_was_read(tmp_path: Path) -> None:
    """It was asked whether its sign changed."""
    time = drive()["time"]
    seldom = (time // 20 * 20 * (time.size / (time[-1] + time[1]))).astype(int)
    made = read(tmp_path, std(col("ltft", convert=lambda v: (v + time / 50)[seldom])))
    assert made.questions == ()
    assert any("was read only every 20 s" in note for note in made.notes)
    played = made.playing("ltft_1")
    assert played is not None
    assert 0.03 < float(np.mean(np.isfinite(played))) < 0.08, "a second of each twenty"
