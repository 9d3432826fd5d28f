"""Tables of a web page, as loggers and spreadsheets save one under the name of a workbook: their cells as text."""

from collections import Counter
from html.parser import HTMLParser
from itertools import zip_longest

from workbench.files.formats.json_tables import LEAST_ROWS, Columns

MARKS = (b"<!doctype html", b"<html", b"<table")
MOST_COLUMNS, MOST_TITLES = 4000, 5


def is_web_page(head: bytes) -> bool:
    """Tell a web page by its beginning."""
    return head.removeprefix(b"\xef\xbb\xbf").lstrip().lower().startswith(MARKS)


def tables_of_page(text: str) -> dict[str, Columns]:
    """Return the tables of a page by their number, the first row as names; one with names alone is left out."""
    page = _Page()
    page.feed(text)
    page.close()
    tables = [rows for rows in page.tables if len(rows) > LEAST_ROWS]
    names = [""] if len(tables) == 1 else [f"table {number}" for number in range(1, len(tables) + 1)]
    return {name: _columns(rows) for name, rows in zip(names, tables, strict=True)}


def _columns(rows: list[list[str]]) -> Columns:
    """Take the first row for names, but for rows above it that name groups of columns, or nothing."""
    usual = Counter(map(len, rows)).most_common(1)[0][0]
    first = next(
        (at for at, row in enumerate(rows[:MOST_TITLES]) if len(row) >= usual and 2 * sum(map(bool, row)) > usual), 0
    )
    head = rows[first]
    return Columns(head, list(zip_longest(*(row[: len(head)] for row in rows[first + 1 :]), fillvalue="")))


class _Page(HTMLParser):
    """Gathers the cells of every table; of one inside another, those of the inner one."""

    def __init__(self) -> None:
        super().__init__()
        self.tables: list[list[list[str]]] = []
        self._cell: list[str] | None = None
        self._span = 1

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if tag == "table":
            self._end_cell()
            self.tables.append([])
        elif tag == "tr" and self.tables:
            self._end_cell()
            self.tables[-1].append([])
        elif tag in ("td", "th") and self.tables and self.tables[-1]:
            self._end_cell()
            self._cell = []
            span = dict(attrs).get("colspan") or "1"
            self._span = min(int(span), MOST_COLUMNS) if span.isdigit() else 1

    def handle_endtag(self, tag: str) -> None:
        if tag in ("td", "th", "tr", "table"):
            self._end_cell()

    def handle_data(self, data: str) -> None:
        if self._cell is not None:
            self._cell.append(data)

    def _end_cell(self) -> None:
        if self._cell is not None and len(self.tables[-1][-1]) < MOST_COLUMNS:
            row = self.tables[-1][-1]
            row.append(" ".join("".join(self._cell).split()))
            row += [""] * min(self._span - 1, MOST_COLUMNS - len(row))
        self._cell = None
