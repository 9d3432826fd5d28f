"""Which columns of a spreadsheet are formatted as percent: there 0.05 is stored where the sheet shows 5 %.

Office Open XML (ECMA-376, part 1): a cell's `s` names a format of `cellXfs` in xl/styles.xml, whose `numFmtId` 9 and 10
are percentages, as is every format code of the file's own with a percent sign. OpenDocument 1.2 (part 1, 19.385): such
cells have the value type `percentage`.
"""

import re
import zipfile
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from xml.etree import ElementTree as ET

_SHEET = "{http://schemas.openxmlformats.org/spreadsheetml/2006/main}"
_TABLE = "{urn:oasis:names:tc:opendocument:xmlns:table:1.0}"
_OFFICE = "{urn:oasis:names:tc:opendocument:xmlns:office:1.0}"
_BUILT_IN = {9, 10}
_QUOTED = re.compile(r'"[^"]*"|\\.')
SHARE = 0.9  # of a column's numbers
MOST_CELLS = 2_000_000
Cell = tuple[int, bool]  # column from 0, and whether it is formatted as percent


def percent_columns(path: Path) -> dict[int, frozenset[int]]:
    """Find them: place of the sheet in the workbook -> columns from 0, counted from the sheet's first column.

    Raises:
        ParseError: when the XML inside is damaged.
        BadZipFile: when the file is no zip file; old spreadsheets are none.
    """
    with zipfile.ZipFile(path) as archive:
        names = set(archive.namelist())
        if "content.xml" in names:
            sheets = _of_document(archive)
        elif "xl/styles.xml" in names:
            sheets = _of_workbook(archive, names)
        else:
            return {}
        return {at: _mostly(cells) for at, cells in sheets}


def _mostly(cells: Iterator[Cell]) -> frozenset[int]:
    every: Counter[int] = Counter()
    percent: Counter[int] = Counter()
    for column, is_percent in cells:
        every[column] += 1
        percent[column] += is_percent
    # One number may stand above them that is none of theirs: the breakpoint of a grid's column.
    return frozenset(
        column
        for column, count in percent.items()
        if count and (count >= SHARE * every[column] or (count > 1 and every[column] - count == 1))
    )


def _of_workbook(archive: zipfile.ZipFile, names: set[str]) -> Iterator[tuple[int, Iterator[Cell]]]:
    styles = ET.fromstring(archive.read("xl/styles.xml"))  # noqa: S314 - in a process of its own, with limited memory
    own = {
        int(each.get("numFmtId", "0")): "%" in _QUOTED.sub("", each.get("formatCode", ""))
        for each in styles.iter(f"{_SHEET}numFmt")
    }
    formats = [int(each.get("numFmtId", "0")) for each in styles.iterfind(f"{_SHEET}cellXfs/{_SHEET}xf")]
    percent = {str(at) for at, number in enumerate(formats) if own.get(number, number in _BUILT_IN)}
    if not percent:
        return
    for at, member in enumerate(_sheets_in_order(archive, names)):
        yield at, _cells_of_workbook(archive, member, percent)


def _sheets_in_order(archive: zipfile.ZipFile, names: set[str]) -> list[str]:
    book = ET.fromstring(archive.read("xl/workbook.xml"))  # noqa: S314 - likewise
    related = ET.fromstring(archive.read("xl/_rels/workbook.xml.rels"))  # noqa: S314 - likewise
    targets = {each.get("Id"): each.get("Target", "") for each in related}
    ids = [
        next((value for key, value in sheet.items() if key.endswith("}id")), "")
        for sheet in book.iter(f"{_SHEET}sheet")
    ]
    members = [targets.get(each, "") for each in ids]
    whole = [each.lstrip("/") if each.startswith("/") else f"xl/{each}" for each in members]
    return [each for each in whole if each in names]


def _cells_of_workbook(archive: zipfile.ZipFile, member: str, percent: set[str]) -> Iterator[Cell]:
    with archive.open(member) as file:
        for count, (_, node) in enumerate(ET.iterparse(file)):  # noqa: S314 - likewise
            if count > MOST_CELLS:
                return
            if node.tag == f"{_SHEET}c":
                if node.get("t", "n") == "n" and node.find(f"{_SHEET}v") is not None:
                    yield _column(node.get("r", "")), node.get("s", "0") in percent
            elif node.tag == f"{_SHEET}row":
                node.clear()


def _column(reference: str) -> int:
    place = 0
    for letter in re.match(r"[A-Z]*", reference).group():  # type: ignore[union-attr]
        place = place * 26 + ord(letter) - ord("A") + 1
    return place - 1


def _of_document(archive: zipfile.ZipFile) -> Iterator[tuple[int, Iterator[Cell]]]:
    with archive.open("content.xml") as file:
        tree = ET.parse(file)  # noqa: S314 - likewise
    for at, table in enumerate(tree.iter(f"{_TABLE}table")):
        yield at, _cells_of_document(table)


def _cells_of_document(table: ET.Element) -> Iterator[Cell]:
    for row in table.iter(f"{_TABLE}table-row"):
        column = 0
        for cell in row:
            kind = cell.get(f"{_OFFICE}value-type")
            if kind in ("percentage", "float"):
                yield column, kind == "percentage"
            column += int(cell.get(f"{_TABLE}number-columns-repeated", "1"))
