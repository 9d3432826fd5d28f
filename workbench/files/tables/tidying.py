"""What people add to the cells of a table and no table means: numbers of rows, a row twice, underscores in numbers."""

import re
from collections.abc import Sequence
from itertools import pairwise

from workbench.files.tables.rectangles import NUMBER_OF_ROW, Rows
from workbench.files.vocabulary.recording import listed
from workbench.phrases import phrase

_UNDERSCORED = re.compile(r"[+-]?\d{1,3}(_\d{3})+([.,]\d+)?")
_NUMBER = re.compile(r"[+-]?\d+([.,]\d+)?")
_EMPHASIS = re.compile(r"(\*{1,3}|_{1,3}|`)(\S|\S[^*`]*\S)\1")  # as in **2000**
_OPENED, _CLOSED = re.compile(r"[(\[{<] ?([+-]?\d.*)"), re.compile(r"([+-]?[\d.,]+) ?[)\]}>][,;]?")
_POINT = re.compile(r"[+-]?\d+(\.\d+)? ?: ?[+-]?\d+(\.\d+)?")
_BEFORE = re.compile(r"[+-]?\d+([.,]\d+)? ?[:=]")
_AMONG_WORDS = re.compile(r"([^\d.,+-]*)([+-]?\d+(?:[.,]\d+)?)([^\d.,]*)")
FEWEST_COLUMNS = 3  # the number of the row, a breakpoint and a value
SHOWN = 3


def tidied(rows: Rows, lines: Sequence[int]) -> tuple[list[list[str]], list[str]] | None:
    """Return the cells without them, and what was done, as sentences; None where there is nothing of the kind.

    Args:
        rows: cells, stripped.
        lines: line of the source, from 1, for every row.
    """
    made, notes = [list(row) for row in rows], list[str]()
    if any(_UNDERSCORED.fullmatch(cell) for row in made for cell in row):
        made = [[cell.replace("_", "") if _UNDERSCORED.fullmatch(cell) else cell for cell in row] for row in made]
        notes.append("Underscores between thousands were removed.")
    if any(_EMPHASIS.fullmatch(cell) for row in made for cell in row):
        made = [[match[2] if (match := _EMPHASIS.fullmatch(cell)) else cell for cell in row] for row in made]
        notes.append("Signs of emphasis around cells were removed.")
    made, said = _without_words(made)
    notes += said
    if (points := _without_brackets(made)) is not None:
        made = points
        notes.append("Brackets around each point were removed.")
    if all(_POINT.fullmatch(cell) for row in made for cell in row if cell):
        pairs = [cell.replace(" ", "").split(":") for row in made for cell in row if cell]
        if len(pairs) >= FEWEST_COLUMNS:
            made = pairs
            notes.append("Each cell holds a breakpoint and, behind a colon, its value.")
            return made, notes
    twice = [at for at in range(1, len(made)) if made[at] == made[at - 1] and any(made[at])]
    if twice:
        shown = [phrase("line {line}", line=lines[at]) for at in twice[:SHOWN]]
        notes.append(phrase("A row that stands twice was read once: {lines}.", lines=listed(shown, len(twice))))
        made = [row for at, row in enumerate(made) if at not in twice]
    if (turned := _axis_first(made)) is not None:
        made, note = turned
        notes.append(note)
    if _are_numbered(made):
        notes.append(phrase("The column {name!r}, which numbers the rows, was left out.", name=made[0][0]))
        made = [row[1:] for row in made]
    return (made, notes) if notes else None


def _without_words(rows: Rows) -> tuple[Rows, list[str]]:
    """Return cells without the words and signs that stand beside breakpoints, and what was done, as sentences."""
    if (named := _points_named(rows)) is not None:
        return named, ["The column breakpoints bear the name of their axis; it was taken for the corner."]
    if (named := _rows_named(rows)) is not None:
        return named, ["The name of their axis beside the row breakpoints was removed."]
    if len(rows) >= FEWEST_COLUMNS and all(len(row) == 2 and _BEFORE.fullmatch(row[0]) for row in rows):
        text = "The sign between each breakpoint and its value was removed."
        return [[row[0].rstrip(" :="), row[1]] for row in rows], [text]
    return rows, []


def _points_named(rows: Rows) -> Rows | None:
    """Return rows whose column breakpoints are numbers alone, where each has the same words around it; None else."""
    matches = [_AMONG_WORDS.fullmatch(cell) for cell in rows[0][1:]] if rows else []
    around = {(match[1].strip(), match[3].strip()) for match in matches if match}
    if len(matches) < FEWEST_COLUMNS or not all(matches) or len(around) != 1:
        return None
    ((before, behind),) = around
    if not any(letter.isalpha() for letter in before):  # a unit alone behind each of them is read elsewhere
        return None
    unit = behind.strip("()[] ")
    corner = f"{rows[0][0] or 'row axis'} / {before}" + (f" ({unit})" if unit else "")
    return [[corner, *(match[2] for match in matches if match)], *rows[1:]]


def _rows_named(rows: Rows) -> Rows | None:
    """Return rows whose breakpoints are numbers alone, where each has the same words before it; None else."""
    matches = [_AMONG_WORDS.fullmatch(row[0]) for row in rows[1:] if row]
    before = {(match[1].strip(), match[3].strip(" :=")) for match in matches if match}
    if len(matches) < FEWEST_COLUMNS or len(matches) != len(rows) - 1 or not all(matches) or len(before) != 1:
        return None
    ((words, unit),) = before
    if not any(letter.isalpha() for letter in words):
        return None
    corner = rows[0][0] or words + (f" ({unit})" if unit else "")
    return [
        [corner, *rows[0][1:]],
        *([match[2], *row[1:]] for match, row in zip(matches, rows[1:], strict=True) if match),
    ]


def _without_brackets(rows: Rows) -> list[list[str]] | None:
    """Return rows that are all points in brackets, as (2000; 5.3), without these; None where any is something else."""
    points = [(_OPENED.fullmatch(row[0]), _CLOSED.fullmatch(row[1])) for row in rows if len([c for c in row if c]) == 2]
    if len(points) < max(FEWEST_COLUMNS, len(rows)) or not all(first and last for first, last in points):
        return None
    return [[first[1], last[1]] for first, last in points if first and last]


def _axis_first(rows: Rows) -> tuple[Rows, str] | None:
    """Put the breakpoints of a grid that stand below or at the right of its values before them; None otherwise."""
    width = len(rows[0])
    if len(rows) < FEWEST_COLUMNS or width < FEWEST_COLUMNS or any(len(row) != width for row in rows):
        return None
    known = [[_NUMBER.fullmatch(cell) is not None for cell in row] for row in rows]
    side, below = [row[-1] for row in rows[:-1]], rows[-1][:-1]
    if (
        all(all(row) for row in known[:-1])
        and all(known[-1][:-1])
        and not known[-1][-1]
        and _rises(side)
        and _rises(below)
    ):
        made = [[rows[-1][-1], *below], *([row[-1], *row[:-1]] for row in rows[:-1])]
        return made, "The breakpoints stood at the right of the values and below them: they were put before them."
    last, right = rows[-1], [row[-1] for row in rows]
    if all(all(row) for row in known[:-1]) and not known[-1][0] and all(known[-1][1:]) and _rises(last[1:]):
        return [last, *rows[:-1]], "The column breakpoints stood below the values: they were put above them."
    beside = all(all(row) for row in known[1:]) and not known[0][-1] and all(known[0][:-1]) and _rises(right[1:])
    if beside:
        text = "The row breakpoints stood at the right of the values: they were put before them."
        return [[row[-1], *row[:-1]] for row in rows], text
    return None


def _rises(cells: Sequence[str]) -> bool:
    numbers = [float(cell.replace(",", ".")) for cell in cells]
    return all(first < second for first, second in pairwise(numbers))


def _are_numbered(rows: Rows) -> bool:
    if (
        len(rows) < FEWEST_COLUMNS
        or len(rows[0]) < FEWEST_COLUMNS
        or not NUMBER_OF_ROW.fullmatch(rows[0][0].casefold())
    ):
        return False
    numbers = [row[0] for row in rows[1:] if row]
    return any(numbers == [str(at + first) for at in range(len(numbers))] for first in (0, 1))
