"""Logs of any format, read into channels in base units with every assumption told."""

import hashlib
from collections.abc import Generator, Mapping
from pathlib import Path
from typing import BinaryIO, cast

from workbench.errors import FileError
from workbench.files.delimited import read_delimited
from workbench.files.meaning import make_log
from workbench.files.reading import check_readable
from workbench.model.log import Log, Role
from workbench.work import Progress


class _Digested:
    """A file whose bytes go into a digest as they are read, each of them once."""

    def __init__(self, file: BinaryIO) -> None:
        self.file = file
        self.digest = hashlib.sha256()
        self.seen = 0

    def read(self, size: int = -1) -> bytes:
        """Read on."""
        at = self.file.tell()
        content = self.file.read(size)
        if at + len(content) > self.seen:
            self.digest.update(content[self.seen - at :] if at < self.seen else content)
            self.seen = at + len(content)
        return content

    def tell(self) -> int:
        """Tell the place."""
        return self.file.tell()

    def seek(self, at: int, whence: int = 0) -> int:
        """Go to a place; bytes that are skipped are digested too."""
        return self.file.seek(at, whence)

    def finish(self) -> str:
        """Digest what was not read, and give the digest in hexadecimal."""
        self.file.seek(self.seen)
        while content := self.file.read(1 << 20):
            self.digest.update(content)
        return self.digest.hexdigest()


def read_log(
    path: Path,
    *,
    roles: Mapping[Role, str] = {},
    stoichiometric_afr: float = 14.7,
    rate_hz: float | None = None,
) -> Generator[Progress, None, Log]:
    """Read a log; a job.

    Args:
        path: the file.
        roles: role -> channel, where the user says so.
        stoichiometric_afr: air-fuel ratio at lambda 1, for channels logged as AFR.
        rate_hz: rows a second, for a file without a time.

    Raises:
        FileError: when the file cannot be read as a log.
        InputError: when a stated channel is not there, or the time cannot be known.
    """
    check_readable(path)
    yield Progress(0, 1, f"reading {path.name}")
    try:
        with path.open("rb") as file:
            digested = _Digested(file)
            size = path.stat().st_size
            recording = yield from read_delimited(cast("BinaryIO", digested), path.name, size)
            sha256 = digested.finish()
    except OSError as error:
        raise FileError(f"The file {path} cannot be read: {error.strerror}.", "Check its permissions.") from error
    return make_log(recording, sha256, roles=roles, stoichiometric_afr=stoichiometric_afr, rate_hz=rate_hz)
