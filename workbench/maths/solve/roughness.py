"""The penalty that keeps a correction smooth where data is thin: squared second differences, as a thin plate bends.

Over a grid the mixed second difference (the twist between neighbouring rows) counts twice beside those along the axes,
as in the bending energy of a thin plate (Duchon 1977; Wahba 1990, section 2.4): a cell at the edge that no sample
reaches then follows its neighbours instead of running on along a straight line.
"""

import numpy as np

from workbench.maths.solve.arrow_matrix import ArrowMatrix, nearby
from workbench.model.arrays import FloatArray
from workbench.model.table import Axis


def stretch(axis: Axis) -> FloatArray:
    """Return the axis in the units the penalty works in, shape (n,), scaled to run from 0 to 1.

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
    """Return the matrix whose product with values at u holds sqrt(h) * second derivative, shape (n - 2, n).

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


TWIST = 2.0  # the mixed derivative's factor in the bending energy of a thin plate: f_xx^2 + 2 f_xy^2 + f_yy^2


def first_differences(u: FloatArray) -> FloatArray:
    """Return the matrix whose product with values at u holds sqrt(h) * first derivative, shape (n - 1, n)."""
    slopes: FloatArray = np.diff(np.eye(u.size), axis=0) / np.sqrt(np.diff(u))[:, None]
    return slopes


def penalty(axes: tuple[Axis, ...]) -> tuple[ArrowMatrix, int]:
    """Return the penalty matrix over all cells and the number of shapes it leaves free.

    Returns:
        Symmetric matrix of so many cells, each kind of difference scaled to a mean diagonal of 1; dimension of its
        null space.
    """
    rows, columns = len(axes[0]), len(axes[1]) if len(axes) > 1 else 1
    bends = [_scaled(second_differences(stretch(axis))) for axis in axes]
    diagonals = {0: np.zeros(rows * columns)}
    _add(diagonals, bends[0], np.eye(columns))
    if len(axes) == 1:
        return nearby(diagonals), min(2, rows)
    _add(diagonals, np.eye(rows), bends[1])
    if min(rows, columns) == 1:
        return nearby(diagonals), min(2, rows * columns)
    slopes = [_scaled(first_differences(stretch(axis))) for axis in axes]
    _add(diagonals, TWIST * slopes[0], slopes[1])
    return nearby(diagonals), 3


# A table that no longer fits is off by a bump of about so much, as a ratio, over about so much of an axis (standard
# deviations), or from one breakpoint to the next, wherever intake or sensor were changed: common practice, no source.
BUMP, WIDE = 0.015, 0.05
MOST_CENTRES = 100


def cost_of_bump(axes: tuple[Axis, ...], roughness: ArrowMatrix) -> float:
    """Give what the penalty costs for one bump of usual size, on the mean over the breakpoints it may sit at.

    A weight of the noise's variance over that takes such a bump for one standard deviation of what is expected.
    """
    place = np.stack(np.meshgrid(*(stretch(axis) for axis in axes), indexing="ij"), axis=-1).reshape(-1, len(axes))
    place /= [max(WIDE, 1 / max(len(axis) - 1, 1)) for axis in axes]
    centres = place[:: max(1, place.shape[0] // MOST_CENTRES)]
    bumps = BUMP * np.exp(-0.5 * ((centres[:, None] - place) ** 2).sum(axis=2))
    cost = np.zeros(centres.shape[0])
    for apart, diagonal in zip(roughness.apart, roughness.near, strict=True):
        joined = bumps[:, apart:] * bumps[:, : place.shape[0] - apart]
        cost += (2 if apart else 1) * (joined @ diagonal[: place.shape[0] - apart])
    return float(np.mean(cost))


def _scaled(matrix: FloatArray) -> FloatArray:
    """Return the square of a matrix of differences, scaled to a mean diagonal of 1."""
    square: FloatArray = matrix.T @ matrix
    return square / np.mean(np.diag(square)) if square.any() else square


def _add(diagonals: dict[int, FloatArray], over_rows: FloatArray, over_columns: FloatArray) -> None:
    """Add to lower diagonals the Kronecker product of two symmetric matrices that join third neighbours at most."""
    rows, columns = over_rows.shape[0], over_columns.shape[0]
    for down in range(min(3, rows)):
        along = np.append(np.diag(over_rows, -down), np.zeros(down))
        for right in range(-min(2, columns - 1) if down else 0, min(3, columns)):
            across = np.zeros(columns)
            across[max(-right, 0) : columns - max(right, 0)] = np.diag(over_columns, -right)
            entries = np.multiply.outer(along, across).ravel()
            if entries.any():
                apart = down * columns + right
                diagonals[apart] = diagonals.get(apart, 0.0) + entries
