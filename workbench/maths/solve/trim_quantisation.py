"""What the quantisation step of a logged trim hides: it is no noise that averages out while the trim stands still."""

from typing import NamedTuple

import numpy as np

from workbench.maths.signals.series import quantisation_step
from workbench.model.arrays import BoolArray, FloatArray, IntArray

FINEST = 0.02  # %, steps smaller than this hide nothing worth counting


class TrimLevels(NamedTuple):
    """The levels of a long-term trim.

    Attributes:
        number: of each sample's level, 0..levels-1; -1 where the trim is not known or hides nothing; (samples,).
        size: standard deviation of what rounding hides at each level, as a ratio, shape (levels,).
    """

    number: IntArray
    size: FloatArray


def levels_of(long_trim: FloatArray, kept: BoolArray) -> TrimLevels:
    """Number the levels of a drive's long-term trim.

    Rounding to a step shifts all samples of one level by the same unknown amount, evenly spread over the step (variance
    step^2 / 12); samples of different levels are shifted independently.

    Args:
        long_trim: %, NaN where not logged, shape (rows,).
        kept: rows that became samples, shape (rows,).
    """
    step, trim = quantisation_step(long_trim, FINEST), long_trim[kept]
    number = np.full(trim.size, -1, dtype=np.int64)
    there = np.isfinite(trim)
    if step == 0 or not there.any():
        return TrimLevels(number, np.zeros(0))
    levels, number[there] = np.unique(np.rint(trim[there] / step), return_inverse=True)
    return TrimLevels(number, np.full(levels.size, step / 100 / np.sqrt(12)))
