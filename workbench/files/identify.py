"""What a file that was refused as one thing looks like instead, so that the refusal can say which command takes it."""

import io
from dataclasses import replace
from pathlib import Path

from workbench.errors import InputError, WorkbenchError
from workbench.files.channels.interpret import Choices
from workbench.files.disk.plain_files import reading
from workbench.files.disk.session_header import is_session
from workbench.files.disk.text_decoding import HEAD, decode_head
from workbench.files.formats.captures import BLF_MARK, is_asc, is_candump
from workbench.files.formats.containers import is_workbook, unwrapped
from workbench.files.formats.mdf import MARKS
from workbench.files.formats.sheets import read_sheet
from workbench.files.logs import Options, read_log_text
from workbench.files.tables.arranging import SeveralTablesError
from workbench.files.tables.tables import read_table
from workbench.files.vocabulary.spelling import plain_words
from workbench.files.vocabulary.units import find_unit
from workbench.model.table import Table
from workbench.phrases import call, phrase
from workbench.work import run

FEWEST_ROWS = 3
FEWEST_ROLES = 4
LARGEST_TABLE = 4_000_000  # bytes; a grid of 256 by 256 cells takes one, and 20 million refused as a log took minutes


def refused_as_table(path: Path, part: str, refusal: WorkbenchError) -> WorkbenchError:
    """Return the refusal of a file that is no table; one that says so where it is a log or a session."""
    if isinstance(refusal, SeveralTablesError):
        return refusal
    try:
        if is_session(path):
            return InputError(
                phrase("{path} is a session, not a table.", path=path),
                phrase("View it with: history {path}", path=path.name),
            )
        looks = _log_in(path, part)
    except (OSError, WorkbenchError):
        return refusal
    if not looks:
        return refusal
    return InputError(
        phrase("{path} is not a table; it looks like {looks}.", path=path.name, looks=looks),
        phrase(
            "Add it with: {add_log_command}. A session begins with a table: {new_command}",
            add_log_command=call("add-log", "SESSION", f"{path.name}"),
            new_command=call("new", "SESSION", "TABLE.csv"),
        ),
    )


def refused_as_log(path: Path, part: str, refusal: WorkbenchError) -> WorkbenchError:
    """Return the refusal of a file that is no log; one that says so where it is a table or a session."""
    try:
        if is_session(path):
            return InputError(
                phrase("{path} is a session, not a log.", path=path),
                phrase("View it with: history {path}", path=path.name),
            )
    except OSError:
        return refusal
    table = table_in(path, part)
    if table is None:
        return refusal
    return InputError(
        phrase(
            "{path} is not a log but can be read as a table, a {kind} of {table} cells. {message}",
            path=path.name,
            kind=table.kind,
            table=table.values.size,
            message=refusal.message,
        ),
        phrase(
            "Add a table with: {add_table_command}, or begin a session with it: {new_command}",
            add_table_command=call("add-table", "SESSION", f"{path.name}"),
            new_command=call("new", "SESSION", f"{path.name}"),
        )
        + (phrase(". If it is a log after all: {hint}", hint=refusal.hint) if refusal.hint else ""),
    )


def table_in(path: Path, part: str) -> Table | None:
    """Read a table from a file; None where it holds none, or one over time, which is a log."""
    try:
        if path.stat().st_size > LARGEST_TABLE:
            return None
        table, _ = read_table(path, part=part)
    except (OSError, WorkbenchError):
        return None
    for axis in table.axes:
        unit = find_unit(axis.unit)
        if (unit is not None and unit.quantity == "time") or "time" in plain_words(axis.name):
            return None
    return table


def _log_in(path: Path, part: str) -> str:
    """Return what kind of log a file looks like by its beginning; empty where it looks like none.

    Raises:
        OSError, WorkbenchError: when it cannot be read as one.
    """
    with reading(path) as file, unwrapped(file, path.name, part) as opened:
        if is_workbook(opened.file):
            text, _ = run(read_sheet(opened.file, opened.name, opened.part))
        else:
            head = opened.file.read(HEAD)
            if head.startswith(MARKS):
                return "a log, a measurement in MDF"
            if head.startswith(BLF_MARK) or is_candump(head) or is_asc(head):
                return "a log, a capture of CAN frames"
            text = decode_head(io.BytesIO(head), path.name).text
    for choices, fewest in ((Choices(), 1), (Choices(rate_hz=10.0), FEWEST_ROLES)):
        try:
            log = run(read_log_text(text, path.name, options=Options(replace(choices, must_be_plausible=False))))
        except InputError:  # it has no time; what is then left of a table is a channel or two
            continue
        if len(log.roles) >= fewest and log.rows >= FEWEST_ROWS:
            return phrase("a log of {channels} channels", channels=len(log.channels))
    return ""
