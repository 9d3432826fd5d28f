"""Hand work on chosen cells; every act is one revision."""

from typing import Annotated, Literal

import numpy as np

from workbench.commands.making import finite, revised, revised_softly
from workbench.commands.registry import Answer, Between, TableName, command
from workbench.errors import InputError
from workbench.maths.scale import same_bits
from workbench.maths.smooth import kept_rising, smoothed
from workbench.model.arrays import BoolArray
from workbench.model.cells import ALL, Cells
from workbench.model.state import State

Edges = Literal["auto", "held", "free"]


@command("Set cells", menu="Table", shortcut="Ctrl+Shift+V", word="set", icon="set")
def set_cells(state: State, *, to: float, cells: Cells, table: TableName = TableName(""), note: str = "") -> Answer:
    """Give the chosen cells a value outright.

    Args:
        to: the new value, in the table's unit.
        cells: which cells.
        table: which table; the first one if not given.
        note: kept with the revision.

    Example:
        set car.session --to 84.5 --cells 12 --note "typing mistake in the original"
    """
    before = state.table(table)
    chosen = cells.mask(before)
    after = before.with_values(np.where(chosen, to + 0.0, before.values))  # no cell is -0
    # What is set outright is recorded as that, even where some multiplier would have led there.
    multipliers = np.where(same_bits(after.values, before.values), 1.0, np.nan)
    return revised(state, after, "set", {"to": to, "cells": str(cells)}, note, multipliers=multipliers)


@command("Scale cells", menu="Table", shortcut="Ctrl+K", icon="scale")
def scale(state: State, *, by: float, cells: Cells = ALL, table: TableName = TableName(""), note: str = "") -> Answer:
    """Multiply the chosen cells by a factor.

    Args:
        by: the factor, above 0.
        cells: which cells; all if not given.
        table: which table; the first one if not given.
        note: kept with the revision.

    Example:
        scale car.session --by 1.02 --cells 3:7
    """
    if by <= 0:
        raise InputError(f"A factor of {by:g} is not possible.", "Give a factor above 0, as in 1.02 for 2 % more.")
    before = state.table(table)
    multipliers = np.where(cells.mask(before), by, 1.0)
    with np.errstate(over="ignore"):
        after = finite(before, before.values * multipliers)
    return revised(state, after, "scale", {"by": by, "cells": str(cells)}, note, multipliers=multipliers)


@command("Smooth cells", menu="Table", shortcut="Ctrl+M", icon="smooth")
def smooth(
    state: State,
    *,
    strength: Annotated[float, Between(0, 1)] = 0.5,
    edges: Edges = "auto",
    cells: Cells = ALL,
    table: TableName = TableName(""),
    note: str = "",
) -> Answer:
    """Draw the chosen cells towards a smooth curve or surface; straight stretches stay as they are.

    A curve that rises keeps rising.

    Args:
        strength: 0 leaves the cells alone, 1 makes a curve straight.
        edges: held keeps the outermost chosen cells, free moves them, auto holds those with a neighbour beyond.
        cells: which cells; all if not given.
        table: which table; the first one if not given.
        note: kept with the revision.

    Example:
        smooth car.session --strength 0.3 --cells 10:20
    """
    before = state.table(table)
    chosen = cells.mask(before)
    if max(_longest_run(chosen, number) for number in range(chosen.ndim)) < 3:
        raise InputError("Fewer than three cells in a row are chosen: nothing can be smoothed.", "Choose more cells.")
    held = _edge(chosen, edges)
    values = smoothed(before, chosen, strength, held=held)
    if before.kind == "curve" and (np.diff(before.values) >= 0).all():
        values = kept_rising(values, chosen & ~held)
    if (before.values > 0).all() and (values <= 0).any():
        at = before.cell_name(tuple(int(i) for i in np.argwhere(values <= 0)[0]))
        raise InputError(f"The smooth line would fall to zero or below at {at}.", "Use less strength, or fewer cells.")
    told = {"strength": strength, "edges": edges, "cells": str(cells)}
    return revised_softly(state, finite(before, values), "smooth", told, note)


def _longest_run(chosen: BoolArray, axis: int) -> int:
    longest, run = 0, np.zeros(np.delete(chosen.shape, axis), dtype=np.int64)
    for line in np.moveaxis(chosen, axis, 0):
        run = np.where(line, run + 1, 0)
        longest = max(longest, int(run.max()))
    return longest


def _edge(chosen: BoolArray, edges: Edges) -> BoolArray:
    """Mark the chosen cells that are held: beside one that is not chosen, or, if asked, at the table's ends too."""
    beyond = edges == "held"
    padded = np.pad(chosen, 1, constant_values=not beyond)
    held = np.zeros_like(chosen)
    if edges == "free":
        return held
    for axis in range(chosen.ndim):
        for shift in (-1, 1):
            inner = tuple(slice(1, -1) for _ in range(chosen.ndim))
            held |= ~np.roll(padded, shift, axis=axis)[inner]
    return held & chosen
