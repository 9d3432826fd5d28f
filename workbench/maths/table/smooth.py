"""Smoothing by penalised least squares, and the nearest rising sequence.

Whittaker's smoother as in Eilers, "A perfect smoother", Analytical Chemistry 75 (2003): with D the second differences,
the smoothed values z minimise sum w (z - y)^2 + strong * sum (D z)^2, that is (W + strong D'D) z = W y. Differences are
divided by the breakpoints' distances, so that a straight line over uneven breakpoints stays as it is.
"""

from dataclasses import dataclass

import numpy as np

from workbench.errors import InputError
from workbench.model.arrays import BoolArray, FloatArray, IntArray
from workbench.model.table import Table
from workbench.phrases import phrase

_STRAIGHT = 1e14  # a penalty that leaves nothing but a straight line, as far as doubles can tell
_FEW = 200  # cells that are solved for densely, which keeps more digits
_LEAST = 1e-9  # weight that keeps a cell nobody counts from floating away


def penalty_of(strength: float) -> float:
    """Turn a strength from 0 (nothing) to 1 (a straight line) into the weight of the penalty, s / (1 - s).

    Raises:
        InputError: when the strength is outside.
    """
    if not 0 <= strength <= 1:
        raise InputError(
            phrase("A strength of {strength:g} is not possible.", strength=strength), "Give one from 0 to 1."
        )
    return _STRAIGHT if strength == 1 else min(strength / (1 - strength), _STRAIGHT)


def smoothed(
    table: Table, chosen: BoolArray, strength: float, *, held: BoolArray | None = None, weight: FloatArray | None = None
) -> FloatArray:
    """Smooth the chosen cells; only chosen cells count, and those that are held keep their value.

    Sum and first moment over the axis of a run of a curve are kept where nothing is held and weights are equal.

    Args:
        table: curve or grid.
        chosen: shape of the table.
        strength: 0 changes nothing, 1 makes a curve straight.
        held: chosen cells that keep their value all the same, shape of the table.
        weight: how much each cell counts, shape of the table, not negative; equal by default.

    Returns:
        Values, shape of the table.

    Raises:
        InputError: when the weights leave the result open.
    """
    penalty = penalty_of(strength)
    values = table.values.copy()
    places = np.flatnonzero(chosen)
    if penalty == 0 or not places.size:
        return values
    bends = _bends(table, chosen, places)
    free = np.ones(places.size, dtype=np.bool_) if held is None else ~held.ravel()[places]
    counts = np.ones(places.size) if weight is None else weight.ravel()[places]
    values.ravel()[places] = _solve(bends, values.ravel()[places], free, counts, penalty)
    return values


@dataclass(frozen=True, eq=False)
class _Bends:
    """Second differences of the chosen cells: `left * (z0 - z1) + right * (z2 - z1)`, exactly 0 for a constant.

    Attributes:
        places: positions of z0, z1 and z2 among the chosen cells, shape (differences, 3).
        left: shape (differences,).
        right: shape (differences,).
    """

    places: IntArray
    left: FloatArray
    right: FloatArray

    def of(self, values: FloatArray) -> FloatArray:
        """Compute the differences of some values, shape (differences,)."""
        first, middle, last = (values[self.places[:, k]] for k in range(3))
        return np.asarray(self.left * (first - middle) + self.right * (last - middle))

    @property
    def factors(self) -> FloatArray:
        """Coefficients of z0, z1 and z2, shape (differences, 3)."""
        return np.stack([self.left, -(self.left + self.right), self.right], axis=1)


def _bends(table: Table, chosen: BoolArray, places: IntArray) -> _Bends:
    """Find all second differences that lie wholly inside the chosen cells, along every axis."""
    order = np.full(table.values.size, -1)
    order[places] = np.arange(places.size)
    order = order.reshape(table.shape)
    triples, left, right = [np.empty((0, 3), dtype=np.int64)], [np.empty(0)], [np.empty(0)]
    for number, axis in enumerate(table.axes):
        if len(axis) < 3:
            continue
        along, inside = np.moveaxis(order, number, -1), np.moveaxis(chosen, number, -1)
        whole = inside[..., :-2] & inside[..., 1:-1] & inside[..., 2:]
        steps = np.diff(axis.breakpoints)
        before, after = steps[:-1], steps[1:]
        scale = 2 * steps.mean() ** 2 / (before + after)
        triples.append(np.stack([along[..., :-2], along[..., 1:-1], along[..., 2:]], axis=-1)[whole])
        left.append(np.broadcast_to(scale / before, whole.shape)[whole])
        right.append(np.broadcast_to(scale / after, whole.shape)[whole])
    return _Bends(np.concatenate(triples), np.concatenate(left), np.concatenate(right))


def _solve(bends: _Bends, values: FloatArray, free: BoolArray, counts: FloatArray, penalty: float) -> FloatArray:
    """Solve for the change from the present values: what is straight already then stays."""
    if not bends.left.size or not free.any():
        return values.copy()
    if (counts[free] > 0).sum() + (~free).sum() < 2:
        raise InputError(
            "Too few of the chosen cells carry weight for smoothing.", "Choose cells with evidence as well."
        )
    wanted = -bends.of(values)
    result = values.copy()
    if free.sum() <= _FEW:
        matrix = np.zeros((wanted.size, values.size))
        for k in range(3):
            matrix[np.arange(wanted.size), bends.places[:, k]] += bends.factors[:, k]
        strong = np.sqrt(penalty)
        whole = np.concatenate([np.diag(np.sqrt(counts))[free][:, free], strong * matrix[:, free]])
        right = np.concatenate([np.zeros(int(free.sum())), strong * wanted])
        result[free] += np.linalg.lstsq(whole, right, rcond=None)[0]
        return result
    from scipy.sparse import coo_array, diags_array
    from scipy.sparse.linalg import spsolve

    rows = np.repeat(np.arange(wanted.size), 3)
    shape = (wanted.size, values.size)
    inner = coo_array((bends.factors.ravel(), (rows, bends.places.ravel())), shape=shape).tocsr()[:, free]
    normal = diags_array(np.maximum(counts[free], _LEAST)) + penalty * (inner.T @ inner)
    result[free] += np.asarray(spsolve(normal.tocsc(), penalty * (inner.T @ wanted)))
    return result


def rising(values: FloatArray, weight: FloatArray | None = None) -> FloatArray:
    """Return the nearest sequence that does not fall, by weighted least squares.

    A sequence that rises already comes back bit for bit.

    Args:
        values: shape (n,).
        weight: shape (n,), above 0; equal by default.
    """
    from scipy.optimize import isotonic_regression

    found = isotonic_regression(values, weights=weight)
    starts = found.blocks[:-1]
    # Equal neighbours are pooled too, and their mean may differ from them in the last bit.
    level = np.minimum.reduceat(values, starts) == np.maximum.reduceat(values, starts)
    return np.where(np.repeat(level, np.diff(found.blocks)), values, found.x).astype(np.float64)


def kept_rising(values: FloatArray, free: BoolArray) -> FloatArray:
    """Let the free cells of a curve rise between the cells that stay, which rise already.

    Args:
        values: shape (n,); they rise wherever two neighbours both stay.
        free: which may move, shape (n,).
    """
    result = values.copy()
    edges = np.flatnonzero(np.diff(np.concatenate([[False], free, [False]]).astype(np.int8)))
    for first, end in zip(edges[::2], edges[1::2], strict=True):
        low = result[first - 1] if first else -np.inf
        high = result[end] if end < values.size else np.inf
        result[first:end] = np.clip(rising(values[first:end]), low, high)
    return result
