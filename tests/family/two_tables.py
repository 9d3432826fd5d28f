"""A car whose ECU blends its airflow curve with an efficiency grid: by engine speed, and in transients.

Below one engine speed the grid alone counts, above another the curve alone, in between their shares run linearly; and
whenever the throttle moves fast the grid takes over for a moment, as ECUs do whose airflow sensor is late. Both tables
are stale, each in its own way. The ECU logs the airflow that it used. Common practice, no source.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from typing import Any

import numpy as np

from family import air
from family import car as cars
from family.air import STEP_S, Array, Table
from family.driver import smooth
from family.parts import Car

GRID_BELOW, CURVE_ABOVE = 1500.0, 2250.0  # rpm
FAST_PER_S = 1.0  # of the throttle's opening, from which the grid takes over
HOLDS_S = 0.25


def grid_of(car: Car) -> Table:
    """Give the stale grid that the ECU holds beside its curve."""
    return air.grids_of(replace(car, kind="grid"))[1]


def share_of_grid(rpm: Array, opening: Array, *, in_transients: bool) -> Array:
    """Give the part of the airflow that the grid gives, 0..1, per step."""
    share = np.clip((CURVE_ABOVE - rpm) / (CURVE_ABOVE - GRID_BELOW), 0, 1)
    if in_transients:
        fast = np.abs(np.gradient(smooth(opening, 0.05), STEP_S)) > FAST_PER_S
        held = np.convolve(fast, np.ones(int(HOLDS_S / STEP_S)), "full")[: rpm.size] > 0
        share = np.maximum(share, held)
    return share


@contextmanager
def blended(*, in_transients: bool = True) -> Iterator[None]:
    """Let cars with a curve breathe by both tables, and log pressure too."""
    breathe, name = cars._breathe, cars._channels

    def both(car: Car, path: Any, driven: Table, duty: Array, wrong: Any, rng: np.random.Generator) -> Any:
        flow = breathe(car, path, driven, duty, wrong, rng)
        by_grid = air.charge_flow(car.engine, grid_of(car).read(path.rpm, flow.pressure), path.rpm, flow.pressure)
        share = share_of_grid(path.rpm, path.opening, in_transients=in_transients)
        return replace(flow, believed=share * by_grid + (1 - share) * flow.believed)

    def with_pressure(car: Car, path: Any, regime: Any, flow: Any, *others: Any) -> Any:
        return {**name(car, path, regime, flow, *others), "MAP (kPa)": flow.pressure}

    cars._breathe, cars._channels = both, with_pressure  # type: ignore[assignment]
    try:
        yield
    finally:
        cars._breathe, cars._channels = breathe, name  # type: ignore[assignment]
