"""Spreadsheets (.xlsx, .xls, .xlsb, .ods): the cells of a sheet as text, for the readers of logs and tables."""

import json
import re
import shutil
from collections.abc import Generator, Mapping, Sequence
from pathlib import Path
from typing import BinaryIO

from workbench.errors import FileError, InputError
from workbench.files.disk.scratch import scratch_folder
from workbench.files.formats.containers import OLD_SHEET
from workbench.files.formats.subprocess_reader import IS_DAMAGED, NO_LIBRARY, apart, damaged, missing_library
from workbench.phrases import flag, phrase
from workbench.work import Progress

_NUMBER_CELL = re.compile(r"(?:^|[\t\n])[+-]?\d[\d.,]*(?=[\t\n\r]|$)")
_DIED = "its reader crashed, as it does where one cell lies far from all others"


def read_sheet(file: BinaryIO, source: str, part: str = "") -> Generator[Progress, None, tuple[str, str]]:
    """Return a sheet's cells as tab-separated text, and what was chosen; a job.

    Args:
        file: the workbook.
        source: its name.
        part: name of the sheet; by default the only one with cells.

    Raises:
        FileError: when it is damaged, or the library is missing.
        InputError: when several sheets hold cells and none was named, or there is none of that name.
    """
    filled, names = yield from read_sheets(file, source)
    return choose_sheet(filled, names, source, part)


def read_sheets(file: BinaryIO, source: str) -> Generator[Progress, None, tuple[Mapping[str, str], Sequence[str]]]:
    """Return sheet -> its cells as tab-separated text, for those with cells, and the names of all sheets; a job.

    Raises:
        FileError: when the workbook is damaged, or the library is missing.
    """
    with scratch_folder() as folder:
        path = folder / "workbook"
        with path.open("wb") as copy:
            shutil.copyfileobj(file, copy, 1 << 20)
        reader = "workbench.files.formats.sheet_reader"
        code, message = yield from apart(reader, path, folder, lambda: Progress(0, 0, f"reading {source}"))
        if code == NO_LIBRARY:
            raise missing_library("python-calamine", "spreadsheets")
        if code:
            fault = damaged(source, _format_of(path), ValueError(message if code == IS_DAMAGED else _DIED))
            raise FileError(fault.message, "Save it as .xlsx or CSV, without a password, and use that.")
        sheets = json.loads((folder / "sheets.json").read_text())
        texts = {name: folder / str(sheets["all"].index(name)) for name in sheets["filled"]}
        return {name: text.read_text("utf-8") for name, text in texts.items()}, sheets["all"]


def _format_of(path: Path) -> str:
    with path.open("rb") as file:
        content = file.read(200)
    if content.startswith(OLD_SHEET):
        return "a spreadsheet in the old format (.xls), or one with a password"
    if b"opendocument" in content:  # its first part says what it is, uncompressed (OpenDocument 1.2, part 3)
        return "an OpenDocument spreadsheet (.ods)"
    return "a spreadsheet (.xlsx)"


def choose_sheet(filled: Mapping[str, str], names: Sequence[str], source: str, part: str) -> tuple[str, str]:
    """Return the cells of a sheet, and what was chosen.

    Args:
        filled: sheet -> its cells, for those with cells.
        names: of all sheets.
        source: name of the workbook.
        part: name of the sheet; by default the only one with cells, or the only one that holds a number.

    Raises:
        InputError: when several sheets hold cells and none was named, or there is none of that name.
    """
    held = [name for name, text in filled.items() if _NUMBER_CELL.search(text)]  # the rest are notes
    chosen = _choose(held if len(held) == 1 else list(filled), names, source, part)
    note = phrase("The sheet {chosen!r} of {source} was read.", chosen=chosen, source=source)
    return filled.get(chosen, ""), note if len(names) > 1 else ""


def _choose(filled: Sequence[str], names: Sequence[str], source: str, part: str) -> str:
    if part:
        if part not in names:
            raise InputError(
                phrase("{source} has no sheet {part!r}.", source=source, part=part), "It has: " + ", ".join(names) + "."
            )
        return part
    if len(filled) > 1:
        raise InputError(
            phrase("{source} has {filled} sheets with cells.", source=source, filled=len(filled)),
            phrase("Name one with {part_flag}: {filled}.", part_flag=flag("part"), filled=", ".join(filled)),
        )
    if not filled:
        raise InputError(phrase("{source} has no sheet with cells.", source=source), "Save it again.")
    return filled[0]
