"""Files of data (JSON, web pages, XML, SQLite, Parquet, NumPy, MAT): their tables as text, for the readers of logs."""

import json
import re
import shutil
from collections.abc import Generator, Mapping, Sequence
from typing import BinaryIO

from workbench.errors import FileError, InputError
from workbench.files.disk.scratch import scratch_folder
from workbench.files.disk.session_header import APPLICATION_ID
from workbench.files.formats.containers import is_npz
from workbench.files.formats.html_tables import is_web_page
from workbench.files.formats.subprocess_reader import IS_DAMAGED, NO_LIBRARY, apart, damaged, missing_library
from workbench.files.formats.xml_tables import is_xml
from workbench.phrases import flag, phrase
from workbench.work import Progress

_MARKS = {
    b"SQLite format 3": "an SQLite database",
    b"PAR1": "a Parquet file",
    b"\x93NUMPY": "a NumPy array (.npy)",
    b"MATLAB 5.0": "a MAT file (version 5)",
}
# An object or a list of objects, lists or numbers; a line of text in square brackets is none.
_JSON = re.compile(rb"\s*(?:\{\s*[\"}]|\[\s*(?:[\[{\]\"]|[0-9.eE+-]+\s*[,\]]))")
_XML = "an XML document"
_SAVE = "Open it in a spreadsheet, save it as .xlsx or CSV, and use that."
_LIBRARIES = {"a Parquet file": "fastparquet", "a MAT file (version 5)": "scipy"}


def data_kind(file: BinaryIO) -> str:
    """Describe what kind of file of data this is, empty where it is none; leaves the file at its start."""
    head = file.read(256).removeprefix(b"\xef\xbb\xbf")
    file.seek(0)
    if head.startswith(b"SQLite") and int.from_bytes(head[68:72], "big") == APPLICATION_ID:
        return ""  # a session: refused with its own sentence
    if head.startswith(b"PK\x03\x04"):
        return "a NumPy archive (.npz)" if is_npz(file) else ""
    if _JSON.match(head):
        return "JSON"
    if is_web_page(head):
        return "a web page"
    if is_xml(head):
        return _XML
    return next((kind for mark, kind in _MARKS.items() if head.startswith(mark)), "")


def read_data(file: BinaryIO, source: str, kind: str, part: str = "") -> Generator[Progress, None, tuple[str, str]]:
    """Return a table inside as tab-separated text, and what was chosen; a job.

    Args:
        file: the file.
        source: its name.
        kind: what `data_kind` calls it.
        part: name of the table; by default the only one.

    Raises:
        FileError: when it is damaged, holds no table, or the library is missing.
        InputError: when several tables are there and none was named, or there is none of that name.
    """
    tables = yield from read_tables(file, source, kind)
    return choose_table(tables, source, kind, part)


def choose_table(tables: Mapping[str, str], source: str, kind: str, part: str) -> tuple[str, str]:
    """Return the cells of a table, and what was chosen.

    Raises:
        FileError: when there is no table.
        InputError: when several are there and none was named, or there is none of that name.
    """
    chosen = _choose(list(tables), source, kind, part)
    note = (
        phrase("The table {chosen!r} of {source} was read.", chosen=chosen, source=source)
        if chosen
        else phrase("{source} was read as {kind}.", source=source, kind=kind)
    )
    return tables[chosen], note


def read_tables(file: BinaryIO, source: str, kind: str) -> Generator[Progress, None, Mapping[str, str]]:
    """Return table -> its cells as tab-separated text, for all tables of a file; a job.

    Raises:
        FileError: when it is damaged, or the library is missing.
    """
    with scratch_folder() as folder:
        path = folder / "file"
        with path.open("wb") as copy:
            shutil.copyfileobj(file, copy, 1 << 20)
        reader = "workbench.files.formats.data_reader"
        code, message = yield from apart(reader, path, folder, lambda: Progress(0, 0, f"reading {source}"))
        if code == NO_LIBRARY:
            raise missing_library(_LIBRARIES.get(kind, "pandas"), kind)
        if code:
            fault = damaged(source, kind, ValueError(message if code == IS_DAMAGED else "its reader crashed"))
            raise FileError(fault.message, _SAVE if kind == _XML else "Copy it again, or export it as CSV text.")
        names = json.loads((folder / "sheets.json").read_text())["all"]
        return {name: (folder / str(at)).read_text("utf-8") for at, name in enumerate(names)}


def _choose(tables: Sequence[str], source: str, kind: str, part: str) -> str:
    if not tables:
        raise FileError(
            phrase("{source} is {kind}, but holds no table of samples.", source=source, kind=kind),
            _SAVE
            if kind == _XML
            else "A log is a list of records, one per sample, or columns of equal length. Export the log itself.",
        )
    if part:
        if part not in tables:
            raise InputError(
                phrase("{source} has no table {part!r}.", source=source, part=part),
                phrase("It has: {names}.", names=", ".join(tables)),
            )
        return part
    if len(tables) > 1:
        raise InputError(
            phrase("{source} holds {count} tables.", source=source, count=len(tables)),
            phrase("Name one with {part_flag}: {names}.", part_flag=flag("part"), names=", ".join(tables)),
        )
    return tables[0]
