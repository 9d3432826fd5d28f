"""An engine speed or a pressure of another scale shows in an airflow that the ECU looked up in a grid."""

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from workbench.demo.rounds import history_of
from workbench.maths.drives.grid_match import scale_of_grid
from workbench.maths.table.interpolation import look_up
from workbench.model.log import Channel, Drive, Log
from workbench.model.packing import Column
from workbench.model.table import Axis, Table

SPEEDS, PRESSURES = np.linspace(800.0, 6000.0, 9), np.linspace(20.0, 100.0, 9)
VALUES = 55 + 0.012 * (SPEEDS[:, None] - 800) - 1.4e-6 * (SPEEDS[:, None] - 800) ** 2 + 0.25 * (PRESSURES[None] - 20)
GRID = Table(
    "ve", "Efficiency", "%", (Axis("Engine speed", "rpm", SPEEDS), Axis("Manifold pressure", "kPa", PRESSURES)), VALUES
)


def said(
    speed: float = 1.0, pressure: float = 1.0, shift: float = 0.0, measured: float = 0.0, table: Table = GRID
) -> str:
    random = np.random.Generator(np.random.PCG64(2))
    time = np.arange(6000) * 0.1
    turns = 2400 + 1100 * np.sin(time / 23) + 300 * np.sin(time / 3.1)
    kpa = 55 + 25 * np.sin(time / 17) + 8 * np.sin(time / 41)
    air = 25 + 5 * np.sin(time / 200)
    flow = look_up(GRID, np.column_stack((turns, kpa))) * turns * kpa / (air + 273.15) * 4e-6 * 20
    flow *= 1 + measured * np.sin(turns / 700 + kpa / 15)
    columns = {
        "engine_speed": ("RPM", "rpm", turns * speed + random.normal(0, 3, time.size)),
        "manifold_pressure": ("MAP", "kPa", kpa * pressure + shift),
        "airflow": ("MAF", "g/s", np.round(flow, 2)),
        "intake_temperature": ("IAT", "degC", air),
    }
    channels = tuple(Channel(name, unit, Column(values), unit) for name, unit, values in columns.values())
    roles: Any = {role: each[0] for role, each in columns.items()}
    log = Log("drive.csv", "0" * 64, Column(time), channels, roles)
    return scale_of_grid(history_of((table,)), Drive(1, log, 1), "ve")


@pytest.mark.parametrize(
    ("wrong", "way"),
    [
        ({"speed": 0.5}, "RPM times 2,"),
        ({"speed": 1.5}, "RPM times 0.667,"),
        ({"pressure": 5 / 6}, "MAP times 1.2,"),
        ({"shift": -10.0}, "MAP +10 kPa,"),
        ({"shift": 8.0}, "MAP -8 kPa,"),
        ({"speed": 1.1}, "RPM times 0.91,"),
        ({"speed": 0.9}, "RPM times 1.11,"),
        ({"pressure": 1.1}, "MAP times 0.91,"),
    ],
)
def test_a_speed_or_a_pressure_of_another_scale_is_told(wrong: dict[str, float], way: str) -> None:
    """Proven cells were 3 to 7 % off, and nothing was said."""
    assert way in said(**wrong)


def test_a_sound_log_and_a_measured_airflow_tell_nothing() -> None:
    assert said() == ""
    assert said(measured=0.05) == ""  # what a sensor measures is no look-up, at any scale
    assert said(measured=0.05, shift=8.0) == ""


@pytest.mark.parametrize(("at", "axis"), [(0, "Engine speed"), (1, "Manifold pressure")])
def test_a_grid_that_stands_upside_down_is_told(at: int, axis: str) -> None:
    """Corrected, it would have been handed over upside down."""
    found = said(table=replace(GRID, values=np.flip(GRID.values, at)))
    assert f"read from the other end of {axis}" in found
