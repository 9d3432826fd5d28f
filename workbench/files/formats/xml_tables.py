"""Records of an XML document: the outermost element that is repeated, its attributes and what is inside as cells."""

from collections import Counter
from collections.abc import Mapping
from itertools import zip_longest
from xml.etree import ElementTree as ET

from workbench.files.formats.json_tables import LEAST_ROWS, Columns

MARK = b"<?xml"
_UNITS = ("unit", "units", "uom")
_REPEATED = "number-columns-repeated"  # OpenDocument 1.3, part 3, 19.677
_BOOKS = ("workbook", "document", "document-content")  # of spreadsheets
DEEPEST = 2  # elements inside one another that count as one record
FEWEST_RECORDS, FEWEST_CELLS, MOST_COLUMNS = 3, 2, 4000


def is_xml(head: bytes) -> bool:
    """Tell an XML document by its declaration."""
    return head.removeprefix(b"\xef\xbb\xbf").lstrip().lower().startswith(MARK)


def tables_of_xml(content: bytes) -> dict[str, Columns]:
    """Return the records of a document as the only table; nothing where no element is repeated.

    Args:
        content: the document; the parser loads nothing from elsewhere and limits what entities grow to (expat 2.4.1).

    Raises:
        ValueError: when it is no XML.
    """
    try:
        root = ET.fromstring(content)  # noqa: S314 - read in a process of its own, with its memory limited
    except ET.ParseError as error:
        raise ValueError(str(error)) from error
    if _bare(root.tag).lower() in _BOOKS:
        return _sheets(root)
    counts = Counter[str](each.tag for each in root.iter() if len(_cells(each)) >= FEWEST_CELLS)
    kind = next((each.tag for each in root.iter() if counts[each.tag] >= FEWEST_RECORDS), None)  # the outermost
    if kind is None:
        return _sheets(root)
    rows = [_cells(each) for each in root.iter(kind)]
    names = list(dict.fromkeys(name for row in rows for name in row))
    units = {name: unit for row in rows[:1] for name, (_, unit) in row.items() if unit}
    cells = [[row.get(name, ("", ""))[0] for row in rows] for name in names]
    return {"": Columns(names, cells, units)}


def _cells(element: ET.Element, depth: int = DEEPEST) -> Mapping[str, tuple[str, str]]:
    """Return name -> text and unit of what an element holds: its attributes, and elements of text alone.

    So it does of an element inside that stands there once, as extensions of a point do.
    """
    if (pairs := _named_by_turns(element)) is not None:
        return pairs
    found = {_bare(name): (text, "") for name, text in element.attrib.items() if name.lower() not in _UNITS}
    inside = Counter(child.tag for child in element if len(child)) if depth else Counter[str]()
    for child in element:
        if len(child):
            if inside[child.tag] == 1:
                found.update((name, cell) for name, cell in _cells(child, depth - 1).items() if name not in found)
            continue
        name = next((child.attrib[key] for key in ("name", "channel", "id") if key in child.attrib), _bare(child.tag))
        text = child.text or child.attrib.get("value", "")
        found[name] = (" ".join(text.split()), next((child.attrib[key] for key in _UNITS if key in child.attrib), ""))
    return found


def _named_by_turns(element: ET.Element) -> Mapping[str, tuple[str, str]] | None:
    """Return name -> text where elements for names and for values take turns, as in a property list; None elsewhere."""
    names, values = list(element[::2]), list(element[1::2])
    texts = [" ".join((each.text or "").split()) for each in names]
    if len(names) != len(values) or len(names) < FEWEST_CELLS or len({*texts}) < len(texts):
        return None
    if not all(any(sign.isalpha() for sign in text) for text in texts):
        return None
    if len({each.tag for each in names}) != 1 or any(len(each) for each in names):
        return None
    if any(each.tag == names[0].tag for each in values):
        return None
    # An empty element is its own value, as <true/>; what holds others is none.
    kept = zip(texts, values, strict=True)
    return {name: (" ".join((each.text or _bare(each.tag)).split()), "") for name, each in kept if not len(each)}


def _sheets(root: ET.Element) -> dict[str, Columns]:
    """Return the tables of a document whose rows hold cells of one kind, the first row as names."""
    found = list[Columns]()
    for table in root.iter():
        rows = [_row(each) for each in table if len(each) >= FEWEST_CELLS and _are_cells(each)]
        if len(rows) > LEAST_ROWS:
            width = len(rows[0])
            found.append(Columns(rows[0], list(zip_longest(*(row[:width] for row in rows[1:]), fillvalue=""))))
    return {f"table {at}" if len(found) > 1 else "": each for at, each in enumerate(found, 1)}


def _row(element: ET.Element) -> list[str]:
    """Return the cells of a row; one may say at which place it stands, those before it being empty."""
    cells = list[str]()
    for cell in element:
        place = next((text for name, text in cell.attrib.items() if _bare(name) == "Index" and text.isdigit()), "")
        cells += [""] * (min(int(place), MOST_COLUMNS) - 1 - len(cells) if place else 0)
        times = next((text for name, text in cell.attrib.items() if _bare(name) == _REPEATED and text.isdigit()), "1")
        if len(cells) < MOST_COLUMNS:
            cells += [" ".join("".join(cell.itertext()).split())] * min(int(times), MOST_COLUMNS)
    return cells


def _are_cells(row: ET.Element) -> bool:
    """Tell whether all elements of a row are of one kind, or cells and such as others cover."""
    kinds = {_bare(cell.tag).lower() for cell in row}
    return len(kinds) == 1 or all(kind.endswith("cell") for kind in kinds)


def _bare(tag: str) -> str:
    """Take the namespace off a name."""
    return tag.rpartition("}")[2]
