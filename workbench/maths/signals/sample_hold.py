"""Which rows of a channel are readings of their own, and which only repeat the last one.

A logger that asks for one quantity after another writes a whole row at every answer, so each channel stands still
until its turn comes again. The rule that tells such a held channel from one that is read at every row looks at the
gaps between changes of its value:

1. Quick changes are missing: the shortest gaps (their 10 % quantile) are at least one and a half row steps long.
2. The gaps form a comb: at least 40 % lie near one length, the renewal period, and at least 80 % near it or a multiple
   of it (a value renewed to the same number leaves a gap of two or three periods), where near means within one and a
   quarter rows or a tenth of the period. A mixture control that swings by itself does not keep such time.
3. The value jumps: the typical change spans two resolution steps or more. A warming coolant that climbs one degree at a
   time, or a trim that ramps step by step, is read at every row and only rarely changes.

So a held channel that never moves by more than one step is taken as read at every row: an integrating trim that its
ECU moves by one step at even times keeps the very same time, and to call that one held would take its readings away.

All three must hold, with at least 12 changes; else every row counts as a reading. Where a held value stays the same
for several periods it was renewed to the same number meanwhile: one row for each period counts.
"""

import numpy as np

from workbench.maths.signals.series import without_holes
from workbench.model.arrays import BoolArray, FloatArray
from workbench.model.log import Log
from workbench.model.series import written_on_change
from workbench.phrases import phrase

FEWEST_CHANGES = 12
SHORTEST_IN_STEPS = 1.5
CROWD = 0.4
COMB = 0.8
NEAR_ROWS = 1.25
NEAR_PERIODS = 0.1
JUMP_IN_QUANTA = 1.5
LOST_S, LOST_TIMES = 20.0, 10.0  # s; of all but a hundredth of its other stands. Common practice, no source
SHORT_S, SHORT_TIMES = 5.0, 50.0  # the same of a channel that else moves from row to row: a pull lasts no 20 s
LONG = 160_000  # rows; of a longer log, stretches that make up as many rows tell the period
STRETCHES = 8


def renewal_period(values: FloatArray, time: FloatArray) -> float:
    """Return the time between two renewals of a held channel, s; NaN where the channel is not held.

    Args:
        values: shape (rows,), NaN where missing.
        time: s, shape (rows,), not falling.
    """
    there = np.isfinite(values)
    return _period(values, time) if there.all() else _period(values[there], time[there])


def renewals(values: FloatArray, time: FloatArray) -> BoolArray:
    """Mark the rows on which a channel was truly renewed, shape (rows,); all rows with a value where it is not held.

    Args:
        values: shape (rows,), NaN where missing.
        time: s, shape (rows,), not falling.
    """
    there = np.isfinite(values)
    found = there.copy()
    kept, clock = values[there], time[there]
    period = _period(kept, clock)
    if not np.isfinite(period):
        return found
    starts = np.flatnonzero(np.diff(kept, prepend=np.nan) != 0)
    ends = np.append(starts[1:], kept.size)
    last = np.append(clock[starts[1:]], clock[-1] + 0.5 * period)
    count = np.maximum(np.rint((last - clock[starts]) / period).astype(np.int64), 1)
    fresh = np.zeros(kept.size, dtype=np.bool_)
    fresh[starts] = True
    for start, end, until, parts in zip(starts, ends, last, count, strict=True):
        if parts > 1:
            due = clock[start] + (until - clock[start]) * np.arange(1, parts) / parts
            fresh[np.minimum(start + np.searchsorted(clock[start:end], due), end - 1)] = True
    found[there] = fresh
    return found


def lost(values: FloatArray, time: FloatArray) -> list[tuple[int, int]]:
    """Find where a channel that else moves stands to the last digit: its sensor or the link to it stopped.

    A wideband behind a catalyst stands as well, but again and again: what is lost stands far longer than the channel
    does at any other time. At its highest value it stands in a long fuel cut.

    Args:
        values: shape (rows,), NaN where missing.
        time: s, shape (rows,), not falling.

    Returns:
        First row and the one after the last of each such stand.
    """
    known = np.flatnonzero(np.isfinite(values))
    if known.size < 2:
        return []
    starts = np.flatnonzero(np.diff(values[known], prepend=np.nan) != 0)
    if starts.size <= FEWEST_CHANGES:
        return []
    last = np.append(starts[1:] - 1, known.size - 1)
    clock = without_holes(time)
    stood = clock[known[last]] - clock[known[starts]]
    usual = float(np.quantile(stood, 0.99, method="lower"))
    far = (stood > LOST_S) & (stood > LOST_TIMES * usual) | (stood > SHORT_S) & (stood > SHORT_TIMES * usual)
    far &= values[known[starts]] < np.nanmax(values)
    return [(int(known[first]), int(known[end]) + 1) for first, end in zip(starts[far], last[far], strict=True)]


def held_notes(log: Log) -> tuple[str, ...]:
    """Name which channels that play a role hold their values between renewals, and for how long."""
    if written_on_change(log):
        return (
            "Values are written only where they changed: each stands until the next one, and only that is a reading.",
        )
    held: list[tuple[str, float]] = []
    for name in dict.fromkeys(log.roles.values()):
        channel = log.channel(name)
        if channel is None:
            continue
        period = renewal_period(channel.values, log.time.values)
        if np.isfinite(period):
            held.append((name, period))
    if not held:
        return ()
    periods = [period for _, period in held]
    low, high = min(periods), max(periods)
    span = (
        phrase("about every {low:.2g} s", low=low)
        if high < 1.1 * low
        else phrase("every {low:.2g} to {high:.2g} s", low=low, high=high)
    )
    rows = 1 / log.rate_hz if log.rate_hz > 0 else float("nan")
    names = ", ".join(name for name, _ in held)
    note = phrase(
        "The logger repeats values: {names} are updated {span}, while rows come every {rows:.2g} s.",
        names=names,
        span=span,
        rows=rows,
    )
    return (note + " Only updates count as readings.",)


def _period(values: FloatArray, time: FloatArray) -> float:
    if values.size > LONG:
        values, time = _stretches(values), _stretches(time)
    changed = np.flatnonzero(np.diff(values) != 0) + 1
    if changed.size > 0.95 * values.size:  # nearly every row brings a new value
        return float("nan")
    steps = np.diff(time)
    steps = steps[steps > 0]
    if changed.size < FEWEST_CHANGES or not steps.size:
        return float("nan")
    step = float(np.median(steps))
    gaps = np.diff(time[changed])
    shortest = float(np.quantile(gaps, 0.1))
    jumps = np.abs(values[changed] - values[changed - 1])
    if shortest < SHORTEST_IN_STEPS * step or np.median(jumps) < JUMP_IN_QUANTA * np.quantile(jumps, 0.02):
        return float("nan")
    period = float(np.mean(gaps[gaps <= 1.6 * shortest]))
    near = np.abs(gaps - period) <= 0.5 * period
    if np.mean(near) < CROWD:
        return float("nan")
    period = float(np.mean(gaps[near]))
    multiple = np.maximum(np.rint(gaps / period), 1)
    off = np.abs(gaps - multiple * period)
    on_comb = off <= np.maximum(NEAR_ROWS * step, NEAR_PERIODS * period * np.sqrt(multiple))
    if np.mean(on_comb) < COMB:
        return float("nan")
    return period


def _stretches(array: FloatArray) -> FloatArray:
    """Return even stretches of a long array, one behind the other; the few steps from one to the next do no harm."""
    length = LONG // STRETCHES
    return np.concatenate([array[at : at + length] for at in np.linspace(0, array.size - length, STRETCHES, dtype=int)])
