"""Session files made, and rows added to them."""

import os
import sqlite3
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from workbench.errors import FileError, InputError
from workbench.files.disk.atomic_write import (
    BESIDE_A_SESSION,
    cannot_write,
    check_place,
    sync_folder,
    temporary_beside,
    tidy,
)
from workbench.files.disk.session_header import APPLICATION_ID
from workbench.files.store.connecting import refusing_clearly, schema
from workbench.files.store.reading import ChangeRow, Record
from workbench.files.store.rows import (
    chain,
    channel_rows,
    drive_row,
    kind_and_payload,
    revision_row,
    to_json,
)
from workbench.files.store.versions import version_of
from workbench.model.state import Applied, Change, DriveAdded
from workbench.phrases import phrase

PAGE = 16_384  # bytes; the samples of a long log go into SQLite's log and from there into the file a quarter faster


def recorded(sequence: int, change: Change, before: str) -> Record:
    """Return a change as it is to lie in a file, after that of the digest `before`.

    Raises:
        InputError: when a text in it cannot be written as UTF-8.
    """
    kind, payload = kind_and_payload(change)
    try:
        text = to_json(payload)
        text.encode()
    except UnicodeEncodeError as error:
        raise InputError(
            phrase("A name or note holds an invalid character, {object!r}.", object=error.object[error.start]),
            "Remove it.",
        ) from error
    made = Record([ChangeRow(sequence, kind, text, chain(sequence, kind, text, before))], changes=[change])
    match change:
        case Applied(revision):
            made.revisions[revision.id] = (sequence, revision)
        case DriveAdded(drives):
            made.drives.update({drive.id: (sequence, drive) for drive in drives})
    return made


def make_session(path: Path, record: Record) -> None:
    """Make a session file of a record; it appears at its path whole, or not at all."""
    if os.path.lexists(path):
        raise FileError(
            phrase("{path} exists already.", path=path), "Choose another name; a session is never overwritten."
        )
    if path.name.endswith(BESIDE_A_SESSION):
        raise FileError(
            phrase("A session cannot end in {beside_a_session}.", beside_a_session=" or ".join(BESIDE_A_SESSION)),
            "Choose another name.",
        )
    _check_nothing_waits(path)
    check_place(path)
    tidy(path.absolute().parent)
    draft = temporary_beside(path)
    try:
        with refusing_clearly(path):
            _write_new(draft, record)
        move_new(draft, path)
    except OSError as error:
        raise cannot_write(path, error) from error
    finally:
        for left in (draft, draft.with_name(draft.name + "-journal"), draft.with_name(draft.name + "-wal")):
            left.unlink(missing_ok=True)


def _check_nothing_waits(path: Path) -> None:
    """Refuse a name beside which changes of a session wait that went away: they would go into the new one.

    Raises:
        FileError: naming the file, which is left as it is.
    """
    for ending in ("-wal", "-journal"):
        waiting = path.with_name(path.name + ending)
        if waiting.exists() and waiting.stat().st_size:
            raise FileError(
                phrase(
                    "{path} cannot be made: {waiting} beside it holds changes of a session that was called so.",
                    path=path,
                    waiting=waiting.name,
                ),
                phrase(
                    "Choose another name. If that session was renamed or moved, put {waiting} beside it again, under "
                    "the session's new name with {ending} behind it, before you open it: its last changes may wait "
                    "there.",
                    waiting=waiting.name,
                    ending=ending,
                ),
            )


def _write_new(draft: Path, record: Record) -> None:
    connection = sqlite3.connect(draft, isolation_level=None)
    try:
        connection.execute(f"PRAGMA page_size = {PAGE}")
        connection.execute("PRAGMA synchronous = FULL")
        connection.executescript("BEGIN;" + schema())
        connection.execute(f"PRAGMA application_id = {APPLICATION_ID}")
        insert(connection, record)
        raise_version(connection, record)
        connection.execute("COMMIT")
        connection.execute("PRAGMA journal_mode = WAL").fetchall()
    finally:
        connection.close()


def raise_version(connection: sqlite3.Connection, added: Record) -> None:
    """Let a file be of the version that a program must know to read it."""
    (version,) = connection.execute("PRAGMA user_version").fetchone()
    wanted = max(version_of(row.kind, row.payload) for row in added.rows)
    if wanted > version:
        connection.execute(f"PRAGMA user_version = {wanted}")


def move_new(draft: Path, path: Path) -> None:
    """Give the finished file its name, without ever replacing another."""
    exists = FileError(
        phrase("{path} exists already.", path=path), "Choose another name; a session is never overwritten."
    )
    try:
        os.link(draft, path)
    except FileExistsError:
        raise exists from None
    except OSError:  # a file system without hard links
        if os.path.lexists(path):
            raise exists from None
        draft.rename(path)
    sync_folder(path.absolute().parent)


def insert(connection: sqlite3.Connection, record: Record) -> None:
    """Add the rows of a record, within a transaction.

    Raises:
        sqlite3.Error: when they cannot be written.
    """
    for table, row in rows_of(record):
        names, marks = ", ".join(row), ", ".join(f":{name}" for name in row)
        connection.execute(f"INSERT INTO {table} ({names}) VALUES ({marks})", row)


def rows_of(record: Record) -> Iterator[tuple[str, dict[str, Any]]]:
    """Yield the rows of a record, each after those it names."""
    for each in record.rows:
        yield (
            "change",
            {"sequence": each.sequence, "kind": each.kind, "payload": each.payload, "digest": each.digest},
        )
    for sequence, revision in record.revisions.values():
        yield "revision", revision_row(revision, sequence)
    for sequence, drive in record.drives.values():
        yield "drive", drive_row(drive, sequence)
        for channel in channel_rows(drive):
            yield "channel", channel
