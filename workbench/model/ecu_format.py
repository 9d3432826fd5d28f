"""How the ECU keeps a table: in whole steps within a range, and, for a long curve, in several parts."""

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np

from workbench.errors import InputError
from workbench.model.table import Table

Rounding = Literal["half-even", "half-away", "half-up", "toward-zero"]


@dataclass(frozen=True)
class Storage:
    """Values are kept as whole counts: value = count * step + offset.

    Attributes:
        step: what one count is worth, in the unit of the table, above 0.
        offset: the value at count 0.
        bits: width of the count.
        signed: whether counts may be negative.
        low: lowest value allowed; None where the counts alone set it.
        high: highest value allowed.
        rounding: how a value between two steps is rounded. In the words of IEEE 754-2019: half-even is roundTiesToEven,
            half-away roundTiesToAway, toward-zero roundTowardZero; half-up is floor(x + 1/2).
    """

    step: float
    offset: float = 0.0
    bits: int = 16
    signed: bool = False
    low: float | None = None
    high: float | None = None
    rounding: Rounding = "half-even"

    def __post_init__(self) -> None:
        """Check the numbers.

        Raises:
            InputError: when a number is out of its range.
        """
        if not (math.isfinite(self.step) and self.step > 0):
            raise InputError(f"A step of {self.step:g} is not possible.", "Give the value of one count, above 0.")
        if not 1 <= self.bits <= 64:
            raise InputError(f"A width of {self.bits} bits is not possible.", "Give 1 to 64; ECUs mostly use 8 or 16.")
        if not all(math.isfinite(each) for each in (self.offset, self.low or 0.0, self.high or 0.0)):
            raise InputError("Offset and range must be finite numbers.", "Leave a bound out where there is none.")
        if self.low is not None and self.high is not None and self.low >= self.high:
            raise InputError(f"The range from {self.low:g} to {self.high:g} is empty.", "Give the lower value first.")

    @property
    def counts(self) -> tuple[int, int]:
        """Lowest and highest count."""
        whole = 1 << self.bits
        return (-whole // 2, whole // 2 - 1) if self.signed else (0, whole - 1)


@dataclass(frozen=True)
class Part:
    """One stretch of a curve that the ECU keeps as a table of its own.

    Attributes:
        name: what the ECU's table is called.
        low: its first breakpoint, axis units.
        high: its last breakpoint; the next part begins with it.
    """

    name: str
    low: float
    high: float


@dataclass(frozen=True)
class EcuFormat:
    """How the ECU keeps one table.

    Attributes:
        storage: steps and range; None where values are kept as they are.
        parts: in rising order, covering the whole curve, each beginning where the one before ends; empty where it is
            kept whole.
    """

    storage: Storage | None = None
    parts: tuple[Part, ...] = ()

    def check(self, table: Table) -> None:
        """Check that the parts fit a table.

        Raises:
            InputError: naming the part that does not.
        """
        if not self.parts:
            return
        if table.kind != "curve":
            raise InputError(
                f"The {table.kind} {table.name!r} cannot be kept in parts.", "Only a curve can be kept in parts."
            )
        points = table.axes[0].breakpoints
        if len({part.name for part in self.parts}) < len(self.parts) or not all(part.name for part in self.parts):
            raise InputError("Two parts have the same name, or one has none.", "Name each part differently.")
        for part, before in zip(self.parts, (None, *self.parts), strict=False):
            begins = points[0] if before is None else before.high
            if part.low != begins or part.low >= part.high or not np.isin([part.low, part.high], points).all():
                raise InputError(
                    f"The part {part.name!r} from {part.low:g} to {part.high:g} does not fit the axis "
                    f"{table.axes[0].name!r}.",
                    f"Parts run from breakpoint to breakpoint; this one begins at {begins:g}.",
                )
        if self.parts[-1].high != points[-1]:
            raise InputError(
                f"The parts end at {self.parts[-1].high:g}, the axis at {points[-1]:g}.", "Let the last part end there."
            )


AS_IS = EcuFormat()
