"""Purge that no channel tells of: found in what a solve leaves over, and set aside."""

from dataclasses import replace

import numpy as np

from workbench.maths.drives.drive_fit import DriveFit
from workbench.maths.pooling.solving import solve_drives
from workbench.maths.signals.purge_levels import Levels, levels_of_error
from workbench.maths.solve.solve import Solution
from workbench.maths.table.interpolation import look_up
from workbench.model.arrays import FloatArray
from workbench.model.table import Table

MOST_TURNS = 8
SETTLED = 0.01  # share of a drive's samples that may still change sides


def solve_without_vapour(known: list[DriveFit], head: Table, base: Table) -> tuple[list[DriveFit], Solution]:
    """Solve quickly, and set aside what unlogged purge made richer.

    The table that a first solve finds lies between both levels of the error, more or less so from cell to cell. So
    levels are found and the table is solved without the lower one in turns, until both agree; only what then stands out
    clearly is set aside.

    Args:
        known: the drives.
        head: the table.
        base: as for `solve_drives`.

    Returns:
        The drives, with the rows under purge left out; and the solution.
    """
    solution = solve_drives(known, head, base)
    unlogged = [not np.isfinite(driven.seen.purge).any() for driven in known]
    if not any(unlogged):
        return known, solution
    for _ in range(MOST_TURNS):
        found = [_levels(d, head, solution) if hidden else None for d, hidden in zip(known, unlogged, strict=True)]
        moved = max(_moved(driven, levels) for driven, levels in zip(known, found, strict=True))
        known = [replace(driven, vapour=levels) for driven, levels in zip(known, found, strict=True)]
        if moved <= SETTLED:
            break
        solution = solve_drives(known, head, base)
    believed = [None if d.vapour is None or not d.vapour.clear or moved > SETTLED else d.vapour for d in known]
    if all(driven.vapour is levels for driven, levels in zip(known, believed, strict=True)):
        return known, solution
    known = [replace(driven, vapour=levels) for driven, levels in zip(known, believed, strict=True)]
    return known, solve_drives(known, head, base)


def _levels(driven: DriveFit, head: Table, solution: Solution) -> Levels | None:
    return levels_of_error(_left_over(driven, head, solution), driven.read.kept, driven.seen.time)


def _left_over(driven: DriveFit, head: Table, solution: Solution) -> FloatArray:
    """Return ratio seen less ratio expected at every row, shape (rows,); 0 where there is no reading."""
    kept = driven.read.kept
    corrected = head.with_values(head.values * solution.multipliers.reshape(head.shape))
    position = driven.read.position[kept]
    left = np.zeros(kept.size)
    left[kept] = driven.read.ratio[kept] - look_up(corrected, position) / look_up(driven.table, position)
    return left


def _moved(driven: DriveFit, levels: Levels | None) -> float:
    kept = driven.read.kept
    before, after = (
        np.zeros(kept.size, dtype=np.bool_) if each is None else each.low for each in (driven.vapour, levels)
    )
    return float(np.mean((before != after)[kept])) if kept.any() else 0.0
