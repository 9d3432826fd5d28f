"""A session file: one SQLite database that rows are only ever added to."""

import sqlite3
import weakref
from contextlib import closing
from pathlib import Path

from workbench.errors import FileError, StaleError
from workbench.files.disk.atomic_write import tidy_second_name
from workbench.files.disk.session_header import check_header, has_wal, why_read_only
from workbench.files.store.connecting import (
    check_schema,
    closed_on_error,
    connect,
    connect_to_read,
    is_in_the_way,
    refusing_clearly,
    viewing,
)
from workbench.files.store.place import Place
from workbench.files.store.reading import Record, read_record
from workbench.files.store.refusals import altered, while_open
from workbench.files.store.waiting import check_fit
from workbench.files.store.writing import insert, make_session, raise_version, recorded
from workbench.model.state import Change
from workbench.phrases import phrase

VERSION = 5  # the newest of the file; a file has that of the newest kind of change in it (versions.version_of)
NEWER = "Open it with a newer version of the workbench; the file was not changed."
_SETTLE_MS = 50  # how long to wait for readers until what was written can go into the file itself

_live: "weakref.WeakSet[Store]" = weakref.WeakSet()


class Store:
    """An open session file.

    Attributes:
        path: of the file.
        read_only: why nothing can be written to it; empty when it can.
        record: what was read from it and written to it so far.
    """

    def __init__(self, path: Path, connection: sqlite3.Connection, read_only: str, place: Place | None = None) -> None:
        """Use `Store.open`; this only keeps what it found."""
        self.path = path
        self.read_only = read_only
        self.record = Record()
        self._connection = connection
        self._place = place
        self._others = 0  # what SQLite counts when another connection commits, as it was when all was known to be whole
        self._open = True
        _live.add(self)

    @classmethod
    def create(cls, path: Path, first: Change) -> None:
        """Make a session file that holds a first change; it appears at its path whole, or not at all.

        Raises:
            FileError: when something is at the path already, or the file cannot be written.
        """
        make_session(path, recorded(1, first, ""))

    @classmethod
    def open(cls, path: Path) -> "Store":
        """Open a session file; where it cannot be written to, for reading only.

        Raises:
            FileError: when it is missing, a directory, not a session, of a newer version, or damaged.
        """
        check_header(path)
        tidy_second_name(path)
        read_only = why_read_only(path)
        place = None if read_only else _claimed(path)
        try:
            if has_wal(path) and not _is_open_here(path):
                check_fit(path)
            with refusing_clearly(path):
                connection = connect_to_read(path) if read_only else connect(path, "mode=rw")
                with closed_on_error(connection):
                    if not read_only and (read_only := _why_only_read(connection)):
                        connection.close()
                        connection = connect_to_read(path)
        except BaseException:
            if place is not None:
                place.release()
            raise
        store = cls(path, connection, read_only, place)
        try:
            store._look()
        except BaseException:
            store.close()
            raise
        return store

    def lies_at(self, path: Path) -> bool:
        """Tell whether a path leads to the very file that is open here for writing."""
        return self._place is not None and self._place.is_at(path)

    def changes(self, after: int = 0) -> list[Change]:
        """Read all changes recorded after the one of that sequence number, in order, and hold them against digests.

        Raises:
            FileError: naming what is not as it was recorded.
        """
        known = self.record if after else Record()
        with refusing_clearly(self.path), viewing(self._connection) as connection:
            found, others = read_record(connection, known), _commits_of_others(connection)
        if found.newer:
            raise FileError(phrase("{path} was written by a newer version of the workbench.", path=self.path), NEWER)
        if found.problems:
            raise altered(self.path, found.problems)
        if not after:
            self.record = Record()
        self.record.add(found)
        self._others = others
        return found.changes

    def sequence(self) -> int:
        """Return the number of changes in the file as it is now.

        Raises:
            FileError: when the file is not there any more, or another lies in its place.
        """
        self._check_place()
        with refusing_clearly(self.path):
            return _last(self._connection)[0]

    def find(self) -> None:
        """See whether the file still holds all that was read and recorded here, as it was.

        Raises:
            FileError: when it is not there any more, another lies in its place, or another program altered it.
        """
        self._check_place()
        with refusing_clearly(self.path):
            self._check_rows()

    def append(self, sequence: int, change: Change) -> None:
        """Add a change after the one of that sequence number, whole or not at all.

        Raises:
            StaleError: when another process has added one meanwhile.
            FileError: when the file cannot be written, or is not there any more; it is as it was.
        """
        if self.read_only:
            raise FileError(
                phrase("{path} cannot be changed: {read_only}.", path=self.path, read_only=self.read_only),
                "Work on a copy in another folder.",
            )
        self._check_place()
        connection = self._connection
        with refusing_clearly(self.path):
            connection.execute("BEGIN IMMEDIATE")
            try:
                self._check_place(written_by_us=True)
                added = recorded(sequence + 1, change, self._digest_at(sequence))
                self._check_rows()
                insert(connection, added)
                raise_version(connection, added)
                connection.execute("COMMIT")
            except BaseException:
                if connection.in_transaction:
                    connection.execute("ROLLBACK")
                raise
        self._settle()
        self._check_place()
        if self.record.last[0] == sequence:
            self.record.add(added)

    def wait_for_others(self, longest_s: float) -> None:
        """Describe how long to wait for another program that is just writing."""
        self._connection.execute(f"PRAGMA busy_timeout = {round(1000 * longest_s)}")

    def close(self) -> None:
        """Close the file; all of it is then in the one file, unless another program still has it open."""
        if self._open and not self.read_only:
            self._settle()
        self._open = False
        _live.discard(self)
        self._connection.close()
        if self._place is not None:
            self._place.release()

    def copy_to(self, path: Path) -> None:
        """Write all that was read and recorded here to a new file, row by row as it was, wherever this one went.

        Raises:
            FileError: when something is at the path already, or it cannot be written.
        """
        make_session(path, self.record)

    def problems(self) -> tuple[str, ...]:
        """Check the file against its digests, and SQLite's own structure; tell every problem as a sentence."""
        with refusing_clearly(self.path), viewing(self._connection) as connection:
            verdicts = [verdict for (verdict,) in connection.execute("PRAGMA integrity_check(5)") if verdict != "ok"]
            found = read_record(connection, Record())
        self.record = found
        return (
            *(phrase("SQLite reports the file as damaged: {verdict}.", verdict=verdict) for verdict in verdicts),
            *found.problems,
        )

    def _look(self) -> None:
        """See that the file is ours, of our version, and holds nothing but what we made in it."""
        with refusing_clearly(self.path):
            (version,) = self._connection.execute("PRAGMA user_version").fetchone()
            if not 1 <= version <= VERSION:
                raise FileError(
                    phrase(
                        "{path} is a session of version {version}; this program supports versions up to {newest}.",
                        path=self.path,
                        version=version,
                        newest=VERSION,
                    ),
                    NEWER,
                )
            if wrong := check_schema(self._connection):
                raise altered(self.path, [f"{wrong}."])
            self._connection.execute("PRAGMA synchronous = FULL")
            _last(self._connection)
        if self._place is not None:
            self._place.remember()
            self._place.check()

    def _check_place(self, *, written_by_us: bool = False) -> None:
        """Refuse where the file is not the one that was opened.

        Args:
            written_by_us: whether nobody else can write to it just now.

        Raises:
            FileError: saying what became of it.
        """
        if self._place is None or self._place.check():
            return
        sequence, digest = self.record.last
        try:
            with closing(connect(self._place.real, "mode=ro")) as fresh:
                there = fresh.execute("SELECT digest FROM change WHERE sequence = ?", (sequence,)).fetchone()
                same = not sequence or (there is not None and there["digest"] == digest)
                same = same and (not written_by_us or _last(fresh) == _last(self._connection))
        except sqlite3.DatabaseError as error:
            if is_in_the_way(error):
                return
            same = False
        if not same:
            raise self._place.lost("does not hold this session any more: something else was written over it")
        self._place.remember()

    def _check_rows(self) -> None:
        """Refuse where another program committed something, and no change of a session: it altered what stood there.

        Raises:
            LostFileError: naming what is not as it was recorded.
        """
        others = _commits_of_others(self._connection)
        if others != self._others and (problems := read_record(self._connection, Record()).problems):
            raise while_open(altered(self.path, problems))
        self._others = others

    def _digest_at(self, sequence: int) -> str:
        last, digest = _last(self._connection)
        if last != sequence:
            raise StaleError(
                phrase("Another program changed {path} meanwhile.", path=self.path),
                "Nothing was written; look at what the session holds now, then do it again.",
            )
        return digest

    def _settle(self) -> None:
        """Bring what was written into the file itself, so that a copy of it is whole; it is safe already if not."""
        connection = self._connection
        try:
            (patience,) = connection.execute("PRAGMA busy_timeout").fetchone()
            connection.execute(f"PRAGMA busy_timeout = {_SETTLE_MS}")
            try:
                connection.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchall()
            finally:
                connection.execute(f"PRAGMA busy_timeout = {patience}")
        except (
            sqlite3.DatabaseError,
            UnicodeDecodeError,
        ):  # another program reads just now, the disk is full, or the file is gone
            pass
        if self._place is not None:
            self._place.remember()


def live_store(path: Path, sequence: int) -> Store | None:
    """Return the store of a session that is open in this process and knows so many changes; None where none is."""
    known = [store for store in _live if store.path == path and len(store.record.rows) >= max(sequence, 1)]
    return min(known, key=lambda store: len(store.record.rows), default=None)


def _is_open_here(path: Path) -> bool:
    """Tell whether a session is in use in this process: what waits beside it is then its own, and must stay there."""
    return any(store.lies_at(path) for store in _live)


def _why_only_read(connection: sqlite3.Connection) -> str:
    """Explain why a session can only be read although its file can be written; empty where nothing is in the way."""
    try:
        connection.execute("SELECT count(*) FROM sqlite_master").fetchone()
    except sqlite3.OperationalError as error:
        if error.sqlite_errorcode & 0xFF in (sqlite3.SQLITE_FULL, sqlite3.SQLITE_IOERR, sqlite3.SQLITE_CANTOPEN):
            return "the disk is full or failing"
    except sqlite3.DatabaseError:
        pass  # what is wrong with it is told in a moment
    return ""


def _claimed(path: Path) -> Place:
    try:
        return Place(path)
    except OSError as error:
        raise FileError(
            phrase("{path} cannot be read: {strerror}.", path=path, strerror=error.strerror), "Check its permissions."
        ) from error


def _commits_of_others(connection: sqlite3.Connection) -> int:
    """Return a number that changes when another connection commits (PRAGMA data_version in SQLite's manual)."""
    return int(connection.execute("PRAGMA data_version").fetchone()[0])


def _last(connection: sqlite3.Connection) -> tuple[int, str]:
    row = connection.execute("SELECT sequence, digest FROM change ORDER BY sequence DESC LIMIT 1").fetchone()
    return (row["sequence"], row["digest"]) if row else (0, "")
