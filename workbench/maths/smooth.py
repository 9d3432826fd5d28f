"""Smoothing by penalised least squares, and the nearest rising sequence.

Whittaker's smoother as in Eilers, "A perfect smoother", Analytical Chemistry 75 (2003): with D the second differences,
the smoothed values z minimise sum w (z - y)^2 + strong * sum (D z)^2, that is (W + strong D'D) z = W y. Differences are
divided by the breakpoints' distances, so that a straight line over uneven breakpoints stays as it is.
"""

import numpy as np

from workbench.errors import InputError
from workbench.model.arrays import BoolArray, FloatArray
from workbench.model.table import Table

_STRAIGHT = 1e9  # a penalty that leaves nothing but a straight line, as far as doubles can tell


def penalty_of(strength: float) -> float:
    """Turn a strength from 0 (nothing) to 1 (a straight line) into the weight of the penalty, s / (1 - s).

    Raises:
        InputError: when the strength is outside.
    """
    if not 0 <= strength <= 1:
        raise InputError(f"A strength of {strength:g} is not possible.", "Give one from 0 to 1.")
    return _STRAIGHT if strength == 1 else min(strength / (1 - strength), _STRAIGHT)


def smoothed(
    table: Table, chosen: BoolArray, strength: float, *, held: BoolArray | None = None, weight: FloatArray | None = None
) -> FloatArray:
    """Smooth the chosen cells; only chosen cells count, and those that are held keep their value.

    Sum and first moment over the axis of a run of a curve are kept where nothing is held and weights are equal.

    Args:
        table: curve or grid.
        chosen: shape of the table.
        strength: 0 leaves the cells alone, 1 makes a curve straight.
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
    rows = _differences(table, chosen, places)
    free = np.ones(places.size, dtype=np.bool_) if held is None else ~held.ravel()[places]
    counts = np.ones(places.size) if weight is None else weight.ravel()[places]
    values.ravel()[places] = _solve(rows, values.ravel()[places], free, counts, penalty)
    return values


def _differences(table: Table, chosen: BoolArray, places: np.ndarray) -> list[tuple[np.ndarray, FloatArray]]:
    """Give all second differences that lie wholly inside the chosen cells.

    Returns:
        Per axis: positions within `places`, shape (differences, 3), and coefficients of the same shape.
    """
    order = np.full(table.values.size, -1)
    order[places] = np.arange(places.size)
    order = order.reshape(table.shape)
    found = []
    for number, axis in enumerate(table.axes):
        if len(axis) < 3:
            continue
        along = np.moveaxis(order, number, -1)
        inside = np.moveaxis(chosen, number, -1)
        triples = np.stack([along[..., :-2], along[..., 1:-1], along[..., 2:]], axis=-1)
        whole = inside[..., :-2] & inside[..., 1:-1] & inside[..., 2:]
        steps = np.diff(axis.breakpoints)
        left, right = steps[:-1], steps[1:]
        scale = steps.mean() ** 2 * 2
        factors = np.stack(
            [scale / (left * (left + right)), -scale / (left * right), scale / (right * (left + right))], axis=-1
        )
        found.append((triples[whole], np.broadcast_to(factors, triples.shape)[whole]))
    return found


def _solve(
    rows: list[tuple[np.ndarray, FloatArray]], values: FloatArray, free: BoolArray, counts: FloatArray, penalty: float
) -> FloatArray:
    from scipy.sparse import coo_array, diags_array
    from scipy.sparse.linalg import spsolve

    size, number = values.size, sum(len(places) for places, _ in rows)
    if not number or not free.any():
        return values.copy()
    places = np.concatenate([places for places, _ in rows])
    factors = np.concatenate([factors for _, factors in rows])
    at = np.repeat(np.arange(number), 3)
    matrix = coo_array((factors.ravel(), (at, places.ravel())), shape=(number, size)).tocsr()
    # The change from the present values is solved for: what is straight already then stays to the last bit.
    normal = (diags_array(counts) + penalty * (matrix.T @ matrix)).tocsr()[free][:, free]
    pull = -penalty * (matrix.T @ (matrix @ values))[free]
    result = values.copy()
    result[free] += np.atleast_1d(spsolve(normal.tocsc(), pull))
    if not np.isfinite(result).all():
        raise InputError("Too few of the chosen cells count for a smooth curve.", "Choose cells with evidence as well.")
    return result


def rising(values: FloatArray, weight: FloatArray | None = None) -> FloatArray:
    """Give the nearest sequence that does not fall, by pooling adjacent violators (weighted least squares).

    A sequence that rises already comes back bit for bit.

    Args:
        values: shape (n,).
        weight: shape (n,), above 0; equal by default.
    """
    pools: list[tuple[float, float, int]] = []
    for value, count in zip(
        values.tolist(), (np.ones(values.size) if weight is None else weight).tolist(), strict=True
    ):
        pools.append((value, count, 1))
        while len(pools) > 1 and pools[-2][0] > pools[-1][0]:
            (high, more, long), (low, less, short) = pools[-2], pools[-1]
            pools[-2:] = [((high * more + low * less) / (more + less), more + less, long + short)]
    return np.repeat([value for value, _, _ in pools], [length for _, _, length in pools]).astype(np.float64)


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
