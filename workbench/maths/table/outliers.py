"""Cells that stand out from a smooth table, as a mistyped one does."""

from dataclasses import dataclass

import numpy as np

from workbench.model.arrays import BoolArray, FloatArray

_AROUND = 4  # neighbours that a cell is predicted from along each axis, by the cubic through them
_QUIETEST = 0.3  # of the expected scatter; a table may be that much smoother than its resolution says


@dataclass(frozen=True, eq=False)
class Outliers:
    """What stands out. Both arrays have the shape of the table.

    Attributes:
        marked: the cells.
        off: by how much, in the measure of the values; 0 where not marked.
    """

    marked: BoolArray
    off: FloatArray


def outliers(values: FloatArray, positions: tuple[FloatArray, ...], slack: FloatArray, factor: float = 6.0) -> Outliers:
    """Find cells that lie off the smooth course of the others, one after the other.

    Each cell is predicted from its nearest neighbours on either side along every axis. A wrong cell spoils the
    predictions of its neighbours in a known pattern; the cell whose pattern explains the deviations best is taken, its
    part is taken away, and the search goes on while what is found is far beyond the usual.

    Args:
        values: shape of the table, the residuals of a law for instance; NaN where unknown.
        positions: breakpoints of each axis.
        slack: what a cell may lie off anyway (half a step of storage, say), above 0, shape of the table.
        factor: how many times the usual deviation is too far.
    """
    from scipy.sparse import coo_array, diags_array

    known = np.isfinite(values).ravel()
    found = np.zeros(values.size)
    rows, columns, weights = _pattern(known.reshape(values.shape), positions)
    asked = np.unique(rows)
    if asked.size < _AROUND:
        return Outliers(np.zeros(values.shape, dtype=np.bool_), found.reshape(values.shape))
    matrix = coo_array((weights, (rows, columns)), shape=(values.size, values.size)).tocsr()[asked]
    scatter = np.sqrt((matrix**2) @ slack.ravel() ** 2)
    matrix = (diags_array(1 / scatter) @ matrix).tocsc()
    strength = np.sqrt(np.asarray((matrix**2).sum(axis=0)).ravel())
    left = np.where(known, values.ravel(), 0.0)
    for _ in range(max(1, values.size // 8)):
        deviation = matrix @ left
        usual = max(1.4826 * float(np.median(np.abs(deviation))), _QUIETEST)
        pull = np.divide(matrix.T @ deviation, strength, out=np.zeros_like(left), where=strength > 0)
        worst = int(np.argmax(np.abs(pull)))
        step = pull[worst] / strength[worst] if strength[worst] > 0 else 0.0
        if abs(pull[worst]) < factor * usual or abs(step) < 2 * slack.flat[worst]:
            break
        left[worst] -= step
        found[worst] += step
    marked = np.abs(found) > 2 * slack.ravel()
    return Outliers(marked.reshape(values.shape), np.where(marked, found, 0.0).reshape(values.shape))


def grain(values: FloatArray) -> float:
    """Find the decimal step that all values are whole multiples of, 1 to 1e-6; 0 where there is none."""
    for digits in range(7):
        if np.array_equal(np.round(values, digits), values):
            return 10.0**-digits
    return 0.0


def _pattern(known: BoolArray, positions: tuple[FloatArray, ...]) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Return the rows of "cell less its prediction" as (cell, cell, weight), the mean over the axes that tell one."""
    index = np.arange(known.size).reshape(known.shape)
    cells: list[int] = []
    others: list[np.ndarray] = []
    weights: list[np.ndarray] = []
    for number, points in enumerate(positions):
        lines = np.moveaxis(index, number, -1).reshape(-1, points.size)
        there = np.moveaxis(known, number, -1).reshape(-1, points.size)
        for line, has in zip(lines, there, strict=True):
            places = np.flatnonzero(has)
            for i in places if places.size > _AROUND else ():
                rest = places[places != i]
                start = int(np.clip(np.searchsorted(rest, i) - _AROUND // 2, 0, rest.size - _AROUND))
                near = rest[start : start + _AROUND]
                cells.append(int(line[i]))
                others.append(line[near])
                weights.append(_cubic(points[near], float(points[i])))
    times = np.bincount(np.array(cells, dtype=np.int64), minlength=known.size)
    fitted = np.flatnonzero(times)
    share = np.array([1 / times[cell] for cell in cells])
    rows = np.concatenate([fitted, np.repeat(np.array(cells, dtype=np.int64), _AROUND)])
    columns = np.concatenate([fitted, *others]) if others else fitted
    values = np.concatenate([np.ones(fitted.size), *(-w * s for w, s in zip(weights, share, strict=True))])
    return rows, columns, values


def _cubic(points: FloatArray, at: float) -> FloatArray:
    """Return the weights of the values at some points in the polynomial through them, read at a place."""
    rest = [np.delete(points, k) for k in range(points.size)]
    return np.array([np.prod((at - others) / (point - others)) for point, others in zip(points, rest, strict=True)])
