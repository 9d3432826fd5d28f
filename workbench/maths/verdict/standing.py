"""How well each cell is known, how far the driven range is inside its targets, and what to drive next."""

import numpy as np

from workbench.maths.table.interpolation import nearest, spread_in_pieces
from workbench.model.arrays import BoolArray, FloatArray, IntArray
from workbench.model.evidence import Samples, Target
from workbench.model.table import Table

# A third of the usual target of ±5 % at part throttle: what judges whether a tolerance is met has to be known to a
# third of it at most, better to a tenth (the golden rule of metrology after G. Berndt; from memory).
PROVEN_HALF_WIDTH = 0.05 / 3
PROVEN_VISITS = 2
PROVEN_SAMPLES = 5.0  # effective samples of its own; what counts beyond is the interval
# Half-width that a cell's own readings alone have to give it: the usual target at part throttle. Where they could not
# tell by themselves whether that is met, the rest is the smoothness of its neighbours, which a bump does not have.
PROVEN_ALONE = 0.05
DRIVEN_SAMPLES = 0.02
THIN_HALF_WIDTH = 0.06  # a ratio known no closer is no ground for a correction
CARRIED_HALF_WIDTH = 0.04
FELT = 0.02  # interpolation weight from which a sample touches a cell
VISIT_GAP_S = 3.0
REGIME_SAMPLES = 1.0  # samples at one throttle from which a cell is judged by its target too


def standing(
    amount: FloatArray,
    visits: IntArray,
    half_width: FloatArray,
    smooth: FloatArray,
    passed: BoolArray,
    own: FloatArray,
    alone: FloatArray,
) -> IntArray:
    """Return the standing of every cell as an index into STANDINGS, shape of the table.

    A cell that the engine passed through, but in which no gate let a sample pass, is thin (not undriven) when the solve
    knows it closely and a chain of such cells joins it to a driven one: to leave it alone would put a step into the
    table right where the engine runs.

    Args:
        amount: effective samples.
        visits: separate times the engine was there.
        half_width: of the 95 % interval of the ratio.
        smooth: the same if the table were as smooth between measured breakpoints as it is at them: that, and no more,
            is what a cell that only follows its neighbours rests on.
        passed: cells that rows of the logs touch with the engine running, gated or not.
        own: visits with readings of their own nearest to the breakpoint; without them a cell is only interpolated.
        alone: half-width of the 95 % interval that those readings alone would give.
    """
    driven = (amount >= DRIVEN_SAMPLES) & (visits >= 1)
    proven = (amount >= PROVEN_SAMPLES) & (visits >= PROVEN_VISITS) & (half_width <= PROVEN_HALF_WIDTH)
    proven &= (own >= PROVEN_VISITS) & (alone <= PROVEN_ALONE)
    closely = passed & (smooth <= CARRIED_HALF_WIDTH)
    carried = closely & _reached(driven, closely)
    driven &= smooth <= THIN_HALF_WIDTH
    return np.where(driven | carried, np.where(proven, 2, 1), 0).astype(np.int64)


def _reached(marked: BoolArray, through: BoolArray) -> BoolArray:
    """Mark what is reached from marked cells, step by step over neighbours (diagonal ones too) that can be passed."""
    from scipy import ndimage

    steps = np.ones((3,) * marked.ndim, dtype=np.bool_)
    return np.asarray(ndimage.binary_propagation(marked, structure=steps, mask=marked | through))


def touched(table: Table, positions: tuple[FloatArray, ...]) -> BoolArray:
    """Mark the cells that any position spreads onto with a weight worth counting, shape of the table."""
    marked = np.zeros(table.values.size, dtype=np.bool_)
    for position in positions:
        for _, nodes in spread_in_pieces(table.axes, position):
            marked[nodes.cell[nodes.weight >= FELT]] = True  # a missing position has no weight anywhere
    return marked.reshape(table.shape)


def count_visits(table: Table, kept: tuple[Samples, ...], times: tuple[FloatArray, ...]) -> IntArray:
    """Count the separate times the engine was in each cell, shape of the table.

    Args:
        table: the table.
        kept: samples of each drive.
        times: time of each of those samples, s, not falling.
    """
    visits = np.zeros(table.values.size, dtype=np.int64)
    for samples, time in zip(kept, times, strict=True):
        last = np.full(visits.size, -np.inf)  # when each cell was last felt
        for rows, nodes in spread_in_pieces(table.axes, samples.position):
            felt = nodes.weight >= FELT
            cell, when = nodes.cell[felt], np.broadcast_to(time[rows, None], felt.shape)[felt]
            order = np.lexsort((when, cell))
            cell, when = cell[order], when[order]
            before = np.concatenate([[-np.inf], when[:-1]])
            starts = np.flatnonzero(np.diff(cell, prepend=-1))
            before[starts] = last[cell[starts]]
            visits += np.bincount(cell[when - before > VISIT_GAP_S], minlength=visits.size)
            np.maximum.at(last, cell, when)
    return visits.reshape(table.shape)


def plain_statistics(
    table: Table, kept: tuple[Samples, ...]
) -> tuple[FloatArray, FloatArray, FloatArray, IntArray, BoolArray]:
    """Return what a pocket calculator gives: mean, median, spread, count, mostly full throttle, by nearest cell.

    The spread is the standard deviation with count - 1; the median is the mean of the middle two where the count is
    even. All have the shape of the table; NaN where there is nothing.
    """
    cells = table.values.size
    mean, median, spread = (np.full(cells, np.nan) for _ in range(3))
    cell = np.concatenate([nearest(table.axes, s.position[s.plain]) for s in kept])
    ratio = np.concatenate([s.ratio[s.plain] for s in kept])
    full = np.concatenate([s.full_throttle[s.plain] for s in kept])
    count = np.bincount(cell, minlength=cells)
    order = np.argsort(cell, kind="stable")
    ends = np.cumsum(count)
    for k in np.flatnonzero(count):
        group = ratio[order[ends[k] - count[k] : ends[k]]]
        mean[k], median[k] = group.mean(), np.median(group)
        spread[k] = group.std(ddof=1) if group.size > 1 else np.nan
    mostly_full = np.bincount(cell, full, minlength=cells) > count / 2
    shape = table.shape
    return (
        mean.reshape(shape),
        median.reshape(shape),
        spread.reshape(shape),
        count.reshape(shape),
        mostly_full.reshape(shape),
    )


def by_regime(
    table: Table, kept: tuple[Samples, ...], amount: FloatArray, mostly_full: BoolArray, driven: BoolArray
) -> tuple[tuple[FloatArray, BoolArray], tuple[FloatArray, BoolArray]]:
    """Tell part and full throttle apart: the effective samples of each, and the cells that each is judged in.

    A cell that was driven at both is judged at both: the narrower target holds wherever a pull led through.

    Args:
        table: the table.
        kept: samples of each drive.
        amount: effective samples of both together, shape of the table.
        mostly_full: cells whose samples are mostly at full throttle.
        driven: cells with evidence.

    Returns:
        Part throttle, full throttle; each (amount, cells), shape of the table.
    """
    felt = [np.zeros(table.values.size), np.zeros(table.values.size)]
    for samples in kept:
        for full in (False, True):
            for _, nodes in spread_in_pieces(table.axes, samples.position[samples.full_throttle == full]):
                felt[full] += np.bincount(nodes.cell.ravel(), nodes.weight.ravel(), table.values.size)
    part, full_too = (each.reshape(table.shape) for each in felt)
    share = np.divide(full_too, part + full_too, out=np.zeros(table.shape), where=part + full_too > 0)
    return (
        (amount * (1 - share), driven & (~mostly_full | (part >= REGIME_SAMPLES))),
        (amount * share, driven & (mostly_full | (full_too >= REGIME_SAMPLES))),
    )


def target(
    limit: float,
    ratio: FloatArray,
    half_width: FloatArray,
    regime: tuple[FloatArray, BoolArray],
    proven: BoolArray | None = None,
    shaped: BoolArray | None = None,
) -> Target:
    """Return how far the cells of one throttle regime are inside its target.

    The worst cell is one with readings of its own, where there is one: what follows from its neighbours alone is no
    error that was seen, and no time inside the target either; but where a value was typed that lies outside even at the
    near end of what is known of its cell, that is one. How closely cells are known is asked of all of them.

    Args:
        limit: largest error wanted, as a ratio.
        ratio: airflow ratio per cell.
        half_width: of its 95 % interval.
        regime: effective samples per cell at that throttle, and the cells that are judged.
        proven: cells that are proven.
        shaped: cells that were shaped by hand.
    """
    amount, chosen = regime
    if not chosen.any():
        return Target(limit, float("nan"), float("nan"), float("nan"), None, float("nan"))
    by_its_own = (chosen & (amount >= least) for least in (REGIME_SAMPLES, DRIVEN_SAMPLES))
    seen = next((each for each in by_its_own if each.any()), chosen)
    if shaped is not None:
        seen = seen | (chosen & shaped & (np.abs(ratio - 1) - half_width > limit))
    error = np.where(seen, ratio - 1, 0.0)
    inside = np.abs(error) <= limit
    worst = np.unravel_index(int(np.argmax(np.abs(error))), error.shape)
    weight = np.where(chosen, amount if np.any(amount[seen] > 0) else 1.0, 0.0)
    reach = np.where(chosen & np.isfinite(half_width), half_width, -1.0)
    widest = np.unravel_index(int(np.argmax(reach)), reach.shape)
    return Target(
        limit=limit,
        inside_cells=float(np.mean(inside[seen])),
        inside_time=float(np.sum(weight[inside & seen]) / np.sum(weight[seen])),
        worst=float(error[worst]),
        worst_cell=tuple(int(i) for i in worst),
        worst_half_width=float(half_width[worst]),
        proven=float("nan") if proven is None else float(np.sum(weight[proven]) / np.sum(weight)),
        widest=float(half_width[widest]),
        widest_cell=tuple(int(i) for i in widest),
    )
