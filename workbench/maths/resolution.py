"""What the raster of a logged trim hides: it is no noise that averages out while the trim stands still."""

from dataclasses import dataclass

import numpy as np

from workbench.maths.interpolation import PIECE, spread_in_pieces
from workbench.model.arrays import BoolArray, FloatArray
from workbench.model.table import Table


@dataclass(frozen=True, eq=False)
class Trimmed:
    """Samples with the long-term trim they were taken under.

    Attributes:
        position: shape (samples, axes).
        weight: shape (samples,).
        level: long-term trim, %, shape (samples,).
        learning: whether the ECU was in closed loop, shape (samples,).
    """

    position: FloatArray
    weight: FloatArray
    level: FloatArray
    learning: BoolArray


def raster(values: FloatArray) -> float:
    """Give the smallest step between the different values of a channel, in its unit; 0 where it has no raster."""
    levels = np.unique(values[np.isfinite(values)])
    if levels.size < 2:
        return 0.0
    steps = np.diff(levels)
    step = float(steps.min())
    # A channel without a raster shows steps of every size.
    return step if step > 0.02 and np.all(np.abs(steps / step - np.rint(steps / step)) < 0.1) else 0.0


LEARNING = 0.7  # of the step's spread while the ECU learns: the trim moves inside its step (see the virtual engine)


def raster_half_width(table: Table, trimmed: Trimmed, step: float) -> FloatArray:
    """Give per cell the half-width of the 95 % interval that rounding the long-term trim leaves, shape of the table.

    Rounding to a step shifts all samples of one level by the same unknown amount, evenly spread over the step
    (variance step^2 / 12); samples of different levels are shifted independently. For one level 95 % lie within 0.95
    of half a step, which is 1.645 standard deviations; for many the sum is normal: 1.96. In closed loop the trim goes
    on learning inside its step, so less of the spread is left.

    Args:
        table: the table.
        trimmed: the samples.
        step: raster of the long-term trim, %.
    """
    cells = table.values.size
    if step <= 0 or not trimmed.weight.size:
        return np.zeros(table.shape)
    numbers, which = np.unique(np.round(trimmed.level / step), return_inverse=True)
    shifted, total = np.zeros(cells * numbers.size), np.zeros(cells)
    for rows, nodes in spread_in_pieces(table.axes, trimmed.position, max(PIECE, shifted.size)):
        weight = trimmed.weight[rows]
        felt = weight * np.where(trimmed.learning[rows], LEARNING, 1.0)
        for cell, share in zip(nodes.cell.T, nodes.weight.T, strict=True):
            shifted += np.bincount(cell * numbers.size + which[rows], felt * share, shifted.size)
            total += np.bincount(cell, weight * share, cells)
    # The inverse of the effective number of levels: 1 for a single one.
    alone = np.sum(shifted.reshape(cells, -1) ** 2, axis=1) / np.where(total > 0, total, 1.0) ** 2
    quantile = 1.96 - (1.96 - 0.95 * np.sqrt(3)) * alone
    half_width: FloatArray = quantile * step / 100 * np.sqrt(alone / 12)
    return half_width.reshape(table.shape)
