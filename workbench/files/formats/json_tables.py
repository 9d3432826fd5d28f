"""JSON into tables: lists of records, columns by name, rows below a list of names, one record a line."""

import json
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from workbench.files.formats.json_channels import channels_on_own_times

DEEPEST = 3  # how far inside other objects a table is looked for
LEAST_ROWS = 2
_NAMES = ("name", "channel", "signal", "label", "key", "id")
_UNITS = ("unit", "units")


@dataclass(frozen=True)
class Columns:
    """A table of cells as text.

    Attributes:
        names: of the columns, with their units in brackets where known.
        cells: one sequence per column, all of one length.
    """

    names: Sequence[str]
    cells: Sequence[Sequence[Any]]
    units: Mapping[str, str] = field(default_factory=dict)

    @property
    def rows(self) -> int:
        """Count the rows."""
        return len(self.cells[0]) if self.cells else 0


def tables_in(text: str) -> dict[str, Columns]:
    """Find the tables in a JSON document or in JSON lines.

    Args:
        text: the whole document.

    Returns:
        Name of each table -> its columns; the name is empty where the document itself is the table.

    Raises:
        ValueError: when the text is no JSON.
    """
    try:
        document = json.loads(text)
    except json.JSONDecodeError as error:
        lines = [line for line in text.splitlines() if line.strip()]
        if len(lines) < LEAST_ROWS or error.msg != "Extra data":
            raise
        document = [_line(number, line) for number, line in enumerate(lines, 1)]
    return dict(_tables("", document, DEEPEST))


def _line(number: int, line: str) -> Any:
    try:
        return json.loads(line)
    except json.JSONDecodeError as error:
        raise ValueError(f"line {number} is no JSON: {error.msg}") from error


def _tables(name: str, found: Any, depth: int) -> Iterator[tuple[str, Columns]]:
    table = _table_of(found)
    if table is not None and table.rows >= LEAST_ROWS:
        yield name, table
    elif isinstance(found, dict) and depth > 0:
        for key, inside in found.items():
            yield from _tables(f"{name}.{key}" if name else key, inside, depth - 1)


def _table_of(found: Any) -> Columns | None:
    if (own := channels_on_own_times(found)) is not None:
        names, moments, values = own
        return Columns(["Time", "Channel", "Value"], [moments, names, values])
    if isinstance(found, list) and found:
        if all(isinstance(record, dict) for record in found):
            return _channels(found) or _records(found)
        if all(isinstance(row, list) for row in found) and _are_texts(found[0]):
            return _rows(found[0], found[1:])
    if isinstance(found, dict):
        units: Mapping[str, str] = next((found[key] for key in _UNITS if isinstance(found.get(key), dict)), {})
        plain = {key: value for key, value in found.items() if _is_column(value)}
        lengths = {len(value) for value in plain.values()}
        header = next((value for value in plain.values() if _are_texts(value)), None)
        body = next((value for value in found.values() if _is_body(value, header)), None)
        if header is not None and body is not None:
            return _rows(header, body)
        if len(plain) > 1 and len(lengths) == 1:
            return Columns(list(plain), list(plain.values()), units)
    return None


def _is_column(value: Any) -> bool:
    return isinstance(value, list) and bool(value) and not any(isinstance(each, list | dict) for each in value)


def _are_texts(value: Any) -> bool:
    return isinstance(value, list) and bool(value) and all(isinstance(each, str) for each in value)


def _is_body(value: Any, header: Sequence[str] | None) -> bool:
    return (
        header is not None
        and isinstance(value, list)
        and bool(value)
        and all(isinstance(row, list) and len(row) == len(header) for row in value)
    )


def _rows(names: Sequence[str], rows: Sequence[Sequence[Any]]) -> Columns | None:
    if any(len(row) > len(names) for row in rows):
        return None
    width = len(names)
    filled = [[*row, *[None] * (width - len(row))] for row in rows]
    return Columns(list(names), [list(column) for column in zip(*filled, strict=True)] if filled else [])


def _channels(records: Sequence[dict[str, Any]]) -> Columns | None:
    """Read one object per channel: a name, perhaps a unit, and a list of values."""
    names, units, cells = [], {}, []
    for record in records:
        columns = [value for value in record.values() if _is_column(value)]
        name = next((record[key] for key in _NAMES if isinstance(record.get(key), str)), None)
        if len(columns) != 1 or name is None:
            return None
        names.append(name)
        units[name] = next((record[key] for key in _UNITS if isinstance(record.get(key), str)), "")
        cells.append(columns[0])
    return Columns(names, cells, units) if len({len(column) for column in cells}) == 1 else None


def _records(records: Sequence[dict[str, Any]]) -> Columns:
    flat = [dict(_flat("", record)) for record in records]
    names = list(dict.fromkeys(name for record in flat for name in record))
    return Columns(names, [[record.get(name) for record in flat] for name in names])


def _flat(prefix: str, record: Mapping[str, Any]) -> Iterator[tuple[str, Any]]:
    """Yield the values of a record; those of objects inside it with both names, a value beside its unit under one."""
    for key, value in record.items():
        name = f"{prefix}.{key}" if prefix else key
        if isinstance(value, dict) and set(value) <= {"value", *_UNITS} and "value" in value:
            unit = next((value[each] for each in _UNITS if isinstance(value.get(each), str)), "")
            yield (f"{name} ({unit})" if unit else name), value["value"]
        elif isinstance(value, dict):
            yield from _flat(name, value)
        elif not isinstance(value, list):
            yield name, value


def as_lines(table: Columns) -> Iterable[str]:
    """Write a table as tab-separated text that reads back as the same numbers, words and times."""
    titles = (f"{name} ({table.units[name]})" if table.units.get(name) else name for name in table.names)
    yield "\t".join(map(_text, titles)) + "\n"
    for row in zip(*table.cells, strict=True):
        yield "\t".join(map(_text, row)) + "\n"


def _text(cell: Any) -> str:
    match cell:
        case None:
            return ""
        case bool():
            return "1" if cell else "0"
        case float():
            return "" if cell != cell else repr(cell).removesuffix(".0")  # noqa: PLR0124 - NaN is no number
        case bytes():
            return cell.decode(errors="replace")
        case _:
            return " ".join(str(cell).split())
