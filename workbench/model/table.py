"""A table as the ECU holds it: a curve over one axis or a grid over two."""

from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike

from workbench.errors import InputError
from workbench.model.arrays import FloatArray, frozen
from workbench.phrases import phrase

Kind = Literal["curve", "grid"]


@dataclass(frozen=True, eq=False)
class Axis:
    """The breakpoints along one direction of a table.

    Attributes:
        name: what is measured along it, as in "engine speed".
        unit: its unit, as in "rpm"; empty where none was given.
        breakpoints: shape (n,), strictly rising, finite.
    """

    name: str
    unit: str
    breakpoints: FloatArray

    def __post_init__(self) -> None:
        """Freeze and check the breakpoints.

        Raises:
            InputError: naming the first place where they do not rise or are not finite.
        """
        object.__setattr__(self, "breakpoints", frozen(self.breakpoints))
        points = self.breakpoints
        if points.ndim != 1 or points.size < 1:
            raise InputError(
                phrase("The axis {name!r} has no breakpoints.", name=self.name), "Give at least one column of numbers."
            )
        if bad := [i for i, p in enumerate(points) if not np.isfinite(p)]:
            raise InputError(
                phrase("Breakpoint {bad} of the axis {name!r} is not a number.", bad=bad[0], name=self.name),
                "Enter it.",
            )
        falls = np.flatnonzero(np.diff(points) <= 0)
        if falls.size:
            i = int(falls[0])
            raise InputError(
                phrase(
                    "The axis {name!r} does not rise: breakpoint {i} is {points:g}, breakpoint {i_2} is {points_2:g}.",
                    name=self.name,
                    i=i,
                    points=points[i],
                    i_2=i + 1,
                    points_2=points[i + 1],
                ),
                "An ECU looks tables up along rising breakpoints: sort them and remove duplicates.",
            )

    def __len__(self) -> int:
        """Count the breakpoints."""
        return int(self.breakpoints.size)

    def same_as(self, other: "Axis") -> bool:
        """Return whether name, unit and every breakpoint are equal."""
        return (self.name, self.unit) == (other.name, other.unit) and np.array_equal(
            self.breakpoints, other.breakpoints
        )

    @property
    def label(self) -> str:
        """Name and unit for people."""
        return f"{self.name} ({self.unit})" if self.unit else self.name


@dataclass(frozen=True, eq=False)
class Table:
    """Values over one axis (curve) or two (grid), looked up linearly with the ends clamped.

    Attributes:
        name: what the session calls it.
        value_name: what the cells hold, as in "mass airflow".
        unit: the unit of the values.
        axes: (axis,) for a curve; (row axis, column axis) for a grid.
        values: shape (n,) or (rows, columns), finite.
    """

    name: str
    value_name: str
    unit: str
    axes: tuple[Axis, ...]
    values: FloatArray

    def __post_init__(self) -> None:
        """Freeze the values and check their shape.

        Raises:
            InputError: naming the first cell that is not a finite number, or the shapes that differ.
        """
        object.__setattr__(self, "values", frozen(self.values))
        if len(self.axes) not in (1, 2):
            raise InputError("A table has one axis or two.", "Give a curve or a grid.")
        shape = tuple(len(axis) for axis in self.axes)
        if self.values.shape != shape:
            raise InputError(
                phrase(
                    "The table {name!r} has {shape} values where its axes ask for {shape_2}.",
                    name=self.name,
                    shape=self.values.shape,
                    shape_2=shape,
                ),
                "Give one value for each breakpoint, or each pair of breakpoints.",
            )
        bad = np.argwhere(~np.isfinite(self.values))
        if bad.size:
            raise InputError(
                phrase(
                    "Cell {cell} of the table {name!r} is not a number.",
                    cell=self.cell_name(tuple(int(i) for i in bad[0])),
                    name=self.name,
                ),
                "Fill every cell with a finite number.",
            )

    @property
    def kind(self) -> Kind:
        """Distinguish a curve from a grid."""
        return "curve" if len(self.axes) == 1 else "grid"

    @property
    def shape(self) -> tuple[int, ...]:
        """Return (n,) or (rows, columns)."""
        return self.values.shape

    @property
    def value_label(self) -> str:
        """Name and unit of the values for people."""
        return f"{self.value_name} ({self.unit})" if self.unit else self.value_name

    def with_values(self, values: ArrayLike) -> "Table":
        """Return the same table with other values of the same shape."""
        return replace(self, values=np.asarray(values, dtype=np.float64))

    def same_axes(self, other: "Table") -> bool:
        """Return whether both are looked up along the same breakpoints."""
        return len(self.axes) == len(other.axes) and all(
            mine.same_as(theirs) for mine, theirs in zip(self.axes, other.axes, strict=True)
        )

    def cell_name(self, index: tuple[int, ...]) -> str:
        """Name a cell by its axis values, as in "3300 Hz" or "2000 rpm, 60 kPa"."""
        return ", ".join(
            f"{axis.breakpoints[i]:.6g} {axis.unit or axis.name}" for axis, i in zip(self.axes, index, strict=True)
        )
