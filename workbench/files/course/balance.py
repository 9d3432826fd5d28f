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
# Of the air, of engine speed, of time; rows; stretches of time.
KNOTS, TURNS_KNOTS, DRIFT_KNOTS, FEWEST, FEWEST_PARTS = 24, 8, 6, 150, 8
# Ranges of the air, each by itself; rows of one, knots within it, and what the long trim moves by there, %.
WIDE_RANGES, FEWEST_IN_RANGE, RANGE_KNOTS, MOVES_IN_RANGE = 8, 80, 5, 0.4
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


def given_back(course: Course, around: Around, *, drifting: bool = False) -> Slope | None:
    """Tell how much of the long trim's moves short trim and mixture give back; None where too little tells.

    Args:
        course: of the bank.
        around: the ranges.
        drifting: whether what the mixture does slowly counts as the sensor's: over minutes the loop holds it.
    """
    means = _means(course, around)
    if means is None:
        return None
    ranges = means.ranges(np.ones(means.rows.size, dtype=np.bool_), KNOTS, TURNS_KNOTS)
    told = means.told
    if drifting:
        slow = _hats(course.clock[means.rows], DRIFT_KNOTS)
        told = told - (means.mixture - _free_of(slow, np.ones(means.rows.size))(means.mixture))
    return _slope(told, means.other, ranges, _parts(course, means.rows))


def least_given_back(course: Course, around: Around) -> Slope | None:
    """Tell how much is given back in that range of the air in which it is surely least; None where too little tells.

    A long trim that is not the one at work in a part of the ranges moves there, and nothing answers.
    """
    means = _means(course, around)
    if means is None:
        return None
    place = np.digitize(means.level, np.quantile(means.level, np.arange(1, WIDE_RANGES) / WIDE_RANGES))
    found = []
    for each in range(WIDE_RANGES):
        rows = place == each
        if np.count_nonzero(rows) < FEWEST_IN_RANGE:
            continue
        ranges = means.ranges(rows, RANGE_KNOTS, RANGE_KNOTS)
        found.append(
            _slope(means.told[rows], means.other[rows], ranges, _parts(course, means.rows[rows]), FEWEST_IN_RANGE)
        )
    moving = [each for each in found if each is not None and each.moved > MOVES_IN_RANGE]
    return min(moving, key=lambda each: each.size + 2 * each.unsure, default=None)


@dataclass(frozen=True, eq=False)
class _Means:
    """Means over some seconds of calm closed loop, each shape (means,).

    Attributes:
        rows: steps of the clock at which they end.
        told: short trim and mixture together, as logarithms.
        mixture: of these, the mixture.
        other: the long trim, as a logarithm.
        level: logarithm of the air.
        turns: rpm; None where it is not logged.
    """

    rows: IntArray
    told: FloatArray
    mixture: FloatArray
    other: FloatArray
    level: FloatArray
    turns: FloatArray | None

    def ranges(self, chosen: BoolArray, knots: int, turns_knots: int) -> FloatArray:
        """Spread the chosen means over ranges of air and of engine speed."""
        ranges = _hats(self.level[chosen], knots)
        if self.turns is None:
            return ranges
        return np.column_stack((ranges, _hats(self.turns[chosen], turns_knots)[:, 1:]))


def _means(course: Course, around: Around) -> _Means | None:
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
    turns = None
    if around.turns is not None:
        turns = _mean(np.nan_to_num(held_on(course.clock, course.time, around.turns)), calm, steps)
    told, mixed, moved, air = (_mean(values, calm, steps) for values in (one, mixture, other, level))
    return _Means(calm, told, mixed, moved, air, turns)


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


def _slope(
    one: FloatArray, other: FloatArray, ranges: FloatArray, parts: IntArray, fewest: int = FEWEST
) -> Slope | None:
    """Fit how the one moves with the other within the ranges, robustly; stretches of time tell how unsure that is."""
    count = int(parts.max()) + 1 if parts.size else 0
    weights = np.ones(one.size)
    if count < FEWEST_PARTS or one.size < fewest:
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
