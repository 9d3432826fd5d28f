"""Trims of a wrong sign or scale are told by what trims and mixture owe each other; those of sound cars are not."""

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from family.car import run as driven
from family.car import write
from family.lottery import draw

from workbench.files.course.balance import Around, given_back, moved_by_trims
from workbench.files.course.loop import Course
from workbench.files.logs import read_log
from workbench.model.arrays import FloatArray
from workbench.model.log import Log
from workbench.work import run

Turn = Callable[[FloatArray], FloatArray]
SHORT, LONG = "STFT Bank 1 (%)", "LTFT Bank 1 (%)"
TELL = (38, 57, 68)  # cars that learn much while they are driven


@pytest.fixture(scope="module")
def drives(tmp_path_factory: pytest.TempPathFactory) -> dict[int, Path]:
    found = {}
    for seed in TELL:
        car = draw(seed)
        found[seed] = write(tmp_path_factory.mktemp("car"), driven(car), "curve", car.meter.unit)[1][0]
    return found


def turned(path: Path, folder: Path, turns: dict[str, Turn]) -> Path:
    head, *rows = (line.split(",") for line in path.read_text(encoding="utf-8").splitlines())
    for name, turn in turns.items():
        at = head.index(name)
        for row in rows:
            if row[at]:
                row[at] = f"{turn(np.array([float(row[at])]))[0]:.6g}"
    made = folder / "turned.csv"
    made.write_text("\n".join(",".join(row) for row in (head, *rows)), encoding="utf-8")
    return made


def flags(made: Log) -> set[str]:
    return {each.flag for question in made.questions for each in question.alternatives}


@pytest.mark.parametrize("seed", TELL)
@pytest.mark.parametrize(
    ("turn", "answer"),
    [
        (lambda v: 2 * v, "times-0.5"),
        (lambda v: v / 2, "times-2"),
        (lambda v: -v, "turned"),
        (lambda v: v, ""),
    ],
)
def test_a_long_trim_of_another_sign_or_scale_is_asked_about_and_put_right(
    tmp_path: Path, drives: dict[int, Path], seed: int, turn: Turn, answer: str
) -> None:
    """A long trim of twice its size moved cells by 6 % without a word."""
    sound = run(read_log(drives[seed])).playing("ltft_1")
    path = turned(drives[seed], tmp_path, {LONG: turn})
    long, short = LONG.removesuffix(" (%)"), SHORT.removesuffix(" (%)")
    asked = flags(run(read_log(path)))
    if not answer:
        assert asked == set()
        return
    assert f"--unit '{long}={answer}'" in asked
    stated = {long: answer} | ({short: "as-logged"} if f"--unit '{short}=as-logged'" in asked else {})
    made = run(read_log(path, units=stated))
    assert made.questions == ()
    assert sound is not None
    np.testing.assert_allclose(made.playing("ltft_1"), sound, atol=0.02)  # type: ignore[arg-type]


def test_a_long_trim_of_another_moment_gives_nothing_back(tmp_path: Path, drives: dict[int, Path]) -> None:
    made = run(read_log(drives[68]))
    short, long = made.playing("stft_1"), made.playing("ltft_1")
    air, turns = made.playing("airflow"), made.playing("engine_speed")
    assert short is not None
    assert long is not None
    assert air is not None
    others = (made.playing(role) for role in ("lambda_measured", "lambda_commanded", "fuel_system"))
    measured, commanded, status = others
    around = Around(air, True, turns)
    right = given_back(Course(made.time.values, short, long, measured, commanded, status), around)
    late = given_back(
        Course(made.time.values, short, np.roll(long, long.size // 3), measured, commanded, status), around
    )
    assert right is not None
    assert late is not None
    assert abs(right.size - 1) < 0.1
    assert right.fit > 0.9
    assert late.fit < 0.4


def test_a_mixture_that_moves_further_than_its_trims_tells_that_they_are_too_small() -> None:
    """A sensor damps what trims do to the mixture; it never makes more of it."""
    random = np.random.Generator(np.random.PCG64(5))
    time = np.arange(6000) * 0.1
    trim = 3 * np.sign(np.sin(time * 1.3 + np.sin(time / 9))) + 2 * np.sin(time / 5)
    air = 20 + 15 * np.sin(time / 11)
    mixture = np.interp(time - 0.3, time, 1 / (1 + trim / 100)) + random.normal(0, 0.002, time.size)
    for scale, low, high in ((1.0, 0.85, 1.05), (0.5, 1.7, 2.1), (5.0, 0.1, 0.25)):
        found = moved_by_trims(Course(time, scale * trim, None, mixture), Around(air, True))
        assert found is not None
        assert low < found.size < high
        assert found.fit > 0.7


def test_a_log_too_short_or_that_never_moves_tells_nothing() -> None:
    for rows in (0, 1, 5, 400):
        at = np.arange(rows)
        course = Course(at * 0.1, np.zeros(rows), np.zeros(rows), np.ones(rows))
        around = Around(np.full(rows, 5.0), True, np.full(rows, 2000.0), np.full(rows, 90.0))
        assert given_back(course, around) is None
        assert moved_by_trims(course, around) is None
    nothing = np.full(3000, np.nan)
    course = Course(np.arange(3000) * 0.1, nothing, nothing, nothing)
    assert given_back(course, Around(nothing, True)) is None
    assert moved_by_trims(course, Around(nothing, True)) is None


@pytest.mark.parametrize(("sum_", "said"), [(False, "reads the same as"), (True, "is it the sum of both?")])
def test_a_long_trim_that_is_the_short_one_or_the_sum_is_asked_about(
    tmp_path: Path, drives: dict[int, Path], sum_: bool, said: str
) -> None:
    head, *rows = (line.split(",") for line in drives[57].read_text(encoding="utf-8").splitlines())
    short, long = head.index(SHORT), head.index(LONG)
    last = ["0", "0"]
    for row in rows:
        last = [row[short] or last[0], row[long] or last[1]]
        if row[long] and row[short]:
            row[long] = f"{float(last[0]) + (float(last[1]) if sum_ else 0):.6g}"
    path = tmp_path / "doubled.csv"
    path.write_text("\n".join(",".join(row) for row in (head, *rows)), encoding="utf-8")
    (question,) = run(read_log(path)).questions
    assert said in question.question
    assert len(question.alternatives) == 1  # without trims the log would tell of another mixture
