"""Spreadsheets (.xlsx, .xls, .ods): the cells of a sheet as text, for the readers of logs and tables."""

import io
from collections.abc import Sequence
from datetime import date, datetime, time, timedelta
from typing import Any, BinaryIO

from workbench.errors import FileError, InputError
from workbench.files.foreign import DAMAGED, damaged, missing_library

OLD_SHEET = b"\xd0\xcf\x11\xe0"


def sheet_text(file: BinaryIO, source: str, part: str = "") -> tuple[str, str]:
    """Give a sheet's cells as tab-separated text, and what was chosen.

    Args:
        file: the workbook.
        source: its name.
        part: name of the sheet; by default the only one with cells.

    Raises:
        FileError: when it is damaged, or the library is missing.
        InputError: when several sheets hold cells and none was named, or there is none of that name.
    """
    try:
        from python_calamine import CalamineError, CalamineWorkbook
    except ImportError as error:
        raise missing_library("python-calamine", "spreadsheets") from error
    content = file.read()
    try:
        workbook = CalamineWorkbook.from_filelike(io.BytesIO(content))
        sheets = {name: workbook.get_sheet_by_name(name) for name in workbook.sheet_names}
        filled = [name for name, sheet in sheets.items() if sheet.total_height * sheet.total_width > 1]
        name = _choose(filled, list(sheets), source, part)
        rows = sheets[name].to_python(skip_empty_area=True)
    except (*DAMAGED, CalamineError) as error:
        if isinstance(error, InputError):
            raise
        fault = damaged(source, _format_of(content), error)
        raise FileError(fault.message, "Save it as .xlsx or CSV, without a password, and bring that.") from error
    said = f"The sheet {name!r} of {source} was read." if len(sheets) > 1 else ""
    return "\n".join("\t".join(_text(cell) for cell in row) for row in rows) + "\n", said


def _format_of(content: bytes) -> str:
    if content.startswith(OLD_SHEET):
        return "a spreadsheet of an old kind (.xls), or one with a password"
    if b"opendocument" in content[:200]:  # its first part says what it is, uncompressed (OpenDocument 1.2, part 3)
        return "an OpenDocument spreadsheet (.ods)"
    return "a spreadsheet (.xlsx)"


def _choose(filled: Sequence[str], names: Sequence[str], source: str, part: str) -> str:
    if part:
        if part not in names:
            raise InputError(f"{source} has no sheet {part!r}.", "It has: " + ", ".join(names) + ".")
        return part
    if len(filled) > 1:
        raise InputError(
            f"{source} has {len(filled)} sheets with cells.", f"Name one with --part: {', '.join(filled)}."
        )
    if not filled:
        raise InputError(f"{source} has no sheet with cells.", "Save it again.")
    return filled[0]


def _text(cell: Any) -> str:
    """Write a cell as text that reads back as the same number or time."""
    match cell:
        case bool():
            return "1" if cell else "0"
        case float():
            return repr(cell).removesuffix(".0")
        case datetime() | date() | time():
            return cell.isoformat()
        case timedelta():
            return repr(cell.total_seconds())
        case _:
            return " ".join(str(cell).split())
