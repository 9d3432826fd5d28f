"""Several parts of one drive below one another, each under a header of its own: brought under one header."""

from collections.abc import Sequence

from workbench.files.disk.text_decoding import HEAD, decode
from workbench.files.text.header import label_of
from workbench.files.text.numbers import MISSING
from workbench.files.text.separators import best_sign, kind_of, split_line
from workbench.files.written.beginning import LARGEST

SAMPLE = 300  # lines that tell what parts the cells
MOST_PARTS = 50


def under_one_header(content: bytes, source: str) -> bytes | None:
    """Return a log whose parts name the same or other channels under one header, UTF-8; None where they are no drive.

    The clock, which stands first in each part, must go on from one part to the next. A header below all values is put
    above them.

    Args:
        content: the file.
        source: its name, for errors.

    Raises:
        FileError: when it is no text.
    """
    if len(content) > LARGEST:
        return None
    lines = [line for line in decode(content, source).text.splitlines() if line.strip()]
    if any(len(line) > HEAD for line in lines):  # no row of a log: split into cells it takes ten times its size
        return None
    score, sign, _ = best_sign(lines[:SAMPLE]) if lines else (0.0, "", 0)
    return _brought_together(lines, sign) if score > 0 else None


def _brought_together(lines: Sequence[str], sign: str) -> bytes | None:
    rows = [split_line(line, sign) for line in lines]
    heads = [at for at, row in enumerate(rows) if _names(row)]
    if heads == [len(rows) - 1] and len({len(row) for row in rows}) == 1:
        return ("\n".join([lines[-1], *lines[:-1]]) + "\n").encode()
    if not 2 <= len(heads) <= MOST_PARTS or heads[0] > SAMPLE:
        return None
    parts = [(rows[at], rows[at + 1 : end]) for at, end in zip(heads, [*heads[1:], len(rows)], strict=True)]
    parts = [(names, values) for names, values in parts if values]
    clocks = {names[0] for names, _ in parts}
    units: dict[str, str] = {}
    if any(units.setdefault(*label_of(label)) != label_of(label)[1] for names, _ in parts for label in names):
        return None  # one channel in two units
    if len(clocks) != 1 or not _goes_on(parts) or any(len(set(names)) < len(names) for names, _ in parts):
        return None
    union = list(dict.fromkeys(name for names, _ in parts for name in names))
    out = [union]
    for names, values in parts:
        at = [names.index(name) if name in names else -1 for name in union]
        out += [
            [row[place] if 0 <= place < len(row) else "" for place in at] for row in values if len(row) <= len(names)
        ]
    return ("\n".join(sign.join(_quoted(cell, sign) for cell in row) for row in out) + "\n").encode()


def _names(row: Sequence[str]) -> bool:
    """Tell whether a line names columns: nothing but texts, each another."""
    texts = [cell for cell in row if cell]
    named = len(texts) >= 2 and all(kind_of(cell) == "t" and cell.casefold() not in MISSING for cell in texts)
    return named and len(set(texts)) == len(texts)


def _goes_on(parts: Sequence[tuple[Sequence[str], Sequence[Sequence[str]]]]) -> bool:
    """Tell whether each part begins after the one before has ended."""
    last = ""
    for _, values in parts:
        first = values[0][0]
        if last and not _is_later(first, last):
            return False
        last = values[-1][0]
    return True


def _is_later(one: str, other: str) -> bool:
    try:
        return float(one.replace(",", ".")) > float(other.replace(",", "."))
    except ValueError:
        return len(one) == len(other) and one > other and {kind_of(one), kind_of(other)} == {"c"}


def _quoted(cell: str, sign: str) -> str:
    return '"' + cell.replace('"', '""') + '"' if sign in cell or '"' in cell else cell
