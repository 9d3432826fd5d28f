"""What became of one cell: every revision on the way to the head that changed it, and what it rested on."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from workbench.maths.table.resample import read_at
from workbench.model.history import History, Json, Revision
from workbench.model.log import Drive


@dataclass(frozen=True, eq=False)
class CellAct:
    """One revision that changed a cell.

    Attributes:
        revision: which.
        value: of the cell then, in the table's unit.
        factor: its value over the one before; NaN where it was set outright from nothing comparable.
        cumulative: its value over that of the first table; NaN likewise.
        drives: numbers of the drives that a correction rests on.
        expected: the airflow ratio that a correction expects of the next drive; NaN where it says nothing of it.
        half_width: of the 95 % interval of that; NaN likewise.
        driven_since: numbers of the drives made with this very revision in the car.
        interpolated: whether the cell's breakpoint did not exist then, so that the value was read between others.
        prediction: what became of a correction's prediction here, one of `VERDICTS`; empty where that was not asked.
    """

    revision: Revision
    value: float
    factor: float
    cumulative: float
    drives: tuple[int, ...]
    expected: float
    half_width: float
    driven_since: tuple[int, ...]
    interpolated: bool
    prediction: str = ""
    inferred: bool = False


def cell_record(
    history: History, head: Revision, at: tuple[int, ...], drives: Sequence[Drive] = ()
) -> tuple[CellAct, ...]:
    """Follow a cell of the head from the first table on; the first act is the table as it was brought in.

    Args:
        history: all revisions.
        head: the revision whose cell it is.
        at: index of the cell, one number an axis.
        drives: all drives of the session.
    """
    acts: list[CellAct] = []
    for revision in history.line(head.id):
        same = revision.table.same_axes(head.table)
        value = float(revision.table.values[at] if same else read_at(revision.table, head.table.axes)[at])
        if acts and value == acts[-1].value:
            continue
        measured = revision.arguments if revision.operation == "correct" and same else {}
        inferred = _inside(measured.get("continued"), at) == 1
        acts.append(
            CellAct(
                revision,
                value,
                _over(value, acts[-1].value) if acts else float("nan"),
                _over(value, acts[0].value) if acts else 1.0,
                tuple(_whole_numbers(revision.arguments.get("drives"))),
                _inside(measured.get("expected"), at),
                _inside(measured.get("inferred_half_width" if inferred else "half_width"), at),
                tuple(drive.id for drive in drives if history.driven(drive, head.table.name) is revision),
                not same,
                inferred=inferred,
            )
        )
    return tuple(acts)


def moved_by(history: History, drive: int, table: str) -> tuple[Revision, ...]:
    """Give the corrections of a table that rest on a drive."""
    return tuple(
        each
        for each in history.revisions
        if each.table.name == table
        and each.operation == "correct"
        and drive in _whole_numbers(each.arguments.get("drives"))
    )


def _over(value: float, before: float) -> float:
    return value / before if before else float("nan")


def _whole_numbers(found: Json) -> list[int]:
    return [each for each in found if isinstance(each, int)] if isinstance(found, list) else []


def _inside(found: Json, at: tuple[int, ...]) -> float:
    for i in at:
        if not isinstance(found, list) or i >= len(found):
            return float("nan")
        found = found[i]
    return float(found) if isinstance(found, int | float) and np.isfinite(found) else float("nan")
