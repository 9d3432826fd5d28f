"""Arrays put aside: in files without names, so that those that nobody looks at just now take no memory."""

import mmap
import os
import tempfile
import threading
import weakref
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any, TypeVar, cast

import numpy as np
from numpy.typing import NDArray

Array = TypeVar("Array", bound=NDArray[Any])

MANY_ROWS = 500_000  # of all drives, from which it is worth it: evidence takes half a kilobyte a row
PAGE = 1 << 26  # bytes of one file; it is gone with the last array in it
SMALLEST = 1 << 12  # bytes; less is not worth a place
EVERY_S = 0.05  # how often memory is given back
_ALIGNED = 64  # bytes; numpy's own arrays lie at 16 at least


class Shelf:
    """Puts arrays aside, and gives back the memory of those that were looked at: it fills again at the next look.

    What was put is the same to the last bit, and cannot be written to. Where there is no room on the disk, or the
    system does not take memory back, arrays stay where they are.
    """

    def __init__(self, *, usable: bool) -> None:
        self._page: _Page | None = None
        self._pages: weakref.WeakSet[mmap.mmap] = weakref.WeakSet()
        self._usable = usable and hasattr(mmap.mmap, "madvise")
        self._adding, self._closed = threading.Lock(), threading.Event()

    def put(self, array: Array, /) -> Array:
        """Put an array aside, unless it is small or lies there already; give it as it lies there."""
        whole = array.flags.c_contiguous and array.base is None
        if not (self._usable and whole and array.nbytes >= SMALLEST):
            return array
        try:
            page = self._page
            if page is None or not page.holds(array.nbytes):
                page = self._turn_to(_Page(max(PAGE, array.nbytes)))
            return page.put(array)
        except OSError:
            self._usable = False
            return array

    def rest(self) -> None:
        """Give back the memory of what was looked at."""
        with self._adding:
            for page in self._pages:
                page.madvise(mmap.MADV_DONTNEED)

    def close(self) -> None:
        """Put nothing more; pages whose arrays are still of use stay until the last of these is gone."""
        self._usable = False
        self._closed.set()
        if self._page is not None:
            self._page.close()
            self._page = None

    def _turn_to(self, page: "_Page") -> "_Page":
        if self._page is not None:
            self._page.close()
        else:
            threading.Thread(target=self._rest_now_and_then, daemon=True).start()
        with self._adding:
            self._page = page
            self._pages.add(page.memory)
        return page

    def _rest_now_and_then(self) -> None:
        while not self._closed.wait(EVERY_S):
            self.rest()


class _Page:
    """One file, and where it lies in memory; only as much of it takes room on the disk as was written."""

    def __init__(self, size: int) -> None:
        with tempfile.TemporaryFile() as file:
            file.truncate(size)
            self.memory = mmap.mmap(file.fileno(), size, access=mmap.ACCESS_READ)
            self._file = os.dup(file.fileno())
        self._size, self._used = size, 0

    def holds(self, size: int) -> bool:
        """Tell whether so many bytes fit."""
        return self._used + size <= self._size

    def put(self, array: Array) -> Array:
        """Write an array, and give it as it lies in memory.

        Raises:
            OSError: when the disk is full: it is written, since what is only mapped would fail when nobody can be told.
        """
        content, at = array.data.cast("B"), self._used
        while content:
            content = content[os.pwrite(self._file, content, at + array.nbytes - content.nbytes) :]
        self._used = -(-(at + array.nbytes) // _ALIGNED) * _ALIGNED
        there = np.frombuffer(self.memory, array.dtype, array.size, at).reshape(array.shape)
        return cast("Array", there)

    def close(self) -> None:
        """Write no more."""
        os.close(self._file)


@contextmanager
def shelf(rows: int) -> Iterator[Shelf]:
    """Open a shelf for work on so many rows of logs; on few rows nothing is put aside."""
    opened = Shelf(usable=rows >= MANY_ROWS)
    try:
        yield opened
    finally:
        opened.close()
