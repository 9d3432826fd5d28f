"""A command of 0 or of none in closed loop: an ECU that writes one in open loop only, where it has one to command."""

import numpy as np

from workbench.model.arrays import BoolArray, FloatArray

CLOSED = (2, 16)  # SAE J1979, parameter 03
MOSTLY, OFTEN = 0.9, 0.3  # of the zeros, and of the rows
ENRICHED = 0.97  # lambda: open loop at load asks for less


def unwritten_in_closed_loop(commanded: FloatArray, status: FloatArray | None) -> BoolArray | None:
    """Mark the rows in which 0, or nothing, stands for a closed loop, shape (rows,); None where it stands for another.

    Args:
        commanded: lambda, shape (rows,), NaN where nothing was read.
        status: fuel system status as in SAE J1979, shape (rows,); None where there is none.
    """
    zero, there = commanded == 0, np.isfinite(commanded)
    if not zero.any():
        return _empty_in_closed_loop(there, status)
    count = int(np.count_nonzero(zero))
    written = commanded[there & ~zero]
    if not written.size or count < OFTEN * (count + written.size):
        return None
    if status is None:
        return zero if float(np.mean(written <= ENRICHED)) >= MOSTLY else None
    closed = _closed(status)
    return zero & closed if float(np.mean(closed[zero])) >= MOSTLY else None


def _empty_in_closed_loop(there: BoolArray, status: FloatArray | None) -> BoolArray | None:
    """Mark the empty cells of closed loop where those are empty and hardly any other, as where none is polled."""
    empty = ~there
    if status is None or not there.any() or float(np.mean(empty)) < OFTEN:
        return None
    closed = _closed(status)
    of_loop = float(np.mean(closed[empty])) >= MOSTLY and float(np.mean(closed[there])) <= 1 - MOSTLY
    return empty & closed if of_loop else None


def _closed(status: FloatArray) -> BoolArray:
    rows = np.arange(status.size)  # a state holds until the next one
    last = np.maximum.accumulate(np.where(np.isfinite(status), rows, -1))
    return np.asarray((last >= 0) & np.isin(status[np.maximum(last, 0)], CLOSED))
