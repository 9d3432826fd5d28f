"""What the raster of a logged trim hides: it is no noise that averages out while the trim stands still."""

import numpy as np

from workbench.maths.interpolation import spread
from workbench.model.arrays import FloatArray
from workbench.model.table import Table


def raster(values: FloatArray) -> float:
    """Give the smallest step between the different values of a channel, in its unit; 0 where it has no raster."""
    levels = np.unique(values[np.isfinite(values)])
    if levels.size < 2:
        return 0.0
    steps = np.diff(levels)
    step = float(steps.min())
    # A channel without a raster shows steps of every size.
    return step if step > 0.02 and np.all(np.abs(steps / step - np.rint(steps / step)) < 0.1) else 0.0


def raster_variance(
    table: Table, position: FloatArray, weight: FloatArray, level: FloatArray, step: float
) -> FloatArray:
    """Give per cell the variance of the mean that rounding the long-term trim leaves, shape of the table.

    Rounding to a step shifts all samples of one level by the same unknown amount, evenly spread over the step
    (variance step^2 / 12); samples of different levels are shifted independently.

    Args:
        table: the table.
        position: of the samples, shape (samples, axes).
        weight: of each sample.
        level: the long-term trim of each sample, %.
        step: its raster, %.
    """
    cells = table.values.size
    if step <= 0 or not weight.size:
        return np.zeros(table.shape)
    numbers, which = np.unique(np.round(level / step), return_inverse=True)
    nodes = spread(table.axes, position)
    amount = np.zeros(cells * numbers.size)
    for k in range(nodes.cell.shape[1]):
        amount += np.bincount(nodes.cell[:, k] * numbers.size + which, weight * nodes.weight[:, k], amount.size)
    amount = amount.reshape(cells, numbers.size)
    total = amount.sum(axis=1)
    concentration = np.sum(amount**2, axis=1) / np.where(total > 0, total, 1.0) ** 2
    return ((step / 100) ** 2 / 12 * concentration).reshape(table.shape)
