"""Spreadsheets and zip files, written by hand for the tests."""

import io
import struct
import zipfile


def xlsx(sheets: dict[str, list[list[object]]]) -> bytes:
    """Write a workbook by hand: the parts that ECMA-376 asks for, and inline strings."""
    out = io.BytesIO()
    kind = "application/vnd.openxmlformats-officedocument.spreadsheetml"
    main = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
    relations = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
    package = "http://schemas.openxmlformats.org/package/2006"
    with zipfile.ZipFile(out, "w") as archive:
        parts = "".join(
            f'<Override PartName="/xl/worksheets/sheet{i}.xml" ContentType="{kind}.worksheet+xml"/>'
            for i in range(1, len(sheets) + 1)
        )
        archive.writestr(
            "[Content_Types].xml",
            f'<Types xmlns="{package}/content-types"><Default Extension="rels" '
            'ContentType="application/vnd.openxmlformats-package.relationships+xml"/>'
            f'<Override PartName="/xl/workbook.xml" ContentType="{kind}.sheet.main+xml"/>{parts}</Types>',
        )
        archive.writestr(
            "_rels/.rels",
            f'<Relationships xmlns="{package}/relationships"><Relationship Id="r1" '
            f'Type="{relations}/officeDocument" Target="xl/workbook.xml"/></Relationships>',
        )
        listed = "".join(f'<sheet name="{name}" sheetId="{i}" r:id="r{i}"/>' for i, name in enumerate(sheets, start=1))
        archive.writestr(
            "xl/workbook.xml", f'<workbook xmlns="{main}" xmlns:r="{relations}"><sheets>{listed}</sheets></workbook>'
        )
        targets = "".join(
            f'<Relationship Id="r{i}" Type="{relations}/worksheet" Target="worksheets/sheet{i}.xml"/>'
            for i in range(1, len(sheets) + 1)
        )
        archive.writestr(
            "xl/_rels/workbook.xml.rels", f'<Relationships xmlns="{package}/relationships">{targets}</Relationships>'
        )
        for i, rows in enumerate(sheets.values(), start=1):
            body = "".join(f"<row>{''.join(_cell(cell) for cell in row)}</row>" for row in rows)
            archive.writestr(
                f"xl/worksheets/sheet{i}.xml", f'<worksheet xmlns="{main}"><sheetData>{body}</sheetData></worksheet>'
            )
    return out.getvalue()


def _cell(cell: object) -> str:
    if isinstance(cell, str):
        return f'<c t="inlineStr"><is><t>{cell}</t></is></c>'
    return f"<c><v>{cell}</v></c>"


def ods(rows: list[list[object]]) -> bytes:
    """Write an OpenDocument spreadsheet by hand (OASIS OpenDocument 1.2, part 1)."""
    names = "urn:oasis:names:tc:opendocument:xmlns"
    body = "".join(
        "<table:table-row>"
        + "".join(
            f'<table:table-cell office:value-type="string"><text:p>{cell}</text:p></table:table-cell>'
            if isinstance(cell, str)
            else f'<table:table-cell office:value-type="float" office:value="{cell}"/>'
            for cell in row
        )
        + "</table:table-row>"
        for row in rows
    )
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        archive.writestr("mimetype", "application/vnd.oasis.opendocument.spreadsheet")
        archive.writestr("META-INF/manifest.xml", f'<manifest:manifest xmlns:manifest="{names}:manifest:1.0"/>')
        archive.writestr(
            "content.xml",
            f'<office:document-content xmlns:office="{names}:office:1.0" xmlns:table="{names}:table:1.0" '
            f'xmlns:text="{names}:text:1.0"><office:body><office:spreadsheet><table:table table:name="Log">{body}'
            "</table:table></office:spreadsheet></office:body></office:document-content>",
        )
    return out.getvalue()


def zipped(files: dict[str, bytes]) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in files.items():
            archive.writestr(name, content)
    return out.getvalue()


def xlsb(sheets: dict[str, list[list[object]]]) -> bytes:
    """Write a binary workbook by hand: the fewest records that [MS-XLSB] asks for (numbers of its section 2.3).

    They were written from memory of that paper; that another hand's reader takes the file for one is the check.
    """
    relations = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
    package = "http://schemas.openxmlformats.org/package/2006"
    kind = "application/vnd.ms-excel"
    listed = b"".join(
        _record(156, struct.pack("<II", 0, at) + _wide(f"r{at}") + _wide(name))  # BrtBundleSh
        for at, name in enumerate(sheets, start=1)
    )
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        parts = "".join(
            f'<Override PartName="/xl/worksheets/sheet{at}.bin" ContentType="{kind}.worksheet"/>'
            for at in range(1, len(sheets) + 1)
        )
        archive.writestr(
            "[Content_Types].xml",
            f'<Types xmlns="{package}/content-types"><Default Extension="rels" '
            'ContentType="application/vnd.openxmlformats-package.relationships+xml"/>'
            f'<Override PartName="/xl/workbook.bin" ContentType="{kind}.sheet.binary.macroEnabled.main"/>'
            f"{parts}</Types>",
        )
        archive.writestr(
            "_rels/.rels",
            f'<Relationships xmlns="{package}/relationships"><Relationship Id="r1" '
            f'Type="{relations}/officeDocument" Target="xl/workbook.bin"/></Relationships>',
        )
        targets = "".join(
            f'<Relationship Id="r{at}" Type="{relations}/worksheet" Target="worksheets/sheet{at}.bin"/>'
            for at in range(1, len(sheets) + 1)
        )
        archive.writestr(
            "xl/_rels/workbook.bin.rels", f'<Relationships xmlns="{package}/relationships">{targets}</Relationships>'
        )
        book = _record(131) + _record(143) + listed + _record(144) + _record(132)  # BrtBeginBook, BrtBeginBundleShs
        archive.writestr("xl/workbook.bin", book)
        for at, rows in enumerate(sheets.values(), start=1):
            archive.writestr(f"xl/worksheets/sheet{at}.bin", _binary_sheet(rows))
    return out.getvalue()


def _binary_sheet(rows: list[list[object]]) -> bytes:
    widest = max((len(row) for row in rows), default=1)
    body = _record(129) + _record(148, struct.pack("<4I", 0, max(len(rows) - 1, 0), 0, widest - 1))  # BrtWsDim
    body += _record(145)  # BrtBeginSheetData
    for at, row in enumerate(rows):
        body += _record(0, struct.pack("<IIHHBI", at, 0, 300, 0, 0, 0))  # BrtRowHdr
        for column, cell in enumerate(row):
            head = struct.pack("<II", column, 0)
            if isinstance(cell, str):
                body += _record(6, head + _wide(cell))  # BrtCellSt
            elif isinstance(cell, bool):
                body += _record(4, head + bytes([cell]))  # BrtCellBool
            else:
                body += _record(5, head + struct.pack("<d", cell))  # BrtCellReal
    return body + _record(146) + _record(130)


def _record(number: int, content: bytes = b"") -> bytes:
    kind = bytes([number]) if number < 128 else bytes([number & 0x7F | 0x80, number >> 7])
    size, left = b"", len(content)
    while True:
        size += bytes([left & 0x7F | (0x80 if left > 127 else 0)])
        left >>= 7
        if not left:
            return kind + size + content


def _wide(text: str) -> bytes:
    return struct.pack("<I", len(text)) + text.encode("utf-16-le")
