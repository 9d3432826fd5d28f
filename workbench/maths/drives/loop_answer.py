"""How much later the wideband sees the mixture than the loop's own sensor, from what the short trim does about it.

In closed loop the short trim is worked out from what the ECU's own sensor sees, so trim and reading are bound to each
other whatever disturbed the mixture: du(t) = I e(t + late) dt + P de(t + late), with e what the wideband reads beside
what the loop holds. A two-state sensor answers to the sign of e alone, so a clipped e stands beside it. The way from
the trims to the reading is bound by the loop as well: what is found there looks late, since the trims answer
disturbances that the wideband sees a moment later (identification in closed loop: Soederstroem and Stoica, System
Identification, 1989, chapter 10, from memory).

What is missing is how late the loop's own sensor is. It sits near the ports, where a wideband is by default.
"""

import hashlib
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from threading import Lock

import numpy as np

from workbench.maths.drives.delay_estimation import COARSE_S, DEFAULT, WITHIN_ROW
from workbench.maths.signals.gating import follows, precedes
from workbench.maths.signals.ratio import Signals
from workbench.maths.signals.series import blocks, filled, row_step
from workbench.maths.solve.solve import variance_inflation
from workbench.model.arrays import FloatArray, IntArray
from workbench.model.evidence import Delay
from workbench.phrases import phrase
from workbench.work import may_stop

# Half-width of how late the loop's own sensor may be beside a wideband near the ports; no source, seen on virtual cars
# made by others (tests/family, seeds 21 to 60).
OWN_SENSOR_S = 0.3
STEP_S = 0.05  # of the even clock on which trims and readings are compared
OVER_S = 0.25  # to either side, over which the trim's answer is taken: less is its steps, more is other disturbances
OVER = round(OVER_S / STEP_S)  # the same, in steps
BEFORE_S, AFTER_S = 2.0, 3.0  # of closed loop around a moment that counts
TWO_STATE = 0.01  # of lambda, from which a two-state sensor says no more: common practice, no source
FAR = 0.25  # log of lambda; beyond it the loop does not answer in proportion
LEAST_FLOW = 1.5  # g/s
FEWEST, MOST = 250, 12_000  # moments
TOLD = 0.05  # of the trims' movement, that which goes with the reading, from which it is an answer
# s: what a wideband is later than the loop's own sensor whatever the flow, and how far that varies (common practice, no
# source). Gas that mixes on its way blurs what is quick, and looks like a longer fixed part and less volume; so all
# moments together speak no louder than so many single ones.
USUAL_S, VARIES_S, LOUDEST = 0.1, 0.2, 100
FINER, MOST_STEPS = ((0.05, 1.0), (0.02, 0.4), (0.01, 0.2)), 3  # s and g of the lattices, and steps on each
LATER_S, LATER_G = np.arange(-0.3, 1.61, 0.1), np.array([0.0, 1, 2, 3, 4.5, 6, 8, 11, 14])
# What a drive says of a lattice point by itself: other drives and the table move none of it, so it is worked out once
# in a process, whatever turn and whatever drives it is asked in. By the digest of all that it rests on, bit for bit.
_Sums = dict[tuple[float, float], tuple[FloatArray, FloatArray]]
_KEPT: dict[bytes, _Sums] = {}
_KEEPING = Lock()
MOST_KEPT = 100  # drives, the least used first to go; each takes some 80 kB


@dataclass(frozen=True)
class Answer:
    """How much later than the loop's own sensor the wideband sees: `fixed_s + volume_g / airflow`.

    Attributes:
        fixed_s: s; below 0 where it sees earlier.
        volume_g: g.
        interval_s: half-width of the 95 % interval at the median airflow, s.
        told: share of the trims' movement that goes with the reading.
    """

    fixed_s: float
    volume_g: float
    interval_s: float
    told: float


@dataclass(frozen=True, eq=False)
class _Loop:
    """One drive on an even clock: what the loop may answer to over the whole of it, the rest at what counts."""

    clock: FloatArray
    heard: tuple[FloatArray, ...]
    flow: FloatArray
    answer: FloatArray
    block: IntArray
    kept: _Sums

    def sums(self, fixed_s: float, volume_g: float) -> tuple[FloatArray, FloatArray]:
        """Give the squared sums of `columns`, shape (4, 4), and of them with the answer, shape (4,)."""
        found = self.kept.get((fixed_s, volume_g))
        if found is None:
            columns = self.columns(fixed_s, volume_g)
            found = self.kept[fixed_s, volume_g] = columns.T @ columns, columns.T @ self.answer
        return found

    def columns(self, fixed_s: float, volume_g: float) -> FloatArray:
        """Give what the loop may answer to where the reading comes so much later, shape (moments, 4), of mean 0."""
        at = (self.clock + fixed_s + volume_g / self.flow) / STEP_S + OVER
        step = np.clip(at.astype(np.int64), 0, self.heard[0].size - 2)
        beyond = np.clip(at - step, 0.0, 1.0)
        found = np.empty((at.size, len(self.heard)))
        for column, each in zip(found.T, self.heard, strict=True):
            here = each.take(step)
            here += beyond * (each.take(step + 1) - here)
            np.subtract(here, here.mean(), out=column)
        return found


def delay_by_loop(drives: Sequence[Signals]) -> Delay | None:
    """Find the delay of a wideband before the catalyst by what the loop answers; None where the trims do not tell."""
    fine = [each for each in drives if seconds_between_readings(each) <= COARSE_S]
    found = answer_of_loop(fine)
    if found is None:
        return None
    reading_s = min(map(seconds_between_readings, fine))
    return Delay(
        fixed_s=max(found.fixed_s + DEFAULT.fixed_s, 0.0),
        volume_g=found.volume_g + DEFAULT.volume_g,
        lag_s=DEFAULT.lag_s,
        source="estimated",
        interval_s=float(np.sqrt(found.interval_s**2 + (WITHIN_ROW * reading_s) ** 2 + OWN_SENSOR_S**2)),
        carried_by=phrase(
            "what the short trim does about the mixture ({told:.0f} % of its movement goes with the reading)",
            told=100 * found.told,
        ),
    )


def seconds_between_readings(seen: Signals) -> float:
    """Return the usual time between two readings of the wideband, s; without end where there are none."""
    read = np.isfinite(seen.measured)
    return max(row_step(seen.time), row_step(seen.time[read])) if read.sum() > 1 else float("inf")


def answer_of_loop(drives: Sequence[Signals]) -> Answer | None:
    """Find how much later the wideband sees than the loop's own sensor; None where the trims do not tell."""
    loops = [loop for loop in map(_loop, drives) if loop is not None]
    if not loops:
        return None
    moved = sum(float(loop.answer @ loop.answer) for loop in loops)
    if moved <= 0:
        return None
    tried = [(fixed, volume) for fixed in LATER_S.tolist() for volume in LATER_G.tolist()]

    def likely(numbers: tuple[float, float]) -> float:
        left = max(1 - _told(loops, *numbers) / moved, 1e-9)
        return -LOUDEST * float(np.log(left)) - ((numbers[0] - USUAL_S) / VARIES_S) ** 2

    best = max(tried, key=likely)
    for fine in FINER:
        best = _climbed(likely, best, *fine)
    told = _told(loops, *best) / moved
    return Answer(*best, _interval(loops, *best), told) if told > TOLD else None


def _climbed(
    likely: Callable[[tuple[float, float]], float], start: tuple[float, float], by_s: float, by_g: float
) -> tuple[float, float]:
    """Go from neighbour to likelier neighbour on a lattice."""
    best = start
    for _ in range(MOST_STEPS):
        around = [(best[0] + i * by_s, max(best[1] + j * by_g, 0.0)) for i in (0, -1, 1) for j in (0, -1, 1)]
        better = max(around, key=likely)
        if better == best:
            break
        best = better
    return best


def _loop(seen: Signals) -> _Loop | None:
    """Put one drive on an even clock; None where too little of it is closed loop with a reading."""
    read, trimmed = np.isfinite(seen.measured) & (seen.measured > 0), seen.trim_read & np.isfinite(seen.loop_action)
    if not seen.has_trims or min(read.sum(), trimmed.sum()) < FEWEST:
        return None
    time, start = seen.time, seen.time[0]
    clock = np.arange(0.0, time[-1] - start, STEP_S)
    apart = np.log(np.interp(clock + start, time[read], (seen.measured / seen.loop_holds)[read]))
    action = np.interp(clock + start, time[trimmed], seen.loop_action[trimmed])
    open_or_cut = ~seen.closed | seen.cut
    near = open_or_cut | follows(open_or_cut, time, BEFORE_S) | precedes(open_or_cut, time, AFTER_S)
    counts = (np.interp(clock + start, time, near.astype(float)) == 0) & (np.abs(apart) < FAR)
    counts[:OVER] = counts[clock.size - OVER :] = False
    at = np.flatnonzero(counts)
    at = at[:: max(1, -(-at.size // MOST))]
    if at.size < FEWEST:
        return None
    apart -= np.median(apart[at])
    felt = (apart, np.clip(apart / TWO_STATE, -1.0, 1.0))
    heard = tuple(_over(each) for error in felt for each in (np.cumsum(error) * STEP_S, error))
    answer = action[at + OVER] - action[at - OVER]
    flow = np.maximum(np.interp(clock[at] + start, time, filled(seen.airflow)), LEAST_FLOW)
    number = blocks(clock[at], max(10.0, 20 * row_step(time)))
    answer = answer - answer.mean()
    return _Loop(clock[at], heard, flow, answer, number, _kept_of(clock[at], *heard, flow, answer))


def _kept_of(*arrays: FloatArray) -> _Sums:
    """Give what is kept of a drive with these courses; it is filled as it is asked for."""
    whole = hashlib.sha256()
    for each in arrays:
        whole.update(each.size.to_bytes(8, "little") + np.ascontiguousarray(each).tobytes())
    with _KEEPING:
        found = _KEPT[whole.digest()] = _KEPT.pop(whole.digest(), {})
        while len(_KEPT) > MOST_KEPT:
            del _KEPT[next(iter(_KEPT))]
    return found


def _over(course: FloatArray) -> FloatArray:
    """Give by how much a course rises around each step, shape (steps + 2 `OVER`,); beyond its ends it stands.

    The first is `OVER` steps ahead of its beginning.
    """
    longer = np.pad(course, 2 * OVER, mode="edge")
    return np.asarray(longer[2 * OVER :] - longer[: -2 * OVER])


def _told(loops: Sequence[_Loop], fixed_s: float, volume_g: float) -> float:
    """Give how much of the trims' movement, squared and summed, goes with readings so much later."""
    may_stop()
    gram, toward = _sums(loops, fixed_s, volume_g)
    return float(toward @ np.linalg.lstsq(gram, toward, rcond=1e-9)[0])


def _sums(loops: Sequence[_Loop], fixed_s: float, volume_g: float) -> tuple[FloatArray, FloatArray]:
    each = [loop.sums(fixed_s, volume_g) for loop in loops]
    return np.asarray(sum(gram for gram, _ in each)), np.asarray(sum(toward for _, toward in each))


def _interval(loops: Sequence[_Loop], fixed_s: float, volume_g: float) -> float:
    """Return the half-width of the 95 % interval at the median airflow, s; what lies close in time errs together."""
    gram, toward = _sums(loops, fixed_s, volume_g)
    columns = [loop.columns(fixed_s, volume_g) for loop in loops]
    sizes = np.linalg.lstsq(gram, toward, rcond=1e-9)[0]
    here = np.concatenate([each @ sizes for each in columns])
    left = np.concatenate([loop.answer for loop in loops]) - here
    slopes = []
    for by_s, by_g in ((0.02, 0.0), (0.0, 0.4)):
        moved = np.concatenate([loop.columns(fixed_s + by_s, volume_g + by_g) @ sizes for loop in loops])
        slopes.append((moved - here) / (by_s + by_g))
    slope = np.stack(slopes, axis=1)
    first, numbers = 0, []
    for loop in loops:
        numbers.append(loop.block + first)
        first += int(loop.block[-1]) + 1
    inflation = variance_inflation(left, np.ones(left.size), np.concatenate(numbers))
    covariance = float(np.mean(left**2)) * inflation * np.linalg.pinv(slope.T @ slope)
    flow = np.concatenate([loop.flow for loop in loops])
    toward_all = np.array([1.0, 1 / float(np.median(flow))])
    return 1.96 * float(np.sqrt(max(toward_all @ covariance @ toward_all, 0.0)))
