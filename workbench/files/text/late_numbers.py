"""Columns that were taken for text by their first lines, though they hold numbers further down."""

import re
from collections import Counter

from workbench.files.text.numbers import MISSING, find_style, looks_numeric, to_numbers
from workbench.files.vocabulary.recording import Field, listed
from workbench.files.vocabulary.roles import role_by_name
from workbench.files.vocabulary.scoring import MIXTURES
from workbench.phrases import phrase

_PREFIX = re.compile(r"[^\d=:]{1,20}[=:]\s*(?=[-+.\d])")
_OF_ONE = re.compile(r"1\s?(?::|to|zu|/)\s?(?=\d)", re.IGNORECASE)  # fuel to air, as in `1:14.7`
FEWEST = 12  # numbers, beside words
MOSTLY = 0.4  # of the cells with something in them that must be numbers, where the others are a few words
FEW_WORDS = 6  # different ones that may stand for no value
LONGEST_SHOWN = 30


def late_numbers(field: Field) -> tuple[Field | None, str]:
    """Give a column as numbers whose head held none; None where it is text. And what its words stand for, if any.

    Args:
        field: a column of text.
    """
    cells = [] if field.texts is None else [str(text).strip() for text in field.texts.tolist()]
    of_one = role_by_name(field.name, "") in MIXTURES
    cells = _without_prefix([_OF_ONE.sub("", cell) for cell in cells] if of_one else cells)
    written = Counter(cell for cell in cells if cell.casefold() not in MISSING)
    words = {cell: count for cell, count in written.items() if not looks_numeric(cell)}
    total = sum(written.values())
    numbers = total - sum(words.values())
    if (
        numbers < max(FEWEST if words else 1, MOSTLY * total)
        or len(words) > FEW_WORDS
        or len(written) - len(words) <= len(words)
    ):
        return None, ""
    found = to_numbers(cells, find_style([cell for cell in cells if looks_numeric(cell)][:1000], ""))
    note = ""
    if words:
        note = phrase(
            "{name} says {words} in {count} rows: that counts as missing.",
            name=field.name,
            words=listed([repr(word[:LONGEST_SHOWN]) for word in list(words)[:3]], len(words)),
            count=sum(words.values()),
        )
    return Field(field.name, field.unit or found.unit, found.values), note


def _without_prefix(cells: list[str]) -> list[str]:
    """Take off what stands before the number in every cell, as in `λ=0.98`."""
    match = next((match for cell in cells if (match := _PREFIX.match(cell)) is not None), None)
    if match is None or not all(cell.startswith(match[0]) or cell.casefold() in MISSING for cell in cells):
        return cells
    return [cell.removeprefix(match[0]).strip() for cell in cells]


def shown_text(field: Field) -> str:
    """Give the first text of a column that is no number, or else the first one; empty where it has none."""
    texts = [] if field.texts is None else [str(text) for text in field.texts.tolist()]
    cells = [text for text in texts if text.strip().casefold() not in MISSING]
    shown = next((text for text in cells if not looks_numeric(text)), cells[0] if cells else "")
    return shown[:LONGEST_SHOWN]
