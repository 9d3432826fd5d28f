"""Channels that were renewed at moments of their own, brought together on the rows of a log.

Between two readings a channel went from one to the next, so there it is taken to run straight, but only over gaps that
are no longer than a few of its own periods: past them nothing is known. A channel that is written on change, or that
is a state, holds until it is written again. What is brought in so may place a reading of another channel; it is no
reading itself.
"""

import numpy as np

from workbench.model.arrays import BoolArray, FloatArray
from workbench.model.log import Log, Role
from workbench.model.series import Series, series_of

# How long a gap may be, s, before a channel counts as unknown in it. Common practice, no source: an engine's speed and
# its air are elsewhere after a second or two; temperatures and the pressure of the air change slowly. (A long trim is
# learnt slowly too, but another one holds in every part of the table.)
FAST_S, SLOW_S = 2.0, 60.0
PERIODS = 3.0  # of a channel's own, at most, within those bounds
EDGE_S, SLOW_EDGE_S = 0.5, 20.0  # in a longer gap, and at the ends, a value stands for the rows this near to it
STATE_S = 5.0  # a state that is read at even times holds no longer than this past its last reading, or PERIODS of them
SLOW: tuple[Role, ...] = (
    "coolant_temperature",
    "intake_temperature",
    "barometer",
    "battery_voltage",
)
STATES: tuple[Role, ...] = ("fuel_system",)


def bridged(values: FloatArray, time: FloatArray, role: Role | None = None) -> FloatArray:
    """Return a channel at every row at which it is known; the same array where no value is missing.

    Args:
        values: shape (rows,), NaN where it was not renewed.
        time: s, shape (rows,), not falling.
        role: what it is used for.
    """
    there = np.isfinite(values)
    if there.all() or not there.any():
        return values
    series = series_of(values, time)
    if role in STATES:
        return _held(series, time, _longest_state(series))
    if series.kind == "on change":
        return _held(series, time, np.inf)
    return _run_through(series, time, SLOW_S if role in SLOW else FAST_S)


def _longest_state(series: Series) -> float:
    if series.kind == "on change" or not np.isfinite(series.period):
        return float("inf")
    return max(STATE_S, PERIODS * series.period)


def _held(series: Series, time: FloatArray, longest_s: float) -> FloatArray:
    """Let every value stand until the next one, but no longer than so many seconds."""
    at = np.searchsorted(series.time, time, side="right") - 1
    last = np.maximum(at, 0)
    known = (at >= 0) & (time - series.time[last] <= longest_s)
    held: FloatArray = np.where(known, series.values[last], np.nan)
    return held


def _run_through(series: Series, time: FloatArray, most_s: float) -> FloatArray:
    """Run straight from one reading to the next over gaps that are short enough."""
    period = series.period if np.isfinite(series.period) else 0.0
    longest = max(min(PERIODS * period, most_s), most_s if most_s == SLOW_S else 0.0, 1.001 * min(period, most_s))
    after = np.clip(np.searchsorted(series.time, time, side="left"), 0, series.time.size - 1)
    before = np.clip(np.searchsorted(series.time, time, side="right") - 1, 0, series.time.size - 1)
    gap = series.time[after] - series.time[before]
    # Before the first and after the last reading, and in a long gap, a value stands only for what is next to it.
    edge = min(EDGE_S, longest) if most_s == FAST_S else SLOW_EDGE_S
    since, until = time - series.time[before], series.time[after] - time
    straight = np.interp(time, series.time, series.values)
    nearest = np.where(np.abs(since) <= np.abs(until), series.values[before], series.values[after])
    inside = (since >= 0) & (until >= 0)
    near = np.minimum(np.where(since >= 0, since, np.inf), np.where(until >= 0, until, np.inf)) <= edge
    known: FloatArray = np.where(inside & (gap <= longest), straight, np.where(near, nearest, np.nan))
    return known


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
