"""Changes that wait beside a session after a kill, held against it before they go into it."""

import sqlite3
from contextlib import closing
from pathlib import Path

from workbench.errors import FileError
from workbench.files.disk.session_header import DAMAGED, why_read_only
from workbench.files.store.connecting import check_schema, connect, copied, is_in_the_way, viewing
from workbench.files.store.reading import Record, read_record
from workbench.phrases import phrase


def check_fit(path: Path) -> None:
    """Refuse changes that wait beside a session and are not its own, before they go into it.

    Raises:
        FileError: naming both files, which are left as they are.
    """
    wal = path.resolve().name + "-wal"
    if why_read_only(path):
        with copied(path) as copy:
            wrong, together = _looked(copy, "mode=rw")
    else:
        # Merges nothing, and sees what another process is just writing.
        wrong, together = _looked(path, "mode=ro")
    if together is None and not wrong:
        return
    with copied(path, whole=False) as alone:
        wrong_alone, before = _looked(alone, "mode=ro&immutable=1")
    if not wrong and together is not None and before is not None and not wrong_alone:
        # A file beside it that holds every page of another session makes a whole one, and not this. While others write,
        # the copy made last may know more than what was looked at first.
        last = min(before.last[0], together.last[0])
        if together.digest_at(last) != before.digest_at(last):
            wrong = phrase("change {last} of the session would be another one.", last=last)
    if not wrong:
        return
    if not wrong_alone:
        raise FileError(
            phrase(
                "{path} is whole, but the file {wal} beside it holds changes that are not its own. With them: {wrong}",
                path=path,
                wal=wal,
                wrong=wrong,
            ),
            phrase(
                "Both were left as they are. Close the session wherever it is open, move {wal} to another folder "
                "and keep it there, then open the session.",
                wal=wal,
            ),
        )
    raise FileError(
        phrase(
            "{path}, with the changes that wait in {wal} beside it, is damaged. {wrong}",
            path=path,
            wal=wal,
            wrong=wrong,
        ),
        DAMAGED,
    )


def _looked(path: Path, options: str) -> tuple[str, Record | None]:
    """Return the first thing that is wrong in a session, as a sentence, or nothing; and what it holds where it is read.

    What is only in the way says nothing of what the file holds; opening it tells.
    """
    try:
        with closing(connect(path, options)) as connection:
            if wrong := check_schema(connection):
                return f"{wrong}.", None
            with viewing(connection):
                found = read_record(connection, Record())
            return next(iter(found.problems), ""), found
    except (sqlite3.Error, UnicodeDecodeError) as error:
        return ("", None) if is_in_the_way(error) else (f"SQLite says: {error}.", None)
