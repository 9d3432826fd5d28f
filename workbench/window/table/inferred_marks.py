"""Which cells of the table that is shown were never measured, and which stand beside a cliff."""

from dataclasses import dataclass

import numpy as np

from workbench.maths.questions import beside_cliffs, never_measured
from workbench.model.arrays import BoolArray
from workbench.model.history import Revision
from workbench.model.step import step
from workbench.window.scene.last_drawn import LastMade
from workbench.window.scene.scene import Scene

INFERRED, CLIFF = "\u2248", "!"  # before a number: about, since its neighbours say so; look here
MOST_KEPT = 4


@dataclass(frozen=True, eq=False)
class CellMarks:
    """Cells to be marked, shape of the table.

    Attributes:
        inferred: moved as their neighbours were, without being measured.
        cliffs: that step away from a neighbour without evidence for it.
    """

    inferred: BoolArray
    cliffs: BoolArray

    def sign(self, cell: tuple[int, ...]) -> str:
        """What stands before the number of a cell."""
        return CLIFF if self.cliffs[cell] else INFERRED if self.inferred[cell] else ""


_LAST_MADE = LastMade[CellMarks](MOST_KEPT)


def cell_marks(scene: Scene) -> CellMarks:
    """Find the marks of the table that is shown: the current one, an earlier one, or the draft that waits for a yes."""
    table, state = scene.shown_table, scene.state
    empty = np.zeros(() if table is None else table.shape, dtype=np.bool_)
    revision = _shown(scene)
    if table is None or state is None or revision is None or revision.table is not table:
        return CellMarks(empty, empty)
    ecu_format = state.ecu_format(table.name)
    return _LAST_MADE.get(revision, state.settings, state.drives, ecu_format, make=lambda: _found(scene, revision))


def _shown(scene: Scene) -> Revision | None:
    """Return the revision whose values are shown."""
    if scene.draft is not None:
        return scene.draft.revision
    return scene.reference if scene.looks_back else scene.head


def _found(scene: Scene, revision: Revision) -> CellMarks:
    state, draft = scene.state, scene.draft
    if draft is not None and state is not None and draft.answer.change is not None:
        state = step(state, draft.answer.change)
    if state is None:
        raise ValueError("nothing is shown")
    ecu_format = state.ecu_format(revision.table.name)
    return CellMarks(
        never_measured(state.history, revision),
        beside_cliffs(state.history, revision, state.drives, state.settings, ecu_format),
    )
