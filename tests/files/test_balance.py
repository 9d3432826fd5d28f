"""Trims of a wrong sign or scale are told by what trims and mixture owe each other; those of sound cars are not."""

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from family.car import run as driven
from family.car import write
from family.lottery import draw

from workbench.files.course.balance import Around, given_back, moved_by_trims
from workbench.files.course.heard import Heard
from workbench.files.course.loop import Course
from workbench.files.course.scales import asked_of_scales
from workbench.files.logs import read_log
from workbench.model.arrays import FloatArray
from workbench.model.log import Log, Question, Role
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


@pytest.fixture(scope="module")
def told(drives: dict[int, Path]) -> Course:
    made = run(read_log(drives[68]))
    columns = [
        made.playing(role) for role in ("stft_1", "ltft_1", "lambda_measured", "lambda_commanded", "fuel_system")
    ]
    assert all(each is not None for each in columns)
    return Course(made.time.values, *columns)  # type: ignore[arg-type] # all are there


def heard_of(drives: dict[int, Path], course: Course) -> Heard:
    made = run(read_log(drives[68]))
    values = {role: made.playing(role) for role in made.roles}
    values |= {"stft_1": course.short, "ltft_1": course.long, "lambda_measured": course.measured}
    return Heard(
        {role: each for role, each in values.items() if each is not None}, made.roles, made.time.values, {}, ()
    )


def test_a_wideband_that_drifts_tells_no_scale_of_trims(drives: dict[int, Path], told: Course) -> None:
    """It was asked four times whether trims are logged at half of their size, with answers that were all wrong."""
    assert told.measured is not None
    learnt = np.where(np.isfinite(told.long), told.long, 0.0)  # type: ignore[arg-type]
    slow = np.convolve(np.pad(learnt, 1500, mode="edge"), np.ones(3001) / 3001, mode="valid")
    drifting = replace(told, measured=told.measured * (1 - 3 * (slow - slow[0]) / 100))
    asked = asked_of_scales(heard_of(drives, drifting), drifting, "stft_1", "ltft_1")
    assert asked == []


def test_a_long_trim_that_was_lost_below_0_is_asked_about() -> None:
    """Filled with what stood above 0 it moved cells by 2.2 %."""
    random = np.random.default_rng(5)
    time = np.arange(0, 1500, 0.2)
    visit = (time // 15).astype(int)
    air = np.exp(random.uniform(np.log(3), np.log(90), visit[-1] + 1))
    cell = np.digitize(np.log(air), np.linspace(np.log(3), np.log(90), 7)[1:-1])
    learnt, level = np.zeros(air.size), np.array([3.0, 2.5, -2.0, 2.0, 1.5, 3.5])
    for each, at in enumerate(cell):
        level[at] += random.normal(0, 0.6)
        level[at] = abs(level[at]) * (-1 if at == 2 else 1)
        learnt[each] = level[at]
    long = learnt[visit]
    short = 4 * np.sin(np.log(air))[visit] - long + random.normal(0, 0.3, time.size)
    measured = 1 + random.normal(0, 0.003, time.size)
    flow = air[visit] * (1 + random.normal(0, 0.01, time.size))
    closed = np.full(time.size, 2.0)

    def asked(trim: FloatArray) -> list[Question]:
        names: dict[Role, str] = {"airflow": "A", "stft_1": "S", "ltft_1": "L", "lambda_measured": "M"}
        values: dict[Role, FloatArray] = {"airflow": flow, "stft_1": short, "ltft_1": trim, "lambda_measured": measured}
        course = Course(time, short, trim, measured, None, closed)
        return asked_of_scales(Heard(values, names, time, {}, ()), course, "stft_1", "ltft_1")

    assert asked(long) == []
    kept = np.maximum.accumulate(np.where(long >= 0, np.arange(long.size), 0))
    (question,) = asked(np.abs(long[kept]))
    assert "was it lost below 0" in question.question
