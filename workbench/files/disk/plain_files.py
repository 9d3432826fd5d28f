"""The one place where files are opened by us: regular ones only, and never so that a session in use loses its locks.

A process that closes any descriptor of a file loses all POSIX locks that it holds on that file, whoever took them
(POSIX.1-2017, fcntl, "F_SETLK"). SQLite guards its own descriptors against that, not ours: a session that is read and
closed plainly while it is open would look unused to the next process, which then removes the changes still waiting
beside it (SQLite, "How To Corrupt An SQLite Database File", section 2.2). So a file that is held here is read through
the one descriptor that stays open for as long as it is held.
"""

import io
import os
import stat
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, BinaryIO, cast

from workbench.errors import FileError
from workbench.phrases import phrase

Identity = tuple[int, int]  # device and inode
_FLAGS = os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_CLOEXEC", 0) | getattr(os, "O_BINARY", 0)


@dataclass
class _Held:
    """A file whose locks must stay: how often it is held, and the descriptors that may not be closed before."""

    times: int = 0
    descriptors: list[int] = field(default_factory=list)


_held: dict[Identity, _Held] = {}
_guard = threading.RLock()


class Hold:
    """A claim on a file: until it is released no descriptor of that file is closed in this process.

    Attributes:
        identity: device and inode of the file.
        descriptor: open for reading for as long as the claim stands, wherever the file is moved meanwhile.
    """

    def __init__(self, path: Path) -> None:
        """Claim the file at a path.

        Raises:
            OSError: when it cannot be opened.
            FileError: when it is not a regular file.
        """
        with _guard:
            descriptor, known = _descriptor(path)
            self.identity = _identity(os.fstat(descriptor))
            held = _held.setdefault(self.identity, _Held())
            held.times += 1
            if not known:
                held.descriptors.append(descriptor)
            self.descriptor = descriptor
        self._stands = True

    def release(self) -> None:
        """Give the claim up; call it after the last lock on the file was given back."""
        with _guard:
            if not self._stands:
                return
            self._stands = False
            held = _held[self.identity]
            held.times -= 1
            if not held.times:
                del _held[self.identity]
                for descriptor in held.descriptors:
                    os.close(descriptor)


@contextmanager
def reading(path: Path) -> Iterator[BinaryIO]:
    """Open a regular file for reading bytes.

    Raises:
        OSError: when it cannot be opened or read.
        FileError: when it is not a regular file.
    """
    with _guard:
        descriptor, known = _descriptor(path)
    try:
        with io.BufferedReader(_Reader(descriptor), 1 << 16) as file:
            yield cast("BinaryIO", file)
    finally:
        if not known:
            _let_go(descriptor)


def read_bytes(path: Path) -> bytes:
    """Read a regular file whole.

    Raises:
        OSError: when it cannot be opened or read.
        FileError: when it is not a regular file.
    """
    with reading(path) as file:
        return file.read()


def _descriptor(path: Path) -> tuple[int, bool]:
    """Open a file, or give the descriptor that stays open for it anyway; tell which of the two."""
    held = _held.get(_identity(path.stat()))
    if held is not None:
        return held.descriptors[0], True
    descriptor = os.open(path, _FLAGS)  # without waiting, which it would for a pipe that nobody writes to
    if stat.S_ISREG(os.fstat(descriptor).st_mode):
        return descriptor, False
    os.close(descriptor)
    raise FileError(
        phrase("{path} is not a regular file.", path=path), "Name a file; what comes through a pipe, save in one first."
    )


def _let_go(descriptor: int) -> None:
    """Close a descriptor, or keep it where the file was claimed since it was opened."""
    with _guard:
        held = _held.get(_identity(os.fstat(descriptor)))
        if held is None:
            os.close(descriptor)
        else:
            held.descriptors.append(descriptor)


def _identity(status: os.stat_result) -> Identity:
    return status.st_dev, status.st_ino


class _Reader(io.RawIOBase):
    """Bytes of an open descriptor from a place of its own; closing it leaves the descriptor open."""

    def __init__(self, descriptor: int) -> None:
        super().__init__()
        self._descriptor, self._at = descriptor, 0

    def readable(self) -> bool:
        return True

    def seekable(self) -> bool:
        return True

    def fileno(self) -> int:
        return self._descriptor

    def tell(self) -> int:
        return self._at

    def seek(self, offset: int, whence: int = os.SEEK_SET) -> int:
        start = (0, self._at, os.fstat(self._descriptor).st_size)[whence]
        if start + offset < 0:
            raise OSError(22, "Invalid argument")
        self._at = start + offset
        return self._at

    def readinto(self, buffer: Any) -> int:
        view = memoryview(buffer).cast("B")
        content = _read_at(self._descriptor, len(view), self._at)
        view[: len(content)] = content
        self._at += len(content)
        return len(content)


def _read_at(descriptor: int, size: int, at: int) -> bytes:
    if hasattr(os, "pread"):
        return os.pread(descriptor, size, at)
    with _guard:  # a system without it: the place is the descriptor's own
        os.lseek(descriptor, at, os.SEEK_SET)
        return os.read(descriptor, size)
