"""A channel of the air that goes with nothing else that tells of it, as one that comes from another drive."""

from collections.abc import Mapping

import numpy as np

from workbench.files.course.even import even_clock, held_on
from workbench.model.arrays import FloatArray
from workbench.model.log import Role

# Correlation of ranks: what air has in common with pressure or load times speed at least, and with throttle times
# speed; and what tells that the others are those of one drive. Sound cars of four makers lie above 0.91 throughout.
LEAST, LEAST_OF_THROTTLE, OF_ONE_DRIVE = 0.5, 0.35, 0.8
FEWEST, RUNS = 300, 400.0  # steps; rpm
FEWEST_LEVELS = 20  # of a throttle that moves
_FILLED: tuple[Role, ...] = ("manifold_pressure", "load", "throttle")
_AIRS: tuple[Role, ...] = ("sensor_signal", "airflow")


def strange_air(time: FloatArray, values: Mapping[Role, FloatArray]) -> tuple[Role, tuple[Role, ...]] | None:
    """Give a channel of the air that goes with none of those it should go with, and these; None where none does.

    Args:
        time: s, shape (rows,).
        values: role -> values in base units, shape (rows,), NaN where nothing was read.
    """
    clock = even_clock(time)
    if clock.size < FEWEST or "engine_speed" not in values:
        return None
    turns = held_on(clock, time, values["engine_speed"])
    turns = np.where(turns > RUNS, turns, np.nan)
    filled = {
        role: held_on(clock, time, values[role]) * turns
        for role in _FILLED
        if role in values and np.unique(values[role][np.isfinite(values[role])]).size >= FEWEST_LEVELS
    }
    airs = {role: held_on(clock, time, values[role]) for role in _AIRS if role in values}
    for role, air in airs.items():
        if filled and all(_apart(air, each, other) for other, each in filled.items()):
            return role, ("engine_speed", *filled)
    flow, pressure = airs.get("airflow"), filled.get("manifold_pressure")
    others = [each for role, each in filled.items() if role != "manifold_pressure"]
    if flow is None or pressure is None or not others:
        return None
    if _apart(flow / turns, pressure / turns, "manifold_pressure") and all(
        _alike(flow, each) > OF_ONE_DRIVE for each in others
    ):
        return "manifold_pressure", ("engine_speed", "airflow")
    return None


def _apart(air: FloatArray, filled: FloatArray, role: Role) -> bool:
    return _alike(air, filled) < (LEAST_OF_THROTTLE if role == "throttle" else LEAST)


def _alike(first: FloatArray, other: FloatArray) -> float:
    """Correlate ranks, whichever way either counts; 1 where too few rows tell."""
    known = np.isfinite(first) & np.isfinite(other)
    if np.count_nonzero(known) < FEWEST:
        return 1.0
    mine, theirs = (np.argsort(np.argsort(each[known], kind="stable"), kind="stable") for each in (first, other))
    return abs(float(np.corrcoef(mine, theirs)[0, 1]))
