"""Bytes and text off the disk, with a clear refusal where there is nothing to read."""

import codecs
from dataclasses import dataclass
from pathlib import Path

from workbench.errors import FileError

BYTE_ORDER_MARKS = (
    (codecs.BOM_UTF8, "utf-8-sig"),
    (codecs.BOM_UTF32_LE, "utf-32"),
    (codecs.BOM_UTF32_BE, "utf-32"),
    (codecs.BOM_UTF16_LE, "utf-16"),
    (codecs.BOM_UTF16_BE, "utf-16"),
)


@dataclass(frozen=True)
class Text:
    """A decoded text and how it was decoded.

    Attributes:
        text: without a byte-order mark.
        encoding: the codec.
        note: what had to be assumed, or empty.
    """

    text: str
    encoding: str
    note: str = ""


def check_readable(path: Path) -> None:
    """Refuse what is not a file with something in it.

    Raises:
        FileError: naming the path.
    """
    if path.is_dir():
        raise FileError(f"{path} is a directory, not a file.", "Name one file inside it.")
    if not path.exists():
        raise FileError(f"There is no file {path}.", "Check the spelling, and the folder you are in.")
    try:
        if path.is_file() and path.stat().st_size == 0:
            raise FileError(f"The file {path} is empty.", "Save or copy it again.")
    except OSError as error:
        raise FileError(f"The file {path} cannot be read: {error.strerror}.", "Check its permissions.") from error


def read_bytes(path: Path, limit: int) -> bytes:
    """Read a whole file of at most `limit` bytes.

    Raises:
        FileError: when it is missing, a directory, empty, unreadable or larger.
    """
    check_readable(path)
    try:
        with path.open("rb") as file:
            content = file.read(limit + 1)
    except OSError as error:
        raise FileError(f"The file {path} cannot be read: {error.strerror}.", "Check its permissions.") from error
    if len(content) > limit:
        raise FileError(
            f"The file {path} is larger than {limit // 1_000_000} MB.", "That is no table; is it a log? Use add-log."
        )
    return content


def decode(content: bytes, source: str) -> Text:
    """Decode bytes: by byte-order mark, else as UTF-8, else as the western European Windows code page.

    Raises:
        FileError: when the bytes are no text.
    """
    for mark, encoding in BYTE_ORDER_MARKS:
        if content.startswith(mark):
            try:
                return Text(content.decode(encoding), encoding)
            except UnicodeDecodeError as error:
                raise FileError(
                    f"{source} begins as {encoding} text but byte {error.start} does not fit.", "Save it again."
                ) from error
    if b"\0" in content:
        raise FileError(f"{source} holds zero bytes: it is no text.", "Export it as CSV text and bring that.")
    try:
        return Text(content.decode("utf-8"), "utf-8")
    except UnicodeDecodeError:
        return Text(
            content.decode("cp1252", errors="replace"),
            "cp1252",
            f"{source} is not UTF-8; it was read as Windows-1252 text.",
        )
