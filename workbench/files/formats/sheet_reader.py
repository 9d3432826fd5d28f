"""Reads a spreadsheet in a process of its own: one far cell makes the library ask for more memory than there is.

    python -m workbench.files.formats.sheet_reader FILE FOLDER

Writes into the folder `sheets.json`, the names of the sheets that hold cells and of all, and each of the former as
tab-separated text under its place among all. A damaged file ends with exit code 3 and the reason on standard output, a
missing library with 4.
"""

import io
import json
import sys
from datetime import date, datetime, time, timedelta
from pathlib import Path
from typing import Any

from workbench.files.formats.subprocess_reader import DAMAGED, IS_DAMAGED, NO_LIBRARY, limit_memory


def main(path: Path, folder: Path) -> int:
    """Read the file into the folder and give the exit code."""
    limit_memory(path)
    try:
        from python_calamine import CalamineError, CalamineWorkbook
    except ImportError:
        return NO_LIBRARY
    try:
        workbook = CalamineWorkbook.from_filelike(io.BytesIO(path.read_bytes()))
        filled = []
        for at, name in enumerate(workbook.sheet_names):
            sheet = workbook.get_sheet_by_name(name)
            if sheet.total_height * sheet.total_width > 1:
                filled.append(name)
                with (folder / str(at)).open("w", encoding="utf-8", newline="") as file:
                    file.writelines("\t".join(map(_text, row)) + "\n" for row in sheet.to_python(skip_empty_area=True))
        (folder / "sheets.json").write_text(json.dumps({"filled": filled, "all": workbook.sheet_names}))
    except (*DAMAGED, CalamineError) as error:
        sys.stdout.write(" ".join(str(error).split())[:200] or type(error).__name__)
        return IS_DAMAGED
    return 0


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
    sys.exit(main(Path(sys.argv[1]), Path(sys.argv[2])))
