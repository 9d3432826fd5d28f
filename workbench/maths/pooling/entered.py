"""The samples as they entered the solve, and what every gate took."""

import numpy as np

from workbench.maths.drives.drive_fit import DriveFit
from workbench.maths.signals.gating import counts, in_order
from workbench.maths.signals.sampling import Readings
from workbench.maths.solve.solve import Solution
from workbench.maths.table.interpolation import look_up
from workbench.model.arrays import IntArray
from workbench.model.evidence import Samples
from workbench.model.gate import GateCount
from workbench.model.table import Table


def gate_counts(known: list[DriveFit]) -> tuple[GateCount, ...]:
    """Count what every gate took, over all drives."""
    names = in_order(name for d in known for name in d.readings.rejected)
    per_drive = [{count.name: count for count in counts(d.readings.rejected)} for d in known]
    return tuple(
        GateCount(
            name,
            sum(each[name].rejected for each in per_drive if name in each),
            sum(each[name].alone for each in per_drive if name in each),
        )
        for name in names
    )


def samples_of(known: list[DriveFit], table: Table, solution: Solution) -> tuple[Samples, ...]:
    """Return the samples of every drive as they entered the solve."""
    corrected = table.with_values(table.values * solution.multipliers.reshape(table.shape))
    found, start = [], 0
    for driven in known:
        rows = np.flatnonzero(driven.readings.kept)
        position = driven.readings.position[rows]
        names = tuple(driven.readings.rejected)
        part = slice(start, start + rows.size)
        start += rows.size
        shown = look_up(table, position)
        ratio = driven.readings.ratio[rows] * look_up(driven.table, position) / shown
        # Where film or purge is modelled, the sample is shown as it counts: with their effect taken out.
        freed = look_up(corrected, position) / shown + solution.residual[part] * look_up(driven.table, position) / shown
        plain = driven.readings.plain[rows]
        found.append(
            Samples(
                drive=driven.drive.id,
                rows=rows,
                position=position,
                ratio=np.where(plain, ratio, freed),
                weight=driven.readings.weight[rows] * solution.robust[part],
                full_throttle=driven.seen.full[rows],
                plain=plain,
                rejected_by=_first_rejection(driven.readings, names),
                gates=names,
                everywhere=driven.seen.position,
            )
        )
    return tuple(found)


def _first_rejection(readings: Readings, names: tuple[str, ...]) -> IntArray:
    by = np.full(readings.kept.size, -1, dtype=np.int64)
    for name in reversed(in_order(names)):
        by[readings.rejected[name]] = names.index(name)
    by[readings.kept] = -1
    return by
