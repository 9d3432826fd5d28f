"""Channels that their course contradicts: upside down, exchanged, late, filled down, with lost signs or other sizes."""

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from family.car import run as driven
from family.car import write
from family.lottery import draw
from field.car import RATE_HZ, drive
from field.shape import Col, col, log, std

from workbench.files.course.heard import Heard
from workbench.files.course.learning import turns_at
from workbench.files.course.loop import Course
from workbench.files.course.wideband_moment import asked_of_wideband
from workbench.files.logs import read_log
from workbench.model.arrays import FloatArray
from workbench.model.log import Log, Role
from workbench.work import run

LONG = drive()["ltft"]
ROWS = LONG.size


def read(folder: Path, columns: list[Col]) -> Log:
    path = folder / "drive.csv"
    path.write_bytes(log(columns).files["drive.csv"])
    return run(read_log(path))


def asked(made: Log) -> dict[str, str]:
    return {each.channel: each.question for each in made.questions}


def late(seconds: float) -> Callable[[FloatArray], FloatArray]:
    rows = np.arange(ROWS)
    return lambda values: np.interp(rows - seconds * RATE_HZ, rows, values)


def inverse(values: FloatArray) -> FloatArray:
    return 1 / values


def tenths(values: FloatArray) -> FloatArray:
    return 10 * values


@pytest.mark.parametrize(
    ("changed", "channel", "said"),
    [
        (("cmd", None, inverse), "Commanded lambda", "is it fuel over air?"),
        (("lam", None, inverse), "Measured lambda", "is it fuel over air?"),
        (("hz", None, late(2.0)), "Airflow sensor", "is late by as much"),
        (("hz", None, late(-3.0)), "Airflow sensor", "is early by as much"),
        (("stft", None, tenths), "Short trim bank 1", "Is it in tenths?"),
        (("ltft", None, tenths), "Long trim bank 1", "Is it in tenths?"),
        (("ltft", None, lambda v: np.where(np.arange(ROWS) < 2000, v, v[2000])), "Long trim bank 1", "filled down"),
        (("stft", None, lambda v: 1 + v / 100), "", ""),
        (("stft", None, lambda v: np.where(np.arange(ROWS) < 2750, v, 1 + v / 100)), "Short trim bank 1", "its unit"),
    ],
)
def test_what_the_course_contradicts_is_asked_about(
    tmp_path: Path, changed: tuple[str, None, Callable[[FloatArray], FloatArray]], channel: str, said: str
) -> None:
    """Each of these moved cells by 1 to 57 % without a word, or blamed something else."""
    key, _, turn = changed
    found = asked(read(tmp_path, std(col(key, convert=turn, decimals=4, unit=None if said else ""))))
    assert (channel in found) == bool(said)
    assert said in found.get(channel, "")


def test_exchanged_trims_are_asked_about(tmp_path: Path) -> None:
    found = asked(read(tmp_path, std(col("stft", "Long trim bank 1"), col("ltft", "Short trim bank 1"))))
    assert "names exchanged" in found["Short trim bank 1"]


def test_exchanged_pressures_are_asked_about_and_one_answer_puts_them_right(tmp_path: Path) -> None:
    exchanged = std(col("map", "Barometric pressure"), col("baro", "Manifold pressure"))
    path = tmp_path / "drive.csv"
    path.write_bytes(log(exchanged).files["drive.csv"])
    assert "names exchanged" in asked(run(read_log(path)))["Manifold pressure"]
    made = run(read_log(path, roles={"manifold_pressure": "Barometric pressure"}))
    assert made.questions == ()
    np.testing.assert_allclose(made.playing("manifold_pressure"), drive()["map"])  # type: ignore[arg-type]


def test_an_error_that_counts_from_1_is_asked_about(tmp_path: Path) -> None:
    from_command = col("lam", "Lambda deviation", "%", lambda v: 100 * (v / drive()["cmd"] - 1))
    from_1 = col("lam", "Lambda deviation", "%", lambda v: 100 * (v - 1))
    assert "count from 1" not in asked(read(tmp_path, std(from_command))).get("Lambda deviation", "")
    assert "count from 1" in asked(read(tmp_path, std(from_1)))["Lambda deviation"]


def test_lost_minus_signs_are_asked_about(tmp_path: Path) -> None:
    """Of 182 cars whose trims lost their signs 59 are told, of as many sound ones none is told so."""
    seeds = [seed for seed in range(1, 40) if draw(seed).loop.kind == "jumping"][3:6]
    for seed in seeds:
        _, paths = write(tmp_path, driven(draw(seed)), "curve", draw(seed).meter.unit)
        head, *rows = (line.split(",") for line in paths[0].read_text(encoding="utf-8").splitlines())
        trims = [at for at, name in enumerate(head) if "FT" in name]
        for row in rows:
            for at in trims:
                row[at] = row[at].removeprefix("-")
        paths[0].write_text("\n".join(",".join(row) for row in (head, *rows)), encoding="utf-8")
        if any("minus signs" in each for each in asked(run(read_log(paths[0]))).values()):
            return
    pytest.fail("none of them is told")


@pytest.mark.parametrize("seed", range(1, 19))
def test_sound_cars_are_asked_at_most_about_a_long_trim_that_stands(
    drawn: Callable[[int], list[Log]], seed: int
) -> None:
    """Of 180 such cars one in twenty is: those whose long trim reads 0 or one value throughout, as a dead one does."""
    for made in drawn(seed):
        assert all("stands at" in each for each in asked(made).values())


@pytest.mark.parametrize("part", [0.3, 0.6, 1.0])
def test_a_long_trim_whose_sign_turns_half_way_is_told(part: float) -> None:
    time = np.arange(6000) * 0.1
    air = 40 + 30 * np.sin(time / 7)
    long = np.array([-4.0, -1.5, 2.0, 5.0])[np.digitize(air, [25, 40, 55])] + 0.002 * time
    turned = np.where(np.arange(6000) < part * 6000, long, -long)
    moment = turns_at(Course(time, np.sin(time), turned), air)
    assert (moment is None) == (part == 1.0)
    assert moment is None or abs(moment - part * 600) < 40


@pytest.mark.parametrize(
    ("turn", "said"),
    [
        (lambda v: np.roll(v, -24), "before it is asked, as no sensor can"),
        (lambda v: np.roll(v, 120), "and no exhaust is so long"),
        (lambda v: v[::-1], "does one of the two come from another drive"),
        (lambda v: np.roll(v, 6), ""),
    ],
)
def test_a_wideband_that_does_not_go_with_the_command_is_asked_about(
    tmp_path: Path, turn: Callable[[FloatArray], FloatArray], said: str
) -> None:
    """It told of misfires and of a weak pump that were none."""
    made = read(tmp_path, std(col("lam", convert=turn)))
    asked = [each.question for each in made.questions if each.channel == "Measured lambda"]
    assert len(asked) == bool(said)
    assert all(said in each for each in asked)


def test_a_wideband_whose_clock_runs_at_another_rate_is_told() -> None:
    time = np.arange(0, 900, 0.125)
    commanded = np.where(time % 140 < 8, 0.86, 1.0)
    heard = {"lambda_commanded": commanded, "lambda_measured": np.interp(0.993 * time - 0.3, time, commanded)}
    names: dict[Role, str] = {"lambda_commanded": "Target", "lambda_measured": "WB"}
    (question,) = asked_of_wideband(Heard(heard, names, time, (), ()))  # type: ignore[arg-type] # roles
    assert "its clock runs at another rate" in question.question


def test_a_cold_start_is_no_clock_that_runs_at_another_rate() -> None:
    """Enriched after the start and behind a cold catalyst, the sensor followed seconds later, then as usual."""
    time = np.arange(0, 900, 0.125)
    commanded = np.where((time % 140 < 8) & (np.abs(time - 450) > 150), 0.86, 1.0)
    late = np.where(time < 450, 6.8, 2.1)
    heard = {"lambda_commanded": commanded, "lambda_measured": np.interp(time - late, time, commanded)}
    names: dict[Role, str] = {"lambda_commanded": "Target", "lambda_measured": "WB"}
    asked = asked_of_wideband(Heard(heard, names, time, (), ()))  # type: ignore[arg-type] # roles
    assert not [each for each in asked if "another rate" in each.question]


def test_a_wideband_that_was_cut_off_at_1_is_asked_about(tmp_path: Path) -> None:
    """It was taken for one behind the catalyst."""
    found = asked(read(tmp_path, std(col("lam", convert=lambda v: np.minimum(v, 1.0)))))
    assert "or what is lean was cut off" in found["Measured lambda"]
