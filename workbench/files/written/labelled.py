"""Lines whose cells name themselves, as in `0.05;rpm=812;map=34`: turned into a header and lines of values."""

import re
from typing import BinaryIO

from workbench.files.disk.text_decoding import decode
from workbench.files.text.separators import BLANKS, kind_of
from workbench.files.written.beginning import LARGEST, beginning_of

LONGEST_LINE = 5_000  # characters of a line in which a moment is looked for
LONGEST_PAIR = 300  # characters of a name and its value
FEWEST_LINES, FEWEST_CELLS, LINES_OF_A_KIND = 5, 2, 5
_PAIR = re.compile(r"\s*([^=:;,|\t]*[A-Za-z][^=:;,|\t]*?)\s*[=:]\s*([^=;|\t]*?)\s*")
_CLOCK = re.compile(r"\[?\d{1,2}:\d\d|\[?\d{4}-\d\d-\d\dT")
_DAY = re.compile(r"\[?(\d{4}[-/.]\d{1,2}[-/.]\d{1,2}|\d{1,2}[-/.]\d{1,2}[-/.]\d{4})")
_WRITTEN_AT = re.compile(
    r"\[?((?:\d{4}-\d\d-\d\d[T ])?\d\d:\d\d:\d\d)(?:[.,](\d{1,9}))?\]?\s+(?:[^=]*?(?:\s-+|\]|:|>)\s+)([^\W\d][^=:]*=.*)"
)  # as a program writes its diary: when, how grave, by which part, and then what it says
MOST_BEFORE = 8  # words before the first pair of a line
_SIGNS = (";", "\t", "|", ",", " ")


def labelled(file: BinaryIO, source: str, size: int) -> bytes | None:
    """Return lines of named values as a log with a header, UTF-8; None where they are none. The file is at its start.

    Raises:
        FileError: when it is no text.
    """
    _, whole = beginning_of(file)
    lines = [_apart(line) for line in whole if line.strip(BLANKS)]
    sign = next((sign for sign in _SIGNS if _are_pairs(lines, sign)), "")
    if not sign or size > LARGEST:
        return None
    text = decode(file.read(), source).text
    file.seek(0)
    rows: list[tuple[str, dict[str, str]]] = []
    names: dict[str, None] = {}
    for line in text.splitlines():
        first, values = _read(_apart(line), sign)
        if values:
            names |= dict.fromkeys(values)
            if first and rows and rows[-1][0] == first and not rows[-1][1].keys() & values.keys():
                rows[-1][1].update(values)  # several lines tell of one moment
            else:
                rows.append((first, values))
    timed = all(first for first, _ in rows)
    out = [";".join([*(["Time"] if timed else []), *names])]
    out += [
        ";".join([*([first] if timed else []), *(values.get(name, "") for name in names)]) for first, values in rows
    ]
    return ("\n".join(out) + "\n").encode()


def _apart(line: str) -> str:
    """Write the moment and the named values of a line in a program's diary, and nothing else of it."""
    if "=" not in line or len(line) > LONGEST_LINE or (match := _WRITTEN_AT.fullmatch(line.strip())) is None:
        return line
    return f"{match[1]}.{match[2] or '0'}, {match[3]}"


def _are_pairs(lines: list[str], sign: str) -> bool:
    if len(lines) < FEWEST_LINES:
        return False
    names = []
    for line in lines:
        cells = [cell for cell in line.split(sign) if cell.strip()]
        pairs = [_pair(cell) for cell in cells]
        known = [pair[0] for pair in pairs if pair]
        # Before the first pair may stand when and by whom the line was written; behind it nothing but pairs.
        first = next((at for at, pair in enumerate(pairs) if pair), len(pairs))
        behind = len(cells) - max(first, 1) - len(known)  # words of a value that holds blanks
        if len(known) < FEWEST_CELLS or behind > (len(known) if sign == " " else 0) or first > MOST_BEFORE:
            return False
        names.append(set(known))
    # Few kinds of lines may come again and again, each with names of its own.
    few_kinds = LINES_OF_A_KIND * len(set(map(frozenset, names))) <= len(lines)
    return few_kinds or len(set.union(*names)) <= 2 * max(map(len, names))


def _read(line: str, sign: str) -> tuple[str, dict[str, str]]:
    before, values, last = list[str](), dict[str, str](), ""
    for cell in filter(None, (cell.strip(BLANKS) for cell in line.split(sign))):
        if pair := _pair(cell):
            last, values[pair[0]] = pair
        elif not values:
            before.append(cell)
        elif sign == " ":
            values[last] += f" {cell}"
    if len(before) < 2 or not values:
        return (before[0] if before and kind_of(before[0]) in "nc" else ""), values
    clock = next((at for at, cell in enumerate(before) if _CLOCK.match(cell)), None)
    if clock is None:
        # A line may first name what it is about, as a sentence of NMEA 0183 does, and then when.
        moments = [cell for cell in before if kind_of(cell) in "nc"]
        return (moments[0] if len(moments) == 1 else ""), values
    # A date without a year (RFC 3164) is left aside: a clock that passes midnight is known as such.
    dated = clock > 0 and _DAY.fullmatch(before[clock - 1]) is not None
    return " ".join(before[clock - dated : clock + 1]).strip("[] "), values


def _pair(cell: str) -> tuple[str, str] | None:
    """Read a cell that names itself; what ends in a colon is the writer's name, no channel."""
    if len(cell) > LONGEST_PAIR:  # the search takes the cube of a cell's letters
        return None
    match = _PAIR.fullmatch(cell)
    return None if match is None or cell.rstrip().endswith(":") else (match[1], match[2])
