"""What the course of a long trim beside its short one tells: filled down, turned half way, or exchanged with it."""

import numpy as np

from workbench.files.course.even import held_on
from workbench.files.course.loop import Course
from workbench.model.arrays import FloatArray

LONGEST_S, FEWEST_CHANGES, EXPECTED = (
    150.0,
    40,
    40,
)  # s without a change; changes else, and that were to be expected then
MOVES = 1.0  # %: a short trim at work meanwhile
RANGES, FEWEST, FEWEST_RANGES, PARTS = 16, 12, 5, 24  # of the air; steps in one; ranges that tell; of the time
# Of a long trim: %; the share of ranges whose sign turns; what does not fit then; and what a step leaves that turns it.
SIZE, TURNED, LEFT, STEP_LEFT = 1.0, 0.8, 0.55, 0.25
SHUT, OPEN_SHARE, FEWEST_OPEN = 0.9, 0.5, 30  # shares of the steps in open loop, and steps
NEAR_0, FEWEST_TURNS = 0.4, 25  # %, and how often a short trim comes that near to 0 and goes up again


def stands_from(course: Course) -> float | None:
    """Give the moment from which a long trim stands to the last digit though it moved before, s; None where none.

    That it stands at first tells nothing: a cold engine learns none.
    """
    if course.long is None:
        return None
    known = np.isfinite(course.long)
    time, level = course.time[known], course.long[known]
    if time.size < FEWEST_CHANGES:
        return None
    changed = np.flatnonzero(np.diff(level) != 0) + 1
    if changed.size < FEWEST_CHANGES:
        return None
    first, last, end = float(time[changed[0]]), float(time[changed[-1]]), float(time[-1])
    if end - last < LONGEST_S or last <= first or changed.size * (end - last) / (last - first) < EXPECTED:
        return None
    within = (course.time >= last) & np.isfinite(course.short)
    return last if within.any() and float(np.ptp(course.short[within])) > MOVES else None


def turns_at(course: Course, air: FloatArray | None) -> float | None:
    """Give the moment at which a long trim changes its sign in all ranges of the air, s; None where it does not.

    Args:
        course: of the bank.
        air: airflow, or what tells it, shape (rows,); None where nothing does.
    """
    if course.long is None or air is None or course.clock.size < 2 * FEWEST * FEWEST_RANGES:
        return None
    level, flow = held_on(course.clock, course.time, course.long), held_on(course.clock, course.time, air)
    known = np.isfinite(level) & np.isfinite(flow)
    if np.count_nonzero(known) < 2 * FEWEST * FEWEST_RANGES:
        return None
    clock, level, flow = course.clock[known], level[known], flow[known]
    place = np.digitize(flow, np.quantile(flow, np.arange(1, RANGES) / RANGES))
    best, least = None, LEFT
    for moment in np.quantile(clock, np.arange(2, PARTS - 1) / PARTS):
        after = clock >= moment
        pairs = []
        for each in range(RANGES):
            mine = place == each
            if min(np.count_nonzero(mine & after), np.count_nonzero(mine & ~after)) >= FEWEST:
                pairs.append((float(np.median(level[mine & ~after])), float(np.median(level[mine & after]))))
        if len(pairs) < FEWEST_RANGES:
            continue
        old, new = np.array(pairs).T
        size = float(np.sqrt(np.mean(old**2 + new**2) / 2))
        left = float(np.sqrt(np.mean((old + new) ** 2) / 2)) / size if size > 0 else 1.0
        kept = float(np.mean(np.sign(old) == -np.sign(new)))
        if size > SIZE and left < least and kept > TURNED and _leaps_over(clock, level, float(moment)):
            least, best = left, float(moment)
    return best


def _leaps_over(clock: FloatArray, level: FloatArray, moment: float) -> bool:
    """Tell whether a trim leaps to the same on the other side of 0 somewhere near a moment."""
    near = np.abs(clock - moment) <= (clock[-1] - clock[0]) / PARTS
    old, new = level[near][:-1], level[near][1:]
    return bool(np.any((np.abs(old) > SIZE / 2) & (np.abs(old + new) < STEP_LEFT * np.abs(old))))


def is_exchanged(course: Course) -> bool:
    """Tell whether the long trim is 0 wherever the loop is open and the short one is not: exchanged names."""
    if course.long is None or course.status is None or course.clock.size < FEWEST_OPEN:
        return False
    short, long = course.trim, held_on(course.clock, course.time, course.long)
    known = np.isfinite(short) & np.isfinite(long)
    closed, opened = course.loops[0] & known, course.loops[1] & known
    if min(np.count_nonzero(opened), np.count_nonzero(closed)) < FEWEST_OPEN:
        return False
    return (
        float(np.mean(long[opened] == 0)) > SHUT
        and float(np.mean(short[opened] != 0)) > OPEN_SHARE
        and float(np.mean(long[closed] != 0)) > OPEN_SHARE
    )


def lost_its_minus(course: Course) -> bool:
    """Tell whether a short trim turns round at 0, again and again, and neither trim is ever below it."""
    short = course.short[np.isfinite(course.short)]
    if short.size < FEWEST_TURNS or short.min() < 0:
        return False
    if course.long is not None and np.nanmin(course.long) < 0:
        return False
    inner = course.trim[course.loops[0] & np.isfinite(course.trim)]
    if inner.size < FEWEST_TURNS:
        return False
    falls, rises = np.diff(inner)[:-1] < 0, np.diff(inner)[1:] > 0
    turns = falls & rises & (inner[1:-1] < NEAR_0)
    return int(np.count_nonzero(turns)) >= FEWEST_TURNS
