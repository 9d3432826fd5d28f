"""Purge that is not logged: what a solve leaves over jumps between two levels, wherever in the table the engine is.

Canister vapour makes the mixture richer for tens of seconds, then stops at once. Averaged over seconds, what the solve
leaves over is then a two-level signal in noise: a hidden Markov chain with two normal levels (Baum and others 1970;
Rabiner 1989, Proc. IEEE 77, for the recursions in this scaled form). It is believed only where the two levels lie far
apart, are held for long, and explain the course better than anything that drifts (a first-order autoregression).
"""

from dataclasses import dataclass

import numpy as np

from workbench.model.arrays import BoolArray, FloatArray, IntArray

SECOND = 1.0
STAY_S = 20.0  # how long a level is taken to last at first; canister valves work for tens of seconds: common practice
FEWEST_S, FEWEST_STRETCHES, SHORTEST_S = 60, 3, 6.0
LEAST_APART = 0.015  # as a ratio; less than this is not told from other effects
CLEAR = 2.5  # how many standard deviations the levels must lie apart
LEAST_SHARE, LARGEST_SHARE = 0.05, 0.75  # of the seconds on the lower level: a valve that is always open hides itself
WILD_SHARE = 0.02  # of the seconds on either side may be wild; less than the least share of a level
LIKELIER = 30.0  # by how much the chain's log likelihood must beat a drift's
MARGIN_S = 2.0  # on both sides of a stretch: a valve opens and shuts within a second or two
TURNS = 60


@dataclass(frozen=True, eq=False)
class Levels:
    """Two levels between which the remaining error jumps.

    Attributes:
        low: rows on the lower level (richer: less air seen than there is), shape (rows,).
        edge: rows shortly before and after those, where the valve opens or shuts, shape (rows,).
        apart: how far the levels lie apart, as a ratio.
        stretches: how often the lower one began.
        clear: whether they are believed.
    """

    low: BoolArray
    edge: BoolArray
    apart: float
    stretches: int
    clear: bool


def levels_of_error(residual: FloatArray, known: BoolArray, time: FloatArray) -> Levels | None:
    """Look for two levels in what a solve leaves over.

    Args:
        residual: ratio seen less ratio expected, shape (rows,); meaningless where not known.
        known: rows whose residual counts, shape (rows,).
        time: s, shape (rows,).

    Returns:
        The levels; None where there is no sign of two.
    """
    second = np.floor((time - time[0]) / SECOND).astype(np.int64)
    count = np.bincount(second[known], minlength=int(second[-1]) + 1)
    there = np.flatnonzero(count)
    if there.size < FEWEST_S:
        return None
    course = _tamed(np.bincount(second[known], residual[known], count.size)[there] / count[there])
    chain = _two_levels(course, np.diff(there))
    low = chain.chance > 0.5
    if chain.apart < LEAST_APART or not LEAST_SHARE < float(low.mean()) < LARGEST_SHARE:
        return None
    lengths = _lengths(low, there)
    marked = np.zeros(count.size, dtype=np.bool_)
    marked[there[low]] = True
    rows = marked[second]
    return Levels(
        low=rows,
        edge=_widened(rows, time) & ~rows,
        apart=chain.apart,
        stretches=int(lengths.size),
        clear=bool(
            chain.apart > CLEAR * chain.deviation
            and lengths.size >= FEWEST_STRETCHES
            # Half of the time in the lower level is spent in stretches of some length.
            and lengths[lengths >= SHORTEST_S].sum() >= lengths.sum() / 2
            and chain.likelihood > _drifting(course) + LIKELIER
        ),
    )


def _tamed(course: FloatArray) -> FloatArray:
    """Pull wild seconds in: a few of them are no level."""
    scatter = 1.4826 * float(np.median(np.abs(course - np.median(course))))
    # Counted from near the ends, not from the middle: a level may lie many times the scatter away from that.
    lowest, highest = np.quantile(course, [WILD_SHARE, 1 - WILD_SHARE])
    tamed: FloatArray = np.clip(course, lowest - 6 * scatter, highest + 6 * scatter)
    return tamed


@dataclass(frozen=True, eq=False)
class _Chain:
    chance: FloatArray
    apart: float
    deviation: float
    likelihood: float


def _two_levels(course: FloatArray, gaps: IntArray) -> _Chain:
    """Fit the chain by expectation and maximisation."""
    levels = np.quantile(course, [0.2, 0.8])
    deviation = max(float(np.std(course)) / 2, 1e-6)
    leave = np.array([1 / STAY_S, 1 / STAY_S])
    share, likelihood = 0.5, -np.inf
    chance = np.full(course.size, 0.5)
    for _ in range(TURNS):
        density = np.exp(-0.5 * ((course[:, None] - levels) / deviation) ** 2) / deviation + 1e-12
        chance, moves, reached = _forward_backward(density, leave, share, gaps)
        weights = np.stack([chance, 1 - chance])
        amounts = np.maximum(weights.sum(axis=1), 1e-9)
        levels = (weights @ course) / amounts
        deviation = max(float(np.sqrt(np.sum(weights.T * (course[:, None] - levels) ** 2) / course.size)), 1e-6)
        leave, share = np.clip(moves / amounts, 1e-3, 0.5), float(np.clip(chance[0], 0.01, 0.99))
        if reached - likelihood < 1e-5 * abs(reached):
            break
        likelihood = reached
    constant = course.size * 0.5 * float(np.log(2 * np.pi))
    return _Chain(chance, float(levels[1] - levels[0]), deviation, reached - constant)


def _forward_backward(
    density: FloatArray, leave: FloatArray, share: float, gaps: IntArray
) -> tuple[FloatArray, FloatArray, float]:
    """Return the chance of the first state at every step, expected moves out of each, and the log likelihood."""
    # Over a hole in the course the chain goes on unseen: the two-state chain to that power, in closed form.
    fade = (1 - leave.sum()) ** np.concatenate([[1], gaps])
    rest = leave[1] / leave.sum()
    stay, come = rest + (1 - rest) * fade, rest * (1 - fade)
    ahead_of = list(zip(density.tolist(), stay.tolist(), come.tolist(), strict=True))
    first, passed, scales = share, [], []
    for k, ((low, high), stays, comes) in enumerate(ahead_of):
        if k:
            first = first * stays + (1 - first) * comes
        scale = first * low + (1 - first) * high
        first = first * low / scale
        passed.append(first)
        scales.append(scale)
    low_then, high_then, returned = 1.0, 1.0, [(1.0, 1.0)]
    for ((low, high), stays, comes), scale in zip(ahead_of[:0:-1], scales[:0:-1], strict=True):
        low_ahead, high_ahead = low * low_then / scale, high * high_then / scale
        low_then = stays * low_ahead + (1 - stays) * high_ahead
        high_then = comes * low_ahead + (1 - comes) * high_ahead
        returned.append((low_then, high_then))
    scale_of = np.array(scales)
    forward = np.stack([np.array(passed), 1 - np.array(passed)], axis=1)
    backward = np.array(returned[::-1])
    chance = forward * backward
    ahead = density[1:] * backward[1:] / scale_of[1:, None]
    moves = np.array(
        [
            float(np.sum(forward[:-1, 0] * (1 - stay[1:]) * ahead[:, 1])),
            float(np.sum(forward[:-1, 1] * come[1:] * ahead[:, 0])),
        ]
    )
    return chance[:, 0], moves, float(np.sum(np.log(scale_of)))


def _drifting(course: FloatArray) -> float:
    """Return the log likelihood of a first-order autoregression, what a slow drift or slow noise would be."""
    away = course - course.mean()
    follow = float(away[:-1] @ away[1:]) / max(float(away[:-1] @ away[:-1]), 1e-300)
    left = away[1:] - follow * away[:-1]
    variance = max(float(np.mean(left**2)), 1e-300)
    return -0.5 * course.size * float(np.log(2 * np.pi * variance) + 1)


def _lengths(low: BoolArray, at: IntArray) -> FloatArray:
    """Return how long each stretch on the lower level lasted, s."""
    starts = np.flatnonzero(np.diff(np.concatenate([[False], low]).astype(np.int8)) == 1)
    ends = np.flatnonzero(np.diff(np.concatenate([low, [False]]).astype(np.int8)) == -1)
    return np.asarray((at[ends] - at[starts] + 1) * SECOND)


def _widened(rows: BoolArray, time: FloatArray) -> BoolArray:
    """Mark what lies within the margin of a marked row too."""
    last = np.maximum.accumulate(np.where(rows, time, -np.inf))
    upcoming = np.minimum.accumulate(np.where(rows, time, np.inf)[::-1])[::-1]
    near: BoolArray = (time - last <= MARGIN_S) | (upcoming - time <= MARGIN_S)
    return near
