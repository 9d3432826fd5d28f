"""Bringing tables into a session."""

import hashlib
from pathlib import Path

from workbench.commands.making import bring_in, plain
from workbench.commands.registry import Answer, command
from workbench.errors import InputError
from workbench.files.tables import TableKind, read_table
from workbench.model.history import Json
from workbench.model.state import State
from workbench.model.table import Table
from workbench.session import Session


@command("New session", menu="Session", shortcut="Ctrl+N", icon="new")
def new(session: Path, file: Path, *, name: str = "", kind: TableKind = "auto", note: str = "") -> Answer:
    """Make a session from a table as the ECU holds it today.

    Args:
        session: where to make the session; nothing may be there yet.
        file: the table as CSV or as a spreadsheet pastes it.
        name: what to call the table; by default the file's name.
        kind: take the file for a curve or a grid, where it cannot be told.
        note: kept with the first revision.

    Example:
        new car.session airflow.csv --name airflow
    """
    table, arguments, remarks = _read(file, name, kind)
    with Session.create(session, table, note=note, arguments=arguments) as made:
        head = made.state.head()
    data: dict[str, Json] = {
        "session": str(session),
        "revision": head.id,
        "table": table.name,
        "kind": table.kind,
        "shape": list(table.shape),
        "values": plain(table.values),
        "assumed": list(remarks),
    }
    return Answer(data, (f"{session}: {_told(table)} is revision 1.", *remarks))


@command("Add a table", menu="Session", shortcut="Ctrl+Shift+N", icon="add-table")
def add_table(state: State, file: Path, *, name: str = "", kind: TableKind = "auto", note: str = "") -> Answer:
    """Bring one more table of the same car into the session.

    Args:
        file: the table as CSV or as a spreadsheet pastes it.
        name: what to call the table; by default the file's name.
        kind: take the file for a curve or a grid, where it cannot be told.
        note: kept with its first revision.

    Example:
        add-table car.session intake_temperature.csv
    """
    table, arguments, remarks = _read(file, name, kind)
    change = bring_in(state, table, "add-table", arguments, note)
    data: dict[str, Json] = {
        "revision": change.revision.id,
        "table": table.name,
        "kind": table.kind,
        "shape": list(table.shape),
        "values": plain(table.values),
        "assumed": list(remarks),
    }
    return Answer(data, (f"{_told(table)} is revision {change.revision.id}.", *remarks), change, table)


def _read(file: Path, name: str, kind: TableKind) -> tuple[Table, dict[str, Json], tuple[str, ...]]:
    table, remarks = read_table(file, name=name.strip() or None, kind=kind)
    if not table.name.strip():
        raise InputError("The table has no name.", "Give one with --name.")
    digest = hashlib.sha256(file.read_bytes()).hexdigest()
    return table, {"file": file.name, "sha256": digest, "kind": kind, "assumed": list(remarks)}, remarks


def _told(table: Table) -> str:
    size = " x ".join(f"{len(axis)} breakpoints of {axis.label}" for axis in table.axes)
    return f"the {table.kind} {table.name!r} of {table.value_label} over {size}"
