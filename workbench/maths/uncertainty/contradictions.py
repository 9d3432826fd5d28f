"""Parts of the evidence that say different things of one region: found, said once, and held by a wider interval.

Whatever the samples are parted by (trims or wideband, purge or none, rising or falling airflow, first or second half),
both parts must leave the same over in the solve, but for what their visits scatter by. Where they differ by more, the
truth may lie with either: half the difference goes into the budget of the cells there.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from workbench.maths.drives.drive_fit import DriveFit
from workbench.maths.pooling.visits import Visits
from workbench.maths.solve.solve import Solution
from workbench.maths.table.interpolation import nearest
from workbench.model.arrays import BoolArray, FloatArray, IntArray
from workbench.model.table import Table
from workbench.phrases import phrase

REGIONS = 5  # of a table, by where its samples lie
FEWEST_VISITS = 4  # of either part
# Of a region's samples, that either part must be: a wideband that says nothing for a moment around each pull leaves
# some ten samples of trims alone in two thousand, and what is odd about those moments is no contradiction.
LEAST_SHARE = 0.03
SURELY, WORTH_SAYING = 3.5, 0.01  # standard deviations of the difference, and as a ratio: common practice, no source
RATE_S, MOVING = 0.6, 0.04  # over which airflow rises or falls, s, and from which it does, 1/s
# What the samples are parted by -> what the parts are called, and why they may differ.
PARTS = {
    "source": ("trims alone", "the wideband", "the loop's own sensor, the wideband or an exhaust leak may be off"),
    "purge": ("purge on", "purge off", "purge brings more or less fuel than its channel tells: test with it unplugged"),
    "direction": ("rising airflow", "falling airflow", "fuel on the walls, or a delay that is not as assumed"),
    "time": ("the first half", "the second half", "trims that still learn, heat, or fuel and weather that changed"),
}


@dataclass(frozen=True, eq=False)
class Contradictions:
    """What parts of the evidence differ by.

    Attributes:
        size: half of the largest difference in each cell, as a ratio, shape of the table; 0 where there is none.
        sentences: what, where, by how much and why, one a kind.
    """

    size: FloatArray
    sentences: tuple[str, ...]


def contradictions(known: Sequence[DriveFit], table: Table, solution: Solution, visits: Visits) -> Contradictions:
    """Compare the parts of the evidence region by region."""
    cell = np.concatenate([nearest(table.axes, d.readings.position[d.readings.kept]) for d in known])
    region = regions(cell, table.values.size)
    size, sentences = np.zeros(table.values.size), []
    for kind, (here, there) in _parts(known).items():
        worst = (0.0, -1)
        for number in range(REGIONS):
            inside = region[cell] == number
            apart = _difference(solution.residual, visits, inside & here, inside & there)
            if abs(apart) > abs(worst[0]):
                worst = (apart, number)
            cells = region == number
            size[cells] = np.maximum(size[cells], abs(apart) / 2)
        if worst[1] >= 0:
            sentences.append(_sentence(kind, worst[0], table, reached(cell, region, worst[1])))
    return Contradictions(size.reshape(table.shape), tuple(sentences))


def regions(cell: IntArray, cells: int) -> IntArray:
    """Part the cells along the first axis so that samples are shared out evenly, shape (cells,).

    Cells beyond the first and the last sample belong to the region of that: what is wrong there does not end there.
    """
    before = np.cumsum(np.bincount(cell, minlength=cells))
    return np.clip((before - 1) * REGIONS // max(int(before[-1]), 1), 0, REGIONS - 1).astype(np.int64)


def reached(cell: IntArray, region: IntArray, number: int) -> IntArray:
    """Return the cells of a region that samples lie in, shape (cells there,)."""
    return np.unique(cell[region[cell] == number])


def _parts(known: Sequence[DriveFit]) -> dict[str, tuple[BoolArray, BoolArray]]:
    """Give what the samples are parted by -> which belong to either part, shape (samples,)."""
    by_trims: list[BoolArray] = []
    purged: list[BoolArray] = []
    late: list[BoolArray] = []
    rate: list[FloatArray] = []
    for driven in known:
        kept, seen = driven.readings.kept, driven.seen
        by_trims.append(driven.readings.by_trims[kept])
        purged.append(driven.readings.purged[kept])
        level = np.log(np.maximum(seen.airflow, 0.1))
        after, before = (np.interp(seen.time + by, seen.time, level) for by in (RATE_S / 2, -RATE_S / 2))
        rate.append(((after - before) / RATE_S)[kept])
        time = seen.time[kept]
        late.append(time > np.median(time) if time.size else np.zeros(0, dtype=np.bool_))
    trims, under, second = (np.concatenate(each) for each in (by_trims, purged, late))
    pace = np.concatenate(rate)
    return {
        "source": (trims, ~trims),
        "purge": (under, ~under),
        "direction": (pace > MOVING, pace < -MOVING),
        "time": (~second, second),
    }


def _difference(residual: FloatArray, visits: Visits, here: BoolArray, there: BoolArray) -> float:
    """Give by how much two parts differ, as a ratio; 0 where visits scatter by as much, or one is hardly there."""
    sizes = np.count_nonzero(here), np.count_nonzero(there)
    if min(sizes) < LEAST_SHARE * sum(sizes):
        return 0.0
    found = []
    for part in (here, there):
        count = np.bincount(visits.number[part], minlength=visits.cell.size)
        means = np.bincount(visits.number[part], residual[part], visits.cell.size)[count > 0] / count[count > 0]
        if means.size < FEWEST_VISITS:
            return 0.0
        found.append((float(np.mean(means)), max(float(np.var(means, ddof=1)), visits.between**2) / means.size))
    apart = found[0][0] - found[1][0]
    unsure = float(np.sqrt(found[0][1] + found[1][1]))
    return apart if abs(apart) > max(SURELY * unsure, WORTH_SAYING) else 0.0


def _sentence(kind: str, apart: float, table: Table, cells: IntArray) -> str:
    first, second, why = PARTS[kind]
    low, high = (
        table.cell_name(tuple(int(i) for i in np.unravel_index(k, table.shape))) for k in (cells[0], cells[-1])
    )
    return phrase(
        "From {low} to {high}, {first} and {second} differ by {apart:+.1f} %: {why}. The intervals there hold both.",
        low=low,
        high=high,
        first=first,
        second=second,
        apart=100 * apart,
        why=why,
    )
