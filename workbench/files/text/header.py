"""The lines above the values: which names the columns, which gives their units, and which is something else."""

import re
from collections.abc import Sequence
from dataclasses import dataclass

from workbench.errors import FileError
from workbench.files.text.separators import BLANKS, DELIMITERS, WIDE, kind_of, split_line
from workbench.files.vocabulary.clock_scale import stated_seconds
from workbench.files.vocabulary.file_words import CLOCK
from workbench.files.vocabulary.roles import could_play_a_role
from workbench.files.vocabulary.spelling import label_parts, mended, plain_words, unique_names
from workbench.files.vocabulary.units import find_unit, is_physical
from workbench.phrases import phrase

_UNIT_INSIDE = re.compile(r"[(\[](%|[^()\[\]]{2,12})[)\]]")  # as in "Airflow (kg/h) Avg"
# As in "n / 1/min" (DIN 1313), "Speed, mph".
_UNIT_BEHIND = re.compile(r"(.*\S)\s*(?:,|:|\s/\s|\sin\s|\s[-–]\s)\s*(\S+)")
# A line that says how often rows were written: by a word for sampling or logging, a number, and Hz or seconds.
_RATE = re.compile(
    r"\b(?:sampl\w*|logg\w*|record\w*|abtast\w*|mess\w*|echantill\w*|muestre\w*|campion\w*|amostr\w*|rate|interval\w*)"
    r"[^\d\n]{0,40}?(\d+(?:[.,]\d+)?)\s*(hz|1/s|ms|sec|s)\b",
    re.IGNORECASE,
)
RATES = (0.2, 2000.0)  # rows a second of any log
_BRACKETS = ("()", "[]", "{}")
MOST_WITHOUT = 3  # names behind the others whose cells every line leaves off
_RULE = re.compile(r"[-=_+|:. \t]*[-=_]{2}[-=_+|:. \t]*")  # a line drawn under names


@dataclass(frozen=True)
class Header:
    """Names and units of the columns, and what was assumed of them."""

    names: tuple[str, ...]
    units: tuple[str, ...]
    notes: tuple[str, ...] = ()


def told_rate(lines: Sequence[str]) -> float:
    """Return how many rows a second the lines above the values say, as in `Sample rate: 10 Hz`; NaN where none does."""
    for line in lines:
        if (match := _RATE.search(line)) is not None:
            number = float(match[1].replace(",", "."))
            counted = {"hz": number, "1/s": number}.get(match[2].casefold())
            seconds = {"ms": 1e-3, "s": 1.0, "sec": 1.0}.get(match[2].casefold(), 0.0) * number
            found = counted if counted is not None else 1 / seconds if seconds > 0 else 0.0
            if RATES[0] <= found <= RATES[1]:
                return found
    return float("nan")


def find_header(lines: Sequence[str], delimiter: str, columns: int, source: str) -> Header:
    """Find names and units in the lines above the data.

    Raises:
        FileError: when no line has a name for every column, but one has nearly as many.
    """
    lines = [line for line in lines if not _RULE.fullmatch(line)]
    above, sign = _lines_above(lines, delimiter, columns, source)
    notes = [_other_sign(sign, delimiter)] if sign != delimiter else []
    if not above:
        names = tuple(f"column {at + 1}" for at in range(columns))
        nameless = phrase("{source} has no header: its columns are named column 1, column 2, …", source=source)
        return Header(names, ("",) * columns, (nameless,))
    units = [""] * columns
    at = next((at for at in reversed(range(len(above))) if _are_units(above[at])), None)
    if at is not None and len(above) > 1 and _known_labels(above[at]) < max(map(_known_labels, _without(above, at))):
        units, above = bare_units(above[at]), _without(above, at)
    elif at == len(above) - 1 > 0:
        units, above = bare_units(above[at]), above[:-1]
    labels = above[-1]
    if len(above) > 1 and _known_labels(above[-2]) > _known_labels(labels):
        labels = above.pop(-2)
        notes.append("The line between the channel names and their values was skipped.")
    elif len(above) > 1 and any(high and not low for high, low in zip(above[-2], labels, strict=True)):
        labels = [f"{high} {low}".strip() for high, low in zip(above[-2], labels, strict=True)]
        notes.append("The channel names were joined from two lines.")
    elif len(above) > 1 and len(set(labels)) < len(labels) and (spread := _over_several(above[-2], labels)):
        labels = spread
        notes.append("The channel names were joined from two lines.")
    return _named(labels, units, notes)


def _named(labels: Sequence[str], units: Sequence[str], notes: list[str]) -> Header:
    named = [label_of(label) for label in labels]
    names_read = [name or f"column {at + 1}" for at, (name, _) in enumerate(named)]
    units = [unit or own for unit, (_, own) in zip(units, named, strict=True)]
    unique = unique_names(names_read)
    doubles = [new for new, old in zip(unique, names_read, strict=True) if new != old]
    if doubles:
        notes.append(
            phrase("Channel names occur more than once; later ones are renamed {doubles}.", doubles=", ".join(doubles))
        )
    return Header(unique, tuple(units), tuple(notes))


def _without(above: Sequence[list[str]], at: int) -> list[list[str]]:
    return [line for place, line in enumerate(above) if place != at]


def _over_several(high: Sequence[str], labels: Sequence[str]) -> list[str]:
    """Join names with what stands once over several of them, as merged cells are written; empty where none does.

    What stands over a name holds for those to its right that are named otherwise than it.
    """
    seen, group, over = set[str](), "", list[str]()
    for above, label in zip(high, labels, strict=True):
        if above or label in seen:
            group = above
            seen.clear()
        over.append(group)
        seen.add(label)
    joined = [f"{group} {label}".strip() for group, label in zip(over, labels, strict=True)]
    return joined if len(set(joined)) == len(joined) else []


def _other_sign(sign: str, delimiter: str) -> str:
    return phrase(
        "The channel names are separated by {sign!r}, the values by {delimiter!r}.", sign=sign, delimiter=delimiter
    )


def _known_labels(cells: Sequence[str]) -> int:
    """Count the cells that are known as channels, or that name a unit."""
    labels = [label_of(cell) for cell in cells if kind_of(cell) == "t"]
    return sum(find_unit(unit) is not None or could_play_a_role(name, unit) for name, unit in labels)


def label_of(label: str) -> tuple[str, str]:
    """Return the name and the unit that a column's label holds."""
    name, unit = label_parts(label)
    if not unit and (inside := _UNIT_INSIDE.search(name)) and is_physical(inside[1]):
        return " ".join(name.replace(inside[0], " ").split()), inside[1]
    if not unit and (behind := _UNIT_BEHIND.fullmatch(name)) and _is_measured_in(behind[1], behind[2]):
        return behind[1], behind[2]
    if unit and find_unit(unit) is None and stated_seconds(unit) is None and not label.rstrip().endswith("]"):
        return " ".join(mended(label).split()), ""  # brackets that hold no unit belong to the name
    return name, unit


def _is_measured_in(name: str, unit: str) -> bool:
    """Tell whether a text is a unit, and of a name that is measured in it."""
    found = find_unit(unit)
    if found is None:
        return False
    return CLOCK.search(plain_words(name)) is not None if found.quantity == "time" else could_play_a_role(name, unit)


def bare_units(cells: Sequence[str]) -> list[str]:
    """Return units without the brackets around them."""
    return [cell.strip("[](){} ") for cell in cells]


def _cells(line: str, delimiter: str, columns: int) -> list[str]:
    whole = split_line(line.lstrip("\ufeff"), delimiter)
    # A name, of the number of a row; or a column that is empty, as at the left of many a sheet.
    named = len(whole) == columns and whole[0] in ("#", "")
    cells = whole if named else split_line(line.lstrip("#\ufeff \t"), delimiter)
    return cells[:columns] if len(cells) > columns and not any(cells[columns:]) else cells


def _lines_above(lines: Sequence[str], delimiter: str, columns: int, source: str) -> tuple[list[list[str]], str]:
    """Return the lines above the data that have a cell for every column, and what parts the cells of the names.

    Raises:
        FileError: when there is none, but one that has nearly as many.
    """
    above: list[list[str]] = []
    for line in lines:
        cells = _cells(line, delimiter, columns)
        if len(cells) == columns and any(cells):
            above.append(cells)
    if any(_known_labels(cells) and not _are_units(cells) for cells in above):
        return above, delimiter
    for sign in (*DELIMITERS, WIDE):
        others = [(at, _cells(line, sign, columns)) for at, line in enumerate(lines) if line.strip(BLANKS)]
        named = [(at, cells) for at, cells in others if len(cells) == columns > 2 and not _are_units(cells)]
        if sign != delimiter and named and (not above or any(_known_labels(cells) for _, cells in named)):
            under = [cells for cells in above if _are_units(cells)]
            return [*(cells for _, cells in named), *under], sign
    return (above, delimiter) if above else (_nearly(lines, delimiter, columns, source), delimiter)


def _nearly(lines: Sequence[str], delimiter: str, columns: int, source: str) -> list[list[str]]:
    """Return names that are one too many for what every line leaves empty at its end; nothing where there are none.

    Raises:
        FileError: when it is unclear which name is missing or too many.
    """
    split = [split_line(line.lstrip("#\ufeff \t"), delimiter) for line in lines]
    room = max(1, columns // 10)
    near = [cells for cells in split if -room <= len(cells) - columns <= max(room, MOST_WITHOUT) and len(cells) > 1]
    if any(2 * len(cells) == columns > 4 for cells in split):
        raise FileError(
            phrase(
                "{source}: the lines of values have twice as many cells as the header: numbers with "
                "a decimal comma were split at commas, and cannot be rejoined with certainty.",
                source=source,
            ),
            "Export the log with a decimal point, or with semicolons or tabs between the cells.",
        )
    if not near:
        return []
    cells = near[-1]
    # What is empty in every line is left off by some programs.
    if len(cells) > columns and all(cells) and not _is_split(lines, cells, delimiter):
        known = sum(could_play_a_role(*label_of(cell)) for cell in cells[:columns])
        if 2 * known >= columns:
            return [cells[:columns]]
    if abs(len(cells) - columns) > room:
        return []
    missing = "a name is missing" if len(cells) < columns else "a name is too many"
    raise FileError(
        phrase(
            "{source}: the header has {cells} cells and the lines of values have {columns}: "
            "{missing}, and it is unclear which one.",
            source=source,
            cells=len(cells),
            columns=columns,
            missing=missing,
        ),
        "Correct the header in a text editor: one name for each column, in order.",
    )


def _is_split(lines: Sequence[str], cells: Sequence[str], delimiter: str) -> bool:
    """Tell whether a name seems split at the sign between cells: half a bracket, a unit alone, a blank before it."""
    line = next(line for line in lines if split_line(line.lstrip("#\ufeff \t"), delimiter) == list(cells))
    parts = line.rstrip("\r\n").split(delimiter)
    blanks = sum(part.startswith(" ") for part in parts)
    halves = any(cell.count(sign[0]) != cell.count(sign[1]) for cell in cells for sign in _BRACKETS)
    alone = any(is_physical(cell) and not could_play_a_role(cell, "") for cell in cells)
    return halves or alone or 0 < blanks < len(parts) / 2


def _are_units(cells: Sequence[str]) -> bool:
    known = [cell for cell in cells if cell and find_unit(cell) is not None]
    return len(known) > 0 and len(known) >= 0.5 * sum(1 for cell in cells if cell)
