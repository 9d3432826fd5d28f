"""How two tables differ, cell by cell, at the breakpoints of the later one."""

from dataclasses import dataclass

import numpy as np

from workbench.maths.table.resample import read_at
from workbench.model.arrays import BoolArray, FloatArray
from workbench.model.table import Table


@dataclass(frozen=True, eq=False)
class Comparison:
    """Two tables at the breakpoints of the later one.

    Attributes:
        earlier: values of the earlier table, interpolated as the ECU does, shape of the later one.
        later: values of the later table.
        interpolated: whether the earlier table stands on other breakpoints.
    """

    earlier: FloatArray
    later: FloatArray
    interpolated: bool

    @property
    def moved(self) -> BoolArray:
        """Cells that differ."""
        moved: BoolArray = self.earlier != self.later
        return moved

    @property
    def ratio(self) -> FloatArray:
        """Later over earlier value; not finite where the earlier one is 0 and the other is not."""
        with np.errstate(divide="ignore", invalid="ignore"):
            return np.where(self.moved, self.later / self.earlier, 1.0)

    @property
    def percent(self) -> FloatArray:
        """By how many percent the later value lies above the earlier one."""
        with np.errstate(divide="ignore", invalid="ignore"):
            return np.where(self.moved, 100 * (self.later / self.earlier - 1), 0.0)

    @property
    def change(self) -> FloatArray:
        """Later less earlier value, in the table's unit."""
        return self.later - self.earlier


def compared(earlier: Table, later: Table) -> Comparison:
    """Compare two tables of one kind, in one unit."""
    return Comparison(read_at(earlier, later.axes), later.values, not earlier.same_axes(later))
