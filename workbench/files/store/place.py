"""Where an open session lies, and whether the very same file still lies there."""

import os
from pathlib import Path

from workbench.errors import LostFileError
from workbench.files.disk.plain_files import Hold
from workbench.phrases import call, phrase

_BESIDE = ("-wal", "-shm")
_KEPT = phrase(
    "Nothing was written there. All that was done before is still here: save it elsewhere with {save_copy_command}.",
    save_copy_command=call("save-copy"),
)


class Place:
    """A claim on the file of a session, taken before SQLite opens it and given back after it was closed.

    Attributes:
        real: where it lies, symbolic links followed.
    """

    def __init__(self, path: Path) -> None:
        """Claim the file.

        Raises:
            OSError, FileError: when it cannot be opened, or is not a regular file.
        """
        self.real = path.resolve()
        self._path = path
        self._hold = Hold(self.real)
        self._size, self._changed_ns = 0, 0
        self._beside: dict[Path, tuple[int, int]] = {}

    def remember(self) -> None:
        """Take the file, and what SQLite keeps beside it, as they are now for the ones that are expected."""
        status = os.fstat(self._hold.descriptor)
        self._size, self._changed_ns = status.st_size, status.st_mtime_ns
        for ending in _BESIDE:
            path = self.real.with_name(self.real.name + ending)
            if path not in self._beside and path.exists():
                self._beside[path] = _identity(path.stat())

    def check(self) -> bool:
        """Return whether the file is untouched since it was remembered.

        Raises:
            LostFileError: when it is not there any more, or another lies in its place.
        """
        try:
            status = self.real.stat()
        except OSError as error:
            raise self.lost("is not there any more: it was moved, renamed or deleted") from error
        if _identity(status) != self._hold.identity:
            raise self.lost("is another file now: something else was put in its place")
        if status.st_size < self._size:
            raise self.lost(
                phrase("was cut short, from {size} to {st_size} bytes", size=self._size, st_size=status.st_size)
            )
        for path, identity in self._beside.items():
            try:
                same = _identity(path.stat()) == identity
            except OSError:
                same = False
            if not same:
                raise self.lost(phrase("is not whole any more: {path} beside it was taken away", path=path.name))
        return (status.st_size, status.st_mtime_ns) == (self._size, self._changed_ns)

    def is_at(self, path: Path) -> bool:
        """Tell whether a path leads to the claimed file itself."""
        try:
            return _identity(path.stat()) == self._hold.identity
        except OSError:
            return False

    def lost(self, what: str) -> LostFileError:
        """Report that a session cannot be written any more where it was opened."""
        return LostFileError(phrase("{path} {what} while it was open.", path=self._path, what=what), _KEPT)

    def release(self) -> None:
        """Give the claim up."""
        self._hold.release()


def _identity(status: os.stat_result) -> tuple[int, int]:
    return status.st_dev, status.st_ino
