"""Compressed wrappings: gzip and zip around a file, opened without unpacking to the disk."""

import gzip
import io
import zipfile
import zlib
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import PurePosixPath
from typing import BinaryIO, cast

from workbench.errors import FileError, InputError
from workbench.phrases import flag, phrase

DEEPEST = 3
LARGEST_WORKBOOK = 1_000_000_000  # bytes unpacked
OLD_SHEET = b"\xd0\xcf\x11\xe0"  # of every compound file; of those, loggers and spreadsheets write only .xls
FAULTS = (OSError, EOFError, zlib.error, zipfile.BadZipFile, NotImplementedError, RuntimeError, ValueError, KeyError)
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
    opened: list[BinaryIO | zipfile.ZipFile] = []
    notes: list[str] = []
    try:
        while (kind := _kind(file)) != "":
            if len(notes) >= DEEPEST:
                raise FileError(
                    phrase("{name} is packed more than {deepest} times.", name=name, deepest=DEEPEST),
                    "Unpack it, then add the log.",
                )
            if kind == "gzip":
                file = cast("BinaryIO", io.BufferedReader(cast("io.RawIOBase", gzip.GzipFile(fileobj=file, mode="rb"))))
                name = name[: -len(".gz")] if name.lower().endswith(".gz") else name
                notes.append(phrase("{name} was unpacked from gzip.", name=name))
            else:
                archive = zipfile.ZipFile(file)
                opened.append(archive)
                member, part = _member(archive, name, part)
                file = cast("BinaryIO", archive.open(member))
                notes.append(phrase("{member} was extracted from {name}.", member=member, name=name))
                name = PurePosixPath(member).name
            opened.append(file)
        yield Opened(file, name, tuple(notes), part)
    except (zipfile.BadZipFile, EOFError, zlib.error, gzip.BadGzipFile, NotImplementedError, RuntimeError) as error:
        raise FileError(
            phrase("{name} cannot be unpacked: {error}.", name=name, error=error),
            "Copy it again; the file is damaged or locked.",
        ) from error
    finally:
        for layer in reversed(opened):
            layer.close()


def _kind(file: BinaryIO) -> str:
    head = file.read(4)
    file.seek(0)
    if head[:2] == b"\x1f\x8b":
        return "gzip"
    if head != b"PK\x03\x04" or is_workbook(file):
        return ""
    return "zip"


def is_workbook(file: BinaryIO) -> bool:
    """Tell a spreadsheet, also one of an old kind, from another file; leaves the file at its start."""
    try:
        file.seek(0)
        if (mark := file.read(4)) != b"PK\x03\x04":
            return mark == OLD_SHEET
        file.seek(0)
        with zipfile.ZipFile(file) as archive:
            if sum(info.file_size for info in archive.infolist()) > LARGEST_WORKBOOK:
                return False
            names = set(archive.namelist())
            return "xl/workbook.xml" in names or "xl/workbook.bin" in names or "content.xml" in names
    except FAULTS:
        return False
    finally:
        file.seek(0)


def _member(archive: zipfile.ZipFile, name: str, part: str) -> tuple[str, str]:
    """Choose the file inside a zip, and give what is left of the part."""
    files = [info.filename for info in archive.infolist() if not info.is_dir() and info.file_size > 0]
    files = [inside for inside in files if not any(word in inside for word in _IGNORED)]
    if not files:
        raise FileError(phrase("{name} is an empty zip file.", name=name), "Add the log itself.")
    if part in files:
        return part, ""
    if len(files) > 1:
        shown = ", ".join(files[:10]) + (" …" if len(files) > 10 else "")
        raise InputError(
            phrase("{name} holds {files} files.", name=name, files=len(files)),
            phrase("Name one of them with {part_flag}: {shown}.", part_flag=flag("part"), shown=shown),
        )
    return files[0], part
