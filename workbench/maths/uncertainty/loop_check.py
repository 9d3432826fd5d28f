"""A wideband that reads another mixture than the loop holds, in a part of the table: a leak, or a sensor that is off.

Whatever the table says and whatever purge brings, a settled loop holds the centre of its sensor, so the wideband reads
the same wherever the engine is. Air that a leak draws into the exhaust ahead of it weighs more the less gas flows: it
reads lean at idle and nearly right under load; the loop sees none of it where its own sensor sits ahead of the leak.
"""

from collections.abc import Sequence

import numpy as np

from workbench.maths.drives.drive_fit import DriveFit
from workbench.maths.pooling.common_error import settled_loop
from workbench.maths.signals.series import blocks
from workbench.maths.table.interpolation import nearest
from workbench.maths.uncertainty.contradictions import REGIONS, Contradictions, reached, regions
from workbench.model.arrays import FloatArray, IntArray
from workbench.model.gate import Gates
from workbench.model.table import Table
from workbench.phrases import phrase

READS = 0.3  # of lambda, from 1; what is farther away is no closed loop
FEWEST_ROWS, FEWEST_BLOCKS = 10, 4  # rows of a stretch of time, and such stretches in a part of the table
# Of lambda, by which most stretches of a region must read apart: clean cars of three makers stay within 0.011.
APART, MOST_OF = 0.02, 0.75


def loop_check(known: Sequence[DriveFit], table: Table, gates: Gates) -> Contradictions:
    """Compare the wideband in settled closed loop, region by region, with how it reads where most gas flows."""
    held = zip(*(_held(driven, table, gates) for driven in known), strict=True)
    cell, number, reading = (np.concatenate(each) for each in held)
    size, region = np.zeros(table.values.size), regions(cell, table.values.size)
    means = [_means(number[region[cell] == at], reading[region[cell] == at]) for at in range(REGIONS)]
    parts = {at: found for at, found in enumerate(means) if found.size >= FEWEST_BLOCKS}
    nothing = Contradictions(size.reshape(table.shape), ())
    if len(parts) < 2:  # with nothing beside it to compare with, it is the instrument's own error
        return nothing
    usual = float(np.median(parts[max(parts)]))  # where most gas flows
    apart = {at: float(np.median(found - usual)) for at, found in parts.items()}
    plainly = [at for at, found in parts.items() if _most(found - usual) > APART]
    if not plainly:
        return nothing
    own = np.nan_to_num(np.abs(_by_cell(cell, reading - usual, size.size)))
    for at in (at for at in parts if abs(apart[at]) > APART / 2):
        size = np.where(region == at, np.maximum(own, abs(apart[at])) / 2, size)
    worst = max(plainly, key=lambda at: abs(apart[at]))
    said = _sentence(apart[worst], usual, table, reached(cell, region, worst))
    return Contradictions(size.reshape(table.shape), (said,))


def _most(apart: FloatArray) -> float:
    """Give by how much most stretches of time are apart, all to one side."""
    return float(np.quantile(np.sign(np.median(apart)) * apart, 1 - MOST_OF))


def _by_cell(cell: IntArray, apart: FloatArray, cells: int) -> FloatArray:
    """Give what each cell's own readings are apart by, NaN where it has too few, shape (cells,)."""
    count = np.bincount(cell, minlength=cells)
    mean = np.bincount(cell, apart, cells) / np.maximum(count, 1)
    return np.where(count >= FEWEST_ROWS, mean, np.nan)


def _held(driven: DriveFit, table: Table, gates: Gates) -> tuple[IntArray, IntArray, FloatArray]:
    """Give cell, stretch of time and reading over what a settled loop holds, less 1, shape (rows held,) each."""
    seen = driven.seen
    apart = seen.measured / seen.loop_holds - 1
    held = settled_loop(driven, gates) & (np.abs(apart) < READS)
    if driven.place != "before":
        held[:] = False
    return nearest(table.axes, seen.position[held]), blocks(seen.time)[held], apart[held]


def _means(number: IntArray, reading: FloatArray) -> FloatArray:
    count = np.bincount(number)
    enough = count >= FEWEST_ROWS
    return np.asarray(np.bincount(number, reading)[enough] / count[enough])


def _sentence(apart: float, usual: float, table: Table, cells: IntArray) -> str:
    low, high = (
        table.cell_name(tuple(int(i) for i in np.unravel_index(k, table.shape))) for k in (cells[0], cells[-1])
    )
    return phrase(
        "From {low} to {high}, the wideband reads lambda {apart:+.1f} % off what the loop holds, and {usual:+.1f} % "
        "where most gas flows: look for a leak in the exhaust ahead of it before you correct. The intervals there "
        "hold both.",
        low=low,
        high=high,
        apart=100 * (apart + usual),
        usual=100 * usual,
    )
