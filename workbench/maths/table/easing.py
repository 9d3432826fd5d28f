"""Steps from cell to cell that no evidence asks for, taken out of what a correction wants. All in logarithms."""

from collections.abc import Iterator

import numpy as np

from workbench.maths.table.filling import filled
from workbench.model.arrays import BoolArray, FloatArray
from workbench.model.table import Table

STEP = 0.018  # from cell to cell; under what counts as a cliff
MOST_SWEEPS = 400
SETTLED = 1e-6
SURE = 2.0  # intervals of the difference that a step must be worth: they fall short, and a true one waits for a drive


def eased(table: Table, wanted: FloatArray, fixed: BoolArray, step: float = STEP) -> FloatArray:
    """Take cells that may move to what is wanted of them, as far as no step between neighbours becomes a cliff.

    Each cell is first kept within what the fixed cells around allow (the largest and the smallest extension with
    bounded slope: McShane 1934, from memory), then raised where the wanted values themselves step too far: more airflow
    is the richer side. Where the fixed cells around differ by more than small steps can join, it runs evenly.

    Args:
        table: whose axes count.
        wanted: logarithms of multipliers, shape of the table.
        fixed: cells that keep what is wanted of them, shape of the table.
        step: largest difference between neighbours.

    Returns:
        Logarithms of multipliers, shape of the table.
    """
    lowest = _falling(np.where(fixed, wanted, -np.inf), step)
    highest = -_falling(np.where(fixed, -wanted, -np.inf), step)
    torn = ~fixed & (lowest > highest)
    if torn.any():
        between = np.log(filled(table.with_values(np.exp(np.where(fixed, wanted, 0.0))), ~fixed))
        wanted = np.where(torn, between, wanted)
    steady = fixed | torn
    within = np.where(steady, wanted, np.clip(wanted, np.minimum(lowest, highest), np.maximum(lowest, highest)))
    return np.where(steady, wanted, _falling(within, step))


def _falling(values: FloatArray, step: float) -> FloatArray:
    """Raise cells to what their neighbours hold less a step, until none is farther below one than that."""
    raised = values.copy()
    for _ in range(sum(values.shape)):
        before = raised.copy()
        for axis in range(values.ndim):
            line = np.moveaxis(raised, axis, 0)  # a view
            line[1:] = np.maximum(line[1:], line[:-1] - step)
            line[:-1] = np.maximum(line[:-1], line[1:] - step)
        if np.array_equal(before, raised):
            break
    return raised


def without_unproven_steps(
    wanted: FloatArray,
    half_width: FloatArray,
    steady: BoolArray,
    step: float = STEP,
    alike: tuple[FloatArray, ...] = (),
) -> FloatArray:
    """Draw neighbouring cells together where they step more than a little and their intervals do not prove that.

    A step is proven that is larger than twice the 95 % interval of the difference. What an unproven one has beyond a
    small step is taken out, the less well known cell moving farther: weighted least squares under these bounds, found
    pair by pair (Hildreth 1957, from memory).

    Args:
        wanted: logarithms of multipliers, shape of the table.
        half_width: of their 95 % intervals; NaN where there is none, and the cell counts for nothing.
        steady: cells that do not move, shape of the table.
        step: between neighbours that is always allowed.
        alike: parts of those intervals, as half-widths, that move neighbours alike: their difference is free of them,
            shape of the table each; 0 where a cell has none.

    Returns:
        Logarithms of multipliers, shape of the table.
    """
    interval = np.square(np.where(np.isfinite(half_width), half_width, 0.0))
    spread = np.where(steady, 0.0, interval)
    found, pulls = wanted.copy(), {}
    for number, (low, high) in enumerate(_pairs(found.shape)):
        known = np.isfinite(half_width[low]) & np.isfinite(half_width[high]) & (spread[low] + spread[high] > 0)
        # The variance of a difference: both variances less twice their covariance (JCGM 100:2008, 5.2.2).
        common = sum((2 * each[low] * each[high] for each in alike), np.zeros(interval[low].shape))
        apart = np.sqrt(np.maximum(interval[low] + interval[high] - common, 0.0))
        proven = np.abs(wanted[high] - wanted[low]) > SURE * apart
        pulls[number] = np.where(known & ~proven, step, np.inf), np.zeros(proven.shape)
    for _ in range(MOST_SWEEPS):
        moved = 0.0
        for number, (low, high) in enumerate(_pairs(found.shape)):
            bound, pull = pulls[number]
            both = np.maximum(spread[low] + spread[high], 1e-300)
            free = found[high] - found[low] + pull * both  # the step as it were without this pair's own pull
            with np.errstate(invalid="ignore"):
                wish = np.where(np.isfinite(bound), (free - np.clip(free, -bound, bound)) / both, 0.0)
            change = wish - pull
            found[low] += change * spread[low]
            found[high] -= change * spread[high]
            pulls[number] = bound, wish
            moved = max(moved, float(np.max(np.abs(change) * both, initial=0.0)))
        if moved < SETTLED:
            break
    return found


def _pairs(shape: tuple[int, ...]) -> Iterator[tuple[tuple[slice, ...], tuple[slice, ...]]]:
    """Give all pairs of neighbours in groups in which no cell occurs twice: the lower and the upper cells of each."""
    for axis in range(len(shape)):
        for first in (0, 1):
            many = max((shape[axis] - first) // 2, 0)
            low, high = slice(first, first + 2 * many, 2), slice(first + 1, first + 1 + 2 * many, 2)
            yield (
                tuple(low if i == axis else slice(None) for i in range(len(shape))),
                tuple(high if i == axis else slice(None) for i in range(len(shape))),
            )
