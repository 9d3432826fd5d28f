"""Delimited text, block by block: fast where a block is clean, cell by cell where it is not."""

import io
from collections.abc import Generator
from dataclasses import dataclass, field
from typing import BinaryIO

import numpy as np

from workbench.errors import FileError
from workbench.files.layout import Layout, find_layout, split_line
from workbench.files.numbers import to_numbers
from workbench.files.reading import decode_head, utf8_blocks
from workbench.files.recording import Field, Recording, Tally, TextArray, listed
from workbench.model.arrays import FloatArray
from workbench.work import Progress

BLOCK = 8_000_000
_NEWLINE, _QUOTE = 10, 34


@dataclass
class _Oddities:
    """What was found out of order, with line numbers."""

    cut: str = ""
    blank: Tally = field(default_factory=Tally)
    short: Tally = field(default_factory=Tally)
    long: Tally = field(default_factory=Tally)
    cells: dict[int, Tally] = field(default_factory=dict)
    shown: dict[int, str] = field(default_factory=dict)
    glued: dict[int, str] = field(default_factory=dict)

    def notes(self, layout: Layout) -> list[str]:
        """Say it."""
        notes = [self.cut] * bool(self.cut)
        for tally, word in ((self.short, "fewer"), (self.long, "more")):
            if tally.count:
                rows = "1 row was" if tally.count == 1 else f"{tally.count} rows were"
                notes.append(f"{rows} dropped, not padded, having {word} cells than the header: {tally}.")
        if self.blank.count:
            notes.append(f"Empty lines and comments among the values were passed over: {self.blank}.")
        notes += [
            f"{layout.names[column]}: no number in {tally}, such as {self.shown[column]!r}; that counts as missing."
            for column, tally in sorted(self.cells.items())
        ]
        if self.glued:
            named = [f"{layout.names[column]} ({unit})" for column, unit in sorted(self.glued.items())]
            notes.append(f"Units glued to the cells were taken off: {listed(named[:6], len(named))}.")
        return notes


Columns = list[FloatArray | TextArray]


def read_delimited(file: BinaryIO, source: str, size: int) -> Generator[Progress, None, Recording]:
    """Read a delimited text; a job.

    Args:
        file: its bytes.
        source: its name, for errors.
        size: its bytes, for the progress.

    Raises:
        FileError: when it is no delimited text of numbers.
    """
    head = decode_head(file, source)
    layout = find_layout(head.text, source)
    oddities = _Oddities()
    parts: list[Columns] = []
    line = 0
    for number, block in enumerate(utf8_blocks(file, head, BLOCK)):
        yield Progress(min(file.tell(), size), size, f"reading {source}")
        lines = block.count(b"\n") + (not block.endswith(b"\n"))
        if not block.endswith(b"\n"):
            block, said = _without_cut_line(block, layout, line + lines)  # noqa: PLW2901 - the last block
            oddities.cut = said
        skip = layout.first if number == 0 else 0
        body = block if skip == 0 else _without_lines(block, skip)
        if body:
            columns = _fast(body, layout)
            parts.append(_careful(body, layout, line + skip, oddities) if columns is None else columns)
        line += lines
    fields = _fields(parts, layout, oddities)
    if not fields or fields[0].values.size == 0:
        raise FileError(f"{source} holds no complete row of values.", "A log has one line of values per moment.")
    notes = (head.note,) * bool(head.note) + (*layout.notes, *oddities.notes(layout))
    return Recording(source, fields, notes)


def _without_lines(block: bytes, lines: int) -> bytes:
    at = 0
    for _ in range(lines):
        end = block.find(b"\n", at)
        if end < 0:
            return b""
        at = end + 1
    return block[at:]


def _without_cut_line(block: bytes, layout: Layout, number: int) -> tuple[bytes, str]:
    """Take away a last line without line end whose last number is shorter than all before it: it was cut."""
    lines = _lines(block)
    if len(lines) < 4:
        return block, ""
    cells = [(split_line(line, layout.delimiter) or [""])[-1] for line in lines[-21:]]
    if not cells[-1] or len(cells[-1]) >= min(len(cell) for cell in cells[:-1]):
        return block, ""
    kept = block[: block.rfind(b"\n") + 1]
    return kept, f"Line {number} is cut inside its last number {cells[-1]!r} and was dropped."


def _fast(block: bytes, layout: Layout) -> Columns | None:
    """Read a clean block with the fast parser; None where something in it is out of order."""
    signs = {style.decimal for style, numeric in zip(layout.styles, layout.numeric, strict=True) if numeric}
    grouped = any(style.thousands for style in layout.styles)
    if layout.delimiter == " " or grouped or len(signs) > 1 or not _is_regular(block, layout):
        return None
    import pandas  # noqa: ICN001 - spelt out

    width = layout.columns + layout.trailing
    types = {at: np.float64 if at < layout.columns and layout.numeric[at] else np.str_ for at in range(width)}
    try:
        frame = pandas.read_csv(
            io.BytesIO(block),
            sep=layout.delimiter,
            header=None,
            names=range(width),
            index_col=False,
            dtype=types,
            decimal=next(iter(signs), "."),
            skipinitialspace=True,
            keep_default_na=True,
            na_values=["-", "--", "---", "nil", "?", "."],
            skip_blank_lines=False,
            encoding="utf-8",
        )
    except (ValueError, pandas.errors.ParserError, OverflowError):
        return None
    if len(frame) != block.count(b"\n") + (not block.endswith(b"\n")):
        return None
    columns: Columns = []
    for at in range(layout.columns):
        if layout.numeric[at]:
            values = frame[at].to_numpy(dtype=np.float64)
            if np.isinf(values).any():
                return None
            columns.append(values)
        else:
            columns.append(frame[at].fillna("").to_numpy(dtype=object))
    return columns


def _is_regular(block: bytes, layout: Layout) -> bool:
    """Tell by counting whether every line may have the right number of cells, and none begins a comment."""
    if b"#" in block or b"\0" in block or b"\n\n" in block or b"\n\r\n" in block or not block.strip():
        return False
    lines = block.count(b"\n") + (not block.endswith(b"\n"))
    wanted = lines * (layout.columns - 1 + layout.trailing)
    if b'"' not in block:
        return block.count(layout.delimiter.encode()) == wanted
    bytes_ = np.frombuffer(block, dtype=np.uint8)
    outside = np.cumsum(bytes_ == _QUOTE, dtype=np.uint32) % 2 == 0
    return int(np.count_nonzero(outside & (bytes_ == ord(layout.delimiter)))) == wanted and int(
        np.count_nonzero(outside & (bytes_ == _NEWLINE))
    ) == block.count(b"\n")


def _careful(block: bytes, layout: Layout, before: int, oddities: _Oddities) -> Columns:
    """Read a block cell by cell; rows of another length are dropped and told with their line."""
    rows: list[list[str]] = []
    numbers: list[int] = []
    lines = _lines(block)
    for at, line in enumerate(lines):
        if not line.strip() or line.lstrip().startswith("#"):
            if at < len(lines) - 1:  # behind the last line end there is no line
                oddities.blank.add(f"line {before + at + 1}")
            continue
        cells = split_line(line, layout.delimiter)
        if len(cells) == layout.columns + 1 and not cells[-1]:
            cells.pop()
        if len(cells) != layout.columns:
            (oddities.short if len(cells) < layout.columns else oddities.long).add(f"line {before + at + 1}")
            continue
        rows.append(cells)
        numbers.append(before + at + 1)
    columns: Columns = []
    for column, texts in enumerate(zip(*rows, strict=True)):
        if not layout.numeric[column]:
            columns.append(np.array(texts, dtype=object))
            continue
        found = to_numbers(texts, layout.styles[column])
        for row, text in found.odd:
            oddities.cells.setdefault(column, Tally()).add(f"line {numbers[row]}")
            oddities.shown.setdefault(column, text[:30])
        if found.unit:
            oddities.glued.setdefault(column, found.unit)
        columns.append(found.values)
    return columns


def _lines(block: bytes) -> list[str]:
    return block.decode("utf-8", errors="replace").split("\n")


def _fields(parts: list[Columns], layout: Layout, oddities: _Oddities) -> tuple[Field, ...]:
    parts = [part for part in parts if part]
    fields = []
    for column in range(layout.columns if parts else 0):
        whole = np.concatenate([part.pop(0) for part in parts])
        unit = layout.units[column] or oddities.glued.get(column, "")
        name = layout.names[column]
        if whole.dtype == object:
            fields.append(Field(name, unit, np.full(whole.size, np.nan), whole))
        else:
            fields.append(Field(name, unit, whole))
    return tuple(fields)
