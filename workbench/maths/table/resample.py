"""A table read at other breakpoints, and how far the new one is from the old as a function."""

from dataclasses import dataclass
from typing import Literal

import numpy as np

from workbench.errors import InputError
from workbench.maths.table.interpolation import look_up
from workbench.model.arrays import BoolArray, FloatArray
from workbench.model.table import Axis, Table
from workbench.phrases import phrase

Way = Literal["linear", "shape"]


@dataclass(frozen=True)
class Deviation:
    """How far two tables lie apart as the ECU reads them.

    Attributes:
        largest: largest difference by size, signed, in the table's unit; new less old.
        ratio: the same relative to the old value; NaN where that is 0.
        place: where, in words.
    """

    largest: float
    ratio: float
    place: str


def read_at(table: Table, axes: tuple[Axis, ...], way: Way = "linear") -> FloatArray:
    """Read a table at other breakpoints; at its own it gives its very values, beyond its ends the outermost ones.

    Args:
        table: curve or grid.
        axes: as many as the table has.
        way: "linear" as the ECU reads it; "shape" by piecewise cubics that keep rising and falling stretches what they
            are (Fritsch and Carlson, SIAM Journal on Numerical Analysis 17, 1980), in a grid along its columns and then
            along its rows.

    Returns:
        Values, shape of the axes.
    """
    inside = [
        np.clip(axis.breakpoints, own.breakpoints[0], own.breakpoints[-1])
        for axis, own in zip(axes, table.axes, strict=True)
    ]
    if way == "linear":
        mesh = np.meshgrid(*inside, indexing="ij")
        shape = tuple(len(axis) for axis in axes)
        read = look_up(table, np.stack([each.ravel() for each in mesh], axis=1)).reshape(shape)
        return _with_own(table, inside, read)
    from scipy.interpolate import PchipInterpolator

    values = table.values
    for number, (own, points) in enumerate(zip(table.axes, inside, strict=True)):
        if len(own) > 1:
            values = PchipInterpolator(own.breakpoints, values, axis=number)(points)
        else:
            values = np.repeat(values, points.size, axis=number)
    return _with_own(table, inside, np.array(values, dtype=np.float64))


def _with_own(table: Table, points: list[FloatArray], read: FloatArray) -> FloatArray:
    """Put the table's own values in where its own breakpoints are asked for: to the last bit."""
    mine, theirs = [], []
    for own, asked in zip(table.axes, points, strict=True):
        near = np.clip(np.searchsorted(own.breakpoints, asked), 0, len(own) - 1)
        same = own.breakpoints[near] == asked
        mine.append(near[same])
        theirs.append(np.flatnonzero(same))
    read[np.ix_(*theirs)] = table.values[np.ix_(*mine)]
    return read


def beyond(table: Table, axes: tuple[Axis, ...]) -> BoolArray:
    """Mark the breakpoint pairs (or points) of other axes that lie beyond a table's ends, shape of the axes."""
    outside = [
        (axis.breakpoints < own.breakpoints[0]) | (axis.breakpoints > own.breakpoints[-1])
        for axis, own in zip(axes, table.axes, strict=True)
    ]
    marked: BoolArray = outside[0] if len(outside) == 1 else outside[0][:, None] | outside[1][None, :]
    return marked


def with_axis(table: Table, number: int, points: FloatArray) -> Table:
    """Return the table on other breakpoints along one axis, read as the ECU reads it.

    Raises:
        InputError: when the breakpoints do not rise.
    """
    axis = Axis(table.axes[number].name, table.axes[number].unit, points)
    axes = tuple(axis if i == number else each for i, each in enumerate(table.axes))
    return Table(table.name, table.value_name, table.unit, axes, read_at(table, axes))


def with_breakpoint(table: Table, number: int, at: float) -> Table:
    """Return the table with one breakpoint more; as a function it stays the same, also beyond its ends.

    Raises:
        InputError: when there is one already.
    """
    points = table.axes[number].breakpoints
    if (points == at).any():
        raise InputError(
            phrase("The axis {axes!r} has a breakpoint at {at:g} already.", axes=table.axes[number].name, at=at),
            "Choose another.",
        )
    return with_axis(table, number, np.insert(points, int(np.searchsorted(points, at)), at))


def deviation(old: Table, new: Table) -> Deviation:
    """Find the largest difference between two tables as the ECU reads them, both clamped at their ends.

    Both are linear (bilinear) between the breakpoints of the two together, so the largest difference lies on one.
    """
    axes = tuple(
        Axis(a.name, a.unit, np.union1d(a.breakpoints, b.breakpoints)) for a, b in zip(old.axes, new.axes, strict=True)
    )
    before, after = read_at(old, axes), read_at(new, axes)
    apart = after - before
    at = tuple(int(i) for i in np.unravel_index(int(np.abs(apart).argmax()), apart.shape))
    ratio = float(apart[at] / before[at]) if before[at] else float("nan")
    place = Table(old.name, "", "", axes, before).cell_name(at)
    return Deviation(float(apart[at]), ratio, place)
