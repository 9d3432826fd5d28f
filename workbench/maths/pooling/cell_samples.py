"""The samples that speak of one cell, so that its figures can be worked out again with a pocket calculator."""

from dataclasses import dataclass

import numpy as np

from workbench.maths.drives.drive_fit import driven_table, smoothing_baseline
from workbench.maths.table.interpolation import look_up, spread
from workbench.maths.table.shaped import of_cell
from workbench.model.arrays import BoolArray, FloatArray, IntArray
from workbench.model.evidence import Evidence, Samples
from workbench.model.history import History
from workbench.model.log import Drive


@dataclass(frozen=True, eq=False)
class CellSamples:
    """What one drive says of a cell; all arrays have one entry a sample, in the order of time.

    Attributes:
        drive: which.
        rows: of the log.
        time: s in the log.
        position: where the ECU read the table, shape (samples, axes), axis units.
        ratio: airflow ratio against the table, of this cell where it was shaped by hand; NaN where a gate rejected the
            row.
        weight: of the sample in the solve, 0..1; 0 where it was rejected.
        share: interpolation weight of the cell at that place, 0..1.
        solve_share: what its multiplier is multiplied by in the solve: share times the cell's value in the table that
            the correction is counted from, over what the table in the car gave there.
        nearest: whether no other cell has a larger share.
        plain: whether film and purge need no model there.
        full_throttle: whether it is at full throttle.
        gate: the gate that rejected it; empty where it was kept.
    """

    drive: Drive
    rows: IntArray
    time: FloatArray
    position: FloatArray
    ratio: FloatArray
    weight: FloatArray
    share: FloatArray
    solve_share: FloatArray
    nearest: BoolArray
    plain: BoolArray
    full_throttle: BoolArray
    gate: tuple[str, ...]

    @property
    def kept(self) -> BoolArray:
        """Which of them entered the evidence."""
        return np.isfinite(self.ratio)


@dataclass(frozen=True)
class CellSums:
    """What the samples of a cell come to by themselves, without its neighbours.

    Attributes:
        amount: sum of weight times share.
        solve_amount: sum of weight times share in the solve: the effective samples of the evidence.
        weighted_mean: sum of weight times share times ratio, over the amount; NaN where there is none.
        plain_mean: arithmetic mean of the plain samples nearest to the cell: the mean of the evidence.
        plain_count: how many those are.
    """

    amount: float
    solve_amount: float
    weighted_mean: float
    plain_mean: float
    plain_count: int


def cell_samples(
    history: History, found: Evidence, drives: tuple[Drive, ...], at: tuple[int, ...]
) -> tuple[CellSamples, ...]:
    """Return the samples of each drive that touch a cell, and the rows there that gates rejected.

    Args:
        history: which table was in the car when.
        found: the evidence.
        drives: of the session.
        at: index of the cell, one number an axis.
    """
    by_number = {drive.id: drive for drive in drives}
    flat = int(np.ravel_multi_index(at, found.table.shape))
    counted_from = smoothing_baseline(history, history.revision(found.revision))
    value = float(counted_from.values[at])
    return tuple(_of_drive(history, found, kept, by_number[kept.drive], flat, value) for kept in found.kept)


def sums_of(listed: tuple[CellSamples, ...]) -> CellSums:
    """Work out what a pocket calculator gives for the samples of a cell."""
    weight = np.concatenate([(each.weight * each.share)[each.kept] for each in listed] or [np.zeros(0)])
    ratio = np.concatenate([each.ratio[each.kept] for each in listed] or [np.zeros(0)])
    solved = sum(float((each.weight * each.solve_share)[each.kept].sum()) for each in listed)
    plain = np.concatenate([each.ratio[each.kept & each.plain & each.nearest] for each in listed] or [np.zeros(0)])
    amount = float(weight.sum())
    return CellSums(
        amount,
        solved,
        float(weight @ ratio) / amount if amount else float("nan"),
        float(plain.mean()) if plain.size else float("nan"),
        int(plain.size),
    )


def _of_drive(
    history: History, found: Evidence, samples: Samples, drive: Drive, flat: int, value: float
) -> CellSamples:
    """Put the kept samples and the rejected rows of a drive together."""
    axes, rejected = found.table.axes, np.flatnonzero(samples.rejected_by >= 0)
    rejected = rejected[np.isfinite(samples.everywhere[rejected]).all(axis=1)]
    rows = np.concatenate([samples.rows, rejected])
    position = np.concatenate([samples.position, samples.everywhere[rejected]])
    nodes = spread(axes, position)
    share = np.where(nodes.cell == flat, nodes.weight, 0.0).sum(axis=1)
    nearest = np.take_along_axis(nodes.cell, nodes.weight.argmax(axis=1)[:, None], axis=1)[:, 0] == flat
    there = np.flatnonzero(share > 0)
    there = there[np.argsort(rows[there], kind="stable")]
    none, no = np.full(rejected.size, np.nan), np.zeros(rejected.size, dtype=np.bool_)
    chosen = rows[there]
    return CellSamples(
        drive=drive,
        rows=chosen,
        time=drive.log.time.values[chosen],
        position=position[there],
        ratio=np.concatenate([of_cell(found, samples, flat), none])[there],
        weight=np.concatenate([samples.weight, np.zeros(rejected.size)])[there],
        share=share[there],
        solve_share=share[there] * value / look_up(driven_table(history, drive, found.table.name), position[there]),
        nearest=nearest[there],
        plain=np.concatenate([samples.plain, no])[there],
        full_throttle=np.concatenate([samples.full_throttle, no])[there],
        gate=tuple("" if (by := samples.rejected_by[row]) < 0 else samples.gates[by] for row in chosen),
    )
