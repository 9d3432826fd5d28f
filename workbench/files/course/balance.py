"""What a bank's trims and its mixture owe each other within one range of the air, and what that tells of their scale.

Where the engine breathes alike, mixture, short and long trim add up to the same error of the table (as logarithms). So
what the long trim takes back the short one and the mixture give: that slope is -1, whatever table, sensor or catalyst.
It is half of it where the long trim is logged twice as large, and turned where one sign is. And the mixture never moves
by more than the trims together do; a sensor only damps it. Means over some seconds leave sensors time to follow.
`tests/files/test_balance.py` holds it on virtual cars that share nothing with the workbench.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np

from workbench.files.course.even import held_on, throughout
from workbench.files.course.loop import Course
from workbench.model.arrays import BoolArray, FloatArray, IntArray

# s of a mean; of closed loop before it; of one stretch of time (what lies in one errs together); between two means;
# over which the air is to stay near one level.
MEAN_S, SETTLED_S, TOGETHER_S, EACH_S, CALM_S = 4.0, 3.0, 20.0, 0.5, 2.0
KNOTS, TURNS_KNOTS, FEWEST, FEWEST_PARTS = 24, 8, 150, 8  # of the air, of engine speed; rows; stretches of time
MOST, FINE_KNOTS, MOSTLY, NEAR = 8000, 80, 0.5, 0.2  # rows; of a sensor; of the residual; of a slope of 1
CALM = 0.8  # of the rows: those near which the air changes least
WARM, RUNS, LONGEST_S = 60.0, 500.0, 60.0  # degC, rpm; s for which a temperature stands
ROBUST, TIMES = 1.5, 5  # of the middle deviation, and how often weights are found (Huber 1964)
# s, s and g of gas: how late a wideband may be, how slow, and how far down the pipe.
LATE_S, SLOW_S, GAS = (0.0, 0.15, 0.3, 0.45, 0.6, 0.8, 1.0, 1.3, 1.6, 2.0, 2.5), (0.0, 0.2, 0.5, 1.0), (0.0, 3.0, 8.0)


@dataclass(frozen=True, eq=False)
class Around:
    """What a range of the air is told by, on the rows of a log; None where it is not logged.

    Attributes:
        air: airflow, or what tells it, shape (rows,), as are all.
        in_grams: whether that is in g/s.
        turns: rpm.
        coolant: degC.
    """

    air: FloatArray
    in_grams: bool
    turns: FloatArray | None = None
    coolant: FloatArray | None = None


@dataclass(frozen=True)
class Slope:
    """How one thing moves with another within ranges of the air.

    Attributes:
        size: of the one per one of the other, its sign turned: 1 where one takes back all that the other gives.
        unsure: standard error, from stretches of time.
        moved: standard deviation of the other, %.
        fit: share of the one's movement that goes with the other.
    """

    size: float
    unsure: float
    moved: float
    fit: float


def given_back(course: Course, around: Around) -> Slope | None:
    """Tell how much of the long trim's moves short trim and mixture give back; None where too little tells."""
    if course.long is None or course.clock.size < FEWEST:
        return None
    air, long, known = _known(course, around)
    mixture = np.zeros(known.size)
    if course.measured is not None:
        known &= np.isfinite(course.error)
        mixture = np.log1p(np.where(known, course.error, 0.0))
    steps, lead = max(1, round(MEAN_S / course.step)), max(1, round((SETTLED_S + MEAN_S) / course.step))
    ends = np.arange(lead, known.size, max(1, round(EACH_S / course.step)))
    ends = ends[throughout(known, lead)[ends - lead]] if ends.size else ends
    if ends.size < FEWEST:
        return None
    level = np.log(np.where(known, air, 1.0))
    one = np.log1p(np.where(known, course.trim, 0.0) / 100) + mixture
    other = np.log1p(np.where(known, long, 0.0) / 100)
    spread = _mean(level * level, ends, steps) - _mean(level, ends, steps) ** 2
    calm = ends[spread <= np.quantile(spread, CALM)]
    ranges = _hats(_mean(level, calm, steps), KNOTS)
    if around.turns is not None:
        turns = np.nan_to_num(held_on(course.clock, course.time, around.turns))
        ranges = np.column_stack((ranges, _hats(_mean(turns, calm, steps), TURNS_KNOTS)[:, 1:]))
    return _slope(_mean(one, calm, steps), _mean(other, calm, steps), ranges, _parts(course, calm))


def moved_by_trims(course: Course, around: Around) -> Slope | None:
    """Tell how much the mixture moves with both trims together, at the delay at which it fits; None where none does."""
    if course.measured is None or course.clock.size < FEWEST:
        return None
    air, long, known = _known(course, around)
    known &= np.isfinite(course.error)
    both = np.log1p(np.where(known, course.trim, 0.0) / 100) + np.log1p(np.where(known, long, 0.0) / 100)
    level = np.log(np.where(known, air, 1.0))
    steps, apart = max(1, round(SETTLED_S / course.step)), max(1, round(CALM_S / course.step))
    rows = np.flatnonzero(throughout(known, steps)) + steps
    rows = rows[known[rows]]
    if rows.size < FEWEST:
        return None
    change = np.abs(level[rows] - level[rows - min(apart, steps)])
    rows = rows[change <= np.quantile(change, CALM)]
    ranges, mixture = _hats(level[rows], KNOTS), np.log1p(course.error[rows])
    free = _free_of(ranges, np.ones(rows.size))
    told, best, fit = free(mixture), None, 0.0
    for late in _later(both, np.exp(level), course.step, GAS if around.in_grams else GAS[:1]):
        trims = free(late[rows])
        size = float(trims @ trims)
        if size > 0 and -float(trims @ told) / size**0.5 > fit:
            fit, best = -float(trims @ told) / size**0.5, late[rows]
    return None if best is None else _slope(mixture, best, ranges, _parts(course, rows))


def multiplied_by_trims(
    time: FloatArray, airflow: FloatArray, signal: FloatArray, short: FloatArray, long: FloatArray | None
) -> bool:
    """Tell whether an airflow moves with the trims at one signal of the sensor: a look-up does not.

    Args:
        time: s, shape (rows,), as are all.
        airflow: g/s.
        signal: of the sensor.
        short: trim, %.
        long: trim, %; None where none is logged.
    """
    trims = short if long is None else ((1 + short / 100) * (1 + long / 100) - 1) * 100
    rows = np.flatnonzero(np.isfinite(airflow) & np.isfinite(signal) & (trims > -100) & (airflow > 0))
    rows = rows[:: max(1, rows.size // MOST)]
    if rows.size < FEWEST:
        return False
    parts = np.unique((time[rows] // TOGETHER_S).astype(np.int64), return_inverse=True)[1]
    found = _slope(np.log(airflow[rows]), np.log1p(trims[rows] / 100), _hats(signal[rows], FINE_KNOTS), parts)
    return found is not None and found.fit > MOSTLY and abs(found.size + 1) < NEAR


def _known(course: Course, around: Around) -> tuple[FloatArray, FloatArray, BoolArray]:
    """Give air and long trim at each step, and where they and a closed loop of a warm engine are known."""
    air = held_on(course.clock, course.time, around.air)
    long = np.zeros(air.size) if course.long is None else held_on(course.clock, course.time, course.long)
    known = course.loops[0] & (air > 0) & np.isfinite(air) & (course.trim > -100) & (long > -100)
    if around.turns is not None:
        known &= held_on(course.clock, course.time, around.turns) > RUNS
    if around.coolant is not None:
        known &= ~(held_on(course.clock, course.time, around.coolant, LONGEST_S) < WARM)
    return air, long, known


def _mean(values: FloatArray, ends: IntArray, steps: int) -> FloatArray:
    summed = np.concatenate(([0.0], np.cumsum(values)))
    return np.asarray((summed[ends] - summed[ends - steps]) / steps)


def _parts(course: Course, rows: IntArray) -> IntArray:
    return np.unique((course.clock[rows] // TOGETHER_S).astype(np.int64), return_inverse=True)[1]


def _hats(level: FloatArray, most: int) -> FloatArray:
    """Spread each row over the two knots around it, shape (rows, knots); knots lie where the rows do."""
    knots = np.unique(np.quantile(level, np.linspace(0, 1, most)))
    if knots.size < 2:
        return np.ones((level.size, 1))
    low = np.clip(np.searchsorted(knots, level, side="right") - 1, 0, knots.size - 2)
    share = (level - knots[low]) / (knots[low + 1] - knots[low])
    spread, rows = np.zeros((level.size, knots.size)), np.arange(level.size)
    spread[rows, low] = 1 - share
    spread[rows, low + 1] += share
    return spread


def _free_of(ranges: FloatArray, weights: FloatArray) -> Callable[[FloatArray], FloatArray]:
    """Give what takes out of values, weighed, what goes with the ranges alone."""
    root = np.sqrt(weights)
    weighed = ranges * root[:, None]
    # Every row lies between two ranges, so their sums of squares are well conditioned, and as small as the ranges are
    # few: taking the rows themselves apart cost seconds where other programs were at work.
    sizes, vectors = np.linalg.eigh(weighed.T @ weighed)
    kept = sizes > 1e-12 * sizes[-1]
    inverse = (vectors[:, kept] / sizes[kept]) @ vectors[:, kept].T

    def free(values: FloatArray) -> FloatArray:
        own = root * values
        return np.asarray(own - weighed @ (inverse @ (weighed.T @ own)))

    return free


def _slope(one: FloatArray, other: FloatArray, ranges: FloatArray, parts: IntArray) -> Slope | None:
    """Fit how the one moves with the other within the ranges, robustly; stretches of time tell how unsure that is."""
    count = int(parts.max()) + 1 if parts.size else 0
    weights = np.ones(one.size)
    if count < FEWEST_PARTS or one.size < FEWEST:
        return None
    for _ in range(TIMES):
        free = _free_of(ranges, weights)
        mine, theirs = free(one), free(other)
        size = float(theirs @ theirs)
        if size <= 1e-9 * one.size:
            return None
        slope = float(mine @ theirs) / size
        left = (mine - slope * theirs) / np.sqrt(weights)
        middle = 1.4826 * float(np.median(np.abs(left))) + 1e-9
        found, weights = weights, np.minimum(1.0, ROBUST * middle / np.maximum(np.abs(left), 1e-12))
    errs = np.bincount(parts, np.sqrt(found) * left * theirs, minlength=count)
    unsure = float(np.sqrt(np.sum(errs**2) * count / (count - 1))) / size
    fit = slope**2 * size / max(float(mine @ mine), 1e-300)
    return Slope(-slope, unsure, 100 * float(np.sqrt(size / one.size)), fit)


def _later(trims: FloatArray, air: FloatArray, step: float, gases: tuple[float, ...]) -> Iterator[FloatArray]:
    """Give the trims as a wideband may show them: so much later, and dragged out as a first-order lag does."""
    rows = np.arange(trims.size)
    for gas in gases:
        for late in LATE_S:
            moved = np.interp(rows - (late + gas / np.maximum(air, 1.0)) / step, rows, trims)
            for slow in SLOW_S:
                yield moved if not slow else _dragged(moved, step / slow)


def _dragged(values: FloatArray, share: float) -> FloatArray:
    import pandas as pd  # scipy's filters take a second to import, which every log would wait for

    alpha = 1 - float(np.exp(-share))
    return np.asarray(pd.Series(values).ewm(alpha=alpha, adjust=False).mean())
