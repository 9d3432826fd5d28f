"""Numbers whose sign is a word or a letter beside them, as in `3.1 L` and `2.0 R`, or `lean 3.1` and `rich 2.0`."""

import re
from collections import Counter

import numpy as np

from workbench.files.text.numbers import MISSING, find_style
from workbench.files.vocabulary.recording import Field
from workbench.files.vocabulary.units import find_unit

_BEHIND = re.compile(r"(\d[\d.,]*)\s*%?\s*([^\W\d_][^\W_]{0,11})")
_BEFORE = re.compile(r"([^\W\d_][^\W_]{0,11})\s*[:=]?\s*(\d[\d.,]*)\s*%?")
_BARE = re.compile(r"(\d[\d.,]*)\s*%?")
FEWEST = 12  # cells on each side


def sided(field: Field) -> tuple[Field, tuple[str, str]] | None:
    """Read a column of sizes with one of two words: the first of these in the alphabet counts above 0.

    Args:
        field: a column of text.

    Returns:
        The column as numbers, and the words for above and below 0; None where it is another text.
    """
    cells = [] if field.texts is None else [str(text).strip() for text in field.texts.tolist()]
    parted = [None if cell.casefold() in MISSING else _part(cell) for cell in cells]
    told = [each for each in parted if each is not None]
    words = Counter(word for word, _ in told if word)
    filled = sum(cell.casefold() not in MISSING for cell in cells)
    if len(words) != 2 or min(words.values()) < FEWEST or len(told) < filled:
        return None
    above, below = sorted(words, key=str.casefold)
    if any(find_unit(word) is not None for word in words if len(word) > 1) or above.casefold() == below.casefold():
        return None
    style = find_style([size for _, size in told][:1000], "")
    values = np.full(len(cells), np.nan)
    for row, each in enumerate(parted):
        if each is not None and (size := style.number(each[1])) is not None:
            values[row] = -size if each[0] == below else size
            if not each[0] and size:
                return None  # of a size without a word no side is known
    return Field(field.name, field.unit, values), (above, below)


def _part(cell: str) -> tuple[str, str] | None:
    """Part a cell into its word, empty where it has none, and its size."""
    if match := _BEHIND.fullmatch(cell):
        return match[2], match[1]
    if match := _BEFORE.fullmatch(cell):
        return match[1], match[2]
    match = _BARE.fullmatch(cell)
    return None if match is None else ("", match[1])
