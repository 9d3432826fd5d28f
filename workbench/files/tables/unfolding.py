"""Tables that are not written as one rectangle: wrapped lines, sections, unused tails, averages, rows in disorder."""

import re
from collections.abc import Sequence
from itertools import pairwise

from workbench.files.gaps.codes import KNOWN, LEAST_KNOWN
from workbench.files.tables.corners import CORNER
from workbench.files.tables.rectangles import Rows
from workbench.files.vocabulary.file_words import WORKED_OUT
from workbench.files.vocabulary.recording import listed
from workbench.files.vocabulary.units import find_unit
from workbench.phrases import phrase

Unfolded = tuple[list[list[str]], str]
FEWEST_FALLS = 3  # of the breakpoints; fewer are a slip of whoever typed one
FEWEST_POINTS = 3
_NUMBER = re.compile(r"[+-]?(\d+([.,]\d*)?|[.,]\d+)([eE][+-]?\d+)?")
_ARROW = re.compile(r"(.*?)[(\[]\s*([^\s()\[\]]+)\s*(?:->|=>|→|⇒|\bto\b|\bvs\b\.?)\s*([^\s()\[\]]+)\s*[)\]]\s*")
_MARK = re.compile(r"(?:\[[xyz]\]|[xyz](?: ?-? ?(?:axis|achse|axe|eje|values?))? ?[:=])\s*", re.IGNORECASE)


def unfolded(rows: Rows) -> Unfolded | None:
    """Return cells as one rectangle, and what was done, as a sentence; None where nothing of the kind is there.

    Args:
        rows: cells, stripped; rows may differ in length.
    """
    made, notes = [_trimmed(row) for row in rows], list[str]()
    made = [row for row in made if row]
    for change in (_without_tail, _without_means, _unwrapped, _of_sections, _with_units_apart, _sorted):
        if (found := change(made)) is not None:
            made, note = found
            notes.append(note)
    return (made, " ".join(notes)) if notes else None


def _trimmed(row: Sequence[str]) -> list[str]:
    cells = list(row)
    while cells and not cells[-1]:
        cells.pop()
    return cells


def _value(cell: str) -> float | None:
    return float(cell.replace(",", ".")) if _NUMBER.fullmatch(cell) else None


def _without_tail(rows: Rows) -> Unfolded | None:
    """Leave out lines at the end that a program fills up with one number, as its table is shorter than its memory."""
    kept = len(rows)
    filler = _value(rows[-1][0]) if rows else None
    if filler is None or not (filler == 0 or (round(filler, 6) in KNOWN and abs(filler) >= LEAST_KNOWN)):
        return None
    while kept and len(rows[kept - 1]) > 1 and all(_value(cell) == filler for cell in rows[kept - 1]):
        kept -= 1
    before = _value(rows[kept - 1][0]) if kept else None
    if kept == len(rows) or kept < FEWEST_POINTS or before is None or (filler == 0 and before <= 0):
        return None
    return rows[:kept], phrase(
        "Lines at the end that hold {filler:g} throughout are unused and were left out: {count}.",
        filler=filler,
        count=len(rows) - kept,
    )


def _without_means(rows: Rows) -> Unfolded | None:
    """Leave out rows and columns that were worked out over the table, as their labels say: means, sums, extremes."""
    width = len(rows[0]) if rows else 0
    if width < FEWEST_POINTS or len(rows) < FEWEST_POINTS:
        return None
    columns = [at for at in range(1, width) if WORKED_OUT.fullmatch(rows[0][at])]
    down = [at for at in range(1, len(rows)) if WORKED_OUT.fullmatch(rows[at][0])]
    if not columns and not down:
        return None
    shown = [repr(rows[0][at]) for at in columns] + [repr(rows[at][0]) for at in down]
    made = [[cell for at, cell in enumerate(row) if at not in columns] for at, row in enumerate(rows) if at not in down]
    return made, phrase("Worked out over the table, so left out: {shown}.", shown=listed(shown[:3], len(shown)))


def _unwrapped(rows: Rows) -> Unfolded | None:
    """Put blocks that go on to the right side by side: each begins with the same label and repeats the first column."""
    if len(rows) < 4 or not rows[0][0] or _value(rows[0][0]) is not None:
        return None
    begins = [at for at, row in enumerate(rows) if row[0] == rows[0][0]]
    high = begins[1] if len(begins) > 1 else 0
    if high < 2 or begins != list(range(0, len(rows), high)) or len(rows) % high:
        return None
    side = [row[0] for row in rows[:high]]
    blocks = [rows[at : at + high] for at in begins]
    widths = [{len(row) for row in block} for block in blocks]
    if any([row[0] for row in block] != side for block in blocks) or any(len(each) != 1 for each in widths):
        return None
    made = [[side[at], *(cell for block in blocks for cell in block[at][1:])] for at in range(high)]
    points = [_value(cell) for cell in made[0][1:]]
    if len(points) < FEWEST_POINTS or not _rises(points):
        return None
    return made, phrase("The table is wrapped into {n} blocks: they were put side by side.", n=len(blocks))


def _rises(points: Sequence[float | None]) -> bool:
    known = [point for point in points if point is not None]
    return len(known) == len(points) and all(first < second for first, second in pairwise(known))


def _of_sections(rows: Rows) -> Unfolded | None:
    """Put a grid or a curve together whose axes and values stand below each other, each under its name."""
    heads = [at for at, row in enumerate(rows) if len(row) == 1 and _value(row[0]) is None]
    if not heads or heads[0] != 0 or len(heads) not in (2, 3):
        return None
    parts = [rows[a + 1 : b] for a, b in pairwise([*heads, len(rows)])]
    names = [_MARK.sub("", rows[at][0], count=1) for at in heads]
    if any(not part or any(_value(cell) is None for row in part for cell in row) for part in parts):
        return None
    *axes, values = parts
    lists = [[cell for row in part for cell in row] for part in axes]
    if any(len(points) < 2 or not _rises([_value(cell) for cell in points]) for points in lists):
        return None
    if len(lists) == 1:
        flat = [cell for row in values for cell in row]
        if len(flat) != len(lists[0]):
            return None
        return [names, *map(list, zip(lists[0], flat, strict=True))], phrase("The axis stands above its values.")
    return _grid_of(names, lists, values)


def _grid_of(names: Sequence[str], axes: Sequence[Sequence[str]], values: Rows) -> Unfolded | None:
    """Put a grid together from two axes and its rows; None where sizes leave open which axis goes down."""
    widths = {len(row) for row in values}
    sizes = [len(axis) for axis in axes]
    if sizes[0] == sizes[1] or len(widths) != 1:
        return None
    down = next((at for at in (0, 1) if (len(values), *widths) == (sizes[at], sizes[1 - at])), None)
    if down is None:
        return None
    corner = CORNER.join(name.replace(CORNER, "/") for name in (names[down], names[1 - down], names[2]))
    made = [[corner, *axes[1 - down]]]
    return made + [[point, *row] for point, row in zip(axes[down], values, strict=True)], phrase(
        "The axes stand apart from the values: {row} goes down, {column} across, as their sizes say.",
        row=names[down],
        column=names[1 - down],
    )


def _with_units_apart(rows: Rows) -> Unfolded | None:
    """Part a label above two columns that tells both their units, as in `Sensor (V -> g/s)`."""
    if len(rows) < FEWEST_POINTS or len(rows[0]) != 1 or any(len(row) != 2 for row in rows[1:]):
        return None
    match = _ARROW.fullmatch(rows[0][0])
    if match is None or find_unit(match[2]) is None or find_unit(match[3]) is None:
        return None
    values = f"{match[1].strip() or 'value'} ({match[3]})"
    return [[match[2], values], *rows[1:]], phrase("The header {label!r} names both units.", label=rows[0][0])


def _sorted(rows: Rows) -> Unfolded | None:
    """Put the rows of a curve in order that surely stand in none: their values rise with the breakpoints, or fall."""
    head = rows[:1] if rows and any(_value(cell) is None for cell in rows[0]) else []
    body = rows[len(head) :]
    pairs = [(_value(row[0]), _value(row[1])) for row in body if len(row) == 2]
    points = [(point, value) for point, value in pairs if point is not None and value is not None]
    if len(points) != len(body) or len(points) < 2 * FEWEST_FALLS or len({point for point, _ in points}) < len(points):
        return None
    steps = [second[0] > first[0] for first, second in pairwise(points)]
    if min(steps.count(True), steps.count(False)) < FEWEST_FALLS:
        return None
    order = sorted(range(len(points)), key=lambda at: points[at][0])
    values = [points[at][1] for at in order]
    if not (_rises(values) or _rises(values[::-1])):
        return None
    return [*head, *(body[at] for at in order)], phrase("The rows stood in no order: they were sorted by breakpoint.")
