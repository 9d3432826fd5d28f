"""Numbers changed by hand in chosen cells; every act is one revision."""

import numpy as np

from workbench.commands.declaring.kinds import FIRST, Note, TableName
from workbench.commands.declaring.making import finite, revised
from workbench.commands.declaring.registry import Answer, command
from workbench.errors import InputError
from workbench.maths.table.scale import same_bits
from workbench.model.cells import ALL, Cells
from workbench.model.history import Revision
from workbench.model.state import State
from workbench.phrases import phrase

SMALLEST = 1e-6  # no table is scaled by less, nor by more than its inverse; between two units lie 1000 or so


@command("Set cells", menu="Table", shortcut="Ctrl+Shift+V", word="set", icon="set", preview=True, past="Set to {to}")
def set_cells(state: State, *, to: float, cells: Cells, table: TableName = FIRST, note: Note = "") -> Answer[Revision]:
    """Set the chosen cells to a value.

    Args:
        to: the new value, in the table's unit.
        cells: which cells.
        table: which table; the first one if not given.
        note: kept with the revision.

    Example:
        set car.session --to 84.5 --cells 12 --note "typing mistake in the original"
    """
    before = state.table(table)
    after = before.with_values(np.where(cells.mask(before), to + 0.0, before.values))  # no cell is -0
    # What is set outright is recorded as that, even where some multiplier would have led there.
    multipliers = np.where(same_bits(after.values, before.values), 1.0, np.nan)
    return revised(state, after, "set", {"to": to, "cells": str(cells)}, note, multipliers=multipliers)


@command("Add to cells", menu="Table", word="add", icon="add", preview=True, past="Added {by}")
def add(state: State, *, by: float, cells: Cells = ALL, table: TableName = FIRST, note: Note = "") -> Answer[Revision]:
    """Add an amount to the chosen cells.

    Args:
        by: the amount, in the table's unit; negative subtracts.
        cells: which cells; all if not given.
        table: which table; the first one if not given.
        note: kept with the revision.

    Example:
        add car.session --by -0.25 --cells 0:3
    """
    before = state.table(table)
    with np.errstate(over="ignore"):
        after = finite(before, np.where(cells.mask(before), before.values + by, before.values))
    return revised(state, after, "add", {"by": by, "cells": str(cells)}, note)


@command("Scale cells", menu="Table", shortcut="Ctrl+K", icon="scale", preview=True, past="Scaled × {by}")
def scale(
    state: State, *, by: float, cells: Cells = ALL, table: TableName = FIRST, note: Note = ""
) -> Answer[Revision]:
    """Multiply the chosen cells by a factor.

    Args:
        by: the factor, above 0.
        cells: which cells; all if not given.
        table: which table; the first one if not given.
        note: kept with the revision.

    Example:
        scale car.session --by 1.02 --cells 3:7
    """
    if not SMALLEST <= by <= 1 / SMALLEST:
        raise InputError(
            phrase("A factor of {by:g} is not possible.", by=by), "Give a factor above 0, as in 1.02 for 2 % more."
        )
    return _multiplied(state, by, cells, table, note, "scale", {"by": by})


@command("Scale cells by percent", menu="Table", icon="scale-percent", preview=True, past="Scaled by {by} %")
def scale_percent(
    state: State, *, by: float, cells: Cells = ALL, table: TableName = FIRST, note: Note = ""
) -> Answer[Revision]:
    """Raise or lower the chosen cells by a percentage.

    Args:
        by: percent; negative lowers.
        cells: which cells; all if not given.
        table: which table; the first one if not given.
        note: kept with the revision.

    Example:
        scale-percent car.session --by -1.5 --span 3000:4500
    """
    if by <= -100:
        raise InputError(
            phrase("{by:g} % would leave zero or less.", by=by), "Give more than -100, as in 2 for 2 % more."
        )
    return _multiplied(state, 1 + by / 100, cells, table, note, "scale-percent", {"by": by})


def _multiplied(
    state: State, factor: float, cells: Cells, name: TableName, note: str, word: str, arguments: dict[str, float]
) -> Answer[Revision]:
    before = state.table(name)
    multipliers = np.where(cells.mask(before), factor, 1.0)
    with np.errstate(over="ignore"):
        after = finite(before, before.values * multipliers)
    return revised(state, after, word, {**arguments, "cells": str(cells)}, note, multipliers=multipliers)
