"""Writers of the containers that the corpus needs, from the standard library, numpy and scipy alone.

Workbooks are zips of XML (ECMA-376 and OpenDocument 1.3), Parquet is written after the Apache format description:
one row group, optional double columns, plain encoding, not compressed, metadata in Thrift's compact protocol.
"""

import io
import json
import sqlite3
import struct
import tempfile
import zipfile
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any
from xml.sax.saxutils import escape

import numpy as np

from field.shape import Col, round_

Cell = str | float | None
PERCENT, DATE, GENERAL = "1", "2", "0"

_XLSX = {
    "_rels/.rels": '<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships"><Relationship '
    'Id="rId1" Type="http://schemas.openxmlformats.org/officeDocument/2006/relationships/officeDocument" '
    'Target="xl/workbook.xml"/></Relationships>',
    "xl/styles.xml": '<styleSheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main">'
    '<numFmts count="1"><numFmt numFmtId="164" formatCode="yyyy\\-mm\\-dd hh:mm:ss.000"/></numFmts>'
    '<fonts><font/></fonts><fills><fill><patternFill patternType="none"/></fill></fills><borders><border/></borders>'
    "<cellStyleXfs><xf/></cellStyleXfs>"
    '<cellXfs><xf/><xf numFmtId="10" applyNumberFormat="1"/><xf numFmtId="164" applyNumberFormat="1"/></cellXfs>'
    "</styleSheet>",
}
_HEAD = '<?xml version="1.0" encoding="UTF-8" standalone="yes"?>'


def grid(cols: Sequence[Col], *, head: bool = True) -> list[list[Cell]]:
    """Give header and values as rows; what reads as a number is one."""
    body = [[number(cell) for cell in row] for row in zip(*(c.cells for c in cols), strict=True)]
    top: list[Cell] = [round_(c.name, c.unit) for c in cols]
    return [top, *body] if head else body


def number(cell: str) -> Cell:
    if cell == "":
        return None
    try:
        return float(cell)
    except ValueError:
        return cell


def xlsx(sheets: Mapping[str, Sequence[Sequence[Cell]]], styles: Mapping[int, str] | None = None) -> bytes:
    """Write a workbook; `styles` gives column -> PERCENT or DATE for all its cells below the first row."""
    names = list(sheets)
    files = dict(_XLSX)
    kind = "application/vnd.openxmlformats-officedocument.spreadsheetml"
    files["[Content_Types].xml"] = (
        '<Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types"><Default Extension="rels" '
        'ContentType="application/vnd.openxmlformats-package.relationships+xml"/><Default Extension="xml" '
        f'ContentType="application/xml"/><Override PartName="/xl/workbook.xml" ContentType="{kind}.sheet.main+xml"/>'
        + "".join(f'<Override PartName="/xl/worksheets/sheet{k}.xml" ContentType="{kind}.worksheet+xml"/>' for k in range(len(names)))
        + f'<Override PartName="/xl/styles.xml" ContentType="{kind}.styles+xml"/></Types>'
    )  # fmt: skip
    rel = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
    files["xl/workbook.xml"] = (
        f'<workbook xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main" xmlns:r="{rel}"><sheets>'
        + "".join(f'<sheet name="{escape(n)}" sheetId="{k + 1}" r:id="rId{k}"/>' for k, n in enumerate(names))
        + "</sheets></workbook>"
    )
    files["xl/_rels/workbook.xml.rels"] = (
        '<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships">'
        + "".join(f'<Relationship Id="rId{k}" Type="{rel}/worksheet" Target="worksheets/sheet{k}.xml"/>' for k in range(len(names)))
        + f'<Relationship Id="rIdS" Type="{rel}/styles" Target="styles.xml"/></Relationships>'
    )  # fmt: skip
    for k, name in enumerate(names):
        files[f"xl/worksheets/sheet{k}.xml"] = _sheet(sheets[name], styles or {})
    return zipped({name: (_HEAD + body).encode() for name, body in files.items()})


def _sheet(rows: Sequence[Sequence[Cell]], styles: Mapping[int, str]) -> str:
    out = ['<worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><sheetData>']
    for r, row in enumerate(rows, 1):
        out.append(f'<row r="{r}">')
        for c, cell in enumerate(row):
            place = f"{_letters(c)}{r}"
            style = f' s="{styles[c]}"' if c in styles and r > 1 else ""
            if isinstance(cell, str):
                out.append(f'<c r="{place}" t="inlineStr"><is><t>{escape(cell)}</t></is></c>')
            elif cell is not None:
                out.append(f'<c r="{place}"{style}><v>{float(cell)!r}</v></c>')
        out.append("</row>")
    out.append("</sheetData></worksheet>")
    return "".join(out)


def _letters(column: int) -> str:
    return ("" if column < 26 else chr(64 + column // 26)) + chr(65 + column % 26)


def ods(sheets: Mapping[str, Sequence[Sequence[Cell]]]) -> bytes:
    """Write an OpenDocument spreadsheet."""
    spaces = " ".join(f'xmlns:{n}="urn:oasis:names:tc:opendocument:xmlns:{n}:1.0"' for n in ("office", "table", "text"))
    out = [f'<office:document-content {spaces} office:version="1.3"><office:body><office:spreadsheet>']
    for name, rows in sheets.items():
        out.append(f'<table:table table:name="{escape(name)}">')
        for row in rows:
            out.append("<table:table-row>")
            for cell in row:
                if cell is None:
                    out.append("<table:table-cell/>")
                elif isinstance(cell, str):
                    out.append(
                        f'<table:table-cell office:value-type="string"><text:p>{escape(cell)}</text:p></table:table-cell>'
                    )
                else:
                    out.append(
                        f'<table:table-cell office:value-type="float" office:value="{float(cell)!r}"><text:p>{cell:g}</text:p></table:table-cell>'
                    )
            out.append("</table:table-row>")
        out.append("</table:table>")
    out.append("</office:spreadsheet></office:body></office:document-content>")
    kind = "application/vnd.oasis.opendocument.spreadsheet"
    space = "urn:oasis:names:tc:opendocument:xmlns:manifest:1.0"
    manifest = (
        f'<m:manifest xmlns:m="{space}" m:version="1.3"><m:file-entry m:full-path="/" m:media-type="{kind}"/>'
        '<m:file-entry m:full-path="content.xml" m:media-type="text/xml"/></m:manifest>'
    )
    return zipped(
        {
            "mimetype": kind.encode(),
            "META-INF/manifest.xml": (_HEAD + manifest).encode(),
            "content.xml": (_HEAD + "".join(out)).encode(),
        }
    )


def zipped(files: Mapping[str, bytes]) -> bytes:
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data in files.items():
            archive.writestr(zipfile.ZipInfo(name, (2026, 3, 3, 14, 3, 0)), data, zipfile.ZIP_DEFLATED)
    return buffer.getvalue()


def sqlite(tables: Mapping[str, tuple[Sequence[str], Sequence[Sequence[Any]]]]) -> bytes:
    """Write a SQLite file: table -> names of columns, and rows."""
    with tempfile.TemporaryDirectory() as place:
        path = Path(place) / "log.db"
        with sqlite3.connect(path) as store:
            for table, (names, rows) in tables.items():
                store.execute(f'CREATE TABLE "{table}" ({", ".join(f"{json.dumps(name)}" for name in names)})')
                store.executemany(f'INSERT INTO "{table}" VALUES ({", ".join("?" * len(names))})', rows)
        store.close()
        return path.read_bytes()


def parquet(columns: Mapping[str, Sequence[float]]) -> bytes:
    """Write columns of doubles as Parquet; NaN becomes null."""
    out = bytearray(b"PAR1")
    chunks, count = [], len(next(iter(columns.values())))
    for name, values in columns.items():
        array = np.asarray(values, float)
        there = np.isfinite(array)
        packed = np.packbits(there, bitorder="little").tobytes()
        levels = _varint((len(packed) << 1) | 1) + packed  # one bit-packed run of 8 levels a byte
        body = struct.pack("<I", len(levels)) + levels + array[there].astype("<f8").tobytes()
        page = _struct(
            (1, "i", 0),
            (2, "i", len(body)),
            (3, "i", len(body)),
            (5, "s", _struct((1, "i", count), (2, "i", 0), (3, "i", 3), (4, "i", 3))),
        )
        chunks.append((name, len(out), len(page) + len(body)))
        out += page + body
    leaves = [_struct((1, "i", 5), (3, "i", 1), (4, "b", name.encode())) for name in columns]
    root = _struct((4, "b", b"schema"), (5, "i", len(columns)))
    metas = [
        _struct((2, "l", place), (3, "s", _struct((1, "i", 5), (2, "L", ("i", [0, 3])), (3, "L", ("b", [name.encode()])), (4, "i", 0), (5, "l", count), (6, "l", size), (7, "l", size), (9, "l", place))))
        for name, place, size in chunks
    ]  # fmt: skip
    group = _struct((1, "L", ("s", metas)), (2, "l", sum(size for _, _, size in chunks)), (3, "l", count))
    footer = _struct((1, "i", 1), (2, "L", ("s", [root, *leaves])), (3, "l", count), (4, "L", ("s", [group])))
    return bytes(out) + footer + struct.pack("<I", len(footer)) + b"PAR1"


_KINDS = {"i": 5, "l": 6, "b": 8, "L": 9, "s": 12}


def _struct(*fields: tuple[int, str, Any]) -> bytes:
    """Write a struct of Thrift's compact protocol: number, kind (i32, i64, binary, list, struct) and value."""
    out, before = bytearray(), 0
    for place, kind, value in fields:
        out.append(((place - before) << 4) | _KINDS[kind])
        out += _value(kind, value)
        before = place
    return bytes(out) + b"\x00"


def _value(kind: str, value: Any) -> bytes:
    if kind in "il":
        return _varint(value * 2 if value >= 0 else -2 * value - 1)
    if kind == "b":
        return _varint(len(value)) + bytes(value)
    if kind == "L":
        of, items = value
        size = len(items)
        head = bytes([(size << 4) | _KINDS[of]]) if size < 15 else bytes([0xF0 | _KINDS[of]]) + _varint(size)
        return head + b"".join(_value(of, item) for item in items)
    return bytes(value)


def _varint(value: int) -> bytes:
    out = bytearray()
    while value > 0x7F:
        out.append((value & 0x7F) | 0x80)
        value >>= 7
    return bytes([*out, value])
