"""Text whose rows stand on several lines, or whose cells and rows other signs part: brought to one line a row."""

import re
from typing import BinaryIO

from workbench.errors import FileError
from workbench.files.disk.text_decoding import decode
from workbench.files.text.separators import BLANKS, DELIMITERS, kind_of, split_line
from workbench.files.vocabulary.file_words import CLOCK
from workbench.files.vocabulary.spelling import plain_words
from workbench.files.vocabulary.units import find_unit
from workbench.files.written.beginning import LARGEST, beginning_of
from workbench.phrases import phrase

FEWEST_ROWS, MOST_LINES = 6, 4  # of a row
VALUED = 0.8  # of the cells of a line of values
ALMOST_ALL = 0.95  # of the lines
# ISO 646: between units, records, groups and files.
_SEPARATED = b"\x1f"
_SEPARATORS = str.maketrans({"\x1f": "\t", "\x1e": "\n", "\x1d": "\n", "\x1c": "\n"})
_BEGINS = re.compile(r"(- .*|\[.*\]|---|)")
_POINT = re.compile(r"\S+ ([^\s=,]+=[^\s,]+(?:,[^\s=,]+=[^\s,]+)*) (\d{10,19})")
LONGEST_NAME = 80
# A line that holds nothing but a moment, as `[12.30 s]`, `--- 00:12.3 ---` or `t = 12.3`.
_MOMENT = re.compile(
    r"[^\w\n]*(?:(?:t|time|zeit|at|@)\b[^\w\n]*)?"
    r"(\d{1,10}(?:[.,:]\d{1,9}){0,4}|\d{4}-\d\d-\d\d[T ]\d\d:\d\d:\d\d(?:\.\d+)?)"
    r"\s*(ms|s|sec|seconds?|sek)?[^\w\n]*",
    re.IGNORECASE,
)


def one_line_a_row(file: BinaryIO, source: str, size: int) -> tuple[bytes, str] | None:
    """Return the text as a log with a line for each row, UTF-8, and what was done; None where it is one already.

    The file is left at its start.

    Raises:
        FileError: when it is no text.
    """
    head, lines = beginning_of(file)
    if size > LARGEST:
        return None
    several = _several(lines)
    separated = _is_separated(head)
    if not (separated or several or _are_blocks(lines) or _are_points(lines)):
        return None
    text = decode(file.read(), source).text
    file.seek(0)
    if separated:
        return text.translate(_SEPARATORS).encode(), "The cells are parted by the unit separator of ISO 646."
    if several:
        note = phrase("Each row stands on {n} lines: they were joined.", n=several[1])
        return _joined(text, source, *several), note
    if _are_points(lines):
        return _of_points(text), "Every value stands beside its name, the time behind them."
    return _of_blocks(text), "Each row stands in a block of lines, each value beside its name."


def _is_separated(head: bytes) -> bool:
    """Tell a text whose cells the unit separator parts from bytes that hold it by chance, among others."""
    others = any(bytes([code]) in head for code in (*range(9), *range(14, 28)))
    return head.count(_SEPARATED) >= FEWEST_ROWS and not others


def _several(lines: list[str]) -> tuple[str, int] | None:
    """Find what parts the cells, and on how many lines each row stands; None where that is one."""
    lines = [line for line in lines if line.strip(BLANKS)]
    for sign in DELIMITERS:
        rows = [split_line(line, sign) for line in lines[: MOST_LINES * FEWEST_ROWS]]
        for count in range(2, MOST_LINES + 1):
            if len(rows) >= count * FEWEST_ROWS and _fits(rows[: count * FEWEST_ROWS], count):
                return sign, count
    return None


def _fits(rows: list[list[str]], count: int) -> bool:
    head = rows[:count]
    if not all(cell and kind_of(cell) == "t" for row in head for cell in row):
        return False
    if CLOCK.search(plain_words(head[0][0])) is None or any(all(map(find_unit, row)) for row in head):
        return False
    for at, row in enumerate(rows[count:]):
        valued = sum(kind_of(cell) in "nce" for cell in row)
        if len(row) != len(head[at % count]) or valued < VALUED * len(row):
            return False
    if len({len(row) for row in head}) > 1:
        return True
    firsts = [_number(row[0]) for row in rows[count:]]  # of lines alike, those of the clock alone rise
    clock = firsts[::count]
    return None not in firsts and _rise(clock) and not _rise(firsts)


def _number(cell: str) -> float | None:
    try:
        return float(cell.replace(",", "."))
    except ValueError:
        return None


def _rise(values: list[float | None]) -> bool:
    known = [value for value in values if value is not None]
    return sorted(known) == known and len(set(known)) > 1


def _joined(text: str, source: str, sign: str, count: int) -> bytes:
    """Join so many lines each; a last row that is not whole is left out.

    Raises:
        FileError: naming the first line that has another number of cells than it should.
    """
    lines = [(at, line) for at, line in enumerate(text.splitlines(), 1) if line.strip(BLANKS)]
    lines = lines[: len(lines) - len(lines) % count]
    widths = [len(split_line(line, sign)) for _, line in lines[:count]]
    for place, (at, line) in enumerate(lines):
        cells = len(split_line(line, sign))
        if cells != widths[place % count]:
            raise FileError(
                phrase(
                    "{source}, line {at}: each row stands on {n} lines, and this one has {cells} cells where {width} "
                    "belong.",
                    source=source,
                    at=at,
                    n=count,
                    cells=cells,
                    width=widths[place % count],
                ),
                "Export the log with each row on one line, or take the line out.",
            )
    rows = (lines[at : at + count] for at in range(0, len(lines), count))
    return "".join(sign.join(line for _, line in row) + "\n" for row in rows).encode()


def _are_blocks(lines: list[str]) -> bool:
    """Tell whether lines of one value each, with its name, stand in blocks that begin alike."""
    begins = sum(_begins(line) for line in lines)
    values = sum(_value(line) is not None for line in lines)
    titles = sum(_begins(line) and _value(line) is None for line in lines)
    many = begins >= FEWEST_ROWS and values >= 2 * begins
    return many and values + titles >= ALMOST_ALL * len(lines)


def _begins(line: str) -> bool:
    return _BEGINS.fullmatch(line.strip(" \r")) is not None or _MOMENT.fullmatch(line.strip(" \r")) is not None


def _value(line: str) -> tuple[str, str] | None:
    """Read a line of a name and, behind a colon or an equals sign, its value; None where it is something else."""
    name, sign, value = line.partition(":" if ":" in line.partition("=")[0] else "=")
    name = name.strip().removeprefix("- ").strip()
    if not sign or not name[:1].isalpha() or len(name) > LONGEST_NAME or "{" in value or "[" in value:
        return None
    return name, value.strip()


def _of_blocks(text: str) -> bytes:
    rows, names = list[dict[str, str]](), dict[str, None]()
    for line in text.splitlines():
        if _begins(line) and (not rows or rows[-1]):
            rows.append({})
        if rows and not rows[-1] and (moment := _MOMENT.fullmatch(line.strip())) is not None:
            label = f"Time ({moment[2]})" if moment[2] else "Time"
            rows[-1][label] = moment[1]
            names[label] = None
        if (pair := _value(line)) is not None and rows:
            rows[-1][pair[0]] = pair[1].replace(";", ",")
            names[pair[0]] = None
    out = [";".join(names), *(";".join(row.get(name, "") for name in names) for row in rows if row)]
    return ("\n".join(out) + "\n").encode()


def _are_points(lines: list[str]) -> bool:
    """Tell whether each line is a name, its values by name, and a moment behind them."""
    known = sum(_POINT.fullmatch(line.strip()) is not None for line in lines)
    return len(lines) >= FEWEST_ROWS and known >= ALMOST_ALL * len(lines)


def _of_points(text: str) -> bytes:
    matches = [match for line in text.splitlines() if (match := _POINT.fullmatch(line.strip()))]
    rows = [dict(pair.split("=", 1) for pair in match[1].split(",") if "=" in pair) for match in matches]
    names = dict.fromkeys(name for row in rows for name in row)
    out = [";".join(["Time", *names])]
    out += [
        ";".join([match[2], *(row.get(name, "").strip('"') for name in names)])
        for match, row in zip(matches, rows, strict=True)
    ]
    return ("\n".join(out) + "\n").encode()
