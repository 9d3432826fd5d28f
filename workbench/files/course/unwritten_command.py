"""A command of 0 in closed loop: an ECU that writes one in open loop only, where it has a mixture to command."""

import numpy as np

from workbench.model.arrays import BoolArray, FloatArray

CLOSED = (2, 16)  # SAE J1979, parameter 03
MOSTLY, OFTEN = 0.9, 0.3  # of the zeros, and of the rows
ENRICHED = 0.97  # lambda: open loop at load asks for less


def unwritten_in_closed_loop(commanded: FloatArray, status: FloatArray | None) -> BoolArray | None:
    """Mark the rows in which 0 stands for a closed loop, shape (rows,); None where it stands for something else.

    Args:
        commanded: lambda, shape (rows,), NaN where nothing was read.
        status: fuel system status as in SAE J1979, shape (rows,); None where there is none.
    """
    zero = commanded == 0
    count = int(np.count_nonzero(zero))
    written = commanded[np.isfinite(commanded) & ~zero]
    if not count or not written.size or count < OFTEN * (count + written.size):
        return None
    if status is None:
        return zero if float(np.mean(written <= ENRICHED)) >= MOSTLY else None
    rows = np.arange(status.size)  # a state holds until the next one
    last = np.maximum.accumulate(np.where(np.isfinite(status), rows, -1))
    closed = (last >= 0) & np.isin(status[np.maximum(last, 0)], CLOSED)
    return zero & closed if float(np.mean(closed[zero])) >= MOSTLY else None
