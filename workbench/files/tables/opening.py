"""A file that should hold a table, as text: a text itself, a sheet, a file of data, or a program's lists of numbers."""

import re
from pathlib import Path
from typing import BinaryIO

from workbench.errors import FileError, WorkbenchError
from workbench.files.disk.plain_files import reading
from workbench.files.disk.text_decoding import HEAD, check_readable, decode
from workbench.files.formats.containers import is_workbook, unwrapped
from workbench.files.formats.data_files import data_kind, read_data
from workbench.files.formats.sheets import read_sheet
from workbench.files.tables.named_arrays import sections_of, told
from workbench.phrases import flag, phrase
from workbench.work import run

LARGEST_TABLE = 20_000_000  # bytes; a text table of 1000 x 1000 cells is about that
_LONG = re.compile(rf"[^\r\n]{{{HEAD + 1}}}")
_OF_LISTS = ("JSON", "a web page", "an XML document")


def text_of(path: Path, part: str) -> tuple[str, tuple[str, ...], str]:
    """Return what a file holds as text, what was chosen in reading it, and which of several tables is meant.

    Args:
        path: the file.
        part: the sheet of a workbook, the file in a zip with several, or the number of a table in a text.

    Raises:
        FileError: when it cannot be read, or holds nothing that may be a table.
    """
    check_readable(path)
    try:
        with reading(path) as file, unwrapped(file, path.name, part) as opened:
            which = ""
            if is_workbook(opened.file):
                text, note = run(read_sheet(opened.file, opened.name, opened.part))
            elif kind := data_kind(opened.file):
                text, note = _of_data(opened.file, opened.name, kind, opened.part)
            elif opened.part and not opened.part.isdecimal():
                raise FileError(
                    phrase(
                        "{opened} has no parts, so {part!r} cannot be selected.", opened=opened.name, part=opened.part
                    ),
                    phrase("Leave {part_flag} out.", part_flag=flag("part")),
                )
            else:
                decoded = decode(_limited(opened.file, path), path.name)
                check_lines(decoded.text, path.name)
                text, note, which = decoded.text, decoded.note, opened.part
    except OSError as error:
        raise FileError(
            phrase("The file {path} cannot be read: {reason}.", path=path, reason=error.strerror or error),
            "Check its permissions.",
        ) from error
    return text, (*opened.notes, *((note,) * bool(note))), which


def _of_data(file: BinaryIO, name: str, kind: str, part: str) -> tuple[str, str]:
    """Read a file of data: a table of rows in it, or else axes and values as lists of numbers."""
    try:
        return run(read_data(file, name, kind, part))
    except WorkbenchError as refusal:
        if kind not in _OF_LISTS or part:
            raise
        file.seek(0)
        rows = sections_of(decode(file.read(LARGEST_TABLE), name).text)
        if rows is None and isinstance(refusal, FileError):
            raise FileError(
                phrase("{name} is {kind}, but no table can be told from it.", name=name, kind=kind),
                "Expected: rows of cells, or lists of numbers under names, for a curve the axis and the values, for a "
                "grid two axes and the rows of values. Or save the table as CSV.",
            ) from refusal
        if rows is None:
            raise
        return "\n".join("\t".join(row) for row in rows), told(kind)


def check_lines(text: str, source: str) -> None:
    """Refuse text with a line longer than any row of a table: split into cells it takes a hundred times its size.

    Raises:
        FileError: naming the line.
    """
    found = _LONG.search(text)
    if found is not None:
        raise FileError(
            phrase(
                "{source}, line {number} is longer than {size} kB, too long for a row of a table.",
                source=source,
                number=text.count("\n", 0, found.start()) + 1,
                size=HEAD // 1000,
            ),
            "Export the table as CSV text, one row per line.",
        )


def _limited(file: BinaryIO, path: Path) -> bytes:
    content = file.read(LARGEST_TABLE + 1)
    if len(content) > LARGEST_TABLE:
        raise FileError(
            phrase(
                "{path} is larger than {largest_table} MB, too large for a table.",
                path=path,
                largest_table=LARGEST_TABLE // 1000000,
            ),
            "Is it a log?",
        )
    return content
