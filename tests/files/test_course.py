"""Trims of the wrong sign, of another moment, or that hold both, are asked about; those of sound cars are not."""

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from field.car import RATE_HZ, drive
from field.shape import Col, col, log, std

from workbench.files.course.loop import Course, holds_both, later_by, runs_against
from workbench.files.logs import read_log
from workbench.model.arrays import FloatArray
from workbench.model.log import Log
from workbench.work import run

Turn = Callable[[FloatArray], FloatArray]
SHORT, LONG, LAMBDA = "Short trim bank 1", "Long trim bank 1", "Measured lambda"


def read(folder: Path, columns: list[Col], units: dict[str, str] | None = None) -> Log:
    path = folder / "drive.csv"
    path.write_bytes(log(columns).files["drive.csv"])
    return run(read_log(path, units=units or {}))


def flags(made: Log) -> set[str]:
    return {each.flag for question in made.questions for each in question.alternatives}


def negative(values: FloatArray) -> FloatArray:
    return -values


def later(seconds: float) -> Turn:
    return lambda values: np.interp(np.arange(values.size) - seconds * RATE_HZ, np.arange(values.size), values)


def test_trims_of_the_wrong_sign_are_asked_about_and_turned(tmp_path: Path) -> None:
    """All cells came out as far on the other side of 1 as they are off, without a word."""
    turned = std(col("stft", convert=negative), col("ltft", convert=negative))
    words = ("as-logged", "turned")
    assert flags(read(tmp_path, turned)) == {f"--unit '{name}={word}'" for name in (SHORT, LONG) for word in words}
    made = read(tmp_path, turned, {SHORT: "turned", LONG: "turned"})
    assert made.questions == ()
    np.testing.assert_allclose(made.playing("stft_1"), drive()["stft"])  # type: ignore[arg-type]
    np.testing.assert_allclose(made.playing("ltft_1"), drive()["ltft"])  # type: ignore[arg-type]
    kept = read(tmp_path, turned, {SHORT: "as-logged", LONG: "as-logged"})
    assert kept.questions == ()
    np.testing.assert_allclose(kept.playing("stft_1"), -drive()["stft"])  # type: ignore[arg-type]


def test_a_mixture_whose_word_does_not_tell_that_it_is_inverted_is_asked_about(tmp_path: Path) -> None:
    turned = std(col("lam", "WB lambda", "", lambda v: 1 / v, 4))
    assert flags(read(tmp_path, turned)) == {"--unit 'WB lambda=as-logged'", "--unit 'WB lambda=fuel-over-air'"}
    made = read(tmp_path, turned, {"WB lambda": "fuel-over-air"})
    np.testing.assert_allclose(made.playing("lambda_measured"), drive()["lam"], rtol=0.001)  # type: ignore[arg-type]


def test_a_mixture_that_is_its_command_and_noise_is_asked_about(tmp_path: Path) -> None:
    """A value that was worked out proved full throttle."""
    random = np.random.default_rng(4)
    modelled = col("lam", convert=lambda _: drive()["cmd"] * (1 + random.normal(0, 0.0015, drive()["cmd"].size)))
    (question,) = read(tmp_path, std(modelled)).questions
    assert "it is worked out from the command and measures nothing" in question.question
    assert {each.answer for each in question.alternatives} == {"measured", "leave it out"}


@pytest.mark.parametrize("whole", [25.6, 200.0])
def test_trims_that_wrapped_at_a_count_are_read_with_their_signs(tmp_path: Path, whole: float) -> None:
    """They were called trims of the wrong sign, or left out as impossible."""
    tenths = np.round(drive()["stft"] - float(np.median(drive()["stft"])), 1)
    made = read(tmp_path, std(col("stft", convert=lambda _: np.where(tenths < 0, tenths + whole, tenths))))
    assert made.questions == ()
    np.testing.assert_allclose(made.playing("stft_1"), tenths, atol=1e-6)  # type: ignore[arg-type]
    assert any(f"leaps by about {whole:g}" in note for note in made.notes)


def test_trims_that_wrapped_at_an_unknown_count_are_asked_about(tmp_path: Path) -> None:
    tenths = np.round(drive()["stft"] - float(np.median(drive()["stft"])), 1)
    wrapped = std(col("stft", convert=lambda _: np.where(tenths < 0, tenths + 22.0, tenths)))
    (question,) = read(tmp_path, wrapped).questions
    assert "leaps by about 22" in question.question
    assert [each.flag for each in question.alternatives] == [f"--role 'stft_1={SHORT}'"]


@pytest.mark.parametrize("seconds", [3.0, 8.0, -6.0])
def test_trims_of_another_moment_are_asked_about(tmp_path: Path, seconds: float) -> None:
    late = std(col("stft", convert=later(seconds)), col("ltft", convert=later(seconds)))
    made = read(tmp_path, late)
    assert flags(made) == {f"--role 'stft_1={SHORT}'"}  # without its trims the log would tell of another mixture
    assert f"only {abs(seconds):g} s {'earlier' if seconds > 0 else 'later'}" in made.questions[0].question


def test_a_short_trim_that_holds_both_is_asked_about(tmp_path: Path) -> None:
    """The long trim counted twice: up to 8 % in a cell, without a word."""
    both = std(col("stft", convert=lambda v: v + drive()["ltft"]))
    assert flags(read(tmp_path, both)) == {f"--role 'ltft_1={LONG}'", "--role 'ltft_1='"}


@pytest.mark.parametrize("banks", [1, 2])
@pytest.mark.parametrize("drop", ["", "status", "lam", "cmd", "status cmd"])
def test_sound_trims_are_asked_nothing(tmp_path: Path, drop: str, banks: int) -> None:
    made = read(tmp_path, std(drop=drop, banks=banks))
    assert not [each for each in made.questions if "runs against" in each.question or "fits the rest" in each.question]
    assert not any("turned" in flag or "as-logged" in flag for flag in flags(made))


def course_of(made: Log, turn: Turn = lambda values: values, *, both: bool = False) -> Course:
    short, long = made.playing("stft_1"), made.playing("ltft_1")
    assert short is not None
    assert long is not None
    rows = np.arange(made.rows)
    held = np.maximum.accumulate(np.where(np.isfinite(long), rows, 0))
    short = turn(short) + (np.nan_to_num(long[held]) if both else 0.0)
    others = (made.playing(role) for role in ("lambda_measured", "lambda_commanded", "fuel_system"))
    return Course(made.time.values, short, long, *others)


@pytest.fixture(scope="module")
def family(drawn: Callable[[int], list[Log]]) -> list[Log]:
    """Give the logs of cars whose physics, loops and loggers were drawn by lot."""
    return [drawn(seed)[0] for seed in range(1, 13)]


def test_the_course_tells_of_other_cars(family: list[Log]) -> None:
    """Of 180 such cars: none asked falsely; 150 of 180 signs, 143 sums and 174 trims of 5 s later are told."""
    sound = [course_of(each) for each in family]
    assert not any(runs_against(each) or holds_both(each) or later_by(each) is not None for each in sound)
    assert sum(runs_against(course_of(each, negative)) for each in family) >= 9
    assert sum(holds_both(course_of(each, both=True)) for each in family) >= 9


def test_a_log_too_short_or_too_slow_tells_nothing() -> None:
    for rows, step in ((0, 0.1), (1, 0.1), (5, 0.1), (60, 0.1), (300, 20.0)):
        at = np.arange(rows)
        course = Course(at * step, np.sin(at), np.cos(at), 1 + 0.01 * np.sin(at), np.ones(rows), 2.0 + 2 * (at % 7 < 2))
        assert not runs_against(course)
        assert later_by(course) is None
        assert not holds_both(course)
