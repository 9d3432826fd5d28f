"""Channels of their own moments, brought onto one even clock: only to be looked at, never as readings."""

import numpy as np

from workbench.model.arrays import BoolArray, FloatArray

FINEST_S, COARSEST_S = 0.1, 1.5  # steps of the even clock: finer ones tell no more of a loop, coarser ones nothing
MOST = 20_000  # steps; what a course tells, half an hour tells
STANDS_S, STATE_STANDS_S = 3.0, 60.0  # for which a value, and a state that is written on change, is taken to hold


def even_clock(time: FloatArray) -> FloatArray:
    """Give an even clock for a log, s, shape (steps,); empty where its rows are too few or too far apart.

    Args:
        time: s, shape (rows,), not falling.
    """
    steps = np.diff(time)
    steps = steps[steps > 0]
    if steps.size < 2 or not np.isfinite(time[[0, -1]]).all():
        return np.empty(0)
    step = max(float(np.median(steps)), FINEST_S)
    if step > COARSEST_S:
        return np.empty(0)
    count = min(int((time[-1] - time[0]) / step), MOST)
    return np.asarray(time[0] + step * np.arange(count))


def held_on(clock: FloatArray, time: FloatArray, values: FloatArray, longest: float = STANDS_S) -> FloatArray:
    """Give at each step the value that was read last, shape (steps,); NaN where that is longer ago than it holds.

    Args:
        clock: s, shape (steps,).
        time: s, shape (rows,).
        values: shape (rows,), NaN where nothing was read.
        longest: s.
    """
    known = np.isfinite(values)
    if not known.any():
        return np.full(clock.size, np.nan)
    moments, read = time[known], values[known]
    last = np.searchsorted(moments, clock, side="right") - 1
    at = np.maximum(last, 0)
    return np.where((last >= 0) & (clock - moments[at] <= longest), read[at], np.nan)


def throughout(marked: BoolArray, steps: int) -> BoolArray:
    """Tell of every span of so many steps whether all of it is marked, shape (steps of the clock - steps,)."""
    counted = np.concatenate(([0], np.cumsum(marked)))
    return np.asarray(counted[steps:-1] - counted[: -steps - 1] == steps)


def stretches(marked: BoolArray) -> int:
    """Count the stretches of steps that are marked."""
    return int(np.count_nonzero(np.diff(marked.astype(np.int8), prepend=0) == 1))
