"""Go back to an earlier revision: its values, whole or in some cells, as a new one."""

import numpy as np

from workbench.commands.declaring.kinds import Note, RevisionId
from workbench.commands.declaring.making import revised
from workbench.commands.declaring.registry import Answer, command
from workbench.maths.table.comparing import compared
from workbench.model.cells import ALL, Cells
from workbench.model.history import Json, Revision
from workbench.model.state import State
from workbench.phrases import phrase


@command(
    "Roll back to a revision",
    menu="History",
    shortcut="Ctrl+Shift+B",
    icon="roll-back",
    button="Roll back",
    past="Rolled back to {to}",
)
def roll_back(state: State, revision: RevisionId, *, cells: Cells = ALL, note: Note = "") -> Answer[Revision]:
    """Make a new revision with the values of an earlier one; everything in between stays in the history.

    With some cells chosen, the others keep what they hold now; where the breakpoints changed since, the chosen cells
    take what the ECU read there then.

    Args:
        revision: the revision whose values to restore.
        cells: which cells; all, with their breakpoints, if not given.
        note: kept with the new revision.

    Example:
        roll-back car.session 3 --note "revision 5 ran rough"
    """
    wanted = state.history.revision(revision)
    if cells == ALL:
        return revised(state, wanted.table, "roll-back", {"to": revision}, note, was_before=True)
    now_held = state.table(wanted.table.name)
    before = compared(wanted.table, now_held)
    values = np.where(cells.mask(now_held), before.earlier, now_held.values)
    remarks = (
        (phrase("Revision {revision} was interpolated at the breakpoints of today.", revision=revision),)
        if before.interpolated
        else ()
    )
    arguments: dict[str, Json] = {"to": revision, "cells": str(cells)}
    return revised(state, now_held.with_values(values), "roll-back", arguments, note, remarks=remarks)
