"""Other breakpoints: tables from another calibration, and changes of an axis."""

import hashlib
from collections.abc import Callable, Mapping
from dataclasses import replace
from pathlib import Path
from typing import Annotated, Literal

import numpy as np

from workbench.commands.declaring.kinds import FIRST, Called, ExistingFile, Note, TableName, UnitsAreOurs
from workbench.commands.declaring.making import revised
from workbench.commands.declaring.registry import Answer, command
from workbench.commands.declaring.telling import plain
from workbench.errors import InputError
from workbench.files.disk.plain_files import read_bytes
from workbench.files.tables.conversion import in_unit
from workbench.files.tables.tables import read_table
from workbench.maths.table.resample import Deviation, Way, beyond, deviation, read_at, with_axis, with_breakpoint
from workbench.maths.verdict.driven_change import driven_change
from workbench.model.history import Json, Revision
from workbench.model.state import State
from workbench.model.table import Axis, Table
from workbench.phrases import call, flag, harmless, phrase

Beyond = Literal["refuse", "hold", "keep"]
AxisName = Literal["", "row", "column"]


@command(
    "Take over a donor table",
    menu="Table",
    icon="take-donor",
    preview=True,
    past="Donor table taken over",
    origin="brought in whole",
)
def take_donor(
    state: State,
    file: ExistingFile,
    *,
    units_are_ours: UnitsAreOurs = False,
    table: TableName = FIRST,
    note: Note = "",
) -> Answer[Revision]:
    """Replace the table by one of another calibration, with its breakpoints.

    Args:
        file: the donor table, as CSV or as pasted from a spreadsheet.
        units_are_ours: use its numbers unconverted, whatever units it names.
        table: which table it replaces; the first one if not given.
        note: kept with the revision.

    Example:
        take-donor car.session donor.csv --preview
    """
    before = state.table(table)
    donor, arguments, remarks = _donor(file, before, units_are_ours=units_are_ours)
    return _on_axes(state, donor, "take-donor", arguments, note, remarks)


@command(
    "Resample a donor table",
    menu="Table",
    icon="resample-donor",
    preview=True,
    past="Donor resampled",
    origin="brought in whole",
)
def resample_donor(
    state: State,
    file: ExistingFile,
    *,
    way: Way = "linear",
    outside: Annotated[Beyond, Called("Beyond the ends")] = "refuse",
    units_are_ours: UnitsAreOurs = False,
    table: TableName = FIRST,
    note: Note = "",
) -> Answer[Revision]:
    """Replace the values by those of another calibration, interpolated at this table's breakpoints.

    Args:
        file: the donor table, as CSV or as pasted from a spreadsheet.
        way: linear, as an ECU interpolates; or shape, monotone cubic pieces without overshoot.
        outside: beyond the donor's ends: refuse, hold its outermost value, or keep this table's.
        units_are_ours: use its numbers unconverted, whatever units it names.
        table: which table it goes into; the first one if not given.
        note: kept with the revision.

    Example:
        resample-donor car.session donor.csv --way shape --outside keep --preview
    """
    before = state.table(table)
    donor, arguments, remarks = _donor(file, before, units_are_ours=units_are_ours)
    missing = beyond(donor, before.axes)
    if missing.any():
        at = before.cell_name(tuple(int(i) for i in np.argwhere(missing)[0]))
        where = phrase("{missing} cells of this table, the first at {at}", missing=int(missing.sum()), at=at)
        if outside == "refuse":
            raise InputError(
                phrase("The donor does not reach {where}.", where=where),
                phrase(
                    "Give {outside_flag} hold to use its outermost values there, or {outside_flag} keep "
                    "to keep this table's.",
                    outside_flag=flag("outside"),
                ),
            )
        does = "hold the donor's outermost value" if outside == "hold" else "keep this table's value"
        remarks = (*remarks, phrase("The donor does not reach {where}; these {does}.", where=where, does=does))
    read = read_at(donor, before.axes, way)
    after = before.with_values(np.where(missing & (outside == "keep"), before.values, read))
    arguments |= {"way": way, "outside": outside}
    answer = revised(state, after, "resample-donor", arguments, note, remarks=remarks)
    return _with_effect(state, answer, before, after)


@command("Insert a breakpoint", menu="Table", icon="insert-breakpoint", preview=True, past="Breakpoint inserted")
def insert_breakpoint(
    state: State, *, at: float, axis: AxisName = "", table: TableName = FIRST, note: Note = ""
) -> Answer[Revision]:
    """Add a breakpoint where the table needs more detail; the interpolated values stay the same.

    Args:
        at: its position, in the axis' unit.
        axis: in a grid, the row or the column axis.
        table: which table; the first one if not given.
        note: kept with the revision.

    Example:
        insert-breakpoint car.session --at 3250
    """
    before = state.table(table)
    number = axis_number(before, axis)
    low, high = before.axes[number].breakpoints[[0, -1]]
    if not low < at < high:
        raise InputError(
            phrase(
                "{at:g} does not lie between the ends of the axis {axes!r}, {low:g} and {high:g}.",
                at=at,
                axes=before.axes[number].name,
                low=low,
                high=high,
            ),
            phrase(
                "Choose a position between them; {change_axis_command} extends an axis.",
                change_axis_command=call("change-axis"),
            ),
        )
    after = with_breakpoint(before, number, at)
    arguments: dict[str, Json] = {"at": at, "axis": before.axes[number].name}
    return _on_axes(state, after, "insert-breakpoint", arguments, note, ())


@command("Change an axis", menu="Table", icon="change-axis", preview=True, past="Axis changed")
def change_axis(
    state: State,
    *,
    to: Annotated[str, Called(metavar="NUMBER,NUMBER,...")],
    axis: AxisName = "",
    table: TableName = FIRST,
    note: Note = "",
) -> Answer[Revision]:
    """Move the table to other breakpoints by interpolation, and show how far it then differs.

    Args:
        to: the new breakpoints, separated by commas or spaces.
        axis: in a grid, the row or the column axis.
        table: which table; the first one if not given.
        note: kept with the revision.

    Example:
        change-axis car.session --to "1000 2000 3000 4000 5000 6000"
    """
    before = state.table(table)
    number = axis_number(before, axis)
    try:
        points = np.array([float(word) for word in to.replace(",", " ").split()])
    except ValueError:
        raise InputError(
            phrase("The breakpoints {to!r} cannot be read.", to=to), "Write numbers separated by commas."
        ) from None
    after = with_axis(before, number, points)
    arguments: dict[str, Json] = {"to": plain(points), "axis": before.axes[number].name}
    return _on_axes(state, after, "change-axis", arguments, note, ())


def _on_axes(
    state: State, after: Table, word: str, arguments: dict[str, Json], note: str, remarks: tuple[str, ...]
) -> Answer[Revision]:
    before = state.table(after.name)
    answer = revised(state, after, word, arguments, note, remarks=remarks)
    axes: Json = [plain(axis.breakpoints) for axis in after.axes]
    answer = replace(answer, to_json=_with(answer, {"axes": axes}))
    return _with_effect(state, answer, before, after)


def _with_effect(state: State, answer: Answer[Revision], before: Table, after: Table) -> Answer[Revision]:
    """Add how far the new table lies from the old one, everywhere and over what was driven."""
    apart = deviation(before, after)
    lines = [_deviation_line(apart, before)]
    data: dict[str, Json] = {
        "largest_difference": apart.largest,
        "largest_difference_percent": plain(100 * apart.ratio),
        "largest_difference_at": apart.place,
        "driven": None,
    }
    seen = driven_change(before, after, state.drives)
    if seen is not None:
        data["driven"] = {
            "samples": seen.samples,
            "lowest_percent": 100 * (seen.lowest - 1),
            "highest_percent": 100 * (seen.highest - 1),
            "mean_percent": 100 * (seen.mean - 1),
            "outside": seen.outside,
        }
        low, high, mean = (100 * (each - 1) for each in (seen.lowest, seen.highest, seen.mean))
        lines.append(
            phrase(
                "At the {samples} driven samples the interpolated value changes by {low:+.2f} % to "
                "{high:+.2f} %, by {mean:+.2f} % on average; {outside} of them are beyond its ends.",
                samples=seen.samples,
                low=low,
                high=high,
                mean=mean,
                outside=seen.outside,
            )
        )
    elif state.drives:
        lines.append("No log shows which part of this table was driven.")
    return replace(answer, to_json=_with(answer, data), lines=(*answer.lines, *lines))


def _with(answer: Answer[Revision], more: Mapping[str, Json]) -> Callable[[], Mapping[str, Json]]:
    """Add to the JSON of an answer."""
    return lambda: {**answer.to_json(), **more}


def _deviation_line(apart: Deviation, before: Table) -> str:
    if apart.largest == 0:
        return "Interpolated, the table is the same everywhere."
    ratio = f" ({100 * apart.ratio:+.2f} %)" if np.isfinite(apart.ratio) else ""
    return phrase(
        "Interpolated, the largest difference is {largest:+.6g} {unit}{ratio}, at {place}.",
        largest=apart.largest,
        unit=before.unit,
        ratio=ratio,
        place=apart.place,
    )


def in_our_units(read: Table, ours: Table, whose: str = "") -> tuple[Table, tuple[str, ...]]:
    """Bring a table from outside into the units and names of ours.

    Args:
        read: the other table, of the same kind.
        ours: the session's.
        whose: names it in what is noted, as in "The donor".

    Returns:
        The table, and what was converted or assumed.

    Raises:
        InputError: when no unit leads to ours.
    """
    notes, axes = [], []
    for axis, own in zip(read.axes, ours.axes, strict=True):
        points, note = in_unit(
            axis.breakpoints, axis.unit, own.unit, phrase("{whose}'s axis {axis!r}", whose=whose, axis=axis.name)
        )
        notes += [note] if note else []
        axes.append(Axis(own.name, own.unit, points))
    values, note = in_unit(
        read.values, read.unit, ours.unit, phrase("{whose}'s {name!r}", whose=whose, name=read.value_name)
    )
    notes += [note] if note else []
    return Table(ours.name, ours.value_name, ours.unit, tuple(axes), values), tuple(notes)


def _donor(file: Path, ours: Table, *, units_are_ours: bool) -> tuple[Table, dict[str, Json], tuple[str, ...]]:
    """Read a donor and bring it into our units and names."""
    read, remarks = read_table(file, name=ours.name, kind=ours.kind)
    more: tuple[str, ...] = ()
    if units_are_ours:
        axes = tuple(Axis(o.name, o.unit, a.breakpoints) for a, o in zip(read.axes, ours.axes, strict=True))
        donor = Table(ours.name, ours.value_name, ours.unit, axes, read.values)
    else:
        donor, more = in_our_units(read, ours, "The donor")
    notes = (*remarks, *more)
    arguments: dict[str, Json] = {
        "file": harmless(file.name),
        "sha256": hashlib.sha256(read_bytes(file)).hexdigest(),
        "assumed": list(notes),
    }
    return donor, arguments, notes


def axis_number(table: Table, axis: AxisName) -> int:
    """Give the number of the axis that is meant.

    Raises:
        InputError: when a grid's is not named.
    """
    if table.kind == "curve":
        return 0
    if not axis:
        raise InputError(
            phrase("The grid {table!r} has two axes.", table=table.name),
            phrase("Give {axis_flag} row or {axis_flag} column.", axis_flag=flag("axis")),
        )
    return 0 if axis == "row" else 1
