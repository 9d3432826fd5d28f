"""How the ECU keeps a table: in whole steps within a range, and, for a long curve, in several parts."""

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np

from workbench.errors import InputError
from workbench.model.table import Table
from workbench.phrases import phrase

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
            raise InputError(
                phrase("A step of {step:g} is not possible.", step=self.step), "Give the value of one count, above 0."
            )
        if not 1 <= self.bits <= 64:
            raise InputError(
                phrase("A width of {bits} bits is not possible.", bits=self.bits),
                "Give 1 to 64; ECUs mostly use 8 or 16.",
            )
        if not all(math.isfinite(each) for each in (self.offset, self.low or 0.0, self.high or 0.0)):
            raise InputError("Offset and range must be finite numbers.", "Leave a bound out where there is none.")
        if self.low is not None and self.high is not None and self.low >= self.high:
            raise InputError(
                phrase("The range from {low:g} to {high:g} is empty.", low=self.low, high=self.high),
                "Give the lower value first.",
            )

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
                phrase("The {kind} {table!r} cannot be kept in parts.", kind=table.kind, table=table.name),
                "Only a curve can be kept in parts.",
            )
        points = table.axes[0].breakpoints
        if len({part.name for part in self.parts}) < len(self.parts) or not all(part.name for part in self.parts):
            raise InputError("Two parts have the same name, or one has none.", "Name each part differently.")
        for part, before in zip(self.parts, (None, *self.parts), strict=False):
            begins = points[0] if before is None else before.high
            if part.low != begins or part.low >= part.high or not np.isin([part.low, part.high], points).all():
                raise InputError(
                    phrase(
                        "The part {part!r} from {low:g} to {high:g} does not fit the axis {axes!r}.",
                        part=part.name,
                        low=part.low,
                        high=part.high,
                        axes=table.axes[0].name,
                    ),
                    phrase("Parts run from breakpoint to breakpoint; this one begins at {begins:g}.", begins=begins),
                )
        if self.parts[-1].high != points[-1]:
            raise InputError(
                phrase(
                    "The parts end at {high:g}, the axis at {points:g}.", high=self.parts[-1].high, points=points[-1]
                ),
                "Let the last part end there.",
            )


AS_IS = EcuFormat()
