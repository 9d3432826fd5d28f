"""Renaming an axis, and stating its unit, after a table was read: the numbers stay as they are."""

from dataclasses import replace

from workbench.commands.declaring.kinds import FIRST, Line, Note, TableName
from workbench.commands.declaring.making import revised
from workbench.commands.declaring.registry import Answer, command
from workbench.commands.table.donors import AxisName, axis_number
from workbench.errors import InputError
from workbench.files.vocabulary.units import find_unit
from workbench.maths.signals.axes import axis_role
from workbench.model.history import Json, Revision
from workbench.model.state import State
from workbench.phrases import call, phrase


@command("Rename an axis", menu="Table", icon="change-axis", past="Axis renamed")
def rename_axis(
    state: State,
    name: Line = "",
    *,
    unit: str = "",
    axis: AxisName = "",
    table: TableName = FIRST,
    note: Note = "",
) -> Answer[Revision]:
    """State what an axis measures and in which unit, where the file did not say it or said it wrongly.

    The breakpoints stay the numbers that they are. Logs that are driven with the table from now on feed the axis by its
    new name; for earlier ones, name the new revision with amend-log.

    Args:
        name: of what the axis measures, as in "Airflow sensor"; the present one if left out.
        unit: of its breakpoints, as in Hz, V, rpm or kPa; the present one if left out.
        axis: in a grid, the row or the column axis.
        table: which table; the first one if not given.
        note: kept with the revision.

    Example:
        rename-axis car.session "Airflow sensor" --unit Hz
    """
    before = state.table(table)
    number = axis_number(before, axis)
    old = before.axes[number]
    if unit and find_unit(unit) is None:
        raise InputError(
            phrase("The unit {unit!r} is not known.", unit=unit), "Give it as in Hz, V, rpm, kPa, g/s or %."
        )
    made = replace(old, name=name.strip() or old.name, unit=unit.strip() or old.unit)
    if (made.name, made.unit) == (old.name, old.unit):
        raise InputError(phrase("The axis is {label} already.", label=old.label), "Give another name, or another unit.")
    if any(each.name == made.name for at, each in enumerate(before.axes) if at != number):
        raise InputError(
            phrase("The other axis is named {name!r}, too.", name=made.name), "Give each axis a name of its own."
        )
    after = replace(before, axes=tuple(made if at == number else each for at, each in enumerate(before.axes)))
    role = axis_role(made)
    fed = (
        phrase("A log's {role} will feed it.", role=role.replace("_", " "))
        if role is not None
        else phrase("A log's channel of that name will feed it.")
    )
    earlier = phrase(
        "Logs added before keep the revision they were driven with; name this one with {command}.",
        command=call("amend-log", "SESSION", "LOG", "--on", "REVISION"),
    )
    arguments: dict[str, Json] = {"axis": old.name, "name": made.name, "unit": made.unit}
    return revised(state, after, "rename-axis", arguments, note, remarks=(fed, *((earlier,) if state.drives else ())))
