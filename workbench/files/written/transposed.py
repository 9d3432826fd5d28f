"""Logs that are written with a line for each channel instead of one for each sample: turned before they are read."""

import csv
import io
from typing import BinaryIO

from workbench.files.disk.text_decoding import decode
from workbench.files.text.separators import DELIMITERS, MOST_COLUMNS, kind_of, split_line

HEAD = 1 << 16  # bytes that tell
FEWEST_LINES, FEWEST_VALUES = 3, 30
LARGEST = 100_000_000  # bytes that are turned at once
VALUED = 0.95  # of the cells of a line


def turned(file: BinaryIO, source: str, size: int) -> bytes | None:
    """Return a transposed log as one line a sample, UTF-8; None where it is none. The file is left at its start.

    Raises:
        FileError: when it is no text.
    """
    head = file.read(HEAD)
    file.seek(0)
    delimiter = _delimiter(head.decode("latin-1").lstrip("\ufeff\u00ef\u00bb\u00bf"))
    if not delimiter or size > LARGEST:
        return None
    text = decode(file.read(), source).text
    file.seek(0)
    lines = [line for line in text.splitlines() if line.strip()]
    if not FEWEST_LINES <= len(lines) <= MOST_COLUMNS:
        return None
    rows = [split_line(line, delimiter) for line in lines]
    if len({len(row) for row in rows}) != 1 or not all(_is_channel(row) for row in rows):
        return None
    out = io.StringIO()
    csv.writer(out, delimiter=delimiter, lineterminator="\n").writerows(zip(*rows, strict=True))
    return out.getvalue().encode()


def _delimiter(head: str) -> str:
    """Return what parts the cells of the first line, where that is a name and many values; empty where not."""
    first = head.split("\n", 1)[0]
    for sign in DELIMITERS:
        cells = split_line(first, sign)
        cells = cells if "\n" in head else cells[:-1]
        if _is_channel(cells):
            return sign
    return ""


def _is_channel(cells: list[str]) -> bool:
    if len(cells) <= FEWEST_VALUES or kind_of(cells[0]) != "t":
        return False
    return sum(kind_of(cell) in "nce" for cell in cells[1:]) >= VALUED * (len(cells) - 1)
