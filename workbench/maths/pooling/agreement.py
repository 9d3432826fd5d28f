"""Do the drives agree? A robust solve takes the smaller of two bodies of samples for outliers: that must be said."""

from dataclasses import dataclass

import numpy as np

from workbench.maths.drives.drive_fit import DriveFit
from workbench.maths.signals.series import blocks
from workbench.maths.solve.solve import Solution, spread_of, variance_inflation
from workbench.maths.table.interpolation import look_up, nearest
from workbench.maths.table.shaped import carried_by
from workbench.model.arrays import BoolArray, FloatArray, IntArray
from workbench.model.counting import counted
from workbench.model.table import Table
from workbench.phrases import flag, phrase

FEWEST = 8.0  # readings of one drive in a cell and throttle regime, by weight, before it has a say of its own
APART = 0.02  # drives that differ by less pass for alike, as one day differs from another: common practice, no source
RASTER = 0.003  # what the steps of a logged trim may hide in one drive, standard deviation
SURELY = 3.0  # standard deviations; every cell of a table is asked


@dataclass(frozen=True, eq=False)
class Agreement:
    """Where drives say different things of a cell.

    Attributes:
        disputed: cells of which two drives say different things, shape of the table.
        farthest: airflow ratio of the drive that lies farthest from the pooled one there; NaN elsewhere.
        reach: how far from the pooled ratio that drive's own interval reaches, as a ratio; 0 elsewhere.
        sentences: which drives, where and by how much.
    """

    disputed: BoolArray
    farthest: FloatArray
    reach: FloatArray
    sentences: tuple[str, ...] = ()


def agreement(
    known: list[DriveFit], table: Table, solution: Solution, ratio: FloatArray, shown: Table | None = None
) -> Agreement:
    """Compare what every drive by itself says of each cell, at part and at full throttle apart.

    Args:
        known: the drives.
        table: that the evidence is for.
        solution: of all of them together, in which whole drives may not differ.
        ratio: pooled airflow ratio per cell, shape of the table.
        shown: the same table as it is now, which sentences speak of; that table if not given.
    """
    onto = carried_by(table, table if shown is None else shown).ravel()
    pooled = ratio.ravel()
    farthest, reach = np.full(pooled.size, np.nan), np.zeros(pooled.size)
    sentences: list[str] = []
    at_full = np.zeros(pooled.size, dtype=np.bool_)
    for full in (True, False) if len(known) > 1 else ():
        level, deviation, read = _levels(known, table, solution, full)
        compared = np.isfinite(pooled) & (np.isfinite(level).sum(axis=0) > 1)
        at_full |= read & full
        if not compared.any():
            continue
        apart = np.nanmax(level, axis=0, initial=-np.inf) - np.nanmin(level, axis=0, initial=np.inf)
        unsure = np.hypot(*np.sort(np.nan_to_num(deviation), axis=0)[-2:])
        disputed = compared & (apart > APART) & (apart > SURELY * unsure)
        disputed = _not_alone(disputed.reshape(table.shape)).ravel()
        off = np.where(disputed, np.abs(level - pooled), -1.0)
        worst, cells = np.argmax(np.nan_to_num(off, nan=-1.0), axis=0), np.arange(pooled.size)
        by = np.where(disputed, (level - pooled)[worst, cells], 0.0)
        reached = np.where(disputed, (off + 1.96 * deviation)[worst, cells], 0.0)
        whole = _as_a_whole(level - pooled, deviation)
        if whole is not None:
            overall = float(whole[np.argmax(np.abs(whole))])
            less = compared & (np.abs(by) < abs(overall))
            # What a cell of one drive is unsure by counts the very difference between the drives.
            by, reached = np.where(less, overall, by), np.where(less, abs(overall) + 1.96 * RASTER, reached)
        if disputed.any():
            sentences.append(_sentence(known, table, level * onto, np.where(disputed, apart, 0.0), full))
        elif whole is not None:
            sentences.append(_overall(known, whole, full))
        disputed = compared if whole is not None else disputed
        # Where too few readings of either drive lie for asking, what the nearest asked cell says holds as well.
        at = _nearest_asked(compared.reshape(table.shape))
        disputed, by, reached = disputed[at] & (read | (~at_full & (not full))), by[at], reached[at]
        further = disputed & (reached > reach)
        farthest[further], reach[further] = (pooled + by)[further], reached[further]
    shape = table.shape
    return Agreement(
        np.isfinite(farthest).reshape(shape), farthest.reshape(shape), reach.reshape(shape), tuple(sentences)
    )


def _nearest_asked(asked: BoolArray) -> IntArray:
    """Give for every cell the flat number of the nearest one that is marked; at least one is."""
    from scipy import ndimage

    at = ndimage.distance_transform_edt(~asked, return_distances=False, return_indices=True)
    return np.asarray(np.ravel_multi_index(tuple(at), asked.shape)).ravel()


def _not_alone(marked: BoolArray) -> BoolArray:
    """Leave out cells without a marked neighbour: what one cell alone says is a hasty moment, not another car."""
    from scipy import ndimage

    around = ndimage.convolve(marked.astype(np.int64), np.ones((3,) * marked.ndim, dtype=np.int64), mode="constant")
    return np.asarray(marked & (around > 1))


def _levels(
    known: list[DriveFit], table: Table, solution: Solution, full: bool
) -> tuple[FloatArray, FloatArray, BoolArray]:
    """Return the ratio that each drive alone says of every cell, its deviation, and which cells hold any reading.

    The first two have shape (drives, cells), the third (cells,).
    """
    cells = table.values.size
    read = np.zeros(cells, dtype=np.bool_)
    level, deviation = np.full((len(known), cells), np.nan), np.full((len(known), cells), np.nan)
    start = 0
    for number, driven in enumerate(known):
        kept = driven.readings.kept
        position = driven.readings.position[kept]
        # The residual is against the table that was in the car.
        onto = look_up(driven.table, position) / look_up(table, position)
        left = solution.residual[start : start + position.shape[0]] * onto
        start += position.shape[0]
        rows = driven.seen.full[kept] == full
        cell, left = nearest(table.axes, position)[rows], left[rows]
        sigma, inflation = _scatter(driven, left, rows)
        weight = np.bincount(cell, driven.readings.weight[kept][rows], minlength=cells)
        read |= weight > 0
        order = np.argsort(cell, kind="stable")
        count = np.bincount(cell, minlength=cells)
        ends = np.cumsum(count)
        for k in np.flatnonzero(weight >= FEWEST):
            level[number, k] = np.median(left[order[ends[k] - count[k] : ends[k]]]) + solution.multipliers[k]
            independent = max(weight[k] / inflation, 1.0)
            # The median of n readings has pi/2 times the variance of their mean (normal errors).
            deviation[number, k] = np.hypot(sigma * np.sqrt(np.pi / 2 / independent), RASTER)
    return level, deviation, read


def _scatter(driven: DriveFit, left: FloatArray, rows: BoolArray) -> tuple[float, float]:
    """Tell how one drive's readings scatter about their own level, and how many of them count as one.

    What drives differ by is what is asked: counted as scatter, it would hide itself.
    """
    if left.size < 2:
        return RASTER, 1.0
    kept = driven.readings.kept
    own, weight = left - np.median(left), driven.readings.weight[kept][rows]
    return spread_of(own, weight), variance_inflation(own, weight, blocks(driven.seen.time)[kept][rows])


def _as_a_whole(left: FloatArray, deviation: FloatArray) -> FloatArray | None:
    """Give by how much each drive differs from the pooled ratio throughout, shape (drives,); None where none does.

    No cell may show it clearly enough by itself.
    """
    there = np.isfinite(left)
    count = np.maximum(there.sum(axis=1), 1)
    mean = np.sum(np.where(there, left, 0.0), axis=1) / count
    unsure = np.sqrt(np.sum(np.where(there, deviation, 0.0) ** 2, axis=1)) / count
    low, high = int(np.argmin(mean)), int(np.argmax(mean))
    surely = SURELY * np.hypot(unsure[low], unsure[high])
    if mean[high] - mean[low] <= max(APART, surely) or min(there[low].sum(), there[high].sum()) < FEWEST:
        return None
    return np.asarray(mean)


def _overall(known: list[DriveFit], mean: FloatArray, full: bool) -> str:
    listed = ", ".join(f"drive {driven.drive.id} {100 * each:+.1f} %" for driven, each in zip(known, mean, strict=True))
    return phrase(
        "The drives differ at {where} throttle overall, relative to all of them together: "
        "{listed}. Weather, fuel or a sensor may have changed: choose the drives that apply "
        "now with {from_flag}.",
        from_flag=flag("from"),
        where="full" if full else "part",
        listed=listed,
    )


def _sentence(known: list[DriveFit], table: Table, level: FloatArray, apart: FloatArray, full: bool) -> str:
    most = int(np.argmax(apart))
    listed = [
        f"drive {driven.drive.id} {100 * (each[most] - 1):+.1f} %"
        for driven, each in zip(known, level, strict=True)
        if np.isfinite(each[most])
    ]
    where = table.cell_name(tuple(int(i) for i in np.unravel_index(most, table.shape)))
    count = int(np.count_nonzero(apart))
    return phrase(
        "The drives disagree at {throttle} throttle in {cells}, most at {where}: "
        "{listed}. Find out what changed between them (fuel, weather, a sensor, fuel "
        "pressure, another table in the car) and choose the drives that apply now with "
        "{from_flag}, before correcting or approving.",
        from_flag=flag("from"),
        throttle="full" if full else "part",
        cells=counted(count, "cell"),
        where=where,
        listed=", ".join(listed),
    )
