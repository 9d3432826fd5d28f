"""Bringing tables into a session."""

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Annotated

from workbench.commands.declaring.kinds import Called, ExistingFile, Line, NewFile, Note, SheetOrPart
from workbench.commands.declaring.making import bring_in, check_brought_in
from workbench.commands.declaring.registry import Answer, command
from workbench.commands.declaring.telling import plain
from workbench.errors import InputError, WorkbenchError
from workbench.files.disk.plain_files import read_bytes
from workbench.files.identify import refused_as_table
from workbench.files.tables.tables import TableKind, read_table
from workbench.maths.signals.axes import check_not_swapped, feeding
from workbench.maths.table.joining import Boundary, joined
from workbench.model.counting import counted
from workbench.model.ecu_format import EcuFormat
from workbench.model.history import Json, Revision
from workbench.model.state import State
from workbench.model.table import Table
from workbench.phrases import flag, harmless, phrase
from workbench.session import Session


@dataclass(frozen=True)
class MadeSession:
    """A session file that was made, to be opened next."""

    path: Path


@command("New session", menu="Session", shortcut="Ctrl+N", icon="new", past="Imported", origin="brought in whole")
def new(
    session: NewFile,
    file: ExistingFile,
    *,
    name: Line = "",
    kind: TableKind = "auto",
    more: Annotated[tuple[ExistingFile, ...], Called("More files")] = (),
    boundary: Annotated[Boundary, Called("Part used at a boundary")] = "",
    part: SheetOrPart = "",
    note: Note = "",
) -> Answer[MadeSession]:
    """Make a session from the table that is in the ECU now.

    Args:
        session: the session file to make; it must not exist yet.
        file: the table as CSV, as pasted from a spreadsheet, or as a spreadsheet file.
        name: name of the table; the file's name if not given.
        kind: read the file as a curve or a grid where its shape does not decide.
        more: a file with another part of the same curve, where the ECU keeps it in several parts.
        boundary: which part to use where two disagree at their shared breakpoint.
        part: the sheet of a workbook, or the file in a zip with several.
        note: kept with the first revision.

    Example:
        new car.session airflow.csv --name airflow
    """
    table, ecu_format, arguments, remarks = _read((file, *more), name, kind, boundary, part)
    with Session.create(session, table, note=note, arguments=arguments, ecu_format=ecu_format) as made:
        head = made.state.head()
    return Answer(
        MadeSession(session),
        lambda: {"session": str(session), "revision": head.id, **_table_json(table, remarks)},
        (
            phrase("{session}: {told} is revision 1.", session=session, told=_described(table)),
            *remarks,
            *map(feeding, table.axes),
        ),
    )


@command(
    "Add a table",
    menu="Session",
    shortcut="Ctrl+Shift+N",
    icon="add-table",
    past="Imported",
    origin="brought in whole",
)
def add_table(
    state: State,
    file: ExistingFile,
    *,
    name: Line = "",
    kind: TableKind = "auto",
    more: Annotated[tuple[ExistingFile, ...], Called("More files")] = (),
    boundary: Annotated[Boundary, Called("Part used at a boundary")] = "",
    part: SheetOrPart = "",
    note: Note = "",
) -> Answer[Revision]:
    """Add another table of the same car to the session.

    Args:
        file: the table as CSV, as pasted from a spreadsheet, or as a spreadsheet file.
        name: name of the table; the file's name if not given.
        kind: read the file as a curve or a grid where its shape does not decide.
        more: a file with another part of the same curve, where the ECU keeps it in several parts.
        boundary: which part to use where two disagree at their shared breakpoint.
        part: the sheet of a workbook, or the file in a zip with several.
        note: kept with its first revision.

    Example:
        add-table car.session intake_temperature.csv
    """
    table, ecu_format, arguments, remarks = _read((file, *more), name, kind, boundary, part)
    change = replace(bring_in(state, table, "add-table", arguments, note), ecu_format=ecu_format)
    return Answer(
        change.revision,
        lambda: {"revision": change.revision.id, **_table_json(table, remarks)},
        (
            phrase("{told} is revision {revision}.", told=_described(table), revision=change.revision.id),
            *remarks,
            *map(feeding, table.axes),
        ),
        change,
    )


def _read(
    files: Sequence[Path], name: str, kind: TableKind, boundary: Boundary, part: str
) -> tuple[Table, EcuFormat | None, dict[str, Json], tuple[str, ...]]:
    """Read a table from one file, or a curve from several that hold its parts."""
    name = name.strip() or (harmless(files[0].stem) if len(files) == 1 else "curve")
    remarks: tuple[str, ...] = ()
    tables: list[Table] = []
    sources: list[Json] = []
    for file in files:
        try:
            table, notes = read_table(file, name=name if len(files) == 1 else harmless(file.stem), kind=kind, part=part)
        except WorkbenchError as refusal:
            raise refused_as_table(file, part, refusal) from refusal
        tables.append(table)
        sources.append({"file": harmless(file.name), "sha256": hashlib.sha256(read_bytes(file)).hexdigest()})
        remarks += notes
    if not name:
        raise InputError("The table has no name.", phrase("Give one with {name_flag}.", name_flag=flag("name")))
    ecu_format = None
    table = tables[0]
    if len(tables) > 1:
        table, ecu_format, notes = joined(tables, name, boundary)
        remarks += notes
    check_not_swapped(table.axes)
    remarks += check_brought_in(table)
    arguments: dict[str, Json] = {"kind": kind, "assumed": list(remarks), "files": sources}
    return table, ecu_format, arguments, remarks


def _table_json(table: Table, remarks: tuple[str, ...]) -> dict[str, Json]:
    return {
        "table": table.name,
        "kind": table.kind,
        "shape": list(table.shape),
        "axes": [{"name": axis.name, "unit": axis.unit, "breakpoints": plain(axis.breakpoints)} for axis in table.axes],
        "values": plain(table.values),
        "assumed": list(remarks),
        "feeding": [feeding(axis) for axis in table.axes],
    }


def _described(table: Table) -> str:
    size = " x ".join(f"{counted(len(axis), 'breakpoint')} of {axis.label}" for axis in table.axes)
    return phrase(
        "the {kind} {table!r} of {value_label} over {size}",
        kind=table.kind,
        table=table.name,
        value_label=table.value_label,
        size=size,
    )
