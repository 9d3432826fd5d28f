"""The penalty that keeps a correction smooth where data is thin: squared second differences along each axis."""

import numpy as np

from workbench.maths.symmetric import Arrow, nearby
from workbench.model.arrays import FloatArray
from workbench.model.table import Axis


def stretch(axis: Axis) -> FloatArray:
    """Give the axis in the units the penalty works in, shape (n,), scaled to run from 0 to 1.

    Logarithmic where all breakpoints are positive and span more than a factor of three (sensor signals and flows
    change by ratios), else linear.
    """
    points = axis.breakpoints
    if points.size == 1:
        return np.zeros(1)
    if points[0] > 0 and points[-1] > 3 * points[0]:
        points = np.log(points)
    stretched: FloatArray = (points - points[0]) / (points[-1] - points[0])
    return stretched


def second_differences(u: FloatArray) -> FloatArray:
    """Give the matrix whose product with values at u holds sqrt(h) * second derivative, shape (n - 2, n).

    The sum of its squares approximates the integral of the squared second derivative over u (Eilers and Marx 1996,
    with uneven spacing: divided differences weighted by the spacing they stand for).
    """
    n = u.size
    matrix = np.zeros((max(n - 2, 0), n))
    for k in range(n - 2):
        before, after = u[k + 1] - u[k], u[k + 2] - u[k + 1]
        share = np.sqrt((before + after) / 2)
        matrix[k, k] = 2 * share / (before * (before + after))
        matrix[k, k + 1] = -2 * share / (before * after)
        matrix[k, k + 2] = 2 * share / (after * (before + after))
    return matrix


def penalty(axes: tuple[Axis, ...]) -> tuple[Arrow, int]:
    """Give the penalty matrix over all cells and the number of shapes it leaves free.

    Returns:
        Symmetric matrix of so many cells, scaled to a mean diagonal of 1 along each axis; dimension of its null space.
    """
    rows, columns = len(axes[0]), len(axes[1]) if len(axes) > 1 else 1
    diagonals = {0: np.zeros(rows * columns)}
    for axis, step in zip(axes, (columns, 1), strict=False):
        d = second_differences(stretch(axis))
        square = d.T @ d
        if square.any():
            square /= np.mean(np.diag(square))
        for apart in range(min(3, len(axis))):
            along = np.append(np.diag(square, -apart), np.zeros(apart))
            whole = np.repeat(along, columns) if step == columns else np.tile(along, rows)
            diagonals[apart * step] = diagonals.get(apart * step, 0.0) + whole
    return nearby(diagonals), int(np.prod([min(2, len(axis)) for axis in axes]))
