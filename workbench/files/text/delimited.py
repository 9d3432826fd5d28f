"""Delimited text, block by block: fast where a block is clean, cell by cell where it is not."""

import csv
import io
from collections import deque
from collections.abc import Generator
from concurrent.futures import Future, ThreadPoolExecutor, wait
from dataclasses import dataclass
from itertools import count
from typing import Any, BinaryIO

import numpy as np

from workbench.errors import FileError
from workbench.files.disk.text_decoding import decode_head, utf8_blocks
from workbench.files.text.columns import Columns, Gathered, check_rows, keep_freed_memory
from workbench.files.text.header import told_rate
from workbench.files.text.layout import (
    MOST_LINES,
    Layout,
    find_layout,
    is_header_again,
    is_other_header,
)
from workbench.files.text.numbers import to_numbers
from workbench.files.text.oddities import Oddities
from workbench.files.text.separators import BLANKS, split_line
from workbench.files.vocabulary.file_words import WORKED_OUT
from workbench.files.vocabulary.recording import Recording, TextArray, is_complete
from workbench.model.arrays import FloatArray
from workbench.phrases import phrase
from workbench.work import Progress

BLOCK = 4_000_000
THREADS = 2
STEP = 10_000
USUAL_GAPS = ("", "nan", "NaN", "NA", "N/A", "null")
PATIENCE_S = 0.02
_NEWLINE, _QUOTE = 10, 34


def read_delimited(file: BinaryIO, source: str, size: int) -> Generator[Progress, None, Recording]:
    """Read a delimited text; a job.

    Blocks are read on two threads, ahead of the one that is taken in; each says which of its lines are odd.

    Args:
        file: its bytes.
        source: its name, for errors.
        size: its bytes, for the progress.

    Raises:
        FileError: when it is no delimited text of numbers.
    """
    head = decode_head(file, source)
    yield Progress(0, size, f"reading {source}")
    layout = find_layout(head.text, source)
    oddities = Oddities()
    keep_freed_memory()
    waiting: deque[Future[_Taken]] = deque()
    pool = ThreadPoolExecutor(THREADS, thread_name_prefix="reading")
    gathered = Gathered(size, pool)
    line = rows = read = 0
    try:
        blocks = utf8_blocks(file, head, BLOCK)
        for number in count():
            progress = Progress(min(read, size), size, f"reading {source}")
            yield progress
            block = next(blocks, None)
            yield progress  # a busy machine may take a tenth of a second over one block
            if block is not None:
                waiting.append(pool.submit(_take, block, layout, layout.first if number == 0 else 0))
            while waiting and (block is None or len(waiting) > THREADS):
                while not wait([waiting[0]], timeout=PATIENCE_S).done:
                    yield progress
                taken = waiting.popleft().result()
                read += taken.size
                columns = taken.columns
                if columns is None:
                    columns = yield from _careful(taken, layout, line, oddities, source)
                gathered.add(columns, taken.size)
                line += taken.lines
                rows += columns[0].size if columns else 0
                check_rows(rows, source)
            if block is None:
                break
        fields = gathered.fields(layout.names, _units(layout, oddities))
    finally:
        pool.shutdown(wait=False, cancel_futures=True)
    if not fields:
        raise FileError(
            phrase("{source} holds no complete row of values.", source=source),
            "A log has one line of values per sample.",
        )
    notes = (head.note,) * bool(head.note) + (*layout.notes, *oddities.notes(layout))
    rate = told_rate(head.text.split("\n")[: layout.first])
    return Recording(source, fields, notes, spoilt=oddities.spoilt(layout), told_rate_hz=rate)


def _units(layout: Layout, oddities: Oddities) -> list[str]:
    return [unit or oddities.glued.get(at, "") for at, unit in enumerate(layout.units)]


@dataclass(frozen=True)
class _Taken:
    """A block after the fast reader.

    Attributes:
        body: its lines of values.
        skipped: lines before them.
        lines: all of its lines.
        size: its bytes.
        columns: what was read; None where the careful reader is wanted.
    """

    body: bytes
    skipped: int
    lines: int
    size: int
    columns: Columns | None


def _take(block: bytes, layout: Layout, skip: int) -> _Taken:
    body = block if skip == 0 else _without_lines(block, skip)
    if not body:
        return _Taken(b"", skip, skip + _count_lines(body), len(block), [])
    # Looking for words that mean "missing" costs a fifth, so that is done only where the head or a failure asks.
    columns = None if layout.missing or not _is_plain(body, layout) else _fast(body, layout, gaps=False)
    if columns is not None:
        return _Taken(b"", skip, skip + columns[0].size, len(block), columns)
    lines = _count_lines(body)
    if body.endswith(b"\n") and _is_regular(body, layout, lines):
        columns = _fast(body, layout, gaps=True)
        if columns is not None and columns[0].size != lines:
            columns = None
    return _Taken(body if columns is None else b"", skip, skip + lines, len(block), columns)


def _is_plain(block: bytes, layout: Layout) -> bool:
    """Return whether the parser alone finds every line that is not as it should be, without any counting.

    It refuses a line that is longer than those before it, so the first one is held against the layout. A line that is
    shorter, blank or a comment leaves its last cell empty, which is no number.
    """
    if (
        not layout.numeric[-1]
        or _may_hold_comments(block, layout)
        or not block.endswith(b"\n")
        or any(sign in block for sign in (b'"', b"\0", b"\r"))
    ):
        return False
    return block.count(layout.delimiter.encode(), 0, block.index(b"\n")) == layout.columns - 1 + layout.trailing


def _without_lines(block: bytes, lines: int) -> bytes:
    at = 0
    for _ in range(lines):
        end = block.find(b"\n", at)
        if end < 0:
            return b""
        at = end + 1
    return block[at:]


def _cut_line(lines: list[str], layout: Layout) -> str:
    """Return the last number of a last line that has no end and is shorter there than all before it: it was cut."""
    if len(lines) < 4:
        return ""
    cells = [(split_line(line, layout.delimiter) or [""])[-1] for line in lines[-21:]]
    return cells[-1] if cells[-1] and len(cells[-1]) < min(len(cell) for cell in cells[:-1]) else ""


def _fast(block: bytes, layout: Layout, *, gaps: bool) -> Columns | None:
    """Read a clean block with the fast parser; None where something in it is out of order."""
    signs = {style.decimal for style, numeric in zip(layout.styles, layout.numeric, strict=True) if numeric}
    grouped = any(style.thousands for style in layout.styles)
    if layout.delimiter == " " or grouped or len(signs) > 1:
        return None
    import pandas  # noqa: ICN001 - spelt out

    width = layout.columns + layout.trailing
    words: Any = {at: [*{*USUAL_GAPS, *layout.missing}] for at in range(layout.columns) if layout.numeric[at]}
    texts = {at: np.str_ for at in range(width) if at >= layout.columns or not layout.numeric[at]}
    try:
        frame = pandas.read_csv(
            io.BytesIO(block),
            sep=layout.delimiter,
            header=None,
            names=range(width),
            index_col=False,
            dtype=texts,
            decimal=next(iter(signs), "."),
            skipinitialspace=layout.spaced,
            na_values=words,
            keep_default_na=False,
            na_filter=gaps,
            skip_blank_lines=False,
            encoding="utf-8",
            low_memory=False,  # blocks are small, and read on threads of their own
            # Before pandas 3 the usual way is off by one bit in some numbers of 17 digits.
            float_precision=None if int(pandas.__version__.split(".")[0]) >= 3 else "round_trip",
        )
    except (ValueError, pandas.errors.ParserError, OverflowError):
        return None
    if layout.trailing and frame[layout.columns].fillna("").str.strip(BLANKS).any():
        return None
    columns: list[FloatArray | TextArray] = []
    for at in range(layout.columns):
        if layout.numeric[at]:
            values = frame[at].to_numpy()
            if values.dtype.kind not in "if" or (not is_complete(values) and np.isinf(values).any()):
                return None
            columns.append(values)
        else:
            columns.append(frame[at].fillna("").str.strip(BLANKS).to_numpy(dtype=object))
    return columns


def _may_hold_comments(block: bytes, layout: Layout) -> bool:
    """Return whether a comment could pass for a row, its first cell being text."""
    return not layout.numeric[0] and b"#" in block


def _is_regular(block: bytes, layout: Layout, lines: int) -> bool:
    """Return by counting whether every line has the right number of cells.

    The parser refuses a line with more than the first; so where the first is right and the delimiters of all lines add
    up, none has too few.
    """
    if b"\0" in block or block.isspace() or _may_hold_comments(block, layout):
        return False
    signs = np.frombuffer(block, dtype=np.uint8)
    delimiters = signs == ord(layout.delimiter)
    if b'"' in block:
        outside = np.cumsum(signs == _QUOTE, dtype=np.uint32) % 2 == 0
        if np.any(~outside & (signs == _NEWLINE)):
            return False
        delimiters &= outside
    wanted = layout.columns - 1 + layout.trailing
    first = int(np.count_nonzero(delimiters[: block.index(b"\n")]))
    return first == wanted and int(np.count_nonzero(delimiters)) == lines * wanted


def _count_lines(block: bytes) -> int:
    ends = int(np.count_nonzero(np.frombuffer(block, dtype=np.uint8) == _NEWLINE))
    return ends + (not block.endswith(b"\n"))


def _careful(
    taken: _Taken, layout: Layout, before: int, oddities: Oddities, source: str
) -> Generator[Progress, None, Columns]:
    """Read a block cell by cell, and tell with their line what is odd."""
    if taken.body.isspace() and layout.delimiter != "\t":
        oddities.blank.add_run(f"line {before + taken.skipped + 1}", taken.lines - taken.skipped)
        return []
    rows, numbers = yield from _rows(taken, layout, before, oddities, source)
    columns: list[FloatArray | TextArray] = []
    for column, texts in enumerate(zip(*rows, strict=True)):
        yield Progress(column, layout.columns, phrase("reading {source} line by line", source=source))
        if not layout.numeric[column]:
            columns.append(np.array(texts, dtype=object))
            continue
        found = to_numbers(texts, layout.styles[column])
        for row, text in found.odd:
            oddities.no_number(column, numbers[row], text)
        if found.commas >= 0:
            oddities.commas.setdefault(column, numbers[found.commas])
        if found.unit:
            oddities.glued.setdefault(column, found.unit)
        columns.append(found.values)
    return columns


def _rows(
    taken: _Taken, layout: Layout, before: int, oddities: Oddities, source: str
) -> Generator[Progress, None, tuple[list[list[str]], list[int]]]:
    """Split a block into rows with their line numbers; rows of another length are dropped, and told."""
    rows: list[list[str]] = []
    numbers: list[int] = []
    lines = taken.body.decode("utf-8", errors="replace").split("\n")
    first = before + taken.skipped + 1
    if cut := _cut_line(lines, layout):
        oddities.cut = phrase(
            "Line {first} ends inside its last number {cut!r} and was dropped.", first=first + len(lines) - 1, cut=cut
        )
        lines.pop()
    following = 0
    for at, line in enumerate(lines):
        if at % STEP == 0:
            yield Progress(at, len(lines), phrase("reading {source} line by line", source=source))
        if at < following:  # it went with the quoted cell before
            continue
        if "\0" in line:
            oddities.nul.add(f"line {first + at}")
        if line.count('"') % 2 and (quoted := _quoted_row(lines, at, layout)):
            following = at + len(quoted)
            rows.append(split_line("\n".join(quoted), layout.delimiter))
            numbers.append(first + at)
            continue
        if not line.strip() or line.lstrip().startswith("#"):
            if at < len(lines) - 1:  # behind the last line end there is no line
                oddities.blank.add(f"line {first + at}")
            continue
        if cells := _row(line, layout, first + at, oddities, source):
            rows.append(cells)
            numbers.append(first + at)
    return rows, numbers


def _row(line: str, layout: Layout, number: int, oddities: Oddities, source: str) -> list[str]:
    """Split a line into the cells of a row; none where it is another thing, which is told.

    Raises:
        FileError: when it is the header of other columns.
    """
    cells = split_line(line, layout.delimiter)
    if len(cells) == layout.columns + 1 and not cells[-1]:
        cells.pop()
    if len(cells) != layout.columns:
        if is_other_header(cells, layout):
            raise _two_logs(number, source)
        (oddities.short if len(cells) < layout.columns else oddities.long).add(f"line {number}")
        return []
    again = is_header_again(cells, layout)
    if again is None:
        raise _two_logs(number, source)
    if again:
        oddities.header.add(f"line {number}")
        return []
    if WORKED_OUT.fullmatch(next(filter(None, cells), "")):  # elsewhere it may be what one sensor reads, as `max`
        oddities.worked_out.add(f"line {number}")
        return []
    return cells


def _two_logs(number: int, source: str) -> FileError:
    return FileError(
        phrase(
            "Line {number} of {source} names other channels than the header, or in another "
            "order: the file holds two logs.",
            number=number,
            source=source,
        ),
        "Split the file there, and add the two logs separately.",
    )


def _quoted_row(lines: list[str], at: int, layout: Layout) -> list[str]:
    """Return the lines of a row whose quoted cell holds line ends (RFC 4180, 2.6); none where they make no such row.

    Two quotes that were never closed must not swallow the rows between them: those are whole by themselves, and behind
    the second quote there is no delimiter.
    """
    for end in range(at + 2, min(at + 2 + MOST_LINES, len(lines) + 1)):
        if lines[end - 1].count('"') % 2 == 0:
            if len(split_line(lines[end - 1], layout.delimiter)) >= layout.columns:
                return []
            continue
        row = lines[at:end]
        try:
            cells = next(csv.reader(["\n".join(row)], delimiter=layout.delimiter, skipinitialspace=True, strict=True))
        except csv.Error:
            return []
        return row if len(cells) == layout.columns else []
    return []
