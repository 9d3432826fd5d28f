"""Ways to a session's database: opened so that nothing that stands in the file can act, and refusing in sentences."""

import re
import sqlite3
import sys
import time
from collections.abc import Iterator
from contextlib import closing, contextmanager
from functools import cache
from pathlib import Path

from workbench.errors import FileError
from workbench.files.disk.plain_files import read_bytes
from workbench.files.disk.scratch import scratch_folder
from workbench.files.disk.session_header import DAMAGED, has_wal
from workbench.phrases import phrase

PATIENCE_S = 5.0  # how long to wait for another process that is just writing
LONGEST_QUESTION_S = 120.0  # a file that keeps SQLite busy for longer is not one of ours
_STEPS = 100_000  # of SQLite's machine between two looks at the clock
_LONGEST_VALUE = 1 << 30  # bytes; the samples of 5 million rows take 40 million
_NOT_AS_MADE = "The rules that protect recorded rows were altered"


def connect(path: Path, options: str) -> sqlite3.Connection:
    """Open a database as it lies; nothing in it is run or trusted.

    Raises:
        sqlite3.Error: when it cannot be opened.
    """
    # The window writes long logs down on its worker's thread; it sees to it that two threads never write at once.
    connection = sqlite3.connect(
        f"{path.resolve().as_uri()}?{options}",
        uri=True,
        timeout=PATIENCE_S,
        isolation_level=None,
        check_same_thread=False,
    )
    with closed_on_error(connection):
        connection.row_factory = sqlite3.Row
        connection.text_factory = _text
        connection.setlimit(sqlite3.SQLITE_LIMIT_LENGTH, _LONGEST_VALUE)
        connection.setlimit(sqlite3.SQLITE_LIMIT_ATTACHED, 0)
        connection.execute("PRAGMA trusted_schema = OFF")
        connection.execute("PRAGMA cell_size_check = ON")
        if sys.version_info >= (3, 12):
            connection.setconfig(sqlite3.SQLITE_DBCONFIG_DEFENSIVE, True)
    return connection


@contextmanager
def closed_on_error(connection: sqlite3.Connection) -> Iterator[None]:
    """Close a connection that nobody gets: left to itself it would hold the file until it is collected."""
    try:
        yield
    except BaseException:
        connection.close()
        raise


def connect_to_read(path: Path) -> sqlite3.Connection:
    """Open without making any file: as it lies, or, where changes wait in a file beside it, as a copy of both."""
    if not has_wal(path):
        return connect(path, "mode=ro&immutable=1")
    with copied(path) as copy, closing(connect(copy, "mode=rw")) as on_disk:
        on_disk.execute("PRAGMA journal_mode = DELETE").fetchall()
        in_memory = sqlite3.connect(":memory:", isolation_level=None)
        with closed_on_error(in_memory):
            in_memory.row_factory, in_memory.text_factory = sqlite3.Row, _text
            on_disk.backup(in_memory)
    return in_memory


@contextmanager
def copied(path: Path, *, whole: bool = True) -> Iterator[Path]:
    """Copy a session into a folder that goes again: with the changes that wait beside it, or without."""
    real = path.resolve()
    with scratch_folder() as folder:
        copy = folder / "copy"
        copy.write_bytes(read_bytes(real))
        if whole and has_wal(path):
            copy.with_name("copy-wal").write_bytes(read_bytes(real.with_name(real.name + "-wal")))
        yield copy


def schema() -> str:
    """Return the statements that make an empty session."""
    return (Path(__file__).parent / "schema.sql").read_text("utf-8")


def is_in_the_way(error: Exception) -> bool:
    """Tell whether SQLite could not look at a file, which says nothing of what the file holds."""
    return getattr(error, "sqlite_errorcode", 0) & 0xFF in _IN_THE_WAY


def check_schema(connection: sqlite3.Connection) -> str:
    """Tell, as a sentence without its full stop, what is other than we make it; ask before anything else is asked."""
    try:
        found = _objects(connection)
    except (ValueError, sqlite3.DatabaseError) as error:
        if is_in_the_way(error):
            raise
        return f"{_NOT_AS_MADE}: {error}"
    ours = _ours()
    for key in ours.keys() | found.keys():
        if found.get(key) != ours.get(key):
            kind, name = key
            what = "is missing" if key not in found else "is not ours" if key not in ours else "says something else"
            return f"{_NOT_AS_MADE}: the {kind} {name!r} {what}"
    return ""


@cache
def _ours() -> dict[tuple[str, str], str]:
    with closing(sqlite3.connect(":memory:")) as fresh:
        fresh.executescript(schema())
        return _objects(fresh)


def _objects(connection: sqlite3.Connection) -> dict[tuple[str, str], str]:
    """Return what a database is made of, without comments: kind and name -> table it is of, and its statement."""
    rows = connection.execute("SELECT type, name, tbl_name, sql FROM sqlite_master").fetchall()
    return {
        (str(kind), str(name)): f"{table}: {' '.join(re.sub('--.*', '', str(sql)).split())}"
        for kind, name, table, sql in rows
    }


@contextmanager
def viewing(connection: sqlite3.Connection) -> Iterator[sqlite3.Connection]:
    """Hold one and the same view of the file while several questions are asked, and end those that never end."""
    last = time.monotonic() + LONGEST_QUESTION_S
    connection.set_progress_handler(lambda: time.monotonic() > last, _STEPS)
    connection.execute("BEGIN")
    try:
        yield connection
    finally:
        connection.set_progress_handler(None, 0)
        connection.execute("ROLLBACK")


@contextmanager
def refusing_clearly(path: Path) -> Iterator[None]:
    """Turn what SQLite says into a sentence for people.

    Raises:
        FileError: naming the path and what to do.
    """
    try:
        yield
    except UnicodeDecodeError as error:  # SQLite names what it stumbled over, and the name is no text
        raise FileError(phrase("{path} is damaged ({error}).", path=path, error=error), DAMAGED) from error
    except sqlite3.Error as error:
        if isinstance(error, sqlite3.ProgrammingError | sqlite3.InterfaceError):
            raise  # a fault of this program
        code = getattr(error, "sqlite_errorcode", sqlite3.SQLITE_CORRUPT) & 0xFF  # none: text that is no text
        message, hint = _SENTENCES.get(code, _SENTENCES[sqlite3.SQLITE_CORRUPT])
        raise FileError(f"{path} {message} ({error}).", hint) from error


def _text(raw: bytes) -> str:
    """Decode text; bytes that are none stay to be found as such when the row is held against its digest."""
    return raw.decode("utf-8", "surrogateescape")


_FULL = "Nothing was written and nothing is lost. Free disk space, then do it again."
_BUSY = "Nothing was written. Close the other program, or wait a moment and do it again."
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
    sqlite3.SQLITE_CONSTRAINT: ("is damaged: a row does not follow from those before it", DAMAGED),
    sqlite3.SQLITE_INTERRUPT: ("keeps its reader busy without end: it is damaged, or was made to", DAMAGED),
    sqlite3.SQLITE_NOTADB: ("is not a session file, or its header is damaged", DAMAGED),
    sqlite3.SQLITE_ERROR: ("is not a session file, or is damaged", DAMAGED),
}
# What keeps from looking at a file, and is nothing wrong in it.
_IN_THE_WAY = (
    sqlite3.SQLITE_BUSY,
    sqlite3.SQLITE_LOCKED,
    sqlite3.SQLITE_CANTOPEN,
    sqlite3.SQLITE_READONLY,
    sqlite3.SQLITE_FULL,
    sqlite3.SQLITE_IOERR,
)
