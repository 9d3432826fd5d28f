"""What in a table looks like a slip of whoever wrote it down: a decimal sign that was lost, values exchanged."""

from dataclasses import replace

import numpy as np

from workbench.errors import FileError
from workbench.files.vocabulary.units import base_unit, find_unit, to_base
from workbench.model.table import Axis, Table
from workbench.phrases import phrase

FAR = 20.0  # times what the neighbours hold; no curve of a sensor steps so far (common practice, no source)
FEWEST, LEAST_FALL, MOST_FALLS = 5, 0.01, 2  # values; part of a value; falls
THOUSAND = (500.0, 2000.0)  # times what the neighbours hold: decimals that were read as thousands


def _odd_one(table: Table) -> tuple[int, float] | None:
    """Find the value of a curve that is furthest from what both neighbours hold: its place, and how many times that."""
    values = table.values
    if values.ndim != 1 or values.size < 3 or not np.all(values > 0):
        return None
    ratio = values[1:-1] / np.sqrt(values[:-2] * values[2:])
    at = int(np.argmax(np.abs(np.log(ratio))))
    return (at + 1, float(ratio[at])) if not 1 / FAR <= ratio[at] <= FAR else None


def check_thousands(source: str, table: Table, *, grouped: bool) -> None:
    """Refuse a curve in which what was read as thousands stands a thousand times above its neighbours.

    Args:
        source: name of the file.
        table: as it was read.
        grouped: whether signs between thousands were read.

    Raises:
        FileError: naming the value and what to write.
    """
    found = _odd_one(table)
    if not grouped or found is None or not THOUSAND[0] < found[1] < THOUSAND[1]:
        return
    at, ratio = found
    value = float(table.values[at])
    raise FileError(
        phrase(
            "{source}: at {point:g} the table would hold {value:g}, about {ratio:.3g} times what its neighbours hold: "
            "its sign stands for decimals there, and for thousands by the rest of the file.",
            source=source,
            point=float(table.axes[0].breakpoints[at]),
            value=value,
            ratio=ratio,
        ),
        phrase("Write it as {meant:.4g}, with the decimal sign of the other values.", meant=value / 1000),
    )


def in_whole_units(table: Table) -> tuple[Table, tuple[str, ...]]:
    """Turn breakpoints that count parts or multiples of a unit, as in `rpm x100`, into that unit; and say so."""
    axes, notes = list[Axis](), []
    for axis in table.axes:
        unit = find_unit(axis.unit)
        if unit is None or unit.counts == 1 or not unit.quantity:
            axes.append(axis)
            continue
        whole = base_unit(unit)
        axes.append(Axis(axis.name, whole, to_base(axis.breakpoints, unit)))
        notes.append(
            phrase(
                "{axis} is given in {written}: its breakpoints were multiplied, and are in {unit} now.",
                axis=axis.name,
                written=axis.unit,
                unit=whole,
            )
        )
    return (replace(table, axes=tuple(axes)), tuple(notes)) if notes else (table, ())


def lost_signs(table: Table) -> tuple[str, ...]:
    """Say which values of a curve are many times what both neighbours hold, or a small part of that."""
    found = _odd_one(table)
    if found is None:
        return ()
    at, ratio = found
    return (
        phrase(
            "Caution: at {point:g} the table holds {value:g}, about {ratio:.3g} times what its neighbours hold. Was a "
            "decimal sign lost?",
            point=float(table.axes[0].breakpoints[at]),
            value=float(table.values[at]),
            ratio=ratio,
        ),
    )


def falls(table: Table) -> tuple[str, ...]:
    """Say where a curve of air falls, though it rises nearly everywhere: two values of it may be exchanged."""
    values, unit = table.values, find_unit(table.unit)
    if values.ndim != 1 or values.size < FEWEST or unit is None or unit.quantity != "mass flow":
        return ()
    # A value of 0 is told by itself: nothing was exchanged for it.
    found = np.flatnonzero((values[1:] < values[:-1] * (1 - LEAST_FALL)) & (values[1:] > 0))
    if not 1 <= found.size <= MOST_FALLS or values[-1] <= values[0]:
        return ()
    at = int(found[0])
    return (
        phrase(
            "Caution: from {first:g} to {next:g} the table falls from {before:g} to {after:g} {unit}, and rises nearly "
            "everywhere else. Were two values exchanged?",
            first=float(table.axes[0].breakpoints[at]),
            next=float(table.axes[0].breakpoints[at + 1]),
            before=float(values[at]),
            after=float(values[at + 1]),
            unit=table.unit,
        ),
    )
