"""Single readings that nothing can jump to and back from, and turns of an engine that were counted twice or by half."""

import numpy as np

from workbench.model.arrays import BoolArray, FloatArray

# Times what stands around it, where an ignition pickup counts a spark too many or loses one; how far both sides of it
# differ at most; s of it with both sides; rpm; readings around; readings of one such count at most.
TWICE, HALF, LIKE, WITHIN_S, RUNS, AROUND, LONGEST = (1.85, 2.15), (0.46, 0.54), 0.1, 0.7, 400.0, 5, 2
FEWEST = 5  # of them: a single one tells nothing of a pickup
LEAP = 1.6  # times the reading before: less than any of them is


def jumps_back(values: FloatArray, time: FloatArray, largest: float, within: float) -> BoolArray:
    """Mark readings to which a channel jumps further than it can, and back, shape (rows,).

    Args:
        values: shape (rows,), NaN where nothing was read.
        time: s, shape (rows,).
        largest: that it can change by.
        within: s, in which that is meant.
    """
    bad = np.zeros(values.size, dtype=np.bool_)
    known = np.flatnonzero(np.isfinite(values))
    there, clock = values[known], time[known]
    if there.size < 3 or not np.any(np.abs(np.diff(there)) > largest):
        return bad
    starts = np.concatenate([[0], np.flatnonzero(np.diff(there) != 0) + 1])
    level, gaps = there[starts], np.diff(clock[starts])
    up, back = np.diff(level)[:-1], np.diff(level)[1:]
    spike = (np.abs(up) > largest) & (np.abs(back) > largest) & (np.abs(up + back) < largest)
    spike &= (gaps[:-1] <= within) & (gaps[1:] <= within)
    for at in np.flatnonzero(spike) + 1:
        bad[known[starts[at] : starts[at + 1]]] = True
    return bad


def counted_twice(turns: FloatArray, time: FloatArray) -> BoolArray:
    """Mark readings of an engine's speed that are twice or half of what stands on both sides of them, shape (rows,).

    An engine that is revved in neutral doubles its speed as well, but comes from and goes to other speeds on the way.

    Args:
        turns: rpm, shape (rows,), NaN where nothing was read.
        time: s, shape (rows,).
    """
    marked = np.zeros(turns.size, dtype=np.bool_)
    known = np.flatnonzero(turns > RUNS / 2)
    if known.size < AROUND:
        return marked
    level, clock = turns[known], time[known]
    leaps = level[1:] / level[:-1]
    if np.count_nonzero((leaps > LEAP) | (leaps < 1 / LEAP)) < FEWEST:
        return marked
    padded = np.pad(level, AROUND // 2, mode="edge")
    middle = np.median(np.lib.stride_tricks.sliding_window_view(padded, AROUND), axis=1)
    times = level / middle
    odd = ((times > TWICE[0]) & (times < TWICE[1])) | ((times > HALF[0]) & (times < HALF[1]))
    edges = np.diff(odd.astype(np.int8), prepend=0, append=0)
    found = []
    for first, end in zip(np.flatnonzero(edges == 1), np.flatnonzero(edges == -1), strict=True):
        if first == 0 or end == level.size or end - first > LONGEST or clock[end] - clock[first - 1] > WITHIN_S:
            continue
        before, after = level[first - 1], level[end]
        if min(before, after) > RUNS and abs(before / after - 1) < LIKE:
            found.append(known[first:end])
    for rows in found if len(found) >= FEWEST else ():
        marked[rows] = True
    return marked
