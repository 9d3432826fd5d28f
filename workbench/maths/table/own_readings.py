"""What a cell's own readings bear out, where a correction would lean a mixture under load.

The smooth surface that the evidence gives reaches thin cells from their neighbours. Between cells that were read it is
interpolated; beyond them it goes on as it came, and there a lean step has nothing to rest on.
"""

import numpy as np

from workbench.maths.table.full_throttle import FullThrottle
from workbench.model.arrays import BoolArray, FloatArray
from workbench.model.evidence import Evidence

FEW = 5.0  # samples under which a thin cell rests on its neighbours
OWN_READINGS = 2  # from which a plain mean and its scatter say something: common practice, no source
FELT = 1.0  # samples of pulls by which a cell was read: common practice, no source


def few_samples(found: Evidence) -> BoolArray:
    """Mark thin cells with so few samples that they rest on their neighbours, shape of the table."""
    return found.stands("thin") & (found.samples < FEW)


def was_read(found: Evidence, full: FullThrottle | None) -> BoolArray:
    """Mark the driven cells that readings of their own bear out, shape of the table."""
    read = found.driven & (~few_samples(found) | (found.count >= OWN_READINGS))
    return read if full is None else read | (found.driven & (full.felt >= FELT))


def borne_out(found: Evidence, full: FullThrottle | None) -> BoolArray:
    """Mark the driven cells that were read, or lie between such along an axis, shape of the table."""
    read = was_read(found, full)
    return read | (found.driven & np.isfinite(_lower_of_both_sides(read, np.ones(read.shape))))


def as_read(found: Evidence, wanted: FloatArray, full: FullThrottle | None) -> FloatArray:
    """Lean thin cells with few samples no further than what was read bears out, shape of the table.

    That is the plain mean of their own readings; or the leaner of the read cells on both sides; and the
    factor of full throttle within its interval, where pulls went through them.

    Args:
        found: the evidence.
        wanted: ratios that cells are taken to, shape of the table.
        full: what the pulls say as a whole.
    """
    few = few_samples(found)
    if full is not None and full.known:
        pulled = few & full.inside & (full.felt > 0)
        wanted = np.where(pulled, np.maximum(wanted, (full.factor - full.of_a_cell) * full.shaped), wanted)
    own = np.where(few & (found.count >= OWN_READINGS), found.mean, np.nan)
    wanted = np.fmax(wanted, np.minimum(own, np.maximum(wanted, 1.0)))
    read = was_read(found, full)
    beside = _lower_of_both_sides(read, wanted)
    return np.where(few & ~read, np.fmax(wanted, np.minimum(beside, np.maximum(wanted, 1.0))), wanted)


def _lower_of_both_sides(marked: BoolArray, values: FloatArray) -> FloatArray:
    """Give the lower value of the nearest marked cells on both sides along an axis; NaN where none are on both."""
    found = np.full(values.shape, np.nan)
    for axis in range(values.ndim):
        sides = (_last_before(marked, values, axis), _last_before(np.flip(marked, axis), np.flip(values, axis), axis))
        found = np.fmin(found, np.minimum(sides[0], np.flip(sides[1], axis)))
    return found


def _last_before(marked: BoolArray, values: FloatArray, axis: int) -> FloatArray:
    """Carry the value of the last marked cell along an axis; NaN before the first one."""
    place = np.arange(values.shape[axis]).reshape([-1 if n == axis else 1 for n in range(values.ndim)])
    last = np.maximum.accumulate(np.where(marked, place, -1), axis=axis)
    return np.where(last < 0, np.nan, np.take_along_axis(values, np.maximum(last, 0), axis=axis))
