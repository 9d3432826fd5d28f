"""What parts the cells of a line: the sign that splits most lines into as many values."""

import csv
import re
from collections import Counter
from collections.abc import Sequence

import numpy as np

from workbench.files.text.numbers import MISSING, looks_numeric

DELIMITERS = ("\t", ";", ",", "|")
WIDE = "  "  # two blanks or more, between names that hold single ones
MOST_COLUMNS = 5000
BLANKS = " \t\r\n\"'\u00a0"
_OF_NUMBERS = "+-.:/'\"()[]{}%°_#\\"  # and of times, names and units
EVEN_SHARE = 0.8  # of the lines must hold a sign as often as most do
_AS_TEXT = re.compile(r'(?<![^\s;,|"])"?=""?([^";]*)"{1,3}')
_TIMELIKE = re.compile(r"\d{1,4}[-/.:]\d{1,2}[-/.:]\d{1,4}.*|\d{1,2}:\d{2}(:\d{2})?.*")


def split_line(line: str, delimiter: str) -> list[str]:
    """Split one line into cells, without the blanks around them."""
    if '="' in line:  # what a program writes so that a spreadsheet leaves its text alone
        line = _AS_TEXT.sub(r'"\1"', line)
    if delimiter == " ":
        return line.split()
    if delimiter == WIDE:
        return re.split(r"[ \u00a0]{2,}", line.strip(BLANKS))
    if '"' not in line:
        return [cell.strip(BLANKS) for cell in line.split(delimiter)]
    try:
        cells = next(csv.reader([line], delimiter=delimiter, skipinitialspace=True), [])
    except csv.Error:
        cells = line.split(delimiter)
    return [cell.strip(BLANKS) for cell in cells]


def best_sign(lines: Sequence[str]) -> tuple[float, str, int]:
    """Find what parts the cells: (score, sign, cells in a line); the score is 0 where nothing gives values."""
    signs = (*DELIMITERS, *_other_signs(lines), " ")
    return max((_rated(lines, sign) for sign in signs), key=lambda found: found[0])


def _other_signs(lines: Sequence[str]) -> tuple[str, ...]:
    """Find further signs that may part cells: they belong to no number, word or name, and most lines hold as many."""
    found = []
    for sign in sorted({letter for line in lines[:20] for letter in line} - set(DELIMITERS)):
        if sign.isalnum() or sign in _OF_NUMBERS or sign.isspace():
            continue
        counts = Counter(line.count(sign) for line in lines)
        many, often = counts.most_common(1)[0]
        if many and often >= EVEN_SHARE * len(lines):
            found.append(sign)
    return tuple(found)


def _rated(lines: Sequence[str], delimiter: str) -> tuple[float, str, int]:
    """Rate a delimiter: (score, delimiter, width); the score is 0 where it does not split the lines into values."""
    split = [split_line(line, delimiter) for line in lines]
    width, often = Counter(len(cells) for cells in split).most_common(1)[0]
    if not 2 <= width <= MOST_COLUMNS:
        return 0.0, delimiter, width
    cells = [cell for row in split if len(row) == width for cell in row if cell]
    if not cells:
        return 0.0, delimiter, width
    valued = float(np.mean([kind_of(cell) in "nc" for cell in cells]))
    score = often / len(lines) * (0.2 + 0.8 * valued) if valued > 0 else 0.0
    return (0.9 * score if delimiter == " " else score), delimiter, width


def kind_of(cell: str) -> str:
    """Tell a number ("n") and a time or date ("c") from nothing ("e") and text ("t")."""
    if cell.casefold() in MISSING:
        return "e"
    if looks_numeric(cell):
        return "n"
    return "c" if _TIMELIKE.fullmatch(cell) else "t"
