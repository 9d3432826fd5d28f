"""What was measured of a cell does not depend on what is typed into it: figures carried onto a table shaped by hand.

Readings, their intervals and the standing of a cell are worked out against the table as it was before it was shaped by
hand, and then carried onto the table as it is, cell by cell. Worked out against the typed values, a cell that was set
to half would widen its own interval to twice as much and pass for unknown, and readings beside it, which the ECU
interpolates from both, would tell a part of the error only.
"""

from dataclasses import replace

import numpy as np

from workbench.maths.table.interpolation import look_up
from workbench.model.arrays import FloatArray, IntArray
from workbench.model.evidence import Evidence, Samples
from workbench.model.history import Revision
from workbench.model.table import Table


def carried_by(before: Table, head: Table) -> FloatArray:
    """Give what turns a ratio against the table before it was shaped into one against the head, shape of the table."""
    return _over(before.values, head.values)


def _over(before: FloatArray, now: FloatArray) -> FloatArray:
    """Divide, but for the foot of a curve, which may hold no air at all."""
    return np.divide(before, now, out=np.ones(now.shape), where=now > 0)


def carried_onto(found: Evidence, head: Revision) -> Evidence:
    """Return evidence against the head, from that against the table as it was before it was shaped by hand.

    Targets and sentences are not carried: they are to speak of the head already.
    """
    if head.table is found.table:
        return found
    onto = carried_by(found.table, head.table)
    inferred, unsure = found.inferred, found.inferred_half_width
    return replace(
        found,
        table=head.table,
        revision=head.id,
        ratio=found.ratio * onto,
        half_width=found.half_width * onto,
        mean=found.mean * onto,
        median=found.median * onto,
        spread=found.spread * onto,
        inferred=inferred * onto if inferred.size else inferred,
        inferred_half_width=unsure * onto if unsure.size else unsure,
        budget=tuple(replace(item, size=item.size * onto) for item in found.budget),
        kept=tuple(_carried(samples, found.table, head.table) for samples in found.kept),
        shaped=onto,
    )


def _carried(samples: Samples, before: Table, head: Table) -> Samples:
    """Give the samples of a drive against the head where each was read."""
    there, now = (look_up(table, samples.position) for table in (before, head))
    return replace(samples, ratio=samples.ratio * _over(there, now))


def before_shaping(found: Evidence, samples: Samples) -> FloatArray:
    """Return the samples' ratios against the table as it was before it was shaped by hand, shape (kept,)."""
    if not found.shaped.size:
        return samples.ratio
    before = found.table.with_values(found.table.values * found.shaped)
    now, there = (look_up(table, samples.position) for table in (found.table, before))
    return samples.ratio * _over(now, there)


def of_cell(found: Evidence, samples: Samples, cell: IntArray | int) -> FloatArray:
    """Return what each sample says of a cell, as a ratio against the value that stands there now, shape (kept,).

    Args:
        found: the evidence.
        samples: of one of its drives.
        cell: flat number of the cell, or of one for each sample, shape (kept,).
    """
    ratio = before_shaping(found, samples)
    return ratio if not found.shaped.size else np.asarray(ratio * found.shaped.ravel()[cell])
