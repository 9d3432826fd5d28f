"""The budget of uncertainty of every cell, after the GUM (JCGM 100:2008): each source with its size, and their sum.

Estimated in the solve, as nuisance effects with priors whose covariance goes into every cell: delay and lag, film left
over, vapour of each drive and episode, rounding of the long-term trims, whole drives. In the weights of the samples, as
a random effect per visit: scatter between visits, films and manifold filling that the model leaves over, vapour of the
visit. Propagated here, since no drive shows them: the common error of instrument and loop, vapour whose share falls
with flow in another way than the model's, purge that may have worked unseen, curvature between breakpoints.
All are standard deviations and add up squared; the interval is 1.96 of the sum.
"""

from collections.abc import Callable, Sequence

import numpy as np

from workbench.maths.drives.drive_fit import DriveFit
from workbench.maths.pooling.common_error import CommonError
from workbench.maths.pooling.open_trims import perhaps_off
from workbench.maths.pooling.unseen_purge import expected, unseen_vapour
from workbench.maths.pooling.visits import LEFT_OF_VAPOUR, Visits, mean_per_cell, scatter_by_source
from workbench.maths.solve.roughness import stretch
from workbench.maths.solve.solve import Solution
from workbench.maths.table.interpolation import nearest
from workbench.maths.uncertainty.sources import SOURCES
from workbench.model.arrays import BoolArray, FloatArray
from workbench.model.evidence import BudgetItem
from workbench.model.table import Table

BEHIND_STORE = 0.004  # of the ratio that oxygen given off late leaves in a pull: common practice, no source
# Of the ratio that a model of vapour leaves where no reading without purge stands beside those under it: the canister's
# fill and its heat are not known. Common practice, no source.
LEAST_LEFT = 0.0035
# How a true table may run between breakpoints that were measured, beyond what a smooth one does: it departs by so much
# over so much of the axis, and by less the nearer a measured breakpoint is. Common practice, no source.
DEPARTS, OVER = 0.035, 0.15
# Of the ratio, by which a single pass may be off as a whole, standard deviation: at part throttle, where purge opens,
# the loop settles and fuel runs off the walls; and at full throttle, without purge and loop. With more passes it falls
# faster than chance would have it, since a robust solve drops the odd one out. Common practice, no source.
ODD_PASS, ODD_PULL, FALLS = 0.018, 0.006, 1.5
KINDS = ("scatter",)
COMMON = ("instrument and loop", "between drives")


def budget_of(
    known: Sequence[DriveFit],
    table: Table,
    solution: Solution,
    visits: Visits,
    common: CommonError,
    contradicted: FloatArray,
) -> tuple[BudgetItem, ...]:
    """Give every source of uncertainty with its size per cell; those without any are left out.

    Args:
        known: the drives.
        table: the evidence is for.
        solution: of all of them.
        visits: behind it.
        common: error of all readings alike.
        contradicted: by how much parts of the evidence differ, as a standard deviation, shape of the table.
    """
    shape = table.shape
    shares = {name: share.reshape(shape) for name, share in solution.shares.items() if name}
    alone = np.maximum(solution.deviation.reshape(shape) ** 2 - sum(shares.values(), np.zeros(shape)), 0.0)
    variance: dict[str, FloatArray] = {name: alone * part for name, part in scatter_by_source(visits, table).items()}
    for name, share in shares.items():
        variance[name] = variance.get(name, np.zeros(shape)) + share
    variance["vapour"] = variance["vapour"] + _left_of_vapour(visits, table)
    variance["oxygen store"] = _behind(known, table) ** 2
    variance["purge unseen"] = _unseen(known, table) ** 2
    ratio = solution.multipliers.reshape(shape)
    variance["instrument and loop"] = (common.deviation * ratio) ** 2
    variance["contradiction"] = contradicted**2
    variance["open-loop trims"] = _perhaps_unused(known, table) ** 2
    variance["which bank"] = _other_bank(known, table) ** 2
    variance["few passes"] = _few(visits, shape) ** 2
    variance["gap"] = gap(table, visits) ** 2
    return tuple(
        BudgetItem(
            name,
            "A" if name in KINDS else "B",
            np.sqrt(squared),
            *SOURCES[name],
            common=name in COMMON,
        )
        for name, squared in variance.items()
        if np.any(squared > 0)
    )


def combined(items: Sequence[BudgetItem], shape: tuple[int, ...]) -> FloatArray:
    """Give the standard deviation that all sources add up to, shape of the table."""
    squared = np.zeros(shape)
    for item in items:
        squared = squared + item.size**2
    return np.asarray(np.sqrt(squared))


def own_visits(visits: Visits, table: Table) -> FloatArray:
    """Count the visits whose readings lie nearest to each breakpoint, shape of the table."""
    return np.bincount(visits.cell, minlength=table.values.size).reshape(table.shape).astype(np.float64)


def gap(table: Table, visits: Visits) -> FloatArray:
    """Give how far the true table may depart from a smooth one where no reading lies near, as a ratio.

    The standard deviation of a first-order random course that is known at the nearest measured breakpoint and forgets
    within `OVER` of the axis: a sqrt(1 - e^(-2 d / l)) at the distance d.
    """
    measured: BoolArray = own_visits(visits, table) > 0
    if not measured.any():
        return np.full(table.shape, DEPARTS)
    place = np.stack(np.meshgrid(*(stretch(axis) for axis in table.axes), indexing="ij"), axis=-1)
    there, everywhere = place[measured], place.reshape(-1, place.shape[-1])
    apart = np.sqrt(((everywhere[:, None, :] - there[None, :, :]) ** 2).sum(axis=2)).min(axis=1).reshape(table.shape)
    return np.asarray(DEPARTS * np.sqrt(1 - np.exp(-2 * apart / OVER)))


def _left_of_vapour(visits: Visits, table: Table) -> FloatArray:
    """Give what the model of vapour may be off by, squared, shape of the table: in part by as much as it takes out."""
    size = mean_per_cell(visits, visits.vapour, table)
    return np.asarray((LEFT_OF_VAPOUR * size) ** 2 + (LEAST_LEFT * mean_per_cell(visits, visits.purged, table)) ** 2)


def _few(visits: Visits, shape: tuple[int, ...]) -> FloatArray:
    """Give by how much the few passes that a cell rests on may be off together, as a ratio, shape of the table."""
    if visits.passes is None:
        return np.zeros(shape)
    # Where none led by, the gap to the nearest ones counts instead.
    count, at_full = visits.passes.count, visits.passes.at_full
    single = ODD_PASS + (ODD_PULL - ODD_PASS) * at_full
    return np.asarray(np.where(count > 0, single / np.maximum(count, 1.0) ** FALLS, 0.0))


def _behind(known: Sequence[DriveFit], table: Table) -> FloatArray:
    """Give what a catalyst's store and its long way may leave in readings behind it, as a ratio, shape of the table."""

    def size(driven: DriveFit) -> FloatArray:
        behind = BEHIND_STORE if driven.place in ("after", "unknown") else 0.0
        return np.where(driven.readings.by_trims[driven.readings.kept], 0.0, behind)

    return _mean_of_readings(known, table, size)


def _perhaps_unused(known: Sequence[DriveFit], table: Table) -> FloatArray:
    """Give what trims may add that do not act in open loop though they are logged there, as a ratio, table's shape."""
    return _mean_of_readings(known, table, perhaps_off)


def _other_bank(known: Sequence[DriveFit], table: Table) -> FloatArray:
    """Give how far a wideband of no named bank may be off beside the mean of both, as a ratio, table's shape."""

    def doubt(driven: DriveFit) -> FloatArray:
        kept = driven.readings.kept
        return np.where(driven.readings.by_trims, 0.0, driven.seen.bank_doubt)[kept]

    return _mean_of_readings(known, table, doubt)


def _unseen(known: Sequence[DriveFit], table: Table) -> FloatArray:
    """Give what purge may have done unseen in the drives that do not log it, as a ratio, shape of the table."""
    return _mean_of_readings(known, table, lambda driven: expected(driven)[1] * unseen_vapour(driven))


def _mean_of_readings(known: Sequence[DriveFit], table: Table, size_of: Callable[[DriveFit], FloatArray]) -> FloatArray:
    """Give the weighted mean over the readings nearest to each cell, shape of the table; 0 where there are none.

    Args:
        known: the drives.
        table: whose cells are meant.
        size_of: gives a size for each reading of a drive that counts, shape (readings,).
    """
    cells = table.values.size
    felt, amount = np.zeros(cells), np.zeros(cells)
    for driven in known:
        kept = driven.readings.kept
        cell, weight = nearest(table.axes, driven.readings.position[kept]), driven.readings.weight[kept]
        amount += np.bincount(cell, weight, cells)
        felt += np.bincount(cell, weight * size_of(driven), cells)
    return np.asarray((felt / np.maximum(amount, 1e-9)).reshape(table.shape))
