"""Trims whose values below 0 were written as a count without a sign, and so stand a whole turn of it too high."""

import numpy as np

from workbench.model.arrays import FloatArray

# Of a count that wraps: of it, how far a leap goes at least and how wide the middle is that is empty; of the rows that
# lie in there all the same; how near to its ends values come; leaps; and %.
LEAPS, GAP, SELDOM, NEAR_END, FEWEST_LEAPS, LEAST_COUNT = 0.85, 0.2, 0.001, 0.03, 10, 10.0
FEWEST_TURNS = 25  # readings
# %: a byte and two bytes in tenths, whole and as SAE J1979 counts a trim; halves of these; and what loggers add to 100.
WHOLES, AS_WHOLE, LARGEST = (25.6, 6553.6, 256.0, 65536.0, 200.0, 100.0, 12.8, 655.36, 327.68), 0.03, 60.0


def wraps_at(values: FloatArray) -> float | None:
    """Give at what a trim wraps round, %: what lies below 0 stands so much higher, as a count does without a sign.

    Args:
        values: of the trim, shape (rows,), NaN where nothing was read.

    Returns:
        None where it does not.
    """
    there = values[np.isfinite(values)]
    if there.size < FEWEST_TURNS or there.min() < 0:
        return None
    levels = np.unique(there)
    steps = np.diff(levels)
    if steps.size < 2:
        return None
    whole = float(levels[-1] + np.min(steps))
    leaps = np.abs(np.diff(there)) > LEAPS * whole
    between = float(np.mean((there > (1 - GAP) / 2 * whole) & (there < (1 + GAP) / 2 * whole)))
    near = levels[-1] > (1 - NEAR_END) * whole and levels[0] < NEAR_END * whole
    if np.count_nonzero(leaps) < FEWEST_LEAPS or between > SELDOM or whole < LEAST_COUNT or not near:
        return None
    return whole


def unwrapped(values: FloatArray) -> tuple[FloatArray, float] | None:
    """Give the values of a trim that wrapped with their signs, shape (rows,), and at what, %; None where it does not.

    A loop moves by little from row to row: one that leaps over all between its ends, and is never there, leaps nowhere.
    """
    found = wraps_at(values)
    if found is None:
        return None
    whole = min(WHOLES, key=lambda each: abs(each - found))
    if abs(whole / found - 1) > AS_WHOLE or float(np.nanmax(values)) >= whole:
        return None
    signed = np.where(values > whole / 2, values - whole, values)
    return (signed, whole) if float(np.nanmax(np.abs(signed))) < LARGEST else None
