"""Columns of one log that were put beside each other at other moments: what tells the same air runs apart in time."""

from collections.abc import Mapping

import numpy as np

from workbench.files.course.even import even_clock, held_on
from workbench.model.arrays import FloatArray
from workbench.model.log import Role

FURTHEST_S, LEAST_S = 60.0, 1.0  # s that are looked at, and that are more than a logger takes for a row
ALIKE, SURER = 0.95, 4.0  # correlation of ranks at the right moment, and how much less is left there than now
FEWEST = 300  # steps
_SPEED: tuple[Role, ...] = ("manifold_pressure", "load")


def late_columns(time: FloatArray, values: Mapping[Role, FloatArray]) -> tuple[Role, Role, float] | None:
    """Give a channel of the air, another, and by how much later the first one is, s; None where all fit each other.

    Args:
        time: s, shape (rows,).
        values: role -> values in base units, shape (rows,), NaN where nothing was read.
    """
    clock = even_clock(time)
    if clock.size < FEWEST:
        return None
    flow = None if "airflow" not in values else held_on(clock, time, values["airflow"])
    turns = None if "engine_speed" not in values else held_on(clock, time, values["engine_speed"])
    if flow is None:
        return None
    if "sensor_signal" in values and (late := _later(clock, held_on(clock, time, values["sensor_signal"]), flow)):
        return "sensor_signal", "airflow", late
    for role in _SPEED:
        if role in values and turns is not None:
            stroke = np.where(turns > 0, flow / np.where(turns > 0, turns, 1.0), np.nan)
            if late := _later(clock, held_on(clock, time, values[role]), stroke):
                return role, "airflow", late
    return None


def _later(clock: FloatArray, first: FloatArray, other: FloatArray) -> float | None:
    """Give by how much the first is later than the other, s; None where they fit now, or never."""
    known = np.isfinite(first) & np.isfinite(other)
    if np.count_nonzero(known) < FEWEST:
        return None
    rows = np.arange(clock.size)
    ranks = []
    for each in (first, other):
        filled = np.interp(rows, rows[known], each[known])
        order = np.argsort(np.argsort(filled, kind="stable"), kind="stable").astype(float)
        ranks.append((order - order.mean()) / order.std())
    a, b = ranks
    size = 1 << int(np.ceil(np.log2(2 * clock.size)))
    match = np.fft.irfft(np.fft.rfft(a, size) * np.conj(np.fft.rfft(b, size)), size)
    step = float(clock[1] - clock[0])
    most = min(round(FURTHEST_S / step), clock.size // 2)
    lags = np.arange(-most, most + 1)
    found = match[lags] / (clock.size - np.abs(lags))
    best = int(np.argmax(found))
    late = float(lags[best] * step)
    now = float(found[np.abs(lags * step) < LEAST_S].max())
    if abs(late) < LEAST_S or found[best] < ALIKE or 1 - now < SURER * max(1 - float(found[best]), 0.005):
        return None
    return late
