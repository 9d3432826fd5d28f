"""The story of a cell: every revision of the present line that changed it."""

import math

from workbench.window.scene.scene import Scene
from workbench.window.words.wording import clock, operation, percent, plain, tr


def story_lines(scene: Scene) -> tuple[str, ...]:
    """List its history from the newest revision back."""
    state, head, cell = scene.state, scene.head, scene.focus.cell
    if state is None or head is None or not cell:
        return ()
    lines = []
    for revision in reversed(state.history.line(head.id)):
        if revision.table.shape != head.table.shape:
            lines.append(tr("{id}  {what}: other breakpoints").format(id=revision.id, what=operation(revision)))
            break
        multiplier = float(revision.multipliers[cell]) if revision.parent is not None else math.nan
        if multiplier == 1:
            continue
        value = plain(float(revision.table.values[cell]))
        moved = "" if math.isnan(multiplier) else f", {percent(multiplier, 2)}"
        note = f" – {revision.note}" if revision.note else ""
        lines.append(
            f"{revision.id}  {value} {head.table.unit}{moved}: {operation(revision)}, {clock(revision.time)}{note}"
        )
    return tuple(lines)
