"""Tables as people lay them out: the rectangle of numbers found among titles, units, names and notes.

`cells.read_matrix` takes a plain rectangle. Where that is refused, this looks for the numbers first and for what stands
around them afterwards, and gives the same table as a plain rectangle: a curve with its header, or a grid with its
corner. What was left out or turned round is said.
"""

import re
from collections import Counter
from collections.abc import Sequence

import numpy as np

from workbench.errors import FileError
from workbench.files.tables.apart import as_text, side_by_side
from workbench.files.tables.cells import Decimal, Matrix, name_and_unit, read_rows
from workbench.files.tables.corners import CORNER, corner_parts
from workbench.files.tables.rectangles import NUMBER_OF_ROW, Body, Rows, Sheet, bare, bodies_of, sheet_of
from workbench.files.text.numbers import looks_numeric
from workbench.files.vocabulary.units import find_unit
from workbench.phrases import flag, phrase

LONGEST_TITLE = 60
_PARTED = re.compile(r"[/\\|]")
_FLOWS, _SIGNALS = ("mass flow",), ("frequency", "voltage")
_HELD = re.compile(r"air ?(flow|mass)|mass (air|flow)|efficiency|\bve\b|\blambda\b|\bafr\b", re.IGNORECASE)  # by tables


class SeveralTablesError(FileError):
    """A file holds more than one table, and which is meant was not said."""


def arranged(rows: Rows, lines: Sequence[int], source: str) -> Matrix | None:
    """Find the table in cells and give it as a plain rectangle; None where none is found.

    Args:
        rows: cells, stripped; rows may differ in length.
        lines: line of the source, from 1, for every row.
        source: what they came from.

    Raises:
        FileError: when there are several tables.
    """
    sheet = sheet_of(rows, lines, source)
    if sheet is None:
        return None
    bodies = list(bodies_of(sheet))
    if not bodies:
        return None
    if len(bodies) > 1 and _has_holes(sheet, bodies):
        return None
    if len(bodies) > 1:
        raise _several(sheet, bodies)
    (body,) = bodies
    if not _is_all(sheet, body):
        return None
    above, below = _around(sheet, body)
    title = _title_of_values(sheet, above)
    made = _grid(sheet, body, title) if body.across is not None else _curve(sheet, body, title)
    if made is None:
        return None
    if title and _told(title) in sheet.notes:
        above = [row for row in above if title not in sheet.texts[row]]
    if left := [_line(sheet, row) for row in (*above, *below)]:
        shown = ", ".join(repr(line[:40]) for line in left[:3])
        sheet.notes.insert(0, phrase("Text around the table was left out: {shown}.", shown=shown))
    taken = sheet.lines[body.rows[0] if body.across is None else body.across]
    numbered = [taken + i for i in range(len(made))]
    return Matrix(source, tuple(tuple(row) for row in made), tuple(numbered), (Decimal(),), "", " ".join(sheet.notes))


def _several(sheet: Sheet, bodies: Sequence[Body]) -> FileError:
    begins = [body.rows[0] if body.across is None else body.across for body in bodies]
    places = [
        phrase("line {line}, column {column}", line=sheet.lines[row], column=body.columns[0] + 1)
        for row, body in zip(begins, bodies, strict=True)
    ]
    return SeveralTablesError(
        phrase(
            "{source} holds {n} tables: at {places}.", source=sheet.source, n=len(bodies), places=" and ".join(places)
        ),
        phrase(
            "Which one is it? Of a text file {part_flag} takes one by its number, as in {part_flag} 2; or copy it into "
            "a file of its own.",
            part_flag=flag("part"),
        ),
    )


def check_one_table(rows: Rows, source: str) -> None:
    """Refuse cells in which several tables stand side by side.

    Raises:
        FileError: saying how one of them is chosen.
    """
    if blocks := side_by_side(rows):
        raise SeveralTablesError(
            phrase("{source} holds {n} tables side by side.", source=source, n=len(blocks)),
            phrase(
                "Which one is it? Of a text file {part_flag} takes one by its number from the left, as in {part_flag} "
                "2; or copy it into a file of its own.",
                part_flag=flag("part"),
            ),
        )


def table_number(text: str, source: str, which: int) -> str:
    """Return the lines of one of several tables in a text, with what stands above it.

    Args:
        text: cells in lines.
        source: names it in errors.
        which: counted from 1, from the top down.

    Raises:
        FileError: when there are fewer.
    """
    rows, lines, _ = read_rows(text, source)
    if (blocks := side_by_side(rows)) and 1 <= which <= len(blocks):
        return as_text(blocks[which - 1])
    sheet = sheet_of(rows, lines, source)
    bodies = [] if sheet is None else list(bodies_of(sheet))
    if sheet is None or len(bodies) < 2:
        raise FileError(
            phrase("{opened} has no parts, so {part!r} cannot be selected.", opened=source, part=str(which)),
            phrase("Leave {part_flag} out.", part_flag=flag("part")),
        )
    if not 1 <= which <= len(bodies):
        raise FileError(
            phrase(
                "{source} holds {n} tables, so there is no number {which}.", source=source, n=len(bodies), which=which
            ),
            phrase("Give another number with {part_flag}, or leave it out.", part_flag=flag("part")),
        )
    body = bodies[which - 1]
    first = bodies[which - 2].rows[-1] + 1 if which > 1 else 0
    return "\n".join("\t".join(row) for row in sheet.texts[first : body.rows[-1] + 1])


def _has_holes(sheet: Sheet, bodies: Sequence[Body]) -> bool:
    """Tell whether rectangles are parted by rows that hold numbers too: then it is one table with cells missing."""
    taken = {row for body in bodies for row in (*body.rows, *(() if body.across is None else (body.across,)))}
    first, last = bodies[0].rows[0], bodies[-1].rows[-1]
    between = [row for row in range(first, last) if row not in taken]
    parted = any(not sheet.known[row].any() for row in between) or len({body.rows for body in bodies}) == 1
    return not parted and not any(body.across is not None for body in bodies[1:])


def is_swapped(axis: str, value: str) -> bool:
    """Tell by their units whether what stands as breakpoints of a curve are its values."""
    units = [find_unit(name_and_unit(label)[1] or label) for label in (axis, value)]
    quantities = ["" if unit is None else unit.quantity for unit in units]
    return quantities[0] in _FLOWS and quantities[1] in _SIGNALS


def _is_all(sheet: Sheet, body: Body) -> bool:
    """Tell whether no number is left over beside or below a table, but breakpoints that are repeated there."""
    left = sheet.known.copy()
    first = body.rows[0] if body.across is None else body.across
    left[np.ix_(body.rows, body.columns)] = False
    for row in range(first + 1):
        left[row] &= not sheet.labels(row) or row == first
    if body.across is not None:
        left[body.across, list(body.columns)] = False
        side = sheet.numbers[list(body.rows), body.columns[0]]
        for column in range(body.columns[-1] + 1, left.shape[1]):
            if np.array_equal(sheet.numbers[list(body.rows), column], side):
                left[list(body.rows), column] = False
        for row in range(body.rows[-1] + 1, left.shape[0]):
            if np.array_equal(sheet.numbers[row, body.columns[1:]], sheet.numbers[body.across, body.columns[1:]]):
                left[row] = False
    return not left.any()


def _around(sheet: Sheet, body: Body) -> tuple[list[int], list[int]]:
    """List the rows above a table, and those below it, that are neither its header nor numbers."""
    first = body.rows[0] if body.across is None else body.across
    above = [row for row in range(first) if not sheet.is_units(row)]
    if body.across is None:
        used = bool(above) and len(body.rows) > 2 and len(sheet.labels(above[-1])) > 1
    else:
        used = _named_above(sheet, body) is not None
    below = [row for row in range(body.rows[-1] + 1, len(sheet.texts)) if not sheet.known[row].any()]
    return above[: len(above) - used], below


def _told(title: str) -> str:
    return phrase("The line {title!r} above the table names its values.", title=title)


def _line(sheet: Sheet, row: int) -> str:
    return " ".join(cell for cell in sheet.texts[row] if cell)


def _title_of_values(sheet: Sheet, rows: Sequence[int]) -> str:
    """Return the only line above a table that says what its values are, by a unit or a word; empty where none does."""
    lines = [_line(sheet, row) for row in rows if len(sheet.labels(row)) == 1]
    found = [
        line
        for line in lines
        if len(line) <= LONGEST_TITLE
        and len(re.findall(r"[(\[]", line)) <= 1
        and (find_unit(name_and_unit(line)[1] or "?") is not None or _HELD.search(line))
    ]
    return found[0] if len(found) == 1 else ""


def _label(name: str, unit: str) -> str:
    """Write a name with its unit, which may stand in it already."""
    plain, own = name_and_unit(name)
    unit = bare(own or unit)
    return f"{plain} ({unit})" if unit else plain


def _shared_unit(sheet: Sheet, cells: Sequence[tuple[int, int]]) -> str:
    """Return the unit that stands behind most numbers of a row, a column or a rectangle."""
    found = Counter(sheet.units[row][column] for row, column in cells if sheet.known[row, column])
    unit, times = found.most_common(1)[0] if found else ("", 0)
    return unit if times * 2 > len(cells) else ""


def _texts(values: np.ndarray) -> list[str]:
    return [repr(float(value)) for value in values]


def _curve(sheet: Sheet, body: Body, title: str) -> Rows | None:
    """Give a curve as two columns with a header; a title names the values where no header does."""
    if len(body.rows) == 2 and len(body.columns) > 2:
        return _lying(sheet, body, title)
    if len(body.columns) == 3 and (grid := _long_grid(sheet, body)) is not None:
        return grid
    if _is_numbered(sheet, body):
        sheet.notes.append("The column that numbers the rows was left out.")
        body = Body(body.rows, body.columns[1:])
    if len(body.columns) != 2:
        return None
    header = body.rows[0] - 1
    units = ["", ""]
    while header >= 0 and sheet.is_units(header):
        units = [bare(sheet.text(header, column)) for column in body.columns]
        header -= 1
    names = [sheet.text(header, column) for column in body.columns]
    if header >= 0:
        _check_no_corner(sheet, [sheet.texts[header][column] for column in body.columns])
    if not all(names):
        names = _with_title(sheet, names, units, title) if title and not names[1] else ["", ""]
    labels = [
        _label(name, unit or _shared_unit(sheet, [(row, column) for row in body.rows]))
        for name, unit, column in zip(names, units, body.columns, strict=True)
    ]
    points, values = (sheet.numbers[list(body.rows), column] for column in body.columns)
    if is_swapped(*labels):
        labels, points, values = labels[::-1], values, points
        sheet.notes.append("The first column holds the values and the second the breakpoints: they were swapped.")
    points, values = _rising(sheet, points, values)
    return [labels] * bool(any(names)) + [list(pair) for pair in zip(_texts(points), _texts(values), strict=True)]


def _check_no_corner(sheet: Sheet, above: Sequence[str]) -> None:
    """Refuse a grid of one column: what stands above its values is a breakpoint, beside a corner of two names.

    Raises:
        FileError: saying so.
    """
    corner = [part for part in _PARTED.split(above[0]) if part.strip()]
    if len(corner) == 2 and looks_numeric(above[1]):
        raise FileError(
            phrase("{source} has one column breakpoint only: there is nothing to interpolate.", source=sheet.source),
            "Give a table with at least two breakpoints on every axis.",
        )


def _with_title(sheet: Sheet, names: Sequence[str], units: list[str], title: str) -> list[str]:
    """Name the values of a curve by its title; a unit alone then names the breakpoints."""
    sheet.notes.append(_told(title))
    if names[0] != title:
        return [names[0], title]
    name, units[0] = units[0], ""
    return [name, title]


def _is_numbered(sheet: Sheet, body: Body) -> bool:
    """Tell whether the first of three columns numbers the rows, by its name and its numbers."""
    if len(body.columns) != 3:
        return False
    above = [sheet.text(row, body.columns[0]) for row in range(body.rows[0])]
    numbers = sheet.numbers[list(body.rows), body.columns[0]]
    named = any(NUMBER_OF_ROW.fullmatch(text.casefold()) for text in above if text)
    return named and numbers[0] in (0, 1) and bool(np.all(np.diff(numbers) == 1))


def _lying(sheet: Sheet, body: Body, title: str) -> Rows | None:
    """Give a curve that lies in two rows."""
    labels = []
    for row in body.rows:
        before = [sheet.text(row, column) for column in range(body.columns[0]) if sheet.text(row, column)]
        unit = before[1] if len(before) > 1 and find_unit(bare(before[1])) else ""
        unit = unit or _shared_unit(sheet, [(row, column) for column in body.columns])
        labels.append(_label(before[0], unit) if before else "")
    if title and not labels[1]:
        labels[1] = _label(title, "")
        sheet.notes.append(_told(title))
    first, second = (sheet.numbers[row, list(body.columns)] for row in body.rows)
    points, values = _rising(sheet, first, second)
    pairs = [list(pair) for pair in zip(_texts(points), _texts(values), strict=True)]
    sheet.notes.append("The curve is transposed: breakpoints in the first row, values in the second.")
    return [labels] * bool(labels[1] and (labels[0] or title)) + pairs


def _long_grid(sheet: Sheet, body: Body) -> Rows | None:
    """Give a grid that is written a cell a line: both breakpoints and the value."""
    names = [sheet.text(body.rows[0] - 1, column) for column in body.columns]
    first, second, values = (sheet.numbers[list(body.rows), column] for column in body.columns)
    down, across = np.unique(first), np.unique(second)
    cells = {(a, b): v for a, b, v in zip(first, second, values, strict=True)}
    if not all(names) or min(down.size, across.size) < 2 or not len(cells) == first.size == down.size * across.size:
        return None
    sheet.notes.append("The grid is written a cell a line.")
    labels = CORNER.join(_label(name, "").replace(CORNER, "/") for name in names)
    rows = [[repr(float(a)), *_texts(np.array([cells[a, b] for b in across]))] for a in down]
    return [[labels, *_texts(across)], *rows]


def _rising(sheet: Sheet, points: np.ndarray, values: np.ndarray, axis: int = 0) -> tuple[np.ndarray, np.ndarray]:
    """Turn falling breakpoints round, with their values along an axis, and say so."""
    if points.size < 2 or not (np.diff(points) < 0).all():
        return points, values
    sheet.notes.append("The breakpoints fell: they were turned round, with their values.")
    return points[::-1], np.flip(values, axis=axis)


def _named_above(sheet: Sheet, body: Body) -> int | None:
    """Find the row above a grid that names its columns: its only text stands over them."""
    above = -1 if body.across is None else body.across - 1
    while above >= 0 and sheet.is_units(above):
        above -= 1
    held = sheet.labels(above) if above >= 0 else []
    return above if len(held) == 1 and held[0] >= body.columns[1] and not sheet.known[above].any() else None


def _grid(sheet: Sheet, body: Body, title: str) -> Rows | None:
    """Give a grid with its corner; a title names the values where the corner does not."""
    across_row, (side, *columns) = body.across, body.columns
    if across_row is None:
        return None
    rows = list(body.rows)
    across, down = sheet.numbers[across_row, columns], sheet.numbers[rows, side]
    between = [row for row in range(across_row + 1, rows[0]) if sheet.is_units(row)]
    units = [bare(sheet.text(row, column)) for row in between for column in (side, columns[0])][:2] or ["", ""]
    units[0] = units[0] or _shared_unit(sheet, [(row, side) for row in rows])
    units[1] = units[1] or _shared_unit(sheet, [(across_row, column) for column in columns])
    row_name, column_name, value_name = _names(sheet, body, rows)
    if title and (not value_name or find_unit(bare(value_name)) is not None):
        value_name = title
        sheet.notes.append(_told(title))
    value_unit = _shared_unit(sheet, [(row, column) for row in rows for column in columns])
    named = bool(row_name and column_name)
    if not named and all(units):  # what stands behind the breakpoints says what they are
        row_name, column_name, named = row_name or units[0], column_name or units[1], True
    labels = [_label(row_name, units[0]), _label(column_name, units[1]), _label(value_name or "value", value_unit)]
    values = sheet.numbers[np.ix_(rows, columns)]
    down, values = _rising(sheet, down, values)
    across, values = _rising(sheet, across, values, axis=1)
    corner = CORNER.join(label.replace(CORNER, "/") for label in labels) if named else value_name
    made = [[corner, *_texts(across)]]
    return made + [[repr(float(point)), *_texts(line)] for point, line in zip(down, values, strict=True)]


def _names(sheet: Sheet, body: Body, rows: Sequence[int]) -> tuple[str, str, str]:
    """Find what rows, columns and values are called: in the corner, above the columns, or left of the rows."""
    side = body.columns[0]
    parts = corner_parts(sheet.text(body.across or 0, side))
    above = _named_above(sheet, body)
    column_name = "" if above is None else sheet.text(above, sheet.labels(above)[0])
    beside = [sheet.text(row, column) for column in range(side) for row in (body.across or 0, *rows)]
    row_name = next((text for text in beside if text), "")
    if len(parts) == 3:
        return parts[0], parts[1], parts[2]
    if len(parts) == 2:
        return parts[0], parts[1], ""
    (corner,) = parts
    if column_name and not row_name:
        return corner, column_name, ""
    return row_name, column_name, corner
