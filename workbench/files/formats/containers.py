"""Compressed wrappings: gzip, bzip2, xz, tar and zip around a file, opened without unpacking to the disk."""

import bz2
import gzip
import io
import lzma
import re
import tarfile
import zipfile
import zlib
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import PurePosixPath
from typing import Any, BinaryIO, cast

from workbench.errors import FileError, InputError
from workbench.phrases import flag, phrase

DEEPEST = 3
PIECE = 4096  # bytes, of which the last ones of a packed file that was cut off are lost
MOST_TIMES = 60  # a log of text comes out of gzip some 4 to 20 times as large (measured on our own)
LEAST_UNPACKED, MOST_UNPACKED = 24_000_000, 2_000_000_000  # bytes
LARGEST_WORKBOOK = 1_000_000_000  # bytes unpacked
OLD_SHEET = b"\xd0\xcf\x11\xe0"  # of every compound file; of those, loggers and spreadsheets write only .xls
FAULTS = (
    OSError,
    EOFError,
    zlib.error,
    lzma.LZMAError,
    tarfile.TarError,
    zipfile.BadZipFile,
    NotImplementedError,
    RuntimeError,
    ValueError,
    KeyError,
)
_DAMAGED = (
    zipfile.BadZipFile, tarfile.TarError, EOFError, zlib.error, lzma.LZMAError, gzip.BadGzipFile, NotImplementedError,
    RuntimeError,
)  # fmt: skip
_STREAMS: dict[str, tuple[Callable[[BinaryIO], object], tuple[str, ...]]] = {
    "gzip": (lambda file: gzip.GzipFile(fileobj=file, mode="rb"), (".gz",)),
    "bzip2": (bz2.BZ2File, (".bz2",)),
    "xz": (lzma.LZMAFile, (".xz",)),
}
_TAR_MARK, _TAR_AT = b"ustar", 257  # POSIX.1-1988, the magic field of a header
_WORKBOOKS = {"xl/workbook.xml", "xl/workbook.bin", "content.xml"}
# What lies beside a log in an archive, by its name: words to the reader, and pictures.
_BESIDE = re.compile(
    r"(^|/)[_ ]?(read.?me|licen[cs]e|lizenz|lies.?mich|lisez.?moi|leggimi|leia.?me|leeme|change.?log|notes?)[^/]*$|"
    r"\.(pdf|png|jpe?g|gif|svg|bmp|docx?|rtf|md|ini|url|exe|sh|bat|sha256|md5)$"
)
_OFFICE = "[Content_Types].xml"  # ECMA-376, part 2: in every package of an office program
_IGNORED = ("__MACOSX/", ".DS_Store", "Thumbs.db")


@dataclass(frozen=True, eq=False)
class Opened:
    """What lies inside the wrappings.

    Attributes:
        file: its bytes, to be read once from the start; can seek.
        name: of the innermost file.
        notes: what was unwrapped.
        part: what is left of the name of a part once the zip files took theirs.
    """

    file: BinaryIO
    name: str
    notes: tuple[str, ...]
    part: str


@contextmanager
def unwrapped(file: BinaryIO, name: str, part: str = "") -> Iterator[Opened]:
    """Open what lies inside gzip and zip wrappings, however they are nested (three deep at most).

    Args:
        file: the outer file.
        name: its name.
        part: name of the file inside a zip with several; for workbooks it is left alone.

    Raises:
        FileError: when a wrapping is damaged or nested too deep.
        InputError: when a zip holds several files and none was named.
    """
    opened: list[BinaryIO | zipfile.ZipFile | tarfile.TarFile] = []
    most = _most_unpacked(file)
    notes: list[str] = []
    layers: list[_Limited] = []
    try:
        while (kind := _kind(file)) != "":
            if len(notes) >= DEEPEST:
                raise FileError(
                    phrase("{name} is packed more than {deepest} times.", name=name, deepest=DEEPEST),
                    "Unpack it, then add the log.",
                )
            if kind in _STREAMS:
                opener, endings = _STREAMS[kind]
                file = cast("BinaryIO", io.BufferedReader(cast("io.RawIOBase", opener(file))))
                name = next((name[: -len(end)] for end in endings if name.lower().endswith(end)), name)
                notes.append(phrase("{name} was unpacked from {kind}.", name=name, kind=kind))
            else:
                archive = zipfile.ZipFile(file) if kind == "zip" else tarfile.TarFile(fileobj=file)
                opened.append(archive)
                member, part = _member(_filled(archive), name, part)
                file = _extracted(archive, member)
                notes.append(phrase("{member} was extracted from {name}.", member=member, name=name))
                name = PurePosixPath(member).name
            layers.append(_Limited(file, name, most))
            file = cast("BinaryIO", io.BufferedReader(layers[-1]))
            opened.append(file)
        _check_workbook(file, name)
        if opened:
            _run_through(file)
        if any(layer.cut for layer in layers):
            notes.append(phrase("Caution: {name} is packed and cut off: what could be unpacked was read.", name=name))
        yield Opened(file, name, tuple(notes), part)
    except _DAMAGED as error:
        raise FileError(
            phrase("{name} cannot be unpacked: {error}.", name=name, error=error),
            "Copy it again; the file is damaged or locked.",
        ) from error
    finally:
        for layer in reversed(opened):
            layer.close()


class _Limited(io.RawIOBase):
    """Bytes out of a wrapping, as long as they are not more than any log unpacks to."""

    def __init__(self, file: BinaryIO, name: str, most: int) -> None:
        super().__init__()
        self._file, self._name, self._most, self.cut = file, name, most, False

    def readable(self) -> bool:
        return True

    def seekable(self) -> bool:
        return True

    def readinto(self, buffer: Any) -> int:
        view = memoryview(buffer).cast("B")
        at = self._file.tell()
        try:
            content = self._file.read(min(len(view), PIECE) if self.cut else len(view))
        except EOFError:  # it ends before its own end: what comes out until there, in small pieces, is whole
            if self.cut:
                return 0
            self.cut = True
            self._file.seek(at)
            return self.readinto(buffer)
        if self._file.tell() > self._most:
            raise FileError(
                phrase("{name} unpacks to more than {most} MB.", name=self._name, most=self._most // 1_000_000),
                "That is too much for a log. If it is one, unpack it, split it into several logs, and add those.",
            )
        view[: len(content)] = content
        return len(content)

    def seek(self, offset: int, whence: int = io.SEEK_SET) -> int:
        return self._file.seek(offset, whence)

    def tell(self) -> int:
        return self._file.tell()

    def close(self) -> None:
        if not self.closed:
            self._file.close()
        super().close()


def _run_through(file: BinaryIO) -> None:
    """Unpack once without keeping anything: what is too large is refused before any of it is taken in.

    Raises:
        FileError: when more comes out than any log unpacks to.
    """
    while file.read(1 << 18):
        pass
    file.seek(0)


def _most_unpacked(file: BinaryIO) -> int:
    """Give the most bytes that may come out of the wrappings around a file."""
    packed = file.seek(0, io.SEEK_END)
    file.seek(0)
    return min(max(LEAST_UNPACKED, MOST_TIMES * packed), MOST_UNPACKED)


def _kind(file: BinaryIO) -> str:
    head = file.read(_TAR_AT + len(_TAR_MARK))
    file.seek(0)
    if head[:2] == b"\x1f\x8b":
        return "gzip"
    if head[:3] == b"BZh" and head[4:10] in (b"1AY&SY", b"\x17rE8P\x90"):
        return "bzip2"
    if head[:6] == b"\xfd7zXZ\0":
        return "xz"
    if head[_TAR_AT:] == _TAR_MARK:
        return "tar"
    if head[:4] != b"PK\x03\x04" or is_workbook(file) or is_npz(file):
        return ""
    return "zip"


def is_npz(file: BinaryIO) -> bool:
    """Tell an archive of NumPy arrays from another zip; leaves the file at its start."""
    try:
        file.seek(0)
        if file.read(4) != b"PK\x03\x04":
            return False
        with zipfile.ZipFile(file) as archive:
            names = archive.namelist()
        return bool(names) and all(name.endswith(".npy") for name in names)
    except FAULTS:
        return False
    finally:
        file.seek(0)


def is_workbook(file: BinaryIO) -> bool:
    """Tell a spreadsheet, also one of an old kind, from another file; leaves the file at its start."""
    try:
        file.seek(0)
        if (mark := file.read(4)) != b"PK\x03\x04":
            return mark == OLD_SHEET
        file.seek(0)
        with zipfile.ZipFile(file) as archive:
            return bool(_WORKBOOKS & set(archive.namelist()))
    except FAULTS:
        return False
    finally:
        file.seek(0)


def _check_workbook(file: BinaryIO, name: str) -> None:
    """Refuse a spreadsheet that unpacks to more than any log or table; leaves the file at its start.

    Raises:
        FileError: when it does.
    """
    if not is_workbook(file) or file.read(4) == OLD_SHEET:
        file.seek(0)
        return
    file.seek(0)
    with zipfile.ZipFile(file) as archive:
        unpacked = sum(info.file_size for info in archive.infolist())
    file.seek(0)
    if unpacked > LARGEST_WORKBOOK:
        raise FileError(
            phrase("{name} is a spreadsheet that unpacks to {size} MB.", name=name, size=unpacked // 1_000_000),
            phrase(
                "At most {most} MB are read. Save what you need of it as CSV, and use that.",
                most=LARGEST_WORKBOOK // 1_000_000,
            ),
        )


def _filled(archive: zipfile.ZipFile | tarfile.TarFile) -> list[str]:
    """List the files inside that hold something."""
    if isinstance(archive, zipfile.ZipFile):
        named = [info for info in archive.infolist() if PurePosixPath(info.filename).name and info.file_size > 0]
        return [info.filename for info in named if not info.is_dir()]
    return [info.name for info in archive.getmembers() if info.isfile() and info.size > 0]


def _extracted(archive: zipfile.ZipFile | tarfile.TarFile, member: str) -> BinaryIO:
    if isinstance(archive, zipfile.ZipFile):
        return cast("BinaryIO", archive.open(member))
    return cast("BinaryIO", archive.extractfile(member))


def _member(files: Sequence[str], name: str, part: str) -> tuple[str, str]:
    """Choose the file inside an archive, and give what is left of the part."""
    files = [inside for inside in files if not any(word in inside for word in _IGNORED)]
    if not files:
        raise FileError(phrase("{name} is an empty archive.", name=name), "Add the log itself.")
    if part in files:
        return part, ""
    if _OFFICE in files:
        raise FileError(
            phrase("{name} is a document of an office program, not a log.", name=name),
            "Copy its table or text into a text file or a spreadsheet, and add that.",
        )
    if len(logs := [inside for inside in files if not _BESIDE.search(inside.casefold())]) == 1:
        return logs[0], part
    if len(files) > 1:
        shown = ", ".join(files[:10]) + (" …" if len(files) > 10 else "")
        raise InputError(
            phrase("{name} holds {files} files.", name=name, files=len(files)),
            phrase("Name one of them with {part_flag}: {shown}.", part_flag=flag("part"), shown=shown),
        )
    return files[0], part
