"""A session file: one SQLite database that rows are only ever added to."""

import json
import os
import re
import sqlite3
import tempfile
from collections.abc import Iterator
from contextlib import closing, contextmanager
from importlib import resources
from pathlib import Path
from typing import Any

from workbench.errors import FileError, StaleError, WorkbenchError
from workbench.files.disk.atomic_write import cannot_write, check_place, sync_folder, temporary_beside
from workbench.files.disk.session_header import APPLICATION_ID, DAMAGED, check_header, has_wal, why_read_only
from workbench.files.store.rows import (
    chain,
    change_of,
    channel_rows,
    drive_digest,
    drive_row,
    kind_and_payload,
    read_drive,
    read_revision,
    revision_row,
    to_json,
)
from workbench.model.history import Revision
from workbench.model.log import Drive
from workbench.model.packing import is_newer
from workbench.model.state import Applied, Change, DriveAdded

VERSION = 1
NEWER = "Open it with a newer version of the workbench; the file was not changed."
PAGE = 16_384  # bytes; the samples of a long log go into SQLite's log and from there into the file a quarter faster
PATIENCE_S = 5.0  # how long to wait for another process that is just writing


class Store:
    """An open session file.

    Attributes:
        path: of the file.
        read_only: why nothing can be written to it; empty when it can.
    """

    def __init__(self, path: Path, connection: sqlite3.Connection, read_only: str) -> None:
        """Use `Store.open`; this only keeps the three."""
        self.path = path
        self.read_only = read_only
        self._connection = connection
        self._open = True

    @classmethod
    def create(cls, path: Path, first: Change) -> None:
        """Make a session file that holds a first change; it appears at its path whole, or not at all.

        Raises:
            FileError: when something is at the path already, or the file cannot be written.
        """
        if os.path.lexists(path):
            raise FileError(f"{path} exists already.", "Choose another name; a session is never overwritten.")
        check_place(path)
        draft = temporary_beside(path)
        try:
            with _told(path):
                _write_new(draft, first)
            _move_new(draft, path)
        except OSError as error:
            raise cannot_write(path, error) from error
        finally:
            for left in (draft, draft.with_name(draft.name + "-journal"), draft.with_name(draft.name + "-wal")):
                left.unlink(missing_ok=True)

    @classmethod
    def open(cls, path: Path) -> "Store":
        """Open a session file; where it cannot be written to, for reading only.

        Raises:
            FileError: when it is missing, a directory, not a session, of a newer version, or damaged.
        """
        check_header(path)
        read_only = why_read_only(path)
        with _told(path):
            connection = _connect_to_read(path) if read_only else _connect(path, "mode=rw")
            try:
                connection.execute("PRAGMA synchronous = FULL")
                (version,) = connection.execute("PRAGMA user_version").fetchone()
                connection.execute("SELECT max(sequence) FROM change").fetchone()
            except BaseException:
                connection.close()
                raise
        if version != VERSION:
            connection.close()
            raise FileError(
                f"{path} is a session of version {version}; this program supports version {VERSION}.",
                NEWER,
            )
        return cls(path, connection, read_only)

    def changes(self, after: int = 0) -> list[Change]:
        """Read all changes recorded after the one of that sequence number, in order.

        Raises:
            FileError: naming the first row that is not as this program writes it.
        """
        with _told(self.path), _reading(self._connection) as connection:
            revisions: dict[int, Revision] = {}
            drives: dict[int, Drive] = {}
            found: list[Change] = []
            place, newer = "the list of changes", False
            try:
                for row in connection.execute("SELECT * FROM revision WHERE sequence > ? ORDER BY id", (after,)):
                    place = f"revision {row['id']}"
                    revisions[row["id"]] = read_revision(row)
                for row in connection.execute("SELECT * FROM drive WHERE sequence > ? ORDER BY id", (after,)):
                    place = f"drive {row['id']}"
                    channels = _channels(connection, row["id"])
                    newer = newer or any(map(is_newer, (row["time"], *(channel["samples"] for channel in channels))))
                    drives[row["id"]] = read_drive(row, channels)
                for row in connection.execute("SELECT * FROM change WHERE sequence > ? ORDER BY sequence", (after,)):
                    place = f"change {row['sequence']}"
                    found.append(change_of(row["kind"], json.loads(row["payload"]), revisions, drives))
            except (LookupError, TypeError, ValueError, WorkbenchError) as error:
                raise FileError(f"{self.path} is damaged at {place}: {error}.", DAMAGED) from error
        if newer:
            raise FileError(f"{self.path} was written by a newer version of the workbench.", NEWER)
        return found

    def sequence(self) -> int:
        """Give the number of changes in the file as it is now."""
        with _told(self.path):
            return _last(self._connection)[0]

    def append(self, sequence: int, change: Change) -> None:
        """Add a change after the one of that sequence number, whole or not at all.

        Raises:
            StaleError: when another process has added one meanwhile.
            FileError: when the file cannot be written; it is as it was.
        """
        if self.read_only:
            raise FileError(f"{self.path} cannot be changed: {self.read_only}.", "Work on a copy in another folder.")
        connection = self._connection
        with _told(self.path):
            connection.execute("BEGIN IMMEDIATE")
            try:
                _insert(connection, sequence + 1, change, self._digest_at(sequence))
                connection.execute("COMMIT")
            except BaseException:
                if connection.in_transaction:
                    connection.execute("ROLLBACK")
                raise
        self._settle()

    def close(self) -> None:
        """Close the file; all of it is then in the one file, unless another program still has it open."""
        if self._open and not self.read_only:
            self._settle()
        self._open = False
        self._connection.close()

    def problems(self) -> tuple[str, ...]:
        """Check the file against its digests, and SQLite's own structure; tell every problem as a sentence."""
        found = []
        with _told(self.path), _reading(self._connection) as connection:
            for (verdict,) in connection.execute("PRAGMA integrity_check(5)"):
                if verdict != "ok":
                    found.append(f"SQLite reports the file as damaged: {verdict}.")
            with closing(sqlite3.connect(":memory:")) as fresh:
                fresh.executescript(_schema())
                if _statements(connection) != _statements(fresh):
                    found.append("The rules that protect recorded rows were altered.")
            before = ""
            kept: dict[int, str] = {}
            for row in connection.execute("SELECT * FROM change ORDER BY sequence"):
                sequence, kind, payload, digest = tuple(row)
                if digest != chain(sequence, kind, payload, before):
                    found.append(
                        f"Change {sequence} ({kind}) differs from what was recorded: its digest does not match."
                    )
                before = digest
                if kind == "drive-added":
                    kept |= {drive["id"]: drive["digest"] for drive in json.loads(payload)["drives"]}
                elif kind == "applied":
                    found += _revision_problem(connection, json.loads(payload))
            for number, digest in kept.items():
                found += _drive_problem(connection, number, digest)
        return tuple(found)

    def _digest_at(self, sequence: int) -> str:
        last, digest = _last(self._connection)
        if last != sequence:
            raise StaleError(
                f"Another program changed {self.path} meanwhile.",
                "Nothing was written; check the current state of the session, then run the command again.",
            )
        return digest

    def _settle(self) -> None:
        """Bring what was written into the file itself, so that a copy of it is whole; it is safe already if not."""
        try:
            self._connection.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchall()
        except sqlite3.OperationalError:  # another program reads just now, or the disk is full
            return


def _write_new(draft: Path, first: Change) -> None:
    connection = sqlite3.connect(draft, isolation_level=None)
    try:
        connection.execute(f"PRAGMA page_size = {PAGE}")
        connection.execute("PRAGMA synchronous = FULL")
        connection.executescript("BEGIN;" + _schema())
        connection.execute(f"PRAGMA application_id = {APPLICATION_ID}")
        connection.execute(f"PRAGMA user_version = {VERSION}")
        _insert(connection, 1, first, "")
        connection.execute("COMMIT")
        connection.execute("PRAGMA journal_mode = WAL").fetchall()
    finally:
        connection.close()


def _schema() -> str:
    return resources.files("workbench.files.store").joinpath("schema.sql").read_text("utf-8")


def _statements(connection: sqlite3.Connection) -> list[str]:
    """Give what a database is made of, without comments."""
    found = connection.execute("SELECT coalesce(sql, name) FROM sqlite_master ORDER BY type, name").fetchall()
    return [" ".join(re.sub("--.*", "", sql).split()) for (sql,) in found]


def _move_new(draft: Path, path: Path) -> None:
    """Give the finished file its name, without ever replacing another."""
    exists = FileError(f"{path} exists already.", "Choose another name; a session is never overwritten.")
    try:
        os.link(draft, path)
    except FileExistsError:
        raise exists from None
    except OSError:  # a file system without hard links
        if os.path.lexists(path):
            raise exists from None
        draft.rename(path)
    sync_folder(path.absolute().parent)


def _connect(path: Path, options: str) -> sqlite3.Connection:
    # The window writes long logs down on its worker's thread; it sees to it that two threads never write at once.
    connection = sqlite3.connect(
        f"{path.resolve().as_uri()}?{options}",
        uri=True,
        timeout=PATIENCE_S,
        isolation_level=None,
        check_same_thread=False,
    )
    connection.row_factory = sqlite3.Row
    return connection


def _connect_to_read(path: Path) -> sqlite3.Connection:
    """Open without making any file: as it lies, or, where changes wait in a file beside it, as a copy of both."""
    if not has_wal(path):
        return _connect(path, "mode=ro&immutable=1")
    real = path.resolve()
    with tempfile.TemporaryDirectory() as folder:
        copy = Path(folder) / "copy"
        copy.write_bytes(real.read_bytes())
        copy.with_name("copy-wal").write_bytes(real.with_name(real.name + "-wal").read_bytes())
        on_disk = _connect(copy, "mode=rw")
        on_disk.execute("PRAGMA journal_mode = DELETE").fetchall()
        in_memory = sqlite3.connect(":memory:", isolation_level=None)
        in_memory.row_factory = sqlite3.Row
        on_disk.backup(in_memory)
        on_disk.close()
    return in_memory


def _last(connection: sqlite3.Connection) -> tuple[int, str]:
    row = connection.execute("SELECT sequence, digest FROM change ORDER BY sequence DESC LIMIT 1").fetchone()
    return (row["sequence"], row["digest"]) if row else (0, "")


def _insert(connection: sqlite3.Connection, sequence: int, change: Change, before: str) -> None:
    kind, payload = kind_and_payload(change)
    text = to_json(payload)
    row = {"sequence": sequence, "kind": kind, "payload": text, "digest": chain(sequence, kind, text, before)}
    _insert_row(connection, "change", row)
    match change:
        case Applied(revision):
            _insert_row(connection, "revision", revision_row(revision, sequence))
        case DriveAdded(drives):
            for drive in drives:
                _insert_row(connection, "drive", drive_row(drive, sequence))
                for channel in channel_rows(drive):
                    _insert_row(connection, "channel", channel)


def _insert_row(connection: sqlite3.Connection, table: str, row: dict[str, Any]) -> None:
    names, marks = ", ".join(row), ", ".join(f":{name}" for name in row)
    connection.execute(f"INSERT INTO {table} ({names}) VALUES ({marks})", row)


def _channels(connection: sqlite3.Connection, drive: int) -> list[Any]:
    return connection.execute("SELECT * FROM channel WHERE drive = ? ORDER BY position", (drive,)).fetchall()


def _revision_problem(connection: sqlite3.Connection, payload: dict[str, Any]) -> list[str]:
    row = connection.execute("SELECT digest FROM revision WHERE id = ?", (payload["revision"],)).fetchone()
    if row is None:
        return [f"Revision {payload['revision']} is missing."]
    if row["digest"] != payload["digest"]:
        return [f"Revision {payload['revision']} has a digest other than the recorded one."]
    return []


def _drive_problem(connection: sqlite3.Connection, number: int, digest: str) -> list[str]:
    row = connection.execute("SELECT * FROM drive WHERE id = ?", (number,)).fetchone()
    if row is None:
        return [f"Drive {number} is missing."]
    try:
        if drive_digest(read_drive(row, _channels(connection, number))) == digest:
            return []
    except (LookupError, TypeError, ValueError, WorkbenchError) as error:
        return [f"Drive {number} cannot be read: {error}."]
    return [f"Drive {number} differs from what was added: its digest does not match."]


@contextmanager
def _reading(connection: sqlite3.Connection) -> Iterator[sqlite3.Connection]:
    """Hold one and the same view of the file while several questions are asked."""
    connection.execute("BEGIN")
    try:
        yield connection
    finally:
        connection.execute("ROLLBACK")


@contextmanager
def _told(path: Path) -> Iterator[None]:
    """Turn what SQLite says into a sentence for people.

    Raises:
        FileError: naming the path and what to do.
    """
    try:
        yield
    except sqlite3.Error as error:
        if isinstance(error, sqlite3.ProgrammingError | sqlite3.IntegrityError | sqlite3.InterfaceError):
            raise  # a fault of this program
        code = getattr(error, "sqlite_errorcode", sqlite3.SQLITE_CORRUPT) & 0xFF  # none: text that is no text
        message, hint = _SENTENCES.get(code, _SENTENCES[sqlite3.SQLITE_CORRUPT])
        raise FileError(f"{path} {message} ({error}).", hint) from error


_FULL = "Nothing was written and nothing is lost. Free disk space, then run the command again."
_BUSY = "Nothing was written. Close the other program, or wait a moment and run the command again."
_RIGHTS = "Nothing was written. Check the permissions of the file and its folder."
_SENTENCES = {
    sqlite3.SQLITE_FULL: ("cannot be written: the disk is full", _FULL),
    sqlite3.SQLITE_IOERR: ("cannot be read or written: the disk is full or failing", _FULL),
    sqlite3.SQLITE_BUSY: ("is being written to by another program", _BUSY),
    sqlite3.SQLITE_LOCKED: ("is being written to by another program", _BUSY),
    sqlite3.SQLITE_READONLY: ("cannot be changed", _RIGHTS),
    sqlite3.SQLITE_PERM: ("cannot be changed", _RIGHTS),
    sqlite3.SQLITE_CANTOPEN: ("cannot be opened", _RIGHTS),
    sqlite3.SQLITE_CORRUPT: ("is damaged", DAMAGED),
    sqlite3.SQLITE_NOTADB: ("is not a session file, or its header is damaged", DAMAGED),
    sqlite3.SQLITE_ERROR: ("is not a session file, or is damaged", DAMAGED),
}
