"""Lines whose cells name themselves, as in `0.05;rpm=812;map=34`: turned into a header and lines of values."""

import re
from typing import BinaryIO

from workbench.files.disk.text_decoding import decode
from workbench.files.text.separators import BLANKS, kind_of

HEAD = 1 << 14  # bytes that tell
LARGEST = 100_000_000  # bytes that are turned at once
FEWEST_LINES, FEWEST_CELLS = 5, 2
_PAIR = re.compile(r"\s*([^=:;,|\t]*[A-Za-z][^=:;,|\t]*?)\s*[=:]\s*([^=;|\t]*?)\s*")
_SIGNS = (";", "\t", "|", ",", " ")


def labelled(file: BinaryIO, source: str, size: int) -> bytes | None:
    """Return lines of named values as a log with a header, UTF-8; None where they are none. The file is at its start.

    Raises:
        FileError: when it is no text.
    """
    head = file.read(HEAD)
    file.seek(0)
    lines = [line for line in head.decode("latin-1").splitlines()[:-1] if line.strip(BLANKS)]
    sign = next((sign for sign in _SIGNS if _are_pairs(lines, sign)), "")
    if not sign or size > LARGEST:
        return None
    text = decode(file.read(), source).text
    file.seek(0)
    rows: list[tuple[str, dict[str, str]]] = []
    names: dict[str, None] = {}
    for line in text.splitlines():
        first, values = _read(line, sign)
        if values:
            rows.append((first, values))
            names |= dict.fromkeys(values)
    timed = all(first for first, _ in rows)
    out = [";".join([*(["Time"] if timed else []), *names])]
    out += [
        ";".join([*([first] if timed else []), *(values.get(name, "") for name in names)]) for first, values in rows
    ]
    return ("\n".join(out) + "\n").encode()


def _are_pairs(lines: list[str], sign: str) -> bool:
    if len(lines) < FEWEST_LINES:
        return False
    names = []
    for line in lines:
        cells = line.split(sign)
        pairs = [match[1] for cell in cells if (match := _PAIR.fullmatch(cell))]
        if len(pairs) < FEWEST_CELLS or len(pairs) < len([cell for cell in cells if cell.strip()]) - 1:
            return False
        names.append(set(pairs))
    return len(set.union(*names)) <= 2 * max(map(len, names))


def _read(line: str, sign: str) -> tuple[str, dict[str, str]]:
    first, values = "", dict[str, str]()
    for at, cell in enumerate(line.split(sign)):
        if match := _PAIR.fullmatch(cell):
            values[match[1]] = match[2]
        elif at == 0 and kind_of(cell.strip(BLANKS)) in "nc":
            first = cell.strip(BLANKS)
    return first, values
