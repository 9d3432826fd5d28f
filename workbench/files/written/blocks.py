"""Several blocks of lines below one another, each with a header and a rate of its own, that tell of one drive."""

import io
import re
from collections.abc import Generator
from itertools import pairwise
from typing import BinaryIO

import numpy as np

from workbench.errors import WorkbenchError
from workbench.files.disk.text_decoding import decode
from workbench.files.text.delimited import read_delimited
from workbench.files.text.separators import DELIMITERS, kind_of, split_line
from workbench.files.vocabulary.clock_scale import Scale, find_scale
from workbench.files.vocabulary.recording import Series, timed
from workbench.files.vocabulary.spelling import plain_words
from workbench.files.written.longform import LongForm
from workbench.phrases import phrase
from workbench.work import Progress

LARGEST = 30_000_000  # bytes that are looked through
_NEXT = re.compile(rb"\n[ \t;,\r]*\n(?=[\"A-Za-z\xc2-\xf4][^\n]*[;,\t|][^\n]*\n[\"'+-]?[\d.])")
MOST_BLOCKS = 20
COMMON = 0.5  # of the shorter of two blocks, that both must run over


def in_blocks(file: BinaryIO, source: str, size: int) -> Generator[Progress, None, LongForm | None]:
    """Read blocks that have clocks of their own over the same time; None where there is one. The file is at its start.

    Raises:
        FileError: when it is no text.
    """
    parts = _parts(file, source, size)
    if not parts:
        return None
    series: list[Series] = []
    notes = [phrase("{count} blocks of lines, each with its own header, tell of one drive.", count=len(parts))]
    spans: list[tuple[float, float]] = []
    first: tuple[str, Scale] | None = None
    for part in parts:
        content = part.encode()
        try:
            recording = yield from read_delimited(io.BytesIO(content), source, len(content))
        except WorkbenchError:
            return None
        clock = recording.fields[0]
        if clock.texts is not None or not np.all(np.diff(clock.values[np.isfinite(clock.values)]) >= 0):
            return None
        scale = find_scale(plain_words(clock.name), clock.unit, clock.values)
        time = clock.values * scale.seconds
        first = first or (clock.name, scale)
        spans.append((float(np.nanmin(time)), float(np.nanmax(time))))
        series += timed(recording.fields[1:], time)
        notes += [note for note in recording.notes if note not in notes]
    return LongForm(series, notes, *first) if first is not None and _overlap(spans) else None


def _parts(file: BinaryIO, source: str, size: int) -> list[str]:
    """Cut a text where a header stands below an empty line and names other channels than the one before it."""
    if size > LARGEST:
        return []
    content = file.read()
    file.seek(0)
    if not 0 < len(_NEXT.findall(content)) < MOST_BLOCKS:
        return []
    text = decode(content, source).text.replace("\r\n", "\n")
    parts = _NEXT.split(text.encode())
    heads = [_names(part.decode()) for part in parts]
    apart = all(bool(a) and not a & b for a, b in pairwise(heads))
    return [part.decode() + "\n" for part in parts] if apart and heads[-1] else []


def _names(part: str) -> frozenset[str]:
    lines = [line for line in part.splitlines() if line.strip()]
    head = next((line for line in lines if any(kind_of(cell) == "t" for cell in split_line(line, _sign(line)))), "")
    return frozenset(split_line(head, _sign(head))[1:])


def _sign(line: str) -> str:
    return max(DELIMITERS, key=line.count)


def _overlap(spans: list[tuple[float, float]]) -> bool:
    low, high = spans[0]
    return all(min(last, high) - max(first, low) >= COMMON * min(last - first, high - low) for first, last in spans[1:])
