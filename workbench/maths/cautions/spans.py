"""Stretches of marked rows, and the rows at which a channel brings something new."""

import numpy as np

from workbench.maths.signals.series import runs
from workbench.model.arrays import BoolArray, FloatArray, IntArray


def stretches(mask: BoolArray, time: FloatArray, shortest_s: float) -> list[tuple[float, float]]:
    """Return start and end, s, of every stretch of marked rows that lasts long enough."""
    spans = [(float(time[first]), float(time[after - 1])) for first, after in runs(mask)]
    return [span for span in spans if span[1] - span[0] >= shortest_s]


def worst_moment(values: FloatArray, rows: BoolArray, time: FloatArray) -> float:
    """Return the time of the largest value at some rows, s; NaN where none of these is known."""
    there = np.where(rows, values, np.nan)
    return float(time[np.nanargmax(there)]) if np.isfinite(there).any() else float("nan")


def changes(values: FloatArray) -> IntArray:
    """Return the rows at which a value stands that is another than the last one known, shape (changes,)."""
    known = np.flatnonzero(np.isfinite(values))
    found: IntArray = known[np.diff(values[known], prepend=np.nan) != 0]
    return found
