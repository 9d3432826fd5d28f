"""A table that was read from a file, compared with the revisions of a session."""

from pathlib import Path

import numpy as np

from workbench.model.counting import counted
from workbench.model.history import History, Revision
from workbench.model.table import Table
from workbench.phrases import phrase


def best_of(all_of_it: History, same: list[Revision]) -> Revision:
    """Choose among revisions of the same values: the last approved one, or else the last."""
    approved = [each for each in same if each.id in all_of_it.approvals]
    return (approved or same)[-1]


def holds(table: Table, read: Table) -> bool:
    """Return whether a file that was read holds a table's breakpoints and values."""
    return (
        [len(axis) for axis in table.axes] == [len(axis) for axis in read.axes]
        and all(np.array_equal(a.breakpoints, b.breakpoints) for a, b in zip(table.axes, read.axes, strict=True))
        and np.array_equal(table.values, read.values)
    )


def differences(path: Path, read: Table, nearest: Revision) -> list[str]:
    """List how a file differs from the revision that is nearest to it."""
    table = nearest.table
    text = phrase(
        "{path} is not a revision of this session; compared with the nearest, revision {nearest}, it",
        path=path.name,
        nearest=nearest.id,
    )
    if read.shape != table.shape:
        return [
            phrase("{text} has {theirs} cells instead of {ours}.", text=text, theirs=_size(read), ours=_size(table))
        ]
    for mine, theirs in zip(table.axes, read.axes, strict=True):
        moved = np.flatnonzero(mine.breakpoints != theirs.breakpoints)
        if moved.size:
            i = int(moved[0])
            points = phrase(
                "{theirs:.10g} instead of {ours:.10g}",
                theirs=theirs.breakpoints[i],
                ours=mine.breakpoints[i],
            )
            return [
                phrase(
                    "{text} has other breakpoints: number {i} of {mine!r} is {points}.",
                    text=text,
                    i=i,
                    mine=mine.name,
                    points=points,
                )
            ]
    cells = np.argwhere(read.values != table.values)
    first = [tuple(int(i) for i in cell) for cell in cells[:5]]
    listed = "; ".join(f"{table.cell_name(at)}: {read.values[at]:.10g} for {table.values[at]:.10g}" for at in first)
    more = " …" if len(cells) > 5 else ""
    many = counted(len(cells), "other value")
    return [phrase("{text} has {many}: {listed}{more}.", text=text, many=many, listed=listed, more=more)]


def _size(table: Table) -> str:
    return " x ".join(str(size) for size in table.shape)
