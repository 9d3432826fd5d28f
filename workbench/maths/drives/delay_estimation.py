"""Estimating the wideband's delay from drives.

The three numbers (fixed part, gas volume, sensor lag) are those with which the predicted lambda, carried through
exhaust and sensor, lies nearest to the measured one: profile least squares with a robust loss. Command steps, trim
swings and tip-ins carry the information; drives without them get the stated default.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from workbench.maths.signals.delay import seen_by_sensor, source_times
from workbench.maths.signals.disturbances import mixture_command
from workbench.maths.signals.gating import COLD, CUT, NO_READING, NOT_RUNNING, PURGE, engine_gates
from workbench.maths.signals.ratio import Signals
from workbench.maths.signals.series import blocks, filled, moving_mean, row_step
from workbench.maths.solve.solve import HUBER, spread_of, variance_inflation
from workbench.model.arrays import BoolArray, FloatArray
from workbench.model.evidence import Delay
from workbench.model.gate import Gates
from workbench.model.table import Table
from workbench.phrases import phrase
from workbench.work import may_stop

DEFAULT = Delay(fixed_s=0.10, volume_g=1.0, lag_s=0.08, source="default")  # common practice, no source
MOST_ROWS = 60_000  # more rows tell nothing more about three numbers
COARSE_S = 0.3  # rows further apart do not show the loop's swing
WITHIN_ROW = 0.475  # 95 % of an even spread over a row: no log tells when within a row each channel was read
# Half-width of what scatter does not show: trims answer the same disturbances that the wideband sees later, which looks
# like a longer way, and gas mixes in the pipe. Seen on virtual cars made by others (tests/family, seeds 21 to 61).
UNMODELLED_S = 0.5
SWING_S = 2.0  # swings of the loop are faster than this
STARTS = [
    (fixed, volume, lag)
    for fixed in (0.0, 0.05, 0.1, 0.2, 0.4, 0.7, 1.0, 1.4)
    for volume in (0.3, 1.0, 3.0, 8.0)
    for lag in (0.03, 0.1)
]
LIMITS = ([0.0, 0.0, 0.0], [2.0, 16.0, 0.6])  # fixed part s, volume g, lag s: lowest and highest


@dataclass(frozen=True, eq=False)
class Course:
    """One drive made ready for comparing predicted with measured lambda, all of shape (rows,).

    Rows that are away are of no use for what the engine did there; usable are the others that were read, too. At a jump
    another long trim begins to act, and the loop's swing is not alone.
    """

    time: FloatArray
    airflow: FloatArray
    predicted: FloatArray
    measured: FloatArray
    usable: BoolArray
    away: BoolArray
    step_s: float
    jump: BoolArray | bool = False

    @property
    def reading_s(self) -> float:
        """Usual time between two readings of the wideband, s."""
        return max(self.step_s, row_step(self.time[np.isfinite(self.measured)]))


def course(seen: Signals, table: Table, gates: Gates, ratio: FloatArray, delay: Delay) -> Course:
    """Prepare a drive.

    Args:
        seen: the drive.
        table: the revision it was driven on.
        gates: limits.
        ratio: best knowledge so far of the airflow ratio at every row (with film effects), shape (rows,).
        delay: as far as it is known: gas of a fuel cut is left out when it arrives, not when it left.
    """
    engine = engine_gates(seen, table, gates)
    away = engine[NOT_RUNNING] | engine[CUT] | engine[COLD] | engine[NO_READING] | engine[PURGE]
    source = source_times(seen.time, filled(seen.airflow), delay.fixed_s, delay.volume_g)
    at = np.clip(np.searchsorted(seen.time, source), 0, seen.time.size - 1)
    away |= away[at] | ~np.isfinite(seen.commanded)
    away |= (seen.measured <= gates.lambda_low) | (seen.measured >= gates.lambda_high)
    usable = ~away & np.isfinite(seen.measured)
    rows = slice(None)
    if seen.time.size > MOST_ROWS:
        start = _liveliest(mixture_command(seen), MOST_ROWS)
        rows = slice(start, start + MOST_ROWS)
    return Course(
        time=seen.time[rows],
        airflow=filled(seen.airflow)[rows],
        predicted=(filled(ratio) * mixture_command(seen))[rows],
        measured=seen.measured[rows],
        usable=usable[rows],
        away=away[rows],
        step_s=row_step(seen.time),
        jump=seen.jumps[rows],
    )


def estimate(*paths: Course) -> Delay:
    """Estimate the delay of a wideband from all drives made with it; the default where they cannot tell."""
    reading_s = min(path.reading_s for path in paths)
    if sum(path.usable.sum() for path in paths) < 200 or reading_s > COARSE_S:
        return _untold("the log rate is too low" if reading_s > COARSE_S else "too few readings are in range")
    paths = tuple(path for path in paths if path.reading_s <= COARSE_S)
    start = _apart(paths, (DEFAULT.fixed_s, DEFAULT.volume_g, DEFAULT.lag_s))
    scale = spread_of(start, np.ones(start.size))

    from scipy import optimize

    def loss(numbers: Sequence[float] | FloatArray) -> float:
        return huber_loss(_apart(paths, numbers), scale)

    def apart(numbers: FloatArray) -> FloatArray:
        return _apart(paths, numbers)

    found = optimize.least_squares(
        apart,
        np.array(min(STARTS, key=loss)),
        bounds=LIMITS,
        loss="huber",
        f_scale=HUBER * scale,
        x_scale=np.array([0.05, 0.5, 0.05]),
        diff_step=np.array([0.02, 0.02, 0.02]),
        max_nfev=40,
    )
    best = tuple(float(number) for number in found.x)
    interval = _interval(paths, best)
    measured = np.concatenate([path.measured[path.usable] for path in paths])
    flat = huber_loss(measured - np.median(measured), scale)
    if not np.isfinite(interval) or interval > 0.3 or loss(best) > 0.9 * flat:
        return _untold("the measured mixture does not follow the predicted changes closely enough")
    swings = float(np.std(np.concatenate([path.predicted[path.usable] for path in paths])))
    return Delay(
        fixed_s=best[0],
        volume_g=best[1],
        lag_s=best[2],
        source="estimated",
        interval_s=float(np.sqrt(interval**2 + (WITHIN_ROW * reading_s) ** 2 + UNMODELLED_S**2)),
        carried_by=phrase(
            "changes of the predicted mixture by {swings:.1f} % (standard deviation)", swings=100 * swings
        ),
    )


def _apart(paths: Sequence[Course], numbers: Sequence[float] | FloatArray) -> FloatArray:
    return np.concatenate([misfit(path, numbers) for path in paths])


def misfit(path: Course, numbers: Sequence[float] | FloatArray) -> FloatArray:
    """Return measured minus carried prediction at the usable rows, for (fixed s, volume g, lag s)."""
    may_stop()
    fixed, volume, lag = numbers
    source = source_times(path.time, path.airflow, fixed, volume)
    carried = seen_by_sensor(path.predicted, path.time, source, lag, path.step_s)
    apart: FloatArray = (path.measured - carried)[path.usable]
    return apart


def swing_of(values: FloatArray, time: FloatArray) -> FloatArray:
    """Return what of a channel swings as fast as a loop does, shape (rows,)."""
    return values - moving_mean(filled(values), time, SWING_S)


def _untold(why: str) -> Delay:
    return Delay(
        DEFAULT.fixed_s,
        DEFAULT.volume_g,
        DEFAULT.lag_s,
        "default",
        carried_by=phrase("not measurable in this log: {why}", why=why),
    )


def huber_loss(residual: FloatArray, scale: float) -> float:
    """Return Huber's loss: squares of what lies within the usual spread, straight lines beyond."""
    size = np.abs(residual) / scale
    return float(np.sum(np.where(size <= HUBER, size**2 / 2, HUBER * (size - HUBER / 2))))


def _interval(paths: Sequence[Course], best: tuple[float, ...]) -> float:
    """Return the half-width of the 95 % interval of transport plus lag at the median airflow, s."""
    rest = _apart(paths, best)
    slopes = []
    for k, small in enumerate((0.01, 0.1, 0.01)):
        up, down = list(best), list(best)
        up[k] += small
        down[k] = max(best[k] - small, 0.0)
        slopes.append((_apart(paths, tuple(up)) - _apart(paths, tuple(down))) / (up[k] - down[k]))
    slope = np.stack(slopes, axis=1)
    weight = np.ones(rest.size)
    sigma = spread_of(rest, weight)
    clipped = np.clip(rest, -HUBER * sigma, HUBER * sigma)
    first, numbers = 0, []
    for path in paths:
        of_drive = blocks(path.time)
        numbers.append(of_drive[path.usable] + first)
        first += int(of_drive[-1]) + 1
    inflation = variance_inflation(clipped, weight, np.concatenate(numbers))
    covariance = sigma**2 * inflation * np.linalg.pinv(slope.T @ slope)
    flow = np.concatenate([path.airflow[path.usable] for path in paths])
    toward = np.array([1.0, 1 / float(np.median(flow)), 1.0])
    return 1.96 * float(np.sqrt(max(toward @ covariance @ toward, 0.0)))


def _liveliest(values: FloatArray, rows: int) -> int:
    """Return the start of the stretch of so many rows in which values move most."""
    moved = np.concatenate([[0.0], np.cumsum(np.abs(np.diff(values)))])
    return int(np.argmax(moved[rows - 1 :] - moved[: moved.size - rows + 1]))
