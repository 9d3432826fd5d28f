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


PIECE = 32768  # samples at a time, so that intermediate arrays stay in the processor's cache


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
    # Only inner breakpoints are searched: what lies beyond the ends falls into the end intervals by itself.
    below = np.searchsorted(points[1:-1], x, side="right")
    width = np.diff(points)
    ratio = (x - points.take(below)) / width.take(below)
    return below, np.clip(ratio, 0.0, 1.0, out=ratio)


def spread(axes: tuple[Axis, ...], position: FloatArray) -> Nodes:
    """Spread samples over the breakpoints around them.

    Args:
        axes: one or two axes.
        position: shape (samples, axes), axis units.
    """
    samples = position.shape[0]
    nodes = 2 ** len(axes)
    cell, weight = np.empty((samples, nodes), dtype=np.int64), np.empty((samples, nodes))
    up = int(len(axes[0]) > 1)
    columns = len(axes[1]) if len(axes) > 1 else 1
    right = int(columns > 1)
    for start in range(0, samples, PIECE):
        piece = slice(start, start + PIECE)
        below, ratio = place(axes[0], position[piece, 0])
        if len(axes) == 1:
            cell[piece, 0], cell[piece, 1] = below, below + up
            weight[piece, 0], weight[piece, 1] = 1 - ratio, ratio
            continue
        left, across = place(axes[1], position[piece, 1])
        base = below * columns + left
        for node, offset in enumerate((0, right, up * columns, up * columns + right)):
            cell[piece, node] = base + offset
        both, rest = ratio * across, 1 - ratio
        weight[piece, 1] = across - both
        weight[piece, 2] = ratio - both
        weight[piece, 3] = both
        weight[piece, 0] = rest - weight[piece, 1]
    # Differences of ratios may fall a rounding error below zero.
    return Nodes(cell, np.maximum(weight, 0.0, out=weight))


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
