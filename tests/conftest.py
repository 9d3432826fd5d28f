"""Small tables, logs and sessions that tests of all floors use."""

import os
from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np
import pytest
from hypothesis import settings

from workbench.model.log import Channel, Drive, Log
from workbench.model.packing import Column
from workbench.model.table import Axis, Table
from workbench.session import Session

# A test that changes how evidence is worked out must not find what was worked out before; programs it starts neither.
os.environ["WORKBENCH_CACHE"] = "off"

# Machines differ, so nothing here is timed; and a change is judged by the same examples as the one before it.
settings.register_profile("house", deadline=None, derandomize=True)
settings.register_profile("search", deadline=None, max_examples=1000)  # new ones: --hypothesis-profile=search
settings.load_profile("house")


@pytest.fixture
def curve() -> Table:
    """A rising airflow curve over five breakpoints."""
    axis = Axis("sensor signal", "Hz", np.array([1000.0, 2000, 3000, 4500, 6000]))
    return Table("airflow", "mass airflow", "g/s", (axis,), np.array([2.0, 6.0, 15.5, 48.0, 110.0]))


@pytest.fixture
def grid() -> Table:
    """A volumetric-efficiency grid of three speeds by four pressures."""
    axes = (
        Axis("engine speed", "rpm", np.array([800.0, 2000, 4000])),
        Axis("manifold pressure", "kPa", np.array([20.0, 40, 70, 100])),
    )
    return Table("efficiency", "volumetric efficiency", "%", axes, np.arange(12.0).reshape(3, 4) + 60.25)


@pytest.fixture
def make_drive() -> Callable[..., Drive]:
    """Makes a drive with a few rows, some of them missing."""

    def make(number: int = 1, revision: int = 1, name: str = "town.csv") -> Drive:
        time = np.arange(20) / 20
        airflow = np.where(time > 0.5, np.nan, 5 + time)
        channels = (
            Channel("MAF", "g/s", Column(airflow), "kg/h"),
            Channel('weird, "name"', "", Column(-time)),
        )
        log = Log(
            name, f"{number:064x}", Column(time), channels, {"airflow": "MAF"}, {"airflow": "by its name"}, ("assumed",)
        )
        return Drive(number, log, revision, "before", "2026-01-01T00:00:00Z")

    return make


@pytest.fixture
def session(tmp_path: Path, curve: Table) -> Iterator[Session]:
    """A session of the curve, open."""
    with Session.create(tmp_path / "car.session", curve, author="tester") as made:
        yield made
