"""Which cells a command works on: blocks of breakpoints, or spans of axis values."""

import re
from dataclasses import dataclass

import numpy as np

from workbench.errors import InputError
from workbench.model.arrays import BoolArray
from workbench.model.table import Table
from workbench.phrases import phrase

Span = tuple[int, int]
_PART = re.compile(r"^\s*(\d*)\s*(:?)\s*(\d*)\s*$")


@dataclass(frozen=True)
class Cells:
    """Blocks of cells; each block gives first and last breakpoint (both included) per axis. No block: all cells."""

    blocks: tuple[tuple[Span, ...], ...] = ()

    def mask(self, table: Table) -> BoolArray:
        """Mark the chosen cells, shape of the table.

        Raises:
            InputError: when a block does not fit the table.
        """
        chosen = np.zeros(table.shape, dtype=np.bool_)
        if not self.blocks:
            return ~chosen
        for block in self.blocks:
            if len(block) != len(table.axes):
                raise InputError(
                    phrase(
                        "The cells {self_} name {block} axes, but the table {table!r} is a {kind}.",
                        self_=self,
                        block=len(block),
                        table=table.name,
                        kind=table.kind,
                    ),
                    "Write 3:7 for a curve, and R1:R2,C1:C2 for a grid.",
                )
            for (_, last), axis in zip(block, table.axes, strict=True):
                if last >= len(axis):
                    raise InputError(
                        phrase(
                            "The cells {self_} reach breakpoint {last}; the axis {axis!r} ends at {axis_2}.",
                            self_=self,
                            last=last,
                            axis=axis.name,
                            axis_2=len(axis) - 1,
                        ),
                        "Breakpoints count from 0, both ends included.",
                    )
            chosen[tuple(slice(first, last + 1) for first, last in block)] = True
        return chosen

    def __str__(self) -> str:
        """Write the cells as they are read."""
        return "+".join(",".join(f"{a}:{b}" for a, b in block) for block in self.blocks) or "all"


ALL = Cells()


def read_cells(text: str) -> Cells:
    """Read `3:7`, `4`, `0:3,2:5` or several such blocks joined by `+`; `all` means every cell.

    Raises:
        InputError: when the text is none of these.
    """
    if text.strip() == "all":
        return ALL
    return Cells(tuple(tuple(_span(part, text) for part in block.split(",")) for block in text.split("+")))


def _span(part: str, whole: str) -> Span:
    match = _PART.match(part)
    if match is None or not match[1] or (match[2] and not match[3]):
        raise InputError(
            phrase("The cells {whole!r} cannot be read.", whole=whole),
            "Count breakpoints from 0, both ends included: 3:7 in a curve, 0:3,2:5 in a grid; join blocks with +.",
        )
    first, last = int(match[1]), int(match[3] or match[1])
    if last < first:
        raise InputError(phrase("The cells {whole!r} are in reverse order.", whole=whole), f"Write {last}:{first}.")
    return first, last


def cells_in_span(table: Table, text: str) -> Cells:
    """Choose cells by axis values, as in `3000:4500` or `2000:3000,60:90` (row axis first), several joined by `+`.

    Raises:
        InputError: when the text cannot be read or no breakpoint lies inside.
    """
    return Cells(tuple(_block_in_span(table, part, text) for part in text.split("+")))


def _block_in_span(table: Table, text: str, whole: str) -> tuple[Span, ...]:
    parts = text.split(",")
    if len(parts) != len(table.axes):
        raise InputError(
            phrase(
                "The span {whole!r} names {parts} axes, but the table {table!r} is a {kind}.",
                whole=whole,
                parts=len(parts),
                table=table.name,
                kind=table.kind,
            ),
            "Write LOW:HIGH for a curve, and LOW:HIGH,LOW:HIGH for a grid; join several with +.",
        )
    block = []
    for part, axis in zip(parts, table.axes, strict=True):
        try:
            low, high = (float(word) for word in part.split(":"))
        except ValueError:
            raise InputError(
                phrase("The span {whole!r} cannot be read.", whole=whole),
                "Write LOW:HIGH in the axis' own unit; join several with +.",
            ) from None
        inside = np.flatnonzero((axis.breakpoints >= low) & (axis.breakpoints <= high))
        if not inside.size:
            raise InputError(
                phrase(
                    "No breakpoint of the axis {axis!r} lies from {low:g} to {high:g}.",
                    axis=axis.name,
                    low=low,
                    high=high,
                ),
                phrase(
                    "The axis runs from {breakpoints:g} to {breakpoints_2:g} {unit}.",
                    breakpoints=axis.breakpoints[0],
                    breakpoints_2=axis.breakpoints[-1],
                    unit=axis.unit,
                ),
            )
        block.append((int(inside[0]), int(inside[-1])))
    return tuple(block)
