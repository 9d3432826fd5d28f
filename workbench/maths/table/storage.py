"""Values as the ECU stores them: whole counts of a step, within a range.

Numbers are taken for what they say in decimal: 1.005 in steps of 0.01 is 100.5 counts exactly, though neither number is
exact as a double. So a tie is a tie, and the rounding rule decides it.
"""

import math
from dataclasses import dataclass
from fractions import Fraction

import numpy as np

from workbench.errors import InputError
from workbench.model.arrays import BoolArray, FloatArray
from workbench.model.ecu_format import EcuFormat, Rounding, Storage
from workbench.model.table import Table
from workbench.phrases import phrase

_HALF = Fraction(1, 2)


@dataclass(frozen=True, eq=False)
class Stored:
    """A table's values in the ECU's memory. All arrays have the shape of the table.

    Attributes:
        counts: whole numbers, as float64 so that a count out of range is seen, not wrapped.
        values: what they stand for.
        error: stored value less the value wanted; at most half a step by size (a whole one when rounding toward zero).
        outside: cells that do not fit into the counts, or leave the range.
    """

    counts: FloatArray
    values: FloatArray
    error: FloatArray
    outside: BoolArray


def stored(values: FloatArray, storage: Storage) -> Stored:
    """Compute what the ECU would store; nothing is clipped or wrapped.

    Rounding never turns a rise into a fall: all four rules are non-decreasing maps.
    """
    step, offset = _exact(storage.step), _exact(storage.offset)
    whole = [_count(value, step, offset, storage.rounding) for value in values.ravel().tolist()]
    kept = [float(count * step + offset) + 0.0 for count in whole]
    counts = np.array([float(count) for count in whole]).reshape(values.shape)
    back = np.array(kept).reshape(values.shape)
    lowest, highest = storage.counts
    outside = np.array([not lowest <= count <= highest for count in whole], dtype=np.bool_).reshape(values.shape)
    low, high = (-np.inf if storage.low is None else storage.low), (np.inf if storage.high is None else storage.high)
    return Stored(counts, back, back - values, outside | (back < low) | (back > high))


def as_stored(table: Table, ecu_format: EcuFormat) -> Table:
    """Return the table with the values that the ECU will hold; the table itself where no step is known.

    Raises:
        InputError: naming the first cell that does not fit: it is refused, never wrapped or clipped.
    """
    if ecu_format.storage is None:
        return table
    held = stored(table.values, ecu_format.storage)
    check_fits(table, held, ecu_format.storage)
    return table.with_values(held.values)


def check_fits(table: Table, held: Stored, storage: Storage) -> None:
    """Refuse values that cannot be stored.

    Raises:
        InputError: naming the first cell that does not fit, and what would.
    """
    bad = np.argwhere(held.outside)
    if bad.size:
        at = tuple(int(i) for i in bad[0])
        low, high = value_range(storage)
        more = phrase(", and {bad} more", bad=len(bad) - 1) if len(bad) > 1 else ""
        raise InputError(
            phrase(
                "The cell at {cell} ({table:.10g} {unit}{more}) cannot be stored: the ECU holds "
                "{low:.10g} to {high:.10g}.",
                cell=table.cell_name(at),
                table=table.values[at],
                unit=table.unit,
                more=more,
                low=low,
                high=high,
            ),
            "Change the value, or correct the storage settings.",
        )


def value_range(storage: Storage) -> tuple[float, float]:
    """Return the lowest and the highest value that can be stored."""
    ends = [float(count * _exact(storage.step) + _exact(storage.offset)) for count in storage.counts]
    low = ends[0] if storage.low is None else max(ends[0], storage.low)
    high = ends[1] if storage.high is None else min(ends[1], storage.high)
    return low, high


def parts_of(table: Table, ecu_format: EcuFormat) -> tuple[Table, ...]:
    """Cut a curve into the parts the ECU keeps; neighbours share the boundary cell, so it is equal in both.

    Raises:
        InputError: when the parts do not fit the table any more.
    """
    ecu_format.check(table)
    points = table.axes[0].breakpoints
    cut = []
    for part in ecu_format.parts:
        inside = (points >= part.low) & (points <= part.high)
        axis = type(table.axes[0])(table.axes[0].name, table.axes[0].unit, points[inside])
        cut.append(Table(part.name, table.value_name, table.unit, (axis,), table.values[inside]))
    return tuple(cut)


def _exact(value: float) -> Fraction:
    return Fraction(repr(value))


def _count(value: float, step: Fraction, offset: Fraction, rule: Rounding) -> int:
    """Return the count of a value; one that is already what a count stands for, to the last bit, is that count.

    The shortest decimal of such a value may lie a hair under it, and would lose a step when rounded toward zero.
    """
    exact = (_exact(value) - offset) / step
    nearest = round(exact)
    return nearest if float(nearest * step + offset) == value else _rounded(exact, rule)


def _rounded(count: Fraction, rule: Rounding) -> int:
    match rule:
        case "half-even":
            return round(count)
        case "half-up":
            return math.floor(count + _HALF)
        case "half-away":
            return int(math.copysign(math.floor(abs(count) + _HALF), count))
        case "toward-zero":
            return math.trunc(count)
