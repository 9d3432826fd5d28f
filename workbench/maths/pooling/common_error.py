"""What shifts all readings alike: the wideband's calibration, and the mixture about which the ECU's own loop swings.

Both are known beforehand to a tolerance, and in closed loop their sum is seen: a settled loop holds its centre, and the
wideband reads it with its own error g. With priors g ~ N(0, G), c ~ N(0, C) and the mean reading d = c + g seen with
the scatter s, the best estimate of g is d G^2 / (G^2 + C^2 + s^2), and what stays unknown of it
G^2 (C^2 + s^2) / (G^2 + C^2 + s^2) (normal distributions with a linear reading; GUM, JCGM 100:2008, for the naming as
type B). What is left moves the whole table: it is common to all cells and added to each, never averaged away.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from workbench.maths.drives.drive_fit import DriveFit
from workbench.maths.signals.gating import (
    COLD,
    CUT,
    LOOP,
    NO_READING,
    NOT_RUNNING,
    engine_gates,
    follows,
    trims_at_rest,
)
from workbench.maths.signals.series import blocks
from workbench.model.arrays import BoolArray, FloatArray
from workbench.model.gate import Gates

CENTRE = 0.003  # of lambda about which a loop swings, standard deviation: common practice, no source
COVERAGE = 1.96  # a stated tolerance is taken as a 95 % interval
LEAST_SCATTER = 0.001  # of a mean reading in closed loop, however long it was
IN_LOOP, FARTHEST = 0.06, 0.015  # of lambda: readings of a loop, and a mean that is still an instrument's error
FEWEST_ROWS, FEWEST_BLOCKS = 200, 6


@dataclass(frozen=True)
class CommonError:
    """What shifts all readings alike.

    Attributes:
        wideband: best estimate of the wideband's relative error.
        centre: best estimate of the loop's centre less 1.
        deviation: of what is left unknown, standard deviation, as a ratio.
        seen: mean reading in settled closed loop over what it holds, less 1; NaN where there is none.
    """

    wideband: float = 0.0
    centre: float = 0.0
    deviation: float = CENTRE
    seen: float = float("nan")


def common_error(known: Sequence[DriveFit], gates: Gates, tolerance: float) -> CommonError:
    """Find the common error of all drives.

    Args:
        known: the drives.
        gates: limits.
        tolerance: of the wideband, half-width of a 95 % interval, as a ratio.
    """
    own = tolerance / COVERAGE
    if all(driven.place == "none" or driven.readings.by_trims.all() for driven in known):
        return CommonError()
    means = np.concatenate([_means(driven, gates) for driven in known])
    if means.size < FEWEST_BLOCKS:
        return CommonError(deviation=own)
    seen = float(np.median(means))
    scatter = max(1.4826 * float(np.median(np.abs(means - seen))) / np.sqrt(means.size), LEAST_SCATTER)
    if abs(seen) > FARTHEST:  # no instrument's error any more: it is said, and nothing is put right by it
        return CommonError(deviation=max(own, abs(seen) / COVERAGE), seen=seen)
    total = own**2 + CENTRE**2 + scatter**2
    wideband = seen * own**2 / total
    return CommonError(wideband, seen * CENTRE**2 / total, own * float(np.sqrt((CENTRE**2 + scatter**2) / total)), seen)


def instrument_tolerance(known: Sequence[DriveFit], usual: float) -> float:
    """Give the wideband's tolerance as a ratio: the largest that was stated for an instrument of the drives.

    Args:
        known: the drives.
        usual: what is taken where none was stated.
    """
    stated = []
    for driven in known:
        log = driven.drive.log
        tolerance, measured = log.tolerance("lambda_measured"), log.playing("lambda_measured")
        if tolerance is not None and measured is not None:
            share = tolerance / np.where(measured > 0, measured, np.nan)
            stated.append(float(np.nanmedian(share)) if np.isfinite(share).any() else usual)
    return max(stated, default=usual)


def settled_loop(driven: DriveFit, gates: Gates) -> BoolArray:
    """Mark rows at which the loop holds its centre: closed, warm, and the trims not on their way, shape (rows,)."""
    seen = driven.seen
    engine = engine_gates(seen, driven.table, gates)
    away = engine[NOT_RUNNING] | engine[COLD] | engine[CUT] | engine[LOOP] | engine[NO_READING] | ~seen.closed
    return ~follows(away, seen.time, gates.settle_for_trims_s) & trims_at_rest(seen)


def _means(driven: DriveFit, gates: Gates) -> FloatArray:
    """Give mean readings over what the loop holds, less 1, over stretches of time in settled closed loop."""
    seen = driven.seen
    apart = seen.measured / seen.loop_holds - 1
    held = settled_loop(driven, gates) & (np.abs(apart) < IN_LOOP)
    if np.count_nonzero(held) < FEWEST_ROWS:
        return np.zeros(0)
    number = blocks(seen.time)[held]
    count = np.bincount(number)
    sums = np.bincount(number, apart[held])
    enough = count >= max(float(np.median(count[count > 0])) / 2, 1)
    means: FloatArray = sums[enough] / count[enough]
    return means
