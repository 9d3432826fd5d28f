"""Bytes and text off the disk, with a clear refusal where there is nothing to read."""

import codecs
import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO

from workbench.errors import FileError
from workbench.files.disk.alphabets import code_page
from workbench.phrases import phrase

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
        raise FileError(phrase("{path} is a directory, not a file.", path=path), "Name one file inside it.")
    if not path.exists():
        raise FileError(phrase("There is no file {path}.", path=path), "Check the spelling, and the folder you are in.")
    try:
        if path.is_file() and path.stat().st_size == 0:
            raise FileError(phrase("The file {path} is empty.", path=path), "Save or copy it again.")
    except OSError as error:
        raise FileError(
            phrase("The file {path} cannot be read: {strerror}.", path=path, strerror=error.strerror),
            "Check its permissions.",
        ) from error


def decode(content: bytes, source: str) -> Text:
    """Decode bytes: by byte-order mark, else as UTF-8, else in the code page in which all its letters are at home.

    Raises:
        FileError: when the bytes are no text.
    """
    for mark, encoding in BYTE_ORDER_MARKS:
        if content.startswith(mark):
            try:
                return Text(content.decode(encoding), encoding)
            except UnicodeDecodeError as error:
                raise FileError(
                    phrase(
                        "{source} begins as {encoding} text but byte {start} does not fit.",
                        source=source,
                        encoding=encoding,
                        start=error.start,
                    ),
                    "Save it again.",
                ) from error
    if b"\0" in content:
        raise FileError(
            phrase("{source} holds NUL bytes, so it is not a text file.", source=source),
            "Export it as CSV text and use that.",
        )
    try:
        return Text(content.decode("utf-8"), "utf-8")
    except UnicodeDecodeError:
        if _is_damaged_utf8(content):
            return Text(content.decode("utf-8", errors="replace"), "utf-8", _said_damaged(source))
        page = code_page(content)
        return Text(content.decode(page, errors="replace"), page, _encoding_note(source, page))


def _said_damaged(source: str) -> str:
    return phrase("{source} is UTF-8 text, but some of its bytes are damaged: they were replaced.", source=source)


def _is_damaged_utf8(content: bytes) -> bool:
    """Tell whether most signs beyond ASCII are whole UTF-8: by chance those of a code page hardly ever are."""
    whole = _WHOLE_SIGN.findall(content)
    damaged = len(content) - len(content.translate(None, _BEYOND_ASCII)) - len(b"".join(whole))
    weight = len(whole) + sum(sign in _OF_UNITS for sign in whole)
    return weight >= FEWEST_WHOLE and damaged <= DAMAGED_TO_WHOLE * weight


def _encoding_note(source: str, encoding: str) -> str:
    return phrase("{source} is not UTF-8 text; it was read as {encoding}.", source=source, encoding=encoding)


HEAD = 262_144
# RFC 3629, section 4, but for its rarest forms.
_WHOLE_SIGN = re.compile(rb"[\xc2-\xdf][\x80-\xbf]|[\xe0-\xef][\x80-\xbf]{2}|[\xf0-\xf4][\x80-\xbf]{3}")
_BEYOND_ASCII = bytes(range(128, 256))
_OF_UNITS = frozenset("°µλ²³·".encode()[at : at + 2] for at in range(0, 12, 2))  # each counts twice
FEWEST_WHOLE, DAMAGED_TO_WHOLE = 2, 2
_WIDE = ("utf-8", "utf-16-le", "utf-16-be")
LONGEST_LINE = 32_000_000
_EXPORT = "Add the log itself, or export it as CSV text."
_SAVE = "Open it in a spreadsheet, save it as .xlsx or CSV, and use that."
_UNPACK = "Unpack it, and add the log inside."
_NO_LOGS = {
    b"\x89PNG": "a picture (PNG)",
    b"\xff\xd8\xff": "a picture (JPEG)",
    b"GIF8": "a picture (GIF)",
    b"%PDF": "a PDF document",
    b"SQLite format 3": "an SQLite database",
    b"\x7fELF": "a program",
    b"MZ": "a program",
    b"RIFF": "sound or film",
    b"PAR1": "a Parquet file",
    b"ARROW1": "an Arrow file",
    b"\x89HDF": "an HDF5 file",
    b"MATLAB 5.0": "a MAT file",
    b"7z\xbc\xaf": "a 7z archive",
    b"Rar!": "a RAR archive",
    b"BZh": "a bzip2 archive",
    b"\xfd7zXZ": "an xz archive",
    b"\x28\xb5\x2f\xfd": "a Zstandard archive",
}
_REMEDIES = {
    "a mail message": "Save what is attached to it, and add that.",
    "a dump of a database (SQL)": "Load it into its database, export the table as CSV, and add that.",
}
_MARKUP = {
    b"{\\rtf": "a text of a word processor (RTF)",
    b"mime-version:": "a mail message",
    b"received:": "a mail message",
    b"return-path:": "a mail message",
    b"from: ": "a mail message",
    b"insert into ": "a dump of a database (SQL)",
    b"create table ": "a dump of a database (SQL)",
    b"subject: ": "a mail message",
    b"<!doctype html": "a web page",
    b"<html": "a web page",
    b"<table": "a web page",
}


def decode_head(file: BinaryIO, source: str) -> Text:
    """Decode the beginning of a file, cut after a whole line, and leave the file where it was.

    Raises:
        FileError: when it is no text.
    """
    start = file.tell()
    content = file.read(HEAD)
    file.seek(start)
    marked = next((encoding for mark, encoding in BYTE_ORDER_MARKS if content.startswith(mark)), "")
    if not marked:
        refuse_binary(content, source)
    encoding = marked or _guess(content)
    text = codecs.getincrementaldecoder(encoding)(errors="replace").decode(content)
    whole = len(content) < HEAD
    if not whole and "\n" not in text and "\r" not in text:
        raise FileError(
            phrase(
                "{source} has no end of line in its first {size} kB: it is not a log.", source=source, size=HEAD // 1000
            ),
            "Export it as CSV text, one row per line.",
        )
    if not whole and "\n" in text:
        text = text[: text.rindex("\n") + 1]
    if "\n" not in text:
        text = text.replace("\r", "\n")
    note = _encoding_note(source, encoding) if not marked and encoding != "utf-8" else ""
    if encoding == "utf-8" and "\ufffd" in text:
        note = _said_damaged(source)
    return Text(text.lstrip("\ufeff"), encoding, note)


def refuse_binary(content: bytes, source: str) -> None:
    """Refuse bytes that are no text, naming what they look like.

    Raises:
        FileError: when they are none.
    """
    begins = content[:200].removeprefix(codecs.BOM_UTF8).lstrip().lower()
    markup = next((what for mark, what in _MARKUP.items() if begins.startswith(mark)), "")
    if markup:
        raise FileError(
            phrase("{source} is not a log: it is {markup}, whatever its name.", source=source, markup=markup),
            _REMEDIES.get(markup, _SAVE),
        )
    looks = next((what for mark, what in _NO_LOGS.items() if content.startswith(mark)), "")
    if not looks and content[:1000].count(0) > 0.6 * len(content[:1000]):  # of UTF-16 it is half at most
        raise FileError(
            phrase("{source} is not a log: it holds NUL bytes where its text should be.", source=source),
            "Either its copy failed: copy it again. Or it is in a format of its program's own: export it as CSV text.",
        )
    strange = sum(content.count(bytes([code])) for code in (*range(1, 9), *range(14, 28)))
    if not looks and (strange > 0.02 * len(content) or (b"\0" in content and _guess(content) not in _WIDE)):
        looks = "binary content"
    if looks:
        raise FileError(
            phrase("{source} is not a log: it looks like {looks}.", source=source, looks=looks),
            _UNPACK if looks.endswith("archive") else _EXPORT,
        )


def _guess(content: bytes) -> str:
    sample = content[:4096]
    for encoding, zeros in (("utf-16-le", sample[1::2]), ("utf-16-be", sample[::2])):
        if len(sample) > 8 and zeros.count(0) > 0.8 * len(zeros):
            return encoding
    try:
        codecs.getincrementaldecoder("utf-8")().decode(content)
    except UnicodeDecodeError:
        return "utf-8" if _is_damaged_utf8(content) else code_page(content)
    return "utf-8"


def utf8_blocks(file: BinaryIO, head: Text, size: int) -> Iterator[bytes]:
    """Yield the file's text as UTF-8 in blocks of about `size` bytes that end with a whole line; line ends are LF.

    Bytes that are no UTF-8 in a text that begins as it are read as Windows-1252 one block at a time, unless its other
    signs are UTF-8.

    Raises:
        FileError: when a line does not end.
    """
    plain = head.encoding in ("utf-8", "utf-8-sig")
    decoder = None if plain else codecs.getincrementaldecoder(head.encoding)(errors="replace")
    rest, first = b"", True
    following = file.read(size)
    while following:
        content, following = following, file.read(size)
        if decoder is not None:
            content = decoder.decode(content, final=not following).lstrip("\ufeff" if first else "").encode()
        elif first:
            content = content.removeprefix(codecs.BOM_UTF8)
        first = False
        if b"\n" not in content:
            content, rest = rest + content, b""
            if b"\r" in content:
                content = content.replace(b"\r", b"\n")
        end = content.rfind(b"\n") + 1 if following else len(content)
        if len(content) - end + (0 if end else len(rest)) > LONGEST_LINE:
            raise FileError(
                phrase("A line of the file is longer than {longest_line} MB.", longest_line=LONGEST_LINE // 1000000),
                "It is not a log.",
            )
        if end:
            yield _as_utf8(b"".join((rest, memoryview(content)[:end])))
            rest = b""
        rest += content[end:]


def _as_utf8(content: bytes) -> bytes:
    if content.isascii():
        return content
    try:
        content.decode("utf-8")
    except UnicodeDecodeError:
        page = "utf-8" if _is_damaged_utf8(content) else "cp1252"
        return content.decode(page, errors="replace").encode()
    return content
