"""How much of an independent reading a row is, where channels were renewed at moments of their own."""

import numpy as np

from workbench.model.arrays import BoolArray, FloatArray
from workbench.model.log import Log
from workbench.model.series import series_of


def reading_share(log: Log, needed: list[FloatArray], readings: BoolArray) -> FloatArray:
    """Return how much of an independent reading each row is, where channels are renewed more slowly than others.

    A row that brings the channel that speaks, but rests on others that are renewed more slowly, counts the time since
    the last such row over the slowest of their periods.

    Args:
        log: for its time.
        needed: channels that a reading rests on, as logged, each of shape (rows,).
        readings: rows that bring a new value of the channel that speaks, shape (rows,).
    """
    time = log.time.values
    share = np.ones(time.size)
    slowest = 0.0
    for values in needed:
        there = np.isfinite(values)
        if not there.all() and there.any() and (series := series_of(values, time)).kind != "on change":
            slowest = max(slowest, np.nan_to_num(series.period))
    rows = np.flatnonzero(readings)
    if slowest > 0 and rows.size > 1:
        share[rows] = np.clip(np.diff(time[rows], prepend=time[rows[0]] - slowest) / slowest, 0.0, 1.0)
    return share
