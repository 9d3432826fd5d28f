"""A unit that changes within a file is asked about; drives of sound cars are not taken for one."""

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from field.car import drive
from field.shape import col, log, std

from workbench.files.course.unit_change import unit_changes
from workbench.files.logs import read_log
from workbench.model.arrays import FloatArray
from workbench.model.log import Log, Role
from workbench.work import run

Turn = Callable[[FloatArray], FloatArray]


def halfway(turn: Turn, part: float) -> Turn:
    return lambda values: np.where(np.arange(values.size) < part * values.size, values, turn(values))


@pytest.mark.parametrize("part", [0.3, 0.7])
@pytest.mark.parametrize(
    ("key", "turn", "role"),
    [
        ("maf", lambda v: 3.6 * v, "airflow"),
        ("hz", lambda v: v / 1000, "sensor_signal"),
        ("map", lambda v: v / 6.894757, "manifold_pressure"),
        ("rpm", lambda v: v / 60, "engine_speed"),
        ("lam", lambda v: 14.7 * v, "lambda_measured"),
        ("cmd", lambda v: 14.7 * v, "lambda_commanded"),
        ("stft", lambda v: v / 100, "stft_1"),
        ("coolant", lambda v: 1.8 * v + 32, "coolant_temperature"),
    ],
)
def test_a_unit_that_changes_is_asked_about(tmp_path: Path, key: str, turn: Turn, role: Role, part: float) -> None:
    path = tmp_path / "drive.csv"
    cooler = 12.0 if key == "coolant" else 0.0  # hotter than 180 degC in its second part, it would be no reading
    changed = col(key, convert=lambda values: halfway(turn, part)(values - cooler), decimals=5)
    path.write_bytes(log(std(changed)).files["drive.csv"])
    made = run(read_log(path))
    assert made.roles[role] in {each.channel for each in made.questions}


def test_the_moment_and_the_factor_are_told(tmp_path: Path) -> None:
    path = tmp_path / "drive.csv"
    path.write_bytes(log(std(col("maf", convert=halfway(lambda v: 3.6 * v, 0.5)))).files["drive.csv"])
    (question,) = run(read_log(path)).questions
    moment = float(question.question.split("about ")[1].split(" s")[0])
    assert abs(moment - drive()["time"][-1] / 2) < 10
    assert "reads 3.6 times as much" in question.question


@pytest.mark.parametrize("seed", range(1, 13))
def test_no_unit_of_other_cars_changes(drawn: Callable[[int], list[Log]], seed: int) -> None:
    """Of 180 such cars none is told so falsely."""
    made = drawn(seed)[0]
    values = {role: column for role in made.roles if (column := made.playing(role)) is not None}
    assert unit_changes(made.time.values, values) == []


def test_an_overrun_after_a_pull_is_no_change_of_unit() -> None:
    """Of a log of pulls alone it was asked whether the pressure changes its unit."""
    time = np.arange(0, 120, 0.125)
    after = time > 95
    pressure = np.where(after, 10.0, 98.0) + np.sin(time)
    turns = 3000 + 20 * time
    values: dict[Role, FloatArray] = {
        "manifold_pressure": pressure,
        "engine_speed": turns,
        "airflow": pressure * turns / 6000,
    }
    assert unit_changes(time, values) == []
    told = unit_changes(time, {**values, "airflow": 98 * turns / 6000})
    assert [each.role for each in told] == ["manifold_pressure"]
