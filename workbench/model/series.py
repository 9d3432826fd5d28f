"""A channel as it was renewed: the moments that brought a value, and what is known of it at others.

Between two readings a channel went from one to the next, so there it is taken to run straight, but only over gaps that
are no longer than a few of its own periods: past them nothing is known. A channel that is written on change, or that
is a state, holds until it is written again. What is brought in so may place a reading of another channel; it is no
reading itself.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Literal
from weakref import WeakKeyDictionary

import numpy as np

from workbench.model.arrays import FloatArray
from workbench.model.log import Log, Role

SeriesKind = Literal["continuous", "on change"]
FEWEST = 12  # readings, to tell how a channel is logged
FEW_REPEATS = 0.005  # of the readings; who writes on change repeats a value only where a row was begun anew
ONE_STEP = 1.5  # steps of resolution; a channel written on change mostly moves by one
UNEVEN = 4.0  # of the usual gap; a channel that is asked in turn leaves no longer ones so often
LONG_SHARE = 0.02  # of the gaps
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


@dataclass(frozen=True, eq=False)
class Series:
    """Values at the moments at which they were renewed.

    Attributes:
        time: s, shape (readings,), not falling.
        values: shape (readings,), all finite.
    """

    time: FloatArray
    values: FloatArray

    @cached_property
    def period(self) -> float:
        """The usual time between two readings, s; NaN for fewer than two."""
        gaps = np.diff(self.time)
        gaps = gaps[gaps > 0]
        return float(np.median(gaps)) if gaps.size else float("nan")

    @cached_property
    def kind(self) -> SeriesKind:
        """How it is logged: on change where no value is ever written twice and the gaps keep no pace.

        A value that is written on change holds until the next one; of any other nothing is known between two readings
        but that it went from one to the next.
        """
        if self.values.size < 2:
            return "continuous"
        moves = np.abs(np.diff(self.values))
        if float(np.mean(moves == 0)) > FEW_REPEATS:
            return "continuous"
        if self.values.size < FEWEST:
            return "on change"
        gaps = np.diff(self.time)
        one_step = float(np.median(moves)) <= ONE_STEP * float(np.quantile(moves, 0.02))
        uneven = float(np.mean(gaps > UNEVEN * self.period)) > LONG_SHARE
        return "on change" if one_step or (uneven and would_repeat(self.values)) else "continuous"


FEWEST_WRITTEN, FEWEST_TELLING = 3, 2  # channels, to tell that a whole log is written on change
FEWEST_LEVELS_AGAIN = 2.0  # readings for each different value, of a channel that would repeat itself
EXPECTED_REPEATS = 5.0  # so many being expected, that there is none is no chance
_ON_CHANGE: "WeakKeyDictionary[Log, bool]" = WeakKeyDictionary()


def written_on_change(log: Log) -> bool:
    """Tell whether a log writes each channel only where it changed, so that a value stands until the next one.

    It is where no channel ever repeats itself though some go to and fro between a few values. Of one fast channel alone
    that is not told: two of its readings seldom are the same, however it is written.
    """
    if log not in _ON_CHANGE:
        _ON_CHANGE[log] = writes_changes([log.playing(role) for role in log.roles])
    return _ON_CHANGE[log]


def writes_changes(columns: Sequence[FloatArray | None]) -> bool:
    """Tell the same of columns, each of shape (rows,)."""
    written = telling = 0
    for values in columns:
        seen = np.empty(0) if values is None else values[np.isfinite(values)]
        if values is None or seen.size < 2:
            continue
        if float(np.mean(np.diff(seen) == 0)) > FEW_REPEATS:
            return False
        if seen.size < values.size:
            written += 1
            telling += seen.size >= FEWEST_LEVELS_AGAIN * np.unique(seen).size
    return written >= FEWEST_WRITTEN and telling >= FEWEST_TELLING


def would_repeat(values: FloatArray) -> bool:
    """Tell whether readings taken at even times would surely be the same as the one before now and then.

    Args:
        values: shape (readings,), none the same as the one before.
    """
    _, counts = np.unique(values, return_counts=True)
    # By the levels alone; neighbours in time are alike more often than that.
    return bool(np.sum(counts.astype(np.float64) ** 2) >= EXPECTED_REPEATS * values.size)


def standing(values: FloatArray) -> FloatArray:
    """Return a column in which each value stands for the rows without one that follow it.

    Args:
        values: shape (rows,), NaN where nothing was written.
    """
    rows = np.arange(values.size)
    last = np.maximum.accumulate(np.where(np.isfinite(values), rows, -1))
    held: FloatArray = np.where(last >= 0, values[np.maximum(last, 0)], np.nan)
    return held


def series_of(values: FloatArray, time: FloatArray) -> Series:
    """Return a column on the rows of a log as a series.

    Args:
        values: shape (rows,), NaN where the channel was not renewed.
        time: s, shape (rows,), not falling.
    """
    there = np.isfinite(values)
    return Series(time[there], values[there])


def bridged(values: FloatArray, time: FloatArray, role: Role | None = None, *, on_change: bool = False) -> FloatArray:
    """Return a channel at every row at which it is known; the same array where no value is missing.

    Args:
        values: shape (rows,), NaN where it was not renewed.
        time: s, shape (rows,), not falling.
        role: what it is used for.
        on_change: whether the whole log is written so, in which a value stands until the next one.
    """
    there = np.isfinite(values)
    if there.all() or not there.any():
        return values
    series = series_of(values, time)
    if on_change:
        return _held(series, time, np.inf)
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
