"""A command that stays at 1 while the engine runs rich in its pulls is asked about, whether it stands or dithers."""

from pathlib import Path

import numpy as np
import pytest

from workbench.files.logs import read_log
from workbench.model.log import Log
from workbench.work import run

T = np.arange(0, 120, 0.1)
PULL = (T % 40 > 30) & (T % 40 < 38)
RPM = np.where(PULL, 2000 + 450 * (T % 40 - 30), 1800 + 300 * np.sin(T / 3))
AIRFLOW = np.where(PULL, RPM / 60, RPM / 180)
MEASURED = np.where(PULL, 0.87 + 0.01 * np.sin(7 * T), 1 + 0.02 * np.sin(4 * T))


def read(place: Path, command: np.ndarray, measured: np.ndarray = MEASURED) -> Log:  # type: ignore[type-arg]
    path = place / "drive.csv"
    head = (
        "Time (s),Engine speed (rpm),Airflow (g/s),STFT bank 1 (%),Lambda commanded,Lambda measured,Fuel system status"
    )
    trim = np.where(PULL, 0.0, 2 * np.sin(3 * T))
    columns = (T, RPM, AIRFLOW, trim, command, measured)
    rows = [
        ",".join(f"{value:.4f}" for value in row) + f",{4 if pull else 2}"
        for *row, pull in zip(*columns, PULL, strict=True)
    ]
    path.write_text("\n".join([head, *rows]) + "\n")
    return run(read_log(path))


def asked(log: Log) -> bool:
    return any("Is it what the ECU commands?" in each.question for each in log.questions)


@pytest.mark.parametrize("dither", [0.0, 0.005, 0.015])
def test_a_command_that_never_asks_for_more_fuel_is_asked_about(tmp_path: Path, dither: float) -> None:
    assert asked(read(tmp_path, 1 + dither * np.sin(5 * T)))


def test_one_that_asks_for_more_fuel_in_pulls_is_not(tmp_path: Path) -> None:
    assert not asked(read(tmp_path, np.where(PULL, 0.88, 1.0)))


def test_one_that_is_kept_is_not(tmp_path: Path) -> None:
    """An engine that runs at lambda 1 at full throttle too, a little rich by its table."""
    assert not asked(
        read(tmp_path, 1 + 0.005 * np.sin(5 * T), np.where(PULL, 0.97 + 0.01 * np.sin(7 * T), 1 + 0.02 * np.sin(4 * T)))
    )
