"""What a loop's course tells of its trims: their sign, their moment, and whether the short one holds the long one too.

A loop raises its trim while the mixture is lean and lowers it while it is rich: the change of the trim goes with the
error of the mixture, of the same moment or of one that a sensor shows somewhat later, and never against it. In open
loop the short trim stands. The long trim may leap where the engine comes to another zone of it; the short one does not.
Common practice, no source; `tests/files/test_course.py` holds it on virtual cars that share nothing with the workbench.
"""

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from workbench.files.course.even import STATE_STANDS_S, even_clock, held_on, stretches, throughout
from workbench.model.arrays import BoolArray, FloatArray

CLOSED = (2, 16)  # SAE J1979, parameter 03
NEAR_1, MIXTURES = 0.05, (0.8, 1.2)  # of the command, and lambda that is measured, where a loop may be closed
ENRICHED = 0.03  # of lambda: the command of an open loop
SPAN_S, OPEN_SPAN_S = 2.0, 1.0  # over which a change of the trim is held against the mixture; and against the loop
SOONEST_S, LATEST_S, FURTHEST_S, STEP_S = -1.0, 3.0, 60.0, 0.5  # how much later a sensor shows a mixture; looked at
AGAINST, MANY_TIMES = 0.3, 2.0  # correlation of a trim that runs against the mixture, and over any that runs with it
FOLLOWS = 0.35  # correlation at another moment
LATE_S, SURER = 2.0, 1.15  # a trim of another moment, and how much better that one fits
LONG_S = 90.0  # of a log that tells another moment: in one pull all fits all somewhere
FEWEST, FEWEST_S, FEWEST_OPEN, FEWEST_STRETCHES = 50, 40.0, 20, 4  # spans, s of them, and times the loop opened
LEAST_APART, STILL = 0.12, 0.06  # share of spans in which a trim moves: closed less open loop, and in open loop
OFF_ZERO, SAME, MOSTLY = 1.0, 0.1, 0.7  # %, %, of the steps: a short trim that is the long one in open loop
NEARLY_ALL, ALIKE = 0.95, 0.6  # of the steps; correlation from step to step
FEWEST_LEAPS, LEAP_FIT, LEAP_SURE = 20, 0.15, 0.1  # steps with a leap; of its size; of its size (standard error)


@dataclass(frozen=True, eq=False)
class Course:
    """A bank's trims and what was measured and commanded, on the rows of a log; None where a log has none.

    Attributes:
        time: s, shape (rows,), as are all.
        short, long: %, NaN where nothing was read.
        measured, commanded: lambda.
        status: fuel system status as in SAE J1979.
    """

    time: FloatArray
    short: FloatArray
    long: FloatArray | None = None
    measured: FloatArray | None = None
    commanded: FloatArray | None = None
    status: FloatArray | None = None

    @cached_property
    def clock(self) -> FloatArray:
        """The even clock on which all are held against each other."""
        return even_clock(self.time)

    @property
    def step(self) -> float:
        """A step of that clock, s."""
        return float(self.clock[1] - self.clock[0])

    @cached_property
    def trim(self) -> FloatArray:
        """The short trim at each step."""
        return held_on(self.clock, self.time, self.short)

    @cached_property
    def asked(self) -> FloatArray:
        """The commanded lambda at each step, 1 where none is known."""
        if self.commanded is None:
            return np.ones(self.clock.size)
        return held_on(self.clock, self.time, self.commanded, STATE_STANDS_S)

    @cached_property
    def loops(self) -> tuple[BoolArray, BoolArray]:
        """Where the loop is closed and where it is open, each shape (steps,): by the status, else by the command."""
        if self.status is not None:
            state = held_on(self.clock, self.time, self.status, STATE_STANDS_S)
            closed = np.isin(state, CLOSED)
            return closed, np.isfinite(state) & ~closed
        return np.abs(self.asked - 1) < ENRICHED, self.asked <= 1 - ENRICHED

    @cached_property
    def error(self) -> FloatArray:
        """By how much the mixture is leaner than commanded, as a part, at each step of closed loop; else NaN."""
        if self.measured is None:
            return np.full(self.clock.size, np.nan)
        seen = held_on(self.clock, self.time, self.measured)
        near = (seen > MIXTURES[0]) & (seen < MIXTURES[1]) & (np.abs(self.asked - 1) < NEAR_1)
        if self.status is not None:
            near &= self.loops[0]
        return np.where(near, seen / self.asked - 1, np.nan)

    @cached_property
    def followed(self) -> tuple[FloatArray, FloatArray]:
        """How well changes of the trim go with the mixture at later moments; see `_followed`."""
        return _followed(self)


def runs_against(course: Course) -> bool:
    """Tell whether the trim is lowered where the mixture is lean: its sign is turned, or that of the mixture is."""
    lags, found = course.followed
    near = found[(lags >= SOONEST_S) & (lags <= LATEST_S)]
    return bool(near.size) and -float(near.min()) >= max(AGAINST, MANY_TIMES * float(near.max()))


def against(course: Course) -> float:
    """Give how changes of the trim go with the mixture where they run against it most: a correlation, from -1 to 1."""
    lags, found = course.followed
    return float(found[(lags >= SOONEST_S) & (lags <= LATEST_S)].min(initial=0.0))


def later_by(course: Course) -> float | None:
    """Give by how much later the trims are than the rest of the log, s; None where they are not, or that is unclear.

    The loop's openings tell it best, since the short trim stands in them; else it is what the wideband shows.
    """
    if course.clock.size < FEWEST or course.clock.size * course.step < LONG_S:
        return None
    lags, found = course.followed
    near = (lags >= SOONEST_S) & (lags <= LATEST_S)
    best = float(lags[int(np.argmax(found))]) if near.any() else 0.0
    follows = bool(near.any()) and float(found.max()) >= FOLLOWS
    by_loop = _later_than_loop(course)
    if by_loop is not None:
        fits_now = follows and -STEP_S <= best <= LATEST_S
        return by_loop if abs(by_loop) >= LATE_S and not fits_now else None
    if not follows or float(found.max()) < MANY_TIMES * float(np.abs(found[near]).max()):
        return None
    return -best if best < SOONEST_S - STEP_S or best > 2 * LATEST_S else None


def holds_both(course: Course) -> bool:
    """Tell whether the short trim holds the long one too: in open loop it is that one, and it leaps with it."""
    if course.long is None or course.clock.size < FEWEST:
        return False
    short, long = course.trim, held_on(course.clock, course.time, course.long)
    opened = course.loops[1] & (np.abs(long) > OFF_ZERO) & np.isfinite(short)
    if course.status is not None and np.count_nonzero(opened) >= FEWEST_OPEN and np.ptp(long[opened]) > 0:
        return float(np.mean(np.abs(short - long)[opened] < SAME)) >= MOSTLY
    moved, leapt = np.diff(short), np.diff(long)
    closed = course.loops[0][1:] & course.loops[0][:-1] & np.isfinite(moved) & np.isfinite(leapt)
    leaps, calm = closed & (leapt != 0), closed & (leapt == 0)
    if np.count_nonzero(leaps) < FEWEST_LEAPS or np.count_nonzero(calm) < FEWEST:
        return False
    size = float(np.sum(leapt[leaps] ** 2))
    slope, unsure = float(np.sum((moved * leapt)[leaps])) / size, float(np.std(moved[calm])) / size**0.5
    return abs(slope - 1) < LEAP_FIT and unsure < LEAP_SURE


def is_copied(course: Course) -> bool:
    """Tell whether the long trim reads what the short one reads, step for step, while both move."""
    if course.long is None or course.clock.size < FEWEST:
        return False
    long = held_on(course.clock, course.time, course.long)
    known = course.loops[0] & np.isfinite(long) & np.isfinite(course.trim)
    if np.count_nonzero(known) < FEWEST or np.ptp(course.trim[known]) < OFF_ZERO:
        return False
    return float(np.mean(np.abs(course.trim - long)[known] < SAME)) >= NEARLY_ALL


def is_held_by_long(course: Course) -> bool:
    """Tell whether the long trim holds the short one too: from step to step it moves as far, as none that learns."""
    if course.long is None or course.clock.size < FEWEST:
        return False
    long = held_on(course.clock, course.time, course.long)
    moved, others = np.diff(course.trim), np.diff(long)
    closed = course.loops[0][1:] & course.loops[0][:-1] & np.isfinite(moved) & np.isfinite(others)
    moved, others = moved[closed & (moved != 0)], others[closed & (moved != 0)]
    if moved.size < FEWEST or not np.any(moved):
        return False
    slope = float(np.sum(moved * others) / np.sum(moved**2))
    return abs(slope - 1) < LEAP_FIT and float(np.corrcoef(moved, others)[0, 1]) > ALIKE if others.std() > 0 else False


def _followed(course: Course) -> tuple[FloatArray, FloatArray]:
    """Correlate changes of the trim with the mixture that stood meanwhile, at so much later moments of the mixture.

    Returns:
        How much later, s, and the correlation, 0 where that is of too few; both shape (lags,), empty without a clock.
    """
    if course.measured is None or course.clock.size < FEWEST:
        return np.empty(0), np.empty(0)
    steps = max(1, round(SPAN_S / course.step))
    if course.clock.size <= 2 * steps:
        return np.empty(0), np.empty(0)
    changed = course.trim[steps:] - course.trim[:-steps]
    changed = np.where(changed == 0, np.nan, changed)
    known = np.isfinite(course.error)
    summed = np.concatenate(([0.0], np.cumsum(np.where(known, course.error, 0.0))))
    stood = np.where(throughout(known, steps), (summed[steps:-1] - summed[: -steps - 1]) / steps, np.nan)
    lags = np.unique(np.round(np.arange(-FURTHEST_S, FURTHEST_S + STEP_S, STEP_S) / course.step)) * course.step
    least = max(FEWEST, round(FEWEST_S / course.step))
    return lags, np.array([_correlation(*_shifted(changed, stood, round(lag / course.step)), least) for lag in lags])


def _later_than_loop(course: Course) -> float | None:
    """Give by how much later than the loop opens the short trim stands still, s; None where that tells nothing."""
    closed, opened = course.loops
    if course.clock.size < FEWEST or stretches(opened) < FEWEST_STRETCHES:
        return None
    steps = max(1, round(OPEN_SPAN_S / course.step))
    before, after = course.trim[:-steps], course.trim[steps:]
    moved = np.where(np.isfinite(before + after), before != after, np.nan)
    pairs = [np.asarray(each[steps:] & each[:-steps], dtype=float) for each in (closed, opened)]
    lags = np.unique(np.round(np.arange(-FURTHEST_S, FURTHEST_S + STEP_S, STEP_S) / course.step)) * course.step
    apart, still = np.full(lags.size, -1.0), np.ones(lags.size)
    for at, lag in enumerate(lags):
        shares = []
        for each in pairs:
            state, trim = _shifted(each, moved, round(lag / course.step))
            here = trim[(state > 0) & np.isfinite(trim)]
            shares.append(float(here.mean()) if here.size >= FEWEST_OPEN else np.nan)
        if np.isfinite(shares).all():
            apart[at], still[at] = shares[0] - shares[1], shares[1]
    best, now = int(np.argmax(apart)), float(apart[np.abs(lags) <= 1].max())
    if apart[best] < LEAST_APART or still[best] > STILL:
        return None
    return float(lags[best]) if apart[best] >= SURER * now else 0.0


def _shifted(first: FloatArray, later: FloatArray, steps: int) -> tuple[FloatArray, FloatArray]:
    """Pair each of the first with the one that comes so many steps later; none where they are shorter than that."""
    size = min(first.size, later.size)
    ahead, back = min(max(0, steps), size), min(max(0, -steps), size)
    return first[back : size - ahead], later[ahead : size - back]


def _correlation(first: FloatArray, other: FloatArray, least: int) -> float:
    both = np.isfinite(first) & np.isfinite(other)
    if np.count_nonzero(both) < least:
        return 0.0
    first, other = first[both] - first[both].mean(), other[both] - other[both].mean()
    size = float(np.sqrt(np.sum(first**2) * np.sum(other**2)))
    return float(np.sum(first * other)) / size if size > 0 else 0.0
