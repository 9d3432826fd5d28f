"""Series over the rows of a log: filling, averaging, turning points, stretches of time."""

from typing import TypeVar

import numpy as np

from workbench.maths.signals.aside import put_aside
from workbench.model.arrays import BoolArray, FloatArray, IntArray

Values = TypeVar("Values", FloatArray, IntArray, BoolArray)


LONGEST_S, LONGEST_STEPS = 2.0, 20.0  # s, and usual steps, between two rows: more is a hole


def filled(values: FloatArray) -> FloatArray:
    """Fill missing values from their neighbours in time, 1 where all are missing; shape kept."""
    whole = np.isfinite(values)
    if whole.all():
        return values
    if not whole.any():
        return np.ones_like(values)
    rows = np.arange(values.size)
    return np.interp(rows, rows[whole], values[whole])


def row_step(time: FloatArray) -> float:
    """Return the typical time between rows, s."""
    steps = np.diff(time)
    steps = steps[steps > 0]
    return float(np.median(steps)) if steps.size else 1.0


def without_holes(time: FloatArray) -> FloatArray:
    """Return times from which holes between rows are taken out: nothing stands where nothing was logged; shape kept."""
    if time.size < 2:
        return time
    steps = np.diff(time, prepend=time[0])
    return np.asarray(np.cumsum(np.where(steps > max(LONGEST_S, LONGEST_STEPS * row_step(time)), 0.0, steps)))


def quantisation_step(values: FloatArray, finest: float = 1e-6) -> float:
    """Return the smallest step between the different values of a channel, in its unit; 0 where it has none.

    Args:
        values: NaN where missing.
        finest: step that is worth telling.
    """
    levels = np.unique(values[np.isfinite(values)])
    if levels.size < 2:
        return 0.0
    steps = np.diff(levels)
    step = float(steps.min())
    # A channel without one shows steps of every size.
    return step if step > finest and np.all(np.abs(steps / step - np.rint(steps / step)) < 0.1) else 0.0


def moving_mean(values: FloatArray, time: FloatArray, window_s: float) -> FloatArray:
    """Return the mean over a window of time around each row, shape (rows,)."""
    steps = np.diff(time)
    area = np.concatenate([[0.0], np.cumsum(steps * (values[1:] + values[:-1]) / 2)])
    early, late = np.maximum(time - window_s / 2, time[0]), np.minimum(time + window_s / 2, time[-1])
    span = late - early
    inside = np.interp(late, time, area) - np.interp(early, time, area)
    mean: FloatArray = np.where(span > 0, inside / np.where(span > 0, span, 1.0), values)
    return mean


def change_rate(airflow: FloatArray, time: FloatArray, window_s: float = 0.4) -> FloatArray:
    """Return the size of the relative change of airflow, 1/s, over a short window around each row, shape (rows,)."""
    level = np.log(np.where(airflow > 0, airflow, np.nan))
    after = np.interp(time + window_s / 2, time, level)
    before = np.interp(time - window_s / 2, time, level)
    rate: FloatArray = np.abs(after - before) / window_s
    return rate


def turning_points(values: FloatArray) -> BoolArray:
    """Mark the rows at which a channel with a quantisation step turns from rising to falling or back, shape (rows,)."""
    moved = np.flatnonzero(np.nan_to_num(np.diff(values, prepend=values[:1])) != 0)
    turns = np.zeros(values.size, dtype=np.bool_)
    if moved.size > 1:
        up = values[moved] > values[moved - 1]
        turns[moved[1:][up[1:] != up[:-1]]] = True
    return turns


def recent_largest(values: FloatArray, time: FloatArray, seconds: float) -> FloatArray:
    """Return the largest value over the last seconds up to each row, shape (rows,); NaN counts as none."""
    step = row_step(time)
    reach = max(round(seconds / step), 0) + 1
    padded = np.concatenate([np.full(reach - 1, -np.inf), np.where(np.isnan(values), -np.inf, values)])
    largest: FloatArray = np.lib.stride_tricks.sliding_window_view(padded, reach).max(axis=1)
    return np.where(np.isfinite(largest), largest, np.nan)


def carried(values: FloatArray, time: FloatArray, seconds: float) -> FloatArray:
    """Let each known value stand until the next, for a time at most, shape (rows,); NaN where none does."""
    last = np.maximum.accumulate(np.where(np.isfinite(values), np.arange(values.size), -1))
    stands = (last >= 0) & (time - time[last] <= seconds)
    return np.where(stands, values[last], np.nan)


def runs(mask: BoolArray) -> list[tuple[int, int]]:
    """Return first row and the one after the last of every stretch of marked rows."""
    edges = np.flatnonzero(np.diff(mask.astype(np.int8), prepend=0, append=0)).tolist()
    return list(zip(edges[::2], edges[1::2], strict=True))


def blocks(time: FloatArray, seconds: float = 10.0) -> IntArray:
    """Number stretches of time, for counting how far samples depend on each other; shape (rows,)."""
    numbers: IntArray = np.floor((time - time[0]) / seconds).astype(np.int64)
    return numbers


def joined(parts: list[Values]) -> Values:
    """Concatenate the arrays of several drives and release them; a single one is not copied. To be read only."""
    whole: Values = parts[0] if len(parts) == 1 else put_aside(np.concatenate(parts))
    parts.clear()
    return whole
