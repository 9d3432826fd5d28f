"""Columns of a recording that grow as blocks of it come in."""

from collections.abc import Sequence
from concurrent.futures import Executor, Future
from typing import cast

import numpy as np

from workbench.errors import FileError
from workbench.files.vocabulary.recording import Field, TextArray
from workbench.model.arrays import FloatArray
from workbench.model.packing import MOST
from workbench.phrases import phrase

Columns = Sequence[FloatArray | TextArray]
LARGEST_HELD = 32_000_000  # bytes; what GNU's malloc can at most be brought to keep


class Gathered:
    """Columns that grow; numbers lie in one array each from the start, so none is copied twice."""

    def __init__(self, size: int, pool: Executor) -> None:
        """Take the size of the file in bytes, from which the number of rows is foreseen, and threads that copy."""
        self._size = size
        self._pool = pool
        self._copying: list[Future[None]] = []
        self._rows = 0
        self._room = 0
        self._numbers: dict[int, FloatArray] = {}
        self._texts: dict[int, list[TextArray]] = {}

    def add(self, columns: Columns, size: int) -> None:
        """Take in the columns of a block of so many bytes; they may not be changed any more."""
        if not columns:
            return
        end = self._rows + columns[0].size
        if end > self._room:
            self._settle()
            foreseen = int(1.02 * columns[0].size * self._size / max(size, 1))
            self._room = max(foreseen, end + end // 2 if self._rows else end)
        pairs: list[tuple[FloatArray, FloatArray]] = []
        for at, column in enumerate(columns):
            if column.dtype == object:
                self._texts.setdefault(at, []).append(cast("TextArray", column))
                continue
            if at not in self._numbers:
                self._numbers[at] = np.empty(self._room)
            kept = self._numbers[at]
            if kept.size < self._room:
                kept.resize(self._room, refcheck=False)
            pairs.append((kept[self._rows : end], cast("FloatArray", column)))
        self._rows = end
        self._copying.append(self._pool.submit(_copy, pairs))  # memory that is touched for the first time takes long

    def fields(self, names: Sequence[str], units: Sequence[str]) -> tuple[Field, ...]:
        """Return what came in, under these names and units; nothing can be added afterwards."""
        self._settle()
        if not self._rows:
            return ()
        found = []
        for at, (name, unit) in enumerate(zip(names, units, strict=True)):
            if at in self._texts:
                cells: TextArray = np.concatenate(self._texts[at])
                found.append(Field(name, unit, np.full(self._rows, np.nan), cells))
            else:
                self._numbers[at].resize(self._rows, refcheck=False)
                found.append(Field(name, unit, self._numbers[at]))
        return tuple(found)

    def _settle(self) -> None:
        for copied in self._copying:
            copied.result()
        self._copying.clear()


def _copy(pairs: Sequence[tuple[FloatArray, FloatArray]]) -> None:
    for kept, column in pairs:
        kept[:] = column


def keep_freed_memory() -> None:
    """Let the C library keep the memory of one block for the next; else the system clears all of it anew each time.

    Once a large piece was freed, GNU's malloc holds on to smaller ones; elsewhere this does nothing. Measured: a third
    of the time of reading.
    """
    np.empty(LARGEST_HELD, dtype=np.uint8)


def check_rows(rows: int, source: str) -> None:
    """Refuse a log of more rows than a session keeps, while it is read.

    Raises:
        FileError: when there are more.
    """
    if rows > MOST:
        raise FileError(
            phrase("{source} has more than {most} rows, the most a log can have.", source=source, most=MOST),
            "Split it into several logs.",
        )
