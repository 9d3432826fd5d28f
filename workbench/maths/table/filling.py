"""Values from their neighbours: ramps, gaps, and corrections carried on beyond the cells that earned them."""

import numpy as np

from workbench.errors import InputError
from workbench.model.arrays import BoolArray, FloatArray
from workbench.model.table import Table


def ramped(table: Table, block: tuple[slice, ...], along: tuple[int, ...]) -> FloatArray:
    """Draw straight lines over the axis between the outermost cells of a block, which stay as they are.

    Args:
        table: curve or grid.
        block: which cells, by index.
        along: axes to run along; both of a grid: bilinear between its four corners.

    Returns:
        Values, shape of the table.

    Raises:
        InputError: when the block is a single cell in a direction to run along.
    """
    values = table.values.copy()
    part = values[block]
    for number in along:
        if part.shape[number] < 2:
            raise InputError(
                "A ramp needs two cells; only one is chosen.",
                "Choose a block of at least two; the outermost keep their values.",
            )
    for number in along:
        points = table.axes[number].breakpoints[block[number]]
        share = (points - points[0]) / (points[-1] - points[0])
        share = share.reshape([-1 if n == number else 1 for n in range(part.ndim)])
        first, last = part.take([0], axis=number), part.take([-1], axis=number)
        line = first + (last - first) * share
        inner = tuple(slice(1, -1) if n == number else slice(None) for n in range(part.ndim))
        part[inner] = line[inner]
    return values


def filled(table: Table, gaps: BoolArray) -> FloatArray:
    """Fill cells from those around them: straight lines in a curve, a stretched skin in a grid; flat at the ends.

    No filled value lies outside the range of the cells it is filled from.

    Args:
        table: curve or grid.
        gaps: cells to fill, shape of the table.

    Returns:
        Values, shape of the table.

    Raises:
        InputError: when no cell is left to fill from.
    """
    if gaps.all():
        raise InputError("All cells are chosen, so none is left to fill from.", "Leave some cells out.")
    if not gaps.any():
        return table.values.copy()
    if table.kind == "curve":
        points = table.axes[0].breakpoints
        drawn = np.interp(points[gaps], points[~gaps], table.values[~gaps])
        values = table.values.copy()
        values[gaps] = drawn
        return values
    return _skin(table, gaps)


def _skin(table: Table, gaps: BoolArray) -> FloatArray:
    """Minimise the sum of squared slopes; neighbours weigh by their nearness along the axis, in its mean spacing."""
    from scipy.sparse import coo_array
    from scipy.sparse.linalg import spsolve

    size = table.values.size
    index = np.arange(size).reshape(table.shape)
    near_ends, far_ends, weight = [], [], []
    for number, axis in enumerate(table.axes):
        steps = np.diff(axis.breakpoints)
        lined = np.moveaxis(index, number, -1)
        near_ends.append(lined[..., :-1].ravel())
        far_ends.append(lined[..., 1:].ravel())
        near = steps.mean() / steps if steps.size else steps
        weight.append(np.broadcast_to(near, lined[..., 1:].shape).ravel())
    a, b, w = np.concatenate(near_ends), np.concatenate(far_ends), np.concatenate(weight)
    rows, columns = np.concatenate([a, b, a, b]), np.concatenate([a, b, b, a])
    normal = coo_array((np.concatenate([w, w, -w, -w]), (rows, columns)), shape=(size, size)).tocsr()
    open_, fixed = gaps.ravel(), ~gaps.ravel()
    flat = table.values.ravel().copy()
    right = -(normal[open_][:, fixed] @ flat[fixed])
    drawn = np.asarray(spsolve(normal[open_][:, open_].tocsc(), right))
    flat[open_] = np.clip(drawn, flat[fixed].min(), flat[fixed].max())
    return flat.reshape(table.shape)


def carried(table: Table, multipliers: FloatArray, sources: BoolArray, over: int | None = None) -> FloatArray:
    """Carry multipliers on from the cells that earned them: straight between them, flat beyond the last.

    Args:
        table: whose axes count.
        multipliers: shape of the table; only those of the sources count.
        sources: cells that earned theirs, shape of the table.
        over: let the step fade to nothing over that many cells: beyond the ends of a curve, and with the distance to
            the nearest source in a grid; None keeps it.

    Returns:
        Multipliers, shape of the table; those of the sources as they were.

    Raises:
        InputError: when there is no source.
    """
    if not sources.any():
        raise InputError(
            "No cell is proven: no correction can be carried on.", "Make a correction from evidence first."
        )
    spread = filled(table.with_values(np.where(sources, multipliers, 1.0)), ~sources)
    if over is None:
        return spread
    fade = np.clip(1 - _distance(sources) / over, 0.0, 1.0)
    return np.where(sources, multipliers, 1 + (spread - 1) * fade)


def _distance(sources: BoolArray) -> FloatArray:
    """Count the cells to the nearest source; in a curve only beyond the outermost sources, else 0."""
    if sources.ndim == 1:
        places = np.flatnonzero(sources)
        index = np.arange(sources.size)
        return np.asarray(np.maximum(np.maximum(places[0] - index, index - places[-1]), 0), dtype=np.float64)
    there = np.argwhere(sources)
    everywhere = np.argwhere(np.ones_like(sources))
    apart = np.abs(everywhere[:, None, :] - there[None, :, :]).max(axis=2).min(axis=1)
    return np.asarray(apart.reshape(sources.shape), dtype=np.float64)
