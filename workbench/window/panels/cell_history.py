"""The history of a cell, in the lines of the command that lists it."""

from workbench.commands.declaring.kinds import TableName
from workbench.commands.record.comparisons import cell_history
from workbench.model.cells import Cells
from workbench.window.scene.scene import Scene
from workbench.window.words.phrasing import window_text


def story_lines(scene: Scene) -> tuple[str, ...]:
    """List every act that touched the current cell, from the first table on; nothing where none is looked at."""
    state, cell = scene.state, scene.focus.cell
    if state is None or not cell:
        return ()
    found = cell_history(state, cells=Cells((tuple((i, i) for i in cell),)), table=TableName(scene.focus.table))
    return tuple(window_text(line) for line in found.lines)
