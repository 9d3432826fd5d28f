"""Tables that a program keeps as lists of numbers under names: JSON, XML, and arrays in source code."""

import json
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from xml.etree import ElementTree as ET

from workbench.files.tables.rectangles import Rows
from workbench.files.vocabulary.units import find_unit, unit_in_name
from workbench.phrases import phrase

MOST_ARRAYS, DEEPEST = 12, 8
FEWEST_POINTS = 3
_NAMES, _UNITS = ("label", "name", "title", "id", "quantity"), ("unit", "units", "uom")
_NUMBER = r"[+-]?(?:\d+(?:\.\d*)?|\.\d+)(?:[eE][+-]?\d+)?[fFuUlL]*"  # read one way only, so that none is searched for
_NUMBERS = re.compile(rf"\s*{_NUMBER}(?:[\s,;]+{_NUMBER})+[\s,;]*")
_ARRAY = re.compile(
    r"(?<!\w)([A-Za-z_]\w*)\s*(?:\[[^\]=]*\]\s*)*=\s*(?:np\.array\(|numpy\.array\(|new [\w\[\]]+\s*)?"
    r"(\{[^={}]*(?:\{[^{}]*\}[^={}]*)*\}|\[[^=\[\]]*(?:\[[^\[\]]*\][^=\[\]]*)*\])"
)
_COMMENT = re.compile(r"/\*.*?\*/|//[^\n]*|^\s*#[^\n]*", re.DOTALL | re.MULTILINE)
_INNER = re.compile(r"[{\[]([^{}\[\]]*)[}\]]")


@dataclass(frozen=True)
class _Array:
    """Numbers under a name: one row of them, or several of one length."""

    label: str
    rows: tuple[tuple[float, ...], ...]


def sections_of(text: str) -> Rows | None:
    """Give each list of numbers below its name, as cells, or one list of points; None where a text holds neither.

    Args:
        text: of the file.
    """
    found = list(_arrays(text))
    if len(found) == 1 and (points := _points(found[0], text)) is not None:
        return points
    if len(found) not in (2, 3):
        return None
    axes = [each for each in found if len(each.rows) == 1]
    *ways, values = axes if len(axes) == len(found) else [*axes, *(each for each in found if each not in axes)]
    if len(ways) != len(found) - 1:
        return None
    rows: Rows = []
    for each in (*ways, values):
        body = each.rows
        if each is values and len(ways) == 2 and len(body) == 1:
            return None  # numbers of a grid without their rows
        rows.append([each.label])
        rows += [[repr(number) for number in row] for row in body]
    return rows


def _points(array: _Array, text: str) -> Rows | None:
    """Give a curve that is one list of pairs; a remark that holds two units names them. None for any other list."""
    if len(array.rows) < FEWEST_POINTS or any(len(row) != 2 for row in array.rows):
        return None
    remarks = (re.split(r"[,;|>]|->|\bto\b", remark.strip("/*# \t\r\n")) for remark in _COMMENT.findall(text))
    units = ([part.strip(" -") for part in parts] for parts in remarks if len(parts) == 2)
    named = next((parts for parts in units if all(find_unit(part) is not None for part in parts)), None)
    return [*([named] if named else []), *([repr(number) for number in row] for row in array.rows)]


def told(kind: str) -> str:
    """Say how such a table was read."""
    return phrase("The table was put together from the lists of numbers in {kind}.", kind=kind)


def _arrays(text: str) -> Iterator[_Array]:
    """Find the lists of numbers in JSON, in XML or in source code."""
    start = text.lstrip("\ufeff \t\r\n")
    try:
        if start[:1] in "{[":
            yield from _in_json(json.loads(start), "", 0)
            return
        if start[:1] == "<":
            yield from _in_xml(start)
            return
    except (ValueError, RecursionError, ET.ParseError):
        return
    for name, body in _ARRAY.findall(_COMMENT.sub("", text)):
        inner = _INNER.findall(body[1:-1])
        made = [_listed(part) for part in inner or [body[1:-1]]]
        if all(row is not None for row in made) and len({len(row or ()) for row in made}) == 1:
            yield _Array(_labelled(name, ""), tuple(row for row in made if row is not None))


def _listed(text: str) -> tuple[float, ...] | None:
    if not _NUMBERS.fullmatch(text):
        return None
    return tuple(float(number.rstrip("fFuUlL")) for number in re.findall(_NUMBER, text))


def _in_json(node: object, key: str, depth: int) -> Iterator[_Array]:
    if depth > DEEPEST:
        return
    if isinstance(node, list):
        if (rows := _rows(node)) is not None:
            yield _Array(_labelled(key, ""), rows)
    elif isinstance(node, Mapping):
        words = {str(name).casefold(): value for name, value in node.items()}
        label = next((str(words[name]) for name in _NAMES if isinstance(words.get(name), str)), key)
        unit = next((str(words[name]) for name in _UNITS if isinstance(words.get(name), str)), "")
        lists = [name for name, value in node.items() if isinstance(value, list) and _rows(value) is not None]
        for name, value in node.items():
            if name in lists and len(lists) == 1 and depth:
                yield from (_Array(_labelled(label, unit), each.rows) for each in _in_json(value, "", depth + 1))
            else:
                yield from _in_json(value, str(name), depth + 1)


def _rows(node: list[object]) -> tuple[tuple[float, ...], ...] | None:
    if len(node) < 2:
        return None
    if all(isinstance(each, int | float) and not isinstance(each, bool) for each in node):
        return (tuple(float(str(each)) for each in node),)
    inner = [_rows(each) if isinstance(each, list) else None for each in node]
    if any(each is None or len(each) != 1 for each in inner):
        return None
    made = tuple(each[0] for each in inner if each is not None)
    return made if len({len(row) for row in made}) == 1 else None


def _in_xml(text: str) -> Iterator[_Array]:
    if "<!" in text:
        return  # no definitions of a document's own
    for element in ET.fromstring(text).iter():  # noqa: S314 - without definitions nothing can be expanded
        lines = [line for line in (element.text or "").strip().splitlines() if line.strip()]
        made = [_listed(line) for line in lines]
        if made and all(row is not None for row in made) and len({len(row or ()) for row in made}) == 1:
            words = {name.casefold(): value for name, value in element.attrib.items()}
            label = next((words[name] for name in _NAMES if name in words), element.tag)
            unit = next((words[name] for name in _UNITS if name in words), "")
            yield _Array(_labelled(label, unit), tuple(row for row in made if row is not None))


def _labelled(name: str, unit: str) -> str:
    """Write a name with its unit, which may stand at its end."""
    words = name.replace("_", " ").strip() or "value"
    tail = unit or unit_in_name(words)
    if not tail:
        last = words.rpartition(" ")[2]
        short = {"gs": "g/s", "kgh": "kg/h", "hz": "Hz", "rpm": "rpm", "kpa": "kPa", "v": "V"}.get(last.casefold(), "")
        tail = short if words != last else ""
    if not tail or find_unit(tail) is None:
        return words
    bare = words[: len(words) - len(tail)].rstrip() if words.casefold().endswith(" " + tail.casefold()) else words
    return f"{bare} ({tail})"
