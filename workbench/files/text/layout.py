"""How a delimited text is laid out, found by looking at its first lines."""

import csv
import re
from dataclasses import dataclass
from functools import partial

import numpy as np
from numpy.typing import NDArray

from workbench.errors import FileError
from workbench.files.text.header import Header, bare_units, find_header, label_of
from workbench.files.text.numbers import MISSING, Style, column_style, find_style, is_glued
from workbench.files.text.separators import BLANKS, DELIMITERS, best_sign, kind_of, split_line
from workbench.files.vocabulary.asking import TRIMS
from workbench.files.vocabulary.file_words import CLOCK, WORKED_OUT
from workbench.files.vocabulary.roles import fits_a_role, role_by_name
from workbench.files.vocabulary.spelling import plain_words, unique_names
from workbench.files.vocabulary.units import find_unit
from workbench.phrases import phrase

_SAMPLE_LINES = 300
LONGEST_MARK, FEWEST_MARKED = 4, 3  # letters of a sign that stands for no value, and columns in which it does
_ONE_LETTER = re.compile(r"[^\W\d_x]", re.IGNORECASE)
_UNIT_BEHIND = re.compile(r"\d\s*([^\d\s.,:;+-].*)$")
# Of one row: a header whose cells are wrapped takes several for each name. A quote that is never closed belongs to its
# own line.
MOST_LINES = 120


@dataclass(frozen=True)
class Layout:
    """How to split a delimited text.

    Attributes:
        delimiter: one character; a blank stands for runs of blanks.
        columns: cells in a data line, without the empty one after a trailing delimiter.
        trailing: whether data lines end in a delimiter.
        styles: how the numbers of each column are written.
        first: number of the first data line, from 0.
        names: of the columns, unique.
        units: as written, empty where none.
        numeric: which columns hold numbers.
        spaced: whether blanks follow delimiters.
        missing: words for a missing number that occur; the empty one where cells are empty.
        notes: what was assumed, as sentences.
    """

    delimiter: str
    columns: int
    trailing: bool
    styles: tuple[Style, ...]
    first: int
    names: tuple[str, ...]
    units: tuple[str, ...]
    numeric: tuple[bool, ...]
    spaced: bool
    missing: tuple[str, ...]
    notes: tuple[str, ...]


def find_layout(head: str, source: str) -> Layout:
    """Find delimiter, number style, header and units from the head of a text.

    Raises:
        FileError: when no line of it looks like measured values.
    """
    records = _records(head.split("\n")[:_SAMPLE_LINES])
    sample = [line for _, line in records if line.strip(BLANKS) and not line.lstrip().startswith("#")]
    if not sample:
        raise FileError(
            phrase("{source} holds nothing but blank lines and comments.", source=source),
            "Save or export the log again.",
        )
    score, delimiter, width = best_sign(sample)
    if score <= 0:
        raise FileError(
            phrase(
                "{source} cannot be read as a log: it has no lines of numbers separated by tabs, "
                "semicolons, commas, bars or another sign.",
                source=source,
            ),
            "A log has a line of channel names and below it one line of values per sample.",
        )
    rows = [(at, split_line(line, delimiter)) for at, line in records if line.strip(BLANKS)]
    data = [cells for line in sample if len(cells := split_line(line, delimiter)) == width]
    kinds = np.array([[kind_of(cell) for cell in cells] for cells in data])
    marks = _marks(data, kinds)
    kinds[np.isin(np.array(data, dtype=object), list(marks))] = "e"
    valued, numeric = ([_mostly(kinds[:, column], wanted) for column in range(width)] for wanted in ("nc", "n"))
    trailing = width > 2 and all(not cells[-1] for cells in data[1:]) and sum(valued) > 1
    columns = width - (trailing := trailing and not _last_is_named(records, delimiter, width, valued))
    first = _first_data(rows, width, valued)
    if first is None:
        raise FileError(
            phrase("{source} holds no line of values, or only one.", source=source),
            "A log has one line of values per sample.",
        )
    header = find_header([line for at, line in records if at < first], delimiter, columns, source)
    worked_out = _worked_out([(at, cells) for at, cells in rows if at >= first], width, valued)
    first = next((at for at, _ in rows if at >= first and at not in worked_out), first)
    data = [cells for cells in data if cells not in worked_out.values()]
    spaced = delimiter + " " in head
    missing = _missing(data, columns, marks)
    if not any(sign in cell for cells in data[1:] for cell in cells for sign in ".,"):  # thousands may yet come
        more = head.split("\n")[_SAMPLE_LINES:]
        data += [cells for line in more if len(cells := split_line(line, delimiter)) == width]
    styles, style_notes = _styles(data, delimiter, header)
    return Layout(
        delimiter,
        columns,
        trailing,
        styles,
        first,
        header.names,
        header.units,
        tuple(numeric[at] and not _several_units(data, at, header.names[at]) for at in range(columns)),
        spaced,
        missing,
        (*header.notes, *style_notes, *left_out(", ".join(f"line {at + 1}" for at in worked_out))),
    )


def _marks(data: list[list[str]], kinds: NDArray[np.str_]) -> frozenset[str]:
    """Find signs that stand in several columns of numbers where there is none, as for a value that did not change."""
    columns: dict[str, set[int]] = {}
    for cells, row in zip(data, kinds, strict=True):
        for at, (cell, kind) in enumerate(zip(cells, row, strict=True)):
            if kind == "t" and len(cell) <= LONGEST_MARK and not any(letter.isalnum() for letter in cell):
                columns.setdefault(cell, set()).add(at)
    numbered = {at for at in range(kinds.shape[1]) if np.any(kinds[:, at] == "n")}
    return frozenset(mark for mark, places in columns.items() if len(places & numbered) >= FEWEST_MARKED)


def _several_units(data: list[list[str]], at: int, name: str) -> bool:
    """Tell whether the numbers of a column bear units of several quantities, as the values of a long form do.

    Or such as no trim has: that may be the letter of its side, as in `2.0 L`.
    """
    units = {
        match[1] for cell in {cells[at] for cells in data} if is_glued(cell) and (match := _UNIT_BEHIND.search(cell))
    }
    found = {known.quantity for unit in units if (known := find_unit(unit)) is not None}
    if role_by_name(name, "") in TRIMS and (
        found - {"percent", ""} or any(_ONE_LETTER.fullmatch(each) for each in units)
    ):
        return True
    return len(found) > 1


def _missing(data: list[list[str]], columns: int, marks: frozenset[str]) -> tuple[str, ...]:
    """List the words for a missing number that occur."""
    seen = {cell for cells in data for cell in cells[:columns]}
    return tuple(sorted(cell for cell in seen if cell.casefold() in MISSING or cell in marks))


def _first_data(rows: list[tuple[int, list[str]]], width: int, valued: list[bool]) -> int | None:
    """Return the number of the first line of values; None where there is none."""
    named = next((at for at, cells in rows if len(cells) == width and _names_clock(cells)), -1)
    data = (at for at, cells in rows if _is_data(cells, width, valued) and not _is_rates(cells, valued))
    return next((at for at in data if at > named), None)


def _names_clock(cells: list[str]) -> bool:
    """Tell whether a line names a clock first: then it names columns, also by what else could be a number."""
    return kind_of(cells[0]) == "t" and CLOCK.fullmatch(plain_words(label_of(cells[0])[0])) is not None


def _is_rates(cells: list[str], valued: list[bool]) -> bool:
    """Tell whether a line says the same with a unit of every column, as at which rate each was logged."""
    held = [cell for cell, wanted in zip(cells, valued, strict=True) if wanted and cell]
    return len(held) > 2 and len(set(held)) == 1 and is_glued(held[0])


def _last_is_named(records: list[tuple[int, str]], delimiter: str, width: int, valued: list[bool]) -> bool:
    """Tell whether a line above the values names the last column, whose cells are empty at the head."""
    for _, line in records:
        cells = split_line(line.lstrip("#\ufeff \t"), delimiter)
        if _is_data(cells, width, valued):
            return False
        if len(cells) == width and all(cells) and kind_of(cells[-1]) == "t":
            return True
    return False


def _records(lines: list[str]) -> list[tuple[int, str]]:
    """Return every line with its number, those of a quoted cell that holds line ends as one (RFC 4180, 2.6)."""
    found, at = [], 0
    while at < len(lines):
        end = at + 1
        if lines[at].count('"') % 2:
            ends = range(at + 2, min(at + MOST_LINES, len(lines)) + 1)
            closed = next((end for end in ends if lines[end - 1].count('"') % 2), 0)
            if closed and _is_one_record("\n".join(lines[at:closed])):
                end = closed
        found.append((at, "\n".join(lines[at:end])))
        at = end
    return found


def _is_one_record(text: str) -> bool:
    """Return whether all line ends of a text stand inside quotes that are well closed."""
    for sign in DELIMITERS:
        try:
            next(csv.reader([text], delimiter=sign, skipinitialspace=True, strict=True))
        except csv.Error:
            continue
        return True
    return False


def _styles(data: list[list[str]], delimiter: str, header: Header) -> tuple[tuple[Style, ...], list[str]]:
    """Find out how the numbers of each column are written, and say what was assumed."""
    style = find_style([cell for cells in data for cell in cells], delimiter)
    styles, notes = [], []
    for at, (name, unit) in enumerate(zip(header.names, header.units, strict=True)):
        fits = partial(fits_a_role, name, unit)
        styles.append(column_style([cells[at] for cells in data], style, fits))
        if styles[-1].doubtful:
            notes.append(_doubt_note(name, styles[-1]))
    if any(column.thousands and _holds(data, at, column.thousands) for at, column in enumerate(styles)):
        notes.insert(0, "Numbers were read with thousands separators.")
    if any(column.decimal == "," and _holds(data, at, ",") for at, column in enumerate(styles)):
        notes.insert(0, "Numbers were read with a decimal comma.")
    return tuple(styles), notes


def _holds(data: list[list[str]], at: int, sign: str) -> bool:
    """Return whether any cell of a column holds a sign; blanks were seen before, in whatever form."""
    return sign == " " or any(sign in cells[at] for cells in data)


def _doubt_note(name: str, style: Style) -> str:
    text, value = style.doubtful, style.number(style.doubtful)
    return phrase(
        "{name}: {text!r} may hold a decimal sign or a thousands separator; it was read as {value:.10g}.",
        name=name,
        text=text,
        value=value,
    )


def _mostly(kinds: NDArray[np.str_], wanted: str) -> bool:
    fit = int(np.sum(np.isin(kinds, list(wanted))))
    return fit > kinds.size - fit - int(np.sum(kinds == "e"))


def _is_data(cells: list[str], width: int, valued: list[bool]) -> bool:
    if len(cells) != width:
        return False
    kinds = [kind_of(cell) for cell, wanted in zip(cells, valued, strict=True) if wanted]
    return sum(kind in "nc" for kind in kinds) > kinds.count("t")


def _worked_out(rows: list[tuple[int, list[str]]], width: int, valued: list[bool]) -> dict[int, list[str]]:
    """Find the lines at the top, by their number, that say of themselves to be a mean or the like of the columns."""
    found: dict[int, list[str]] = {}
    for at, cells in rows:
        words = [cell for cell, wanted in zip(cells, valued, strict=False) if wanted and kind_of(cell) == "t"]
        if len(cells) != width or not any(WORKED_OUT.fullmatch(word) for word in words):
            break
        found[at] = cells
    return {} if len(found) == len(rows) else found


def left_out(where: str) -> list[str]:
    """Say which lines are no part of the drive; nothing where there are none."""
    note = phrase("Left out as not part of the drive, labelled a mean, maximum or total: {where}.", where=where)
    return [note] * bool(where)


def is_header_again(cells: list[str], layout: Layout) -> bool | None:
    """Return whether a line among the values is the header, or its units, once more; None where it is another header.

    A line of names has a text of its own in every column that should hold a number.
    """
    texts = [cell for cell, numeric in zip(cells, layout.numeric, strict=True) if numeric]
    if texts and kind_of(texts[0]) == "n":
        return False
    units = any(layout.units) and tuple(bare_units(cells)) == layout.units
    if units or any(kind_of(cell) != "t" for cell in texts) or len(set(texts)) < max(len(texts), 2):
        return units
    named = [label_of(cell) for cell in cells]
    names = unique_names([name or f"column {at + 1}" for at, (name, _) in enumerate(named)])
    same = names == layout.names and all(u in ("", known) for (_, u), known in zip(named, layout.units, strict=True))
    return True if same else None


def is_other_header(cells: list[str], layout: Layout) -> bool:
    """Return whether a line of another length than the rows names most of the channels, and so begins another log."""
    return 2 * len({label_of(cell)[0] for cell in cells} & set(layout.names)) > len(layout.names)
