"""Text whose lines are intact, but for what a program laid around them or split them at: taken off before reading."""

import base64
import binascii
import quopri
import re
from collections.abc import Callable, Sequence
from typing import BinaryIO

from workbench.files.disk.text_decoding import decode
from workbench.files.text.separators import DELIMITERS, kind_of, split_line
from workbench.files.written.beginning import LARGEST, beginning_of
from workbench.files.written.ruled import are_ruled, without_rules

FEWEST_LINES = 6
ALMOST_ALL = 0.98  # of the lines
_QUOTED = re.compile(r'"((?:[^"]|"")*)"[;,\t]*')
_CITED = re.compile(r"(?:> ?)+")  # as mail programs mark what they answer (RFC 3676, 4.5)
_BASE64 = re.compile(r"[A-Za-z0-9+/]{60,76}={0,2}")
_OF_MAIL = re.compile(r"[A-Za-z-]{3,40}: .*")  # before it (RFC 2045)
_CLOCK = re.compile(r"(?:\S+ )?\d{1,2}:\d\d:\d\d")
_PART = re.compile(r"\d{1,6}")
_NAMED = re.compile(r"[^\w\s]*\s*(?:[A-Za-z]+\s*)?#?\d*\s*[:=.)]?\s*(.*)")
_OF_A_TYPE = re.compile(r"(?i)\s+(numeric|real|integer|int\d*|float\d*|double|string|date|number)\s*(\".*\")?$")


def surrounded(file: BinaryIO, source: str, size: int) -> tuple[bytes, str] | None:
    """Return the text without what surrounds its lines, UTF-8, and what was done; None where nothing does.

    The file is left at its start.

    Raises:
        FileError: when it is no text.
    """
    head, lines = beginning_of(file)
    if size > LARGEST:
        return None
    if _is_ebcdic(head):
        text = file.read().decode("cp037")
        file.seek(0)
        return text.replace("\x85", "\n").encode(), "The text is in EBCDIC; it was read as code page 37."
    lines = [line for line in lines if line.strip()]
    way = next((way for way in _WAYS if len(lines) >= FEWEST_LINES and way[0](lines)), None)
    if way is None:
        return None
    text = decode(file.read(), source).text
    file.seek(0)
    made = way[1](text.splitlines())
    return None if made is None else (made, way[2])


def _is_ebcdic(head: bytes) -> bool:
    """Tell text in EBCDIC: without the line ends of ASCII, its digits from F0 on and its lines ended by 15 or 25."""
    if b"\n" in head or b"\r" in head or not head:
        return False
    digits = sum(head.count(bytes([code])) for code in range(0xF0, 0xFA))
    return digits > 0.3 * len(head) and head.count(b"\x15") + head.count(b"\x25") >= FEWEST_LINES


def _mostly(pattern: re.Pattern[str], lines: Sequence[str], *, whole: bool = True) -> bool:
    fit = sum((pattern.fullmatch(line.strip()) if whole else pattern.match(line)) is not None for line in lines)
    return fit >= ALMOST_ALL * len(lines)


def _are_quoted(lines: Sequence[str]) -> bool:
    """Tell whether every line stands in quotes as a whole, as a spreadsheet does that took it for one cell."""
    cells = [match[1] for line in lines if (match := _QUOTED.fullmatch(line.strip()))]
    parted = any(all(sign in cell for cell in cells[:FEWEST_LINES]) for sign in DELIMITERS)
    return len(cells) >= ALMOST_ALL * len(lines) and bool(cells) and parted


def _unquoted(lines: Sequence[str]) -> bytes:
    bare = (match[1].replace('""', '"') if (match := _QUOTED.fullmatch(line.strip())) else line for line in lines)
    return ("\n".join(bare) + "\n").encode()


def _are_cited(lines: Sequence[str]) -> bool:
    return _mostly(_CITED, lines, whole=False)


def _uncited(lines: Sequence[str]) -> bytes:
    return ("\n".join(_CITED.sub("", line, count=1) for line in lines) + "\n").encode()


def _are_base64(lines: Sequence[str]) -> bool:
    coded = [line for line in lines if _OF_MAIL.fullmatch(line) is None]
    whole = coded[:-1]  # the last one may be shorter
    return len(whole) >= FEWEST_LINES and _mostly(_BASE64, whole) and len(set(map(len, whole))) == 1


def _from_base64(lines: Sequence[str]) -> bytes | None:
    try:
        return base64.b64decode("".join(line for line in lines if _OF_MAIL.fullmatch(line) is None), validate=True)
    except (binascii.Error, ValueError):
        return None


def _are_printable(lines: Sequence[str]) -> bool:
    """Tell a text that is coded for mail (RFC 2045, 6.7): long lines are cut behind `=`, other signs are `=C2`."""
    text = "\n".join(lines) + "\n"
    signs, whole = text.count("="), len(re.findall(r"=(?:[0-9A-F]{2}|\n)", text))
    return 0 < signs == whole and ("=\n" in text or re.search("=C[2-9A-F]=[89AB]", text) is not None)


def _from_printable(lines: Sequence[str]) -> bytes:
    return quopri.decodestring(("\n".join(lines) + "\n").encode())


def _is_clock_split(lines: Sequence[str]) -> bool:
    """Tell whether each line has one cell more than the header: the part of a second behind a decimal comma."""
    rows = [split_line(line, ",") for line in lines]
    at = next((at for at, row in enumerate(rows) if any(map(_CLOCK.fullmatch, row))), 0)
    head, rows = rows[at - 1] if at else [], rows[at:]
    place = next((place for place, cell in enumerate(rows[0]) if _CLOCK.fullmatch(cell)), 0) if rows else 0
    return bool(
        len(head) > place + 1
        and all(kind_of(cell) == "t" for cell in head)
        and all(len(row) == len(head) + 1 for row in rows)
        and all(_CLOCK.fullmatch(row[place]) and _PART.fullmatch(row[place + 1]) for row in rows)
    )


def _clock_joined(lines: Sequence[str]) -> bytes:
    joined = (re.sub(r"(\d{1,2}:\d\d:\d\d),(\d{1,6})(?=,)", r"\1.\2", line, count=1) for line in lines)
    return ("\n".join(joined) + "\n").encode()


def _are_listed(lines: Sequence[str]) -> bool:
    return _listed_names(lines) is not None


def _listed_names(lines: Sequence[str]) -> tuple[int, int, list[str]] | None:
    """Find names that stand on a line each, above values that no line names: where they begin and end, and they.

    What all of these lines begin with is no part of them.
    """
    rows = [split_line(line, ",") for line in lines]
    for sign in DELIMITERS:
        rows = [split_line(line, sign) for line in lines]
        width = len(rows[-1])
        first = next((at for at in range(len(rows)) if all(len(row) == width for row in rows[at:])), len(rows))
        if width < 3 or first < width or len(rows) - first < 3:
            continue
        if not all(kind_of(cell) in "nce" for row in rows[first:] for cell in row[:2]):
            continue
        for end in range(first, max(first - 3, width - 1), -1):
            names = _names_of(lines[end - width : end])
            if names is not None:
                return end - width, end, names
    return None


def _names_of(lines: Sequence[str]) -> list[str] | None:
    """Read a name from each line; None where they are not of one form, or not each another name."""
    begins = {re.split(r"[\s:=]", re.sub(r"\d+", "", line.strip()), maxsplit=1)[0].casefold() for line in lines}
    marked = len(begins) == 1 and re.fullmatch(
        r"[#@%!;/]+\w*|(col|column|channel|ch|field|kanal|spalte)\.?", next(iter(begins))
    )
    if not marked:
        return None
    names = []
    for line in lines:
        match = _NAMED.fullmatch(line.strip())
        name = "" if match is None else _OF_A_TYPE.sub("", match[1]).strip(" '\"\t")
        names.append(name)
    return names if all(names) and len(set(names)) == len(names) and sum(map(str.isdigit, names)) == 0 else None


def _under_names(lines: Sequence[str]) -> bytes | None:
    head = [line for line in lines[:400] if line.strip()]
    found = _listed_names(head)
    if found is None:
        return None
    begin, end, names = found
    sign = next(sign for sign in DELIMITERS if len(split_line(head[-1], sign)) == len(names))
    quoted = sign.join('"' + name.replace('"', '""') + '"' for name in names)
    above, below = head[:begin], lines[lines.index(head[end - 1]) + 1 :]
    values = [line for line in below if not line.lstrip().startswith(("@", "#", "%"))]
    return ("\n".join([*(line for line in above if sign not in line), quoted, *values]) + "\n").encode()


_WAYS: tuple[tuple[Callable[[Sequence[str]], bool], Callable[[Sequence[str]], bytes | None], str], ...] = (
    (_are_quoted, _unquoted, "Every line stands in quotes as a whole; they were taken off."),
    (_are_cited, _uncited, "Every line begins with the mark of a quoted mail; it was taken off."),
    (_are_base64, _from_base64, "The text is coded in base64, as what is attached to a mail; it was decoded."),
    (_are_printable, _from_printable, "The text is coded as quoted-printable, as a mail; it was decoded."),
    (
        _is_clock_split,
        _clock_joined,
        "The clock's parts of a second stand behind a comma; they were joined.",
    ),
    (are_ruled, without_rules, "The table is drawn with rules; they were taken off."),
    (_are_listed, _under_names, "The channels are named above the values, on a line each."),
)
