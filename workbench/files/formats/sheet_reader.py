"""Reads a spreadsheet in a process of its own: one far cell makes the library ask for more memory than there is.

    python -m workbench.files.formats.sheet_reader FILE FOLDER

Writes into the folder `sheets.json`, the names of the sheets that hold cells and of all, and each of the former as
tab-separated text under its place among all. A damaged file ends with exit code 3 and the reason on standard output, a
missing library with 4.
"""

import io
import json
import sys
import zipfile
from collections.abc import Iterable, Iterator
from datetime import date, datetime, time, timedelta
from pathlib import Path
from typing import Any
from xml.etree import ElementTree as ET

from workbench.files.formats.percent_cells import percent_columns
from workbench.files.formats.subprocess_reader import DAMAGED, IS_DAMAGED, NO_LIBRARY, end_with_starter, limit_memory


def main(path: Path, folder: Path) -> int:
    """Read the file into the folder and give the exit code."""
    limit_memory(path)
    try:
        from python_calamine import CalamineError, CalamineWorkbook
    except ImportError:
        return NO_LIBRARY
    try:
        workbook = CalamineWorkbook.from_filelike(io.BytesIO(path.read_bytes()))
        percent = _percent_columns(path)
        filled, narrow = list[str](), list[str]()  # one column holds notes, or the lines of a text
        for at, name in enumerate(workbook.sheet_names):
            sheet = workbook.get_sheet_by_name(name)
            if sheet.height * sheet.width > 1:
                (filled if sheet.width > 1 else narrow).append(name)
                first = (sheet.start or (0, 0))[1]
                shown = {column - first for column in percent.get(at, ())}
                rows = sheet.to_python(skip_empty_area=True)
                with (folder / str(at)).open("w", encoding="utf-8", newline="") as file:
                    file.writelines("\t".join(map(_text, row)) + "\n" for row in _as_shown(rows, shown))
        (folder / "sheets.json").write_text(json.dumps({"filled": filled or narrow, "all": workbook.sheet_names}))
    except (*DAMAGED, CalamineError) as error:
        sys.stdout.write(" ".join(str(error).split())[:200] or type(error).__name__)
        return IS_DAMAGED
    return 0


def _percent_columns(path: Path) -> dict[int, frozenset[int]]:
    try:
        return percent_columns(path)
    except (zipfile.BadZipFile, ET.ParseError, *DAMAGED):  # the cells decide whether the file can be read
        return {}


def _as_shown(rows: Iterable[list[Any]], percent: set[int]) -> Iterator[list[Any]]:
    """Yield numbers of columns formatted as percent as the sheet shows them, with the unit in a title that lacks it."""
    titled = False
    rows = list(rows)
    for at, row in enumerate(rows):
        for column in percent & set(range(len(row))):
            cell = row[column]
            if isinstance(cell, float) and at == 0 and _is_breakpoint(cell, column, rows[1:]):
                continue
            if isinstance(cell, float):
                row[column] = float(f"{cell * 100:.15g}")
            elif isinstance(cell, str) and cell.strip() and not titled and "%" not in cell:
                row[column] = f"{cell} (%)"
        titled = titled or any(isinstance(cell, float) for cell in row)
        yield row


def _is_breakpoint(cell: float, column: int, below: Iterable[list[Any]]) -> bool:
    """Tell whether a number at the top of a column of fractions is far larger than they are: a grid's breakpoint."""
    others = [abs(row[column]) for row in below if column < len(row) and isinstance(row[column], float)]
    return bool(others) and abs(cell) > 10 * max(others)


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


if __name__ == "__main__":
    end_with_starter()
    sys.exit(main(Path(sys.argv[1]), Path(sys.argv[2])))
