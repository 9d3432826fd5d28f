"""The first bytes of a session file, looked at before it is opened as a database at all."""

import os
from pathlib import Path

from workbench.errors import FileError
from workbench.files.disk.plain_files import reading
from workbench.phrases import call, phrase

APPLICATION_ID = 0x43574231  # "CWB1" at byte 68 of the file says whose it is
DAMAGED = "Copy the damaged file first, then go back to your last good copy."
_MAGIC = b"SQLite format 3\0"


def check_header(path: Path) -> None:
    """Refuse what is no session, so that another program's file is never touched.

    Raises:
        FileError: when it is missing, not a file, not ours, or cut short.
    """
    if path.is_dir():
        raise FileError(
            phrase("{path} is a directory, not a session file.", path=path), "Name the session file itself."
        )
    if not path.exists():
        raise FileError(
            phrase("There is no session file {path}.", path=path),
            phrase(
                "Check the spelling, or make one with: {new_command}", new_command=call("new", "SESSION", "TABLE.csv")
            ),
        )
    if not path.is_file():
        raise FileError(phrase("{path} is not a regular file.", path=path), "Name a session file.")
    try:
        with reading(path) as file:
            header = file.read(100)
            size = file.seek(0, os.SEEK_END)
    except OSError as error:
        raise FileError(
            phrase("{path} cannot be read: {strerror}.", path=path, strerror=error.strerror), "Check its permissions."
        ) from error
    not_ours = FileError(
        phrase("{path} is not a session file.", path=path),
        phrase("Make one with: {new_command}", new_command=call("new", "SESSION", "TABLE.csv")),
    )
    if not header.startswith(_MAGIC[: max(len(header), 1)]):
        raise not_ours
    if len(header) < 100:
        raise FileError(phrase("{path} is cut short after {header} bytes.", path=path, header=len(header)), DAMAGED)
    if int.from_bytes(header[68:72], "big") != APPLICATION_ID:
        raise not_ours
    page = int.from_bytes(header[16:18], "big")
    expected = (65536 if page == 1 else page) * int.from_bytes(header[28:32], "big")
    if size < expected and not has_wal(path):
        raise FileError(
            phrase("{path} is cut short: {size} bytes of {expected}.", path=path, size=size, expected=expected), DAMAGED
        )


def is_session(path: Path) -> bool:
    """Return whether a file begins as a session does.

    Raises:
        OSError: when it cannot be read.
    """
    with reading(path) as file:
        header = file.read(100)
    return header.startswith(_MAGIC) and int.from_bytes(header[68:72], "big") == APPLICATION_ID


def has_wal(path: Path) -> bool:
    """Return whether changes wait in a file beside it."""
    wal = path.resolve().with_name(path.resolve().name + "-wal")
    return wal.exists() and wal.stat().st_size > 0


def why_read_only(path: Path) -> str:
    """Explain why nothing can be written to a session; empty when it can."""
    real = path.resolve()
    if not os.access(real, os.W_OK):
        return "the file is read-only"
    if real.stat().st_nlink > 1:
        # What SQLite keeps beside a file goes by its name: programs that came by two names would not see each other's
        # changes, and lose them (SQLite, "How To Corrupt An SQLite Database File", on multiple links to one file).
        return "the file has a second name on this disk (a hard link), under which another program could change it too"
    return "" if os.access(real.parent, os.W_OK) else phrase("the folder {parent} is read-only", parent=real.parent)
