"""How an ECU reads a table between breakpoints, and how a sample spreads over them.

Linear between breakpoints and clamped beyond the ends, as AUTOSAR SWS IFL (document 398) describes it: the axis is
searched for the cell, the ratio inside it is worked out, and values are mixed along columns first, then along rows.
"""

from dataclasses import dataclass

import numpy as np

from workbench.model.arrays import FloatArray, IntArray
from workbench.model.table import Axis, Table


@dataclass(frozen=True, eq=False)
class Nodes:
    """The breakpoints around each sample and what each of them counts.

    Attributes:
        cell: flat (row-major) index into the table, shape (samples, 2) for a curve, (samples, 4) for a grid.
        weight: 0..1, rows sum to 1, same shape.
    """

    cell: IntArray
    weight: FloatArray


def place(axis: Axis, x: FloatArray) -> tuple[IntArray, FloatArray]:
    """Find the interval of each value and the ratio inside it, clamped at the ends.

    Args:
        axis: n breakpoints.
        x: shape (samples,), axis units; NaN gives ratio NaN.

    Returns:
        Index of the breakpoint below, 0..n-2 (0 for a single breakpoint), and the ratio 0..1, both (samples,).
    """
    points = axis.breakpoints
    if points.size == 1:
        return np.zeros(x.shape, dtype=np.int64), np.where(np.isnan(x), np.nan, 0.0)
    below = np.clip(np.searchsorted(points, x, side="right") - 1, 0, points.size - 2)
    low = points[below]
    return below, np.clip((x - low) / (points[below + 1] - low), 0.0, 1.0)


def spread(axes: tuple[Axis, ...], position: FloatArray) -> Nodes:
    """Spread samples over the breakpoints around them.

    Args:
        axes: one or two axes.
        position: shape (samples, axes), axis units.
    """
    below, ratio = place(axes[0], position[:, 0])
    above = np.minimum(below + 1, len(axes[0]) - 1)
    if len(axes) == 1:
        return Nodes(np.stack([below, above], axis=1), np.stack([1 - ratio, ratio], axis=1))
    left, across = place(axes[1], position[:, 1])
    right = np.minimum(left + 1, len(axes[1]) - 1)
    columns = len(axes[1])
    cell = np.stack([below * columns + left, below * columns + right, above * columns + left, above * columns + right])
    weight = np.stack([(1 - ratio) * (1 - across), (1 - ratio) * across, ratio * (1 - across), ratio * across])
    return Nodes(np.ascontiguousarray(cell.T), np.ascontiguousarray(weight.T))


def look_up(table: Table, position: FloatArray) -> FloatArray:
    """Read the table as the ECU does.

    Args:
        table: curve or grid.
        position: shape (samples, axes), axis units.

    Returns:
        Values, shape (samples,), in the table's unit.
    """
    values = table.values
    below, ratio = place(table.axes[0], position[:, 0])
    above = np.minimum(below + 1, len(table.axes[0]) - 1)
    if table.kind == "curve":
        return values[below] + (values[above] - values[below]) * ratio
    left, across = place(table.axes[1], position[:, 1])
    right = np.minimum(left + 1, len(table.axes[1]) - 1)
    low = values[below, left] + (values[below, right] - values[below, left]) * across
    high = values[above, left] + (values[above, right] - values[above, left]) * across
    mixed: FloatArray = low + (high - low) * ratio
    return mixed


def nearest(axes: tuple[Axis, ...], position: FloatArray) -> IntArray:
    """Give the flat index of the breakpoint nearest to each sample, shape (samples,)."""
    nodes = spread(axes, position)
    best: IntArray = nodes.cell[np.arange(nodes.cell.shape[0]), np.argmax(nodes.weight, axis=1)]
    return best
