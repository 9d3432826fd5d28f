"""New revisions: what every command that changes a table has in common."""

from collections.abc import Mapping
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from workbench.commands.declaring.registry import COMMANDS, Answer
from workbench.commands.declaring.telling import percent_text, plain
from workbench.errors import InputError
from workbench.files.disk.clock import now, user_name
from workbench.maths.table.resample import read_at
from workbench.maths.table.scale import exact_multipliers, replay, same_bits, snapped
from workbench.maths.verdict.high_load import barometer, high_load, leans
from workbench.model.arrays import FloatArray
from workbench.model.counting import counted
from workbench.model.history import Json, Origin, Revision, brought_in
from workbench.model.state import Applied, State
from workbench.model.step import step as after_change
from workbench.model.table import Table
from workbench.phrases import flag, join_phrases, phrase

if TYPE_CHECKING:
    from workbench.maths.verdict.approval_case import Objection

LARGEST = 1e30  # beyond any quantity in any unit; ratios and squares of such numbers still are numbers
NO_AIR = ("trim", "correct", "offset", "difference", "error", "adjust", "change", "factor")  # rightly below 0
AIR = ("airflow", "air flow", "air mass", "mass flow", "efficiency", "g/s", "kg/h")

NOT_LEANING: tuple[dict[str, Json], tuple[str, ...]] = ({"lean_step": None}, ())


def revise(
    state: State,
    name: str,
    after: Table,
    multipliers: FloatArray,
    operation: str,
    arguments: Mapping[str, Json],
    note: str,
    author: str = "",
    origin: Origin | None = None,
) -> Applied:
    """Make the revision that leads from the head of a table to what it shall be.

    Args:
        state: the session.
        name: of the table.
        after: what it shall be.
        multipliers: shape of `after`; the head's values times these are its values bit for bit; NaN: set outright.
        operation: word of the command.
        arguments: what it was told.
        note: in the user's words.
        author: by default who is logged in.
        origin: of its values; by default as the command declares.

    Raises:
        ValueError: when the multipliers do not lead to the values: a fault of the command.
    """
    head = state.head(name)
    if after.same_axes(head.table):
        if not replay(head.table.values, multipliers, after.values).all():
            raise ValueError(phrase("{operation}: give either multipliers or values, not both", operation=operation))
    elif not np.isnan(multipliers).all():
        raise ValueError(phrase("{operation}: values on other breakpoints are set outright", operation=operation))
    revision = Revision(
        id=state.history.next_id,
        parent=head.id,
        table=replace(after, name=head.table.name),
        operation=operation,
        arguments={key: plain(value) for key, value in arguments.items()},
        note=note,
        author=author or user_name(),
        time=now(),
        multipliers=multipliers,
        origin=origin or COMMANDS[operation].origin,
    )
    return Applied(replace(revision, digest=revision.chained(head.digest)))


def bring_in(state: State, table: Table, operation: str, arguments: Mapping[str, Json], note: str) -> Applied:
    """Make the first revision of one more table.

    Raises:
        InputError: when the session has a table of that name.
    """
    if table.name in state.history.table_names:
        raise InputError(
            phrase("This session already has a table {table!r}.", table=table.name),
            phrase("Give the new table another {name_flag}.", name_flag=flag("name")),
        )
    return Applied(brought_in(state.history.next_id, table, operation, dict(arguments), note, user_name(), now()))


def revised(
    state: State,
    after: Table,
    operation: str,
    arguments: Mapping[str, Json],
    note: str,
    *,
    multipliers: FloatArray | None = None,
    remarks: tuple[str, ...] = (),
    was_before: bool = False,
    origin: Origin | None = None,
) -> Answer[Revision]:
    """Make a revision and tell about it; where nothing changes, make none.

    Args:
        state: the session.
        after: what the table of that name shall be.
        operation: word of the command.
        arguments: what it was told.
        note: in the user's words.
        multipliers: as for `revise`; worked out from the values where not given.
        remarks: sentences to add.
        was_before: whether the table has been so already: that is never refused.
        origin: of its values; by default as the command declares.

    Raises:
        InputError: naming the first cell of an airflow or volumetric efficiency where no engine breathes.
    """
    head = state.head(after.name)
    before = head.table
    if multipliers is None:
        same = after.same_axes(before)
        multipliers = exact_multipliers(before.values, after.values) if same else np.full(after.shape, np.nan)

    def as_json(revision: Revision, factors: FloatArray, lean: Mapping[str, Json]) -> dict[str, Json]:
        return {
            "table": before.name,
            "revision": revision.id,
            "multipliers": plain(factors),
            "values": plain(after.values),
            "changed": changed_cells(before, after),
            "notes": list(remarks),
            **lean,
        }

    if is_same(before, after):
        return Answer(
            head,
            lambda: as_json(head, np.ones(after.shape), NOT_LEANING[0]),
            (phrase("Nothing changes: {table!r} stays at revision {id}.", table=before.name, id=head.id), *remarks),
        )
    if not was_before:
        _check_size(after)
        _check_air(before, after)
    change = revise(state, before.name, after, multipliers, operation, arguments, note, origin=origin)
    made, factors = change.revision, multipliers
    line = _made_line(made, before)
    lean, cautions = leaning(after_change(state, change), made)
    lines = (line, *cautions, *remarks)
    return Answer(made, lambda: as_json(made, factors, lean), lines, change, warnings=cautions)


def leaning(state: State, revision: Revision) -> tuple[dict[str, Json], tuple[str, ...]]:
    """Name the lean steps at high load of a revision that stands in a session, for a program and for people.

    A draft is flashed as well as an approved table: whoever makes either must not overlook them.
    """
    from workbench.maths.verdict.objections import lean_step  # looking at a session needs none of what judges it

    found = lean_step(state.history, revision, state.drives, state.settings, state.ecu_format(revision.table.name))
    if found is None:
        return NOT_LEANING
    return {"lean_step": objection_json(found)}, (found.sentence,)


def leaner_than_driven(state: State, target: Revision) -> str:
    """Return a warning where a revision is leaner at high load than the one that was driven last; else nothing."""
    carried = [state.history.driven(drive, target.table.name) for drive in state.drives]
    last = next((each for each in reversed(carried) if each is not None), None)
    if last is None or last is target or last.table.kind != target.table.kind:
        return ""
    table, before = target.table, read_at(last.table, target.table.axes)
    if not (before > 0).all():
        return ""
    pressure = barometer(state.drives) if table.kind == "grid" else 0.0
    lean = leans(table, table.values / before - 1) & high_load(table, before, pressure)
    if not lean.any():
        return ""
    step = table.values[lean] / before[lean] - 1
    return phrase(
        "Revision {id} is leaner at high load than revision {driven}, which was driven last, by up to {step:.1f} % in "
        "{cells}.",
        id=target.id,
        driven=last.id,
        step=100 * float(np.abs(step).max()),
        cells=counted(int(lean.sum()), "cell"),
    )


def objection_json(objection: "Objection") -> dict[str, Json]:
    """Return an objection as JSON."""
    return {
        "name": objection.name,
        "sentence": objection.sentence,
        "cells": plain(objection.cells),
        "remedies": list(objection.remedies),
    }


def revised_softly(
    state: State,
    target: Table,
    operation: str,
    arguments: Mapping[str, Json],
    note: str,
    *,
    remarks: tuple[str, ...] = (),
) -> Answer[Revision]:
    """As `revised`, for results that need not be sharp to the last bit, so that every cell keeps a multiplier."""
    values, multipliers = snapped(state.table(target.name).values, target.values)
    return revised(
        state,
        target.with_values(values),
        operation,
        arguments,
        note,
        multipliers=multipliers,
        remarks=remarks,
    )


def finite(table: Table, values: FloatArray) -> Table:
    """Return the table with other values.

    Raises:
        InputError: naming the first cell whose value grew beyond what a number can hold.
    """
    bad = np.argwhere(~np.isfinite(values))
    if bad.size:
        raise InputError(
            phrase("The cell at {cell} would overflow.", cell=table.cell_name(tuple(int(i) for i in bad[0]))),
            "Nothing was changed; use a smaller step.",
        )
    return table.with_values(values)


def airless(before: Table, after: Table) -> tuple[int, ...] | None:
    """Find the first cell of an airflow or volumetric efficiency that comes to hold what no engine breathes.

    That is a value below 0, or 0 elsewhere than at the foot of a curve. A cell that is read as before may stay, and a
    table that holds negative values already is no airflow, whatever it is called.

    Args:
        before: the table as it is.
        after: as it shall be, maybe on other breakpoints.
    """
    words = f"{after.value_name} {after.unit}".lower()
    if not any(word in words for word in AIR) or (before.values < 0).any():
        return None
    wrong = (after.values <= 0) & (after.values != read_at(before, after.axes))
    if after.kind == "curve" and after.values[0] == 0:
        wrong[0] = False
    places = np.argwhere(wrong)
    return tuple(int(i) for i in places[0]) if places.size else None


def _check_size(table: Table) -> None:
    places = np.argwhere(np.abs(table.values) > LARGEST)
    if places.size:
        at = tuple(int(i) for i in places[0])
        raise InputError(
            phrase(
                "The cell at {cell} would hold {value:g}, which is not a possible value.",
                cell=table.cell_name(at),
                value=table.values[at],
            ),
            "Give a value an ECU can hold.",
        )


def check_brought_in(table: Table) -> tuple[str, ...]:
    """Refuse numbers beyond all measure, and air below 0; give a caution where it is 0 but at the foot of a curve.

    Raises:
        InputError: naming the first such cell.
    """
    _check_size(table)
    words = f"{table.value_name} {table.unit}".lower()
    if not any(word in words for word in AIR) or any(word in words for word in NO_AIR):
        return ()
    if (below := np.argwhere(table.values < 0)).size:
        at = tuple(int(i) for i in below[0])
        raise InputError(
            phrase(
                "The table {table!r} holds {value:g} {unit} at {cell}: an airflow cannot be negative.",
                table=table.name,
                value=table.values[at],
                unit=table.unit,
                cell=table.cell_name(at),
            ),
            "Correct the cell in the file. If the values are another quantity, name it in their header.",
        )
    empty = table.values == 0
    if table.kind == "curve":
        empty[0] = False
    if not empty.any():
        return ()
    at = tuple(int(i) for i in np.argwhere(empty)[0])
    many = counted(int(empty.sum()), "cell holds", "cells hold")
    return (
        phrase(
            "Caution: {many} 0 {unit}, the first at {cell}: the ECU would meter no fuel there.",
            many=many,
            unit=table.unit,
            cell=table.cell_name(at),
        ),
    )


def _check_air(before: Table, after: Table) -> None:
    at = airless(before, after)
    if at is not None:
        foot = " Only the lowest breakpoint of a curve may hold 0." if after.kind == "curve" else ""
        raise InputError(
            phrase(
                "{value_name} of {after:g} {unit} at {cell} is not possible: the ECU would meter no fuel there.",
                value_name=after.value_name,
                after=after.values[at],
                unit=after.unit,
                cell=after.cell_name(at),
            ),
            phrase("Give a value above 0.{foot}", foot=foot),
        )


def is_same(before: Table, after: Table) -> bool:
    """Return whether two tables are equal in axes, labels and every bit of their values."""
    return (
        after.same_axes(before)
        and (after.value_name, after.unit) == (before.value_name, before.unit)
        and bool(same_bits(before.values, after.values).all())
    )


def changed_cells(before: Table, after: Table) -> int:
    """Count the cells that differ; all of them where the breakpoints do."""
    if not after.same_axes(before):
        return after.values.size
    return int((~same_bits(before.values, after.values)).sum())


def _made_line(revision: Revision, before: Table) -> str:
    return phrase(
        "Revision {id} of {table!r}: {operation}, {extent}.",
        id=revision.id,
        table=before.name,
        operation=revision.operation,
        extent=_extent(before, revision.table),
    )


def _extent(before: Table, after: Table) -> str:
    if not after.same_axes(before):
        return "now on " + " and ".join(f"{counted(len(axis), 'breakpoint')} of {axis.name!r}" for axis in after.axes)
    moved = ~same_bits(before.values, after.values)
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        ratio = after.values[moved] / before.values[moved]
    text = phrase("{moved} of {cells} cells changed", moved=int(moved.sum()), cells=moved.size)
    return join_phrases(", ", (text, percent_text(ratio))) if np.isfinite(ratio).all() and ratio.size else text
