"""How a correction goes on where nobody drove: what the smooth surface says there, or a fading step, or nothing."""

from collections.abc import Mapping, Sequence

import numpy as np

from workbench.maths.table.easing import STEP
from workbench.maths.table.filling import filled
from workbench.model.arrays import BoolArray, FloatArray
from workbench.model.history import History, Revision
from workbench.model.table import Table

TAPER_CELLS = 4  # at least, over which a step fades to nothing: common practice, no source
SET_BY_HAND = ("set", "add", "scale", "scale-percent", "ramp", "fill", "paste", "multiply-by-paste")


def inferred(surface: FloatArray, onto: FloatArray, driven: BoolArray) -> FloatArray:
    """Give what a smooth surface says where nobody drove, never beyond the range of the driven cells around it.

    The range is that of the driven cells that touch the undriven region, counted on the table whose correction is
    smooth; to keep within it never makes a step between neighbours larger.

    Args:
        surface: ratios against the table as it is now, shape of the table.
        onto: what takes a ratio against the smooth table to one against the table as it is now, shape of the table.
        driven: cells with evidence, shape of the table.

    Returns:
        Ratios against the table as it is now; NaN where driven, and everywhere where nothing was driven.
    """
    from scipy import ndimage

    result = np.full(surface.shape, np.nan)
    total = np.divide(surface, onto, out=np.ones(surface.shape), where=onto > 0)
    around = np.ones((3,) * surface.ndim, dtype=np.bool_)
    regions, count = ndimage.label(~driven, structure=around)
    for number in range(1, count + 1):
        inside = regions == number
        beside = ndimage.binary_dilation(inside, structure=around) & driven
        if beside.any():
            kept = np.clip(total, total[beside].min(), total[beside].max())
            result[inside] = (kept * onto)[inside]
    return result


def fading(table: Table, multipliers: FloatArray, driven: BoolArray) -> FloatArray:
    """Let the steps of driven cells fade to nothing over some undriven ones, shape of the table.

    It takes four cells, or as many more as keep each step small.

    Args:
        table: whose axes count.
        multipliers: of the driven cells; others do not count.
        driven: cells with evidence.
    """
    from scipy import ndimage

    largest = float(np.abs(multipliers[driven] - 1).max(initial=0.0))
    over = max(TAPER_CELLS, int(np.ceil(largest / STEP)))
    away = ndimage.distance_transform_cdt(~driven, metric="chessboard").astype(np.float64)
    spread = filled(table.with_values(np.where(driven, multipliers, 1.0)), ~driven)
    faded: FloatArray = np.where(driven, multipliers, 1 + (spread - 1) * np.clip(1 - away / over, 0.0, 1.0))
    return faded


def inferred_cells(line: Sequence[Revision]) -> BoolArray:
    """Mark the cells of the last of some revisions that were moved without being measured, shape of its table.

    Those are cells into which a correction was continued; a cell that was driven or set by hand since is none any more,
    nor is one that was rolled back to what it was when it was none.

    Args:
        line: all revisions from the first one to the one that is asked about.
    """
    table = line[-1].table
    marked = np.zeros(table.shape, dtype=np.bool_)
    undriven = ~marked
    stood = {line[0].id: (marked, undriven)}
    for revision in line[1:]:
        if not revision.table.same_axes(table):
            continue
        moved = ~(revision.multipliers == 1)
        standing, continued = (revision.arguments.get(name) for name in ("standing", "continued"))
        if standing is not None:
            undriven = np.array(standing, dtype="<U8").reshape(table.shape) == "undriven"
        if continued is not None:
            marked = (marked & undriven & ~moved) | np.array(continued, dtype=np.bool_).reshape(table.shape)
        elif revision.operation == "carry-on":
            marked = marked | (moved & undriven)
        elif revision.operation in SET_BY_HAND and not moved.all():
            marked = marked & ~moved
        elif revision.operation == "roll-back":
            marked, undriven = _rolled_back(revision, line[0], stood, moved, (marked, undriven))
        stood[revision.id] = marked, undriven
    return marked


def _rolled_back(
    revision: Revision,
    first: Revision,
    stood: Mapping[int, tuple[BoolArray, BoolArray]],
    moved: BoolArray,
    now: tuple[BoolArray, BoolArray],
) -> tuple[BoolArray, BoolArray]:
    """Mark cells as they were marked in the revision that was rolled back to; the cells that did not move stay."""
    to = revision.arguments.get("to")
    if isinstance(to, int) and to in stood:
        marked, undriven = stood[to]
        return np.where(moved, marked, now[0]), np.where(moved, undriven, now[1])
    if first.table.same_axes(revision.table):  # of another branch: what was brought in is told by its values
        return now[0] & (revision.table.values != first.table.values), now[1]
    return now


def set_by_hand(history: History, head: Revision) -> BoolArray:
    """Mark the cells that someone set by hand since the table was brought in, shape of the table.

    What was done to every cell at once says nothing of a single one, and a cell that was rolled back is as it was then.
    """
    line = history.line(head.id)
    marked = np.zeros(head.table.shape, dtype=np.bool_)
    stood = {line[0].id: marked}
    for revision in line[1:]:
        if not revision.table.same_axes(head.table):
            marked, stood = np.zeros(head.table.shape, dtype=np.bool_), {}
        moved = revision.multipliers != 1
        if moved.shape == marked.shape and revision.operation == "roll-back":
            # Of another branch what was brought in is told by its values.
            same = line[0].table.same_axes(revision.table)
            others = marked & (revision.table.values != line[0].table.values) if same else marked
            to = revision.arguments.get("to")
            marked = np.where(moved, stood.get(to, others) if isinstance(to, int) else others, marked)
        elif moved.shape == marked.shape and revision.operation in SET_BY_HAND and not moved.all():
            marked = marked | moved
        stood[revision.id] = marked
    return marked
