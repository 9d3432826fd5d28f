"""Cells of a text table: split, measured and turned into numbers, each with the place it stands at."""

import csv
import io
import math
import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

import numpy as np

from workbench.errors import FileError
from workbench.files.vocabulary.units import find_unit
from workbench.model.arrays import FloatArray
from workbench.model.counting import counted
from workbench.phrases import phrase

_PLAIN = re.compile(r"[+-]?(\d+(\.\d*)?|\.\d+)([eE][+-]?\d+)?")
_COMMA = re.compile(r"[+-]?(\d+,\d*|,\d+)([eE][+-]?\d+)?")
_NUMERIC = re.compile(r"[+-]?(?=.*\d)[\d.,'’ \u00a0\u202f]+([eE][+-]?\d+)?")
_REMARK = re.compile(r"^;[ \t]*[^\W\d_][^;\n]*$", re.MULTILINE)  # a line behind a semicolon that parts no cells
_MARKS = "'’ \u00a0\u202f"  # that group digits and are no decimal sign
_WITH_UNIT = re.compile(r"([+-]?[\d.,'’ \u00a0\u202f]*\d)[ \u00a0\u202f]*([^\d\s.,'’+-][^\d]*)")
_THOUSANDS = re.compile(r"(.*\d\.?)[ \u00a0\u202f]?k")  # as in 2.35k; a capital letter is kelvin
LONGEST_NUMBER = 64
_WORDS_FOR_NOTHING = {"nan", "inf", "-inf", "+inf", "infinity", "-infinity", "na", "n/a", "#n/a", "null", "none"}
_BLANKS = " \t\u00a0\u202f\ufeff"


@dataclass(frozen=True)
class Decimal:
    """How numbers are written: the decimal sign, and what separates thousands; `reading` describes it."""

    sign: str = "."
    thousands: str = ""
    reading: str = ""

    def number(self, text: str) -> float | None:
        """Read one cell; None where it is no finite number."""
        if len(text) > LONGEST_NUMBER:
            return None
        text = text.replace("\u2212", "-")
        if thousands := _THOUSANDS.fullmatch(text):
            value = self.number(thousands[1])
            return None if value is None else float(f"{1000 * value:.15g}")
        if any(mark in text for mark in self.thousands):
            if not _grouped(self.thousands, self.sign).fullmatch(text):
                return None
            text = re.sub(f"[{re.escape(self.thousands)}]", "", text)
        if self.sign == ",":
            if "." in text:
                return None
            text = text.replace(",", ".")
        if not _PLAIN.fullmatch(text):
            return None
        value = float(text)
        return value if math.isfinite(value) else None


POINT = Decimal()
COMMA = Decimal(",", "", "with a decimal comma")
COMMA_THOUSANDS = Decimal(".", ",", "with commas between thousands")
POINT_THOUSANDS = Decimal(",", ".", "with a decimal comma and separated thousands")


@dataclass(frozen=True, eq=False)
class Block:
    """Numbers of a part of a matrix, shape (rows, columns), and where each stands."""

    numbers: FloatArray
    places: tuple[str, ...]

    def check_rising(self, source: str) -> None:
        """Refuse breakpoints that do not rise strictly.

        Raises:
            FileError: naming the place.
        """
        points = self.numbers.ravel()
        falls = np.flatnonzero(np.diff(points) <= 0)
        if falls.size:
            at = int(falls[0]) + 1
            raise FileError(
                phrase(
                    "{source}, {places}: the breakpoint {points:.10g} is not above the previous one, {points_2:.10g}.",
                    source=source,
                    places=self.places[at],
                    points=points[at],
                    points_2=points[at - 1],
                ),
                "An ECU looks tables up along rising breakpoints: sort them and remove duplicates.",
            )


@dataclass(frozen=True)
class Matrix:
    """Cells in rows of one length, as text, stripped.

    Attributes:
        source: what the text came from.
        texts: the rows.
        lines: line of the source, from 1, for every row.
        decimals: ways in which its numbers may be read, likeliest first.
        doubtful: a cell that reads differently in them.
        note: how it was split, where that was assumed.
    """

    source: str
    texts: tuple[tuple[str, ...], ...]
    lines: tuple[int, ...]
    decimals: tuple[Decimal, ...]
    doubtful: str = ""
    note: str = ""

    @property
    def rows(self) -> int:
        """Count the rows."""
        return len(self.texts)

    @property
    def columns(self) -> int:
        """Count the columns."""
        return len(self.texts[0])

    def cell(self, row: int, column: int) -> str:
        """Return the text of a cell."""
        return self.texts[row][column]

    def number(self, row: int, column: int, decimal: Decimal) -> float | None:
        """Return the number of a cell, or None."""
        return decimal.number(self.texts[row][column])

    def place(self, row: int, column: int) -> str:
        """Name the place of a cell in the source."""
        return phrase("line {lines}, column {column}", lines=self.lines[row], column=column + 1)

    def block(self, decimal: Decimal, *, rows: slice, columns: slice) -> Block:
        """Read a part as numbers.

        Raises:
            FileError: naming the first cell that is none.
        """
        row_numbers = range(self.rows)[rows]
        column_numbers = range(self.columns)[columns]
        numbers = np.empty((len(row_numbers), len(column_numbers)))
        for i, row in enumerate(row_numbers):
            for j, column in enumerate(column_numbers):
                value = self.number(row, column, decimal)
                if value is None:
                    raise FileError(f"{self.source}, {self.place(row, column)}: {self._complaint(row, column)}")
                numbers[i, j] = value
        return Block(numbers, tuple(self.place(row, column) for row in row_numbers for column in column_numbers))

    def _complaint(self, row: int, column: int) -> str:
        text = self.texts[row][column]
        if not text:
            return "the cell is empty. Fill every cell with a number."
        shown = text if len(text) <= 40 else text[:40] + "…"
        if text.lower() in _WORDS_FOR_NOTHING or _PLAIN.fullmatch(text):
            return phrase("{shown!r} is not a finite number. Fill every cell with a finite number.", shown=shown)
        return phrase("{shown!r} is not a number. Only the header or the corner may hold text.", shown=shown)


def read_rows(text: str, source: str) -> tuple[list[list[str]], list[int], str]:
    """Split a text into cells: by tabs, semicolons, commas, bars or, for want of these, blanks.

    Returns:
        The cells, stripped; the line of each row, from 1; how it was split, where that was assumed.

    Raises:
        FileError: when it is empty, or no text.
    """
    text = _REMARK.sub("", text.lstrip("\ufeff"))
    if "\0" in text:
        raise FileError(
            phrase("{source} holds NUL bytes, so it is not a text file.", source=source),
            "Export it as CSV text and use that.",
        )
    try:
        delimiter, note = _delimiter(text)
    except csv.Error as error:
        raise FileError(
            phrase("{source} cannot be split into cells: {error}.", source=source, error=error),
            "Check the quotation marks.",
        ) from error
    rows, lines = _split(text, delimiter, source)
    if not rows:
        raise FileError(phrase("{source} holds no cells.", source=source), "Give a table of two columns, or a grid.")
    return rows, lines, note


def read_matrix(text: str, source: str) -> Matrix:
    """Split a text into cells that make a rectangle.

    Raises:
        FileError: when it is empty or its rows differ in length.
    """
    rows, lines, note = read_rows(text, source)
    _drop_empty_edges(rows)
    width = Counter(len(row) for row in rows).most_common(1)[0][0]
    if len(rows) > 2 and width > 2 and len(rows[0]) == width - 1:
        rows[0].insert(0, "")  # a grid whose corner was left out
        note = note or phrase(
            "{source}, line {lines}: the corner cell is missing; the first row was shifted right.",
            source=source,
            lines=lines[0],
        )
    for row, line in zip(rows, lines, strict=True):
        if len(row) != width:
            many = counted(len(row), "cell")
            raise FileError(
                phrase(
                    "{source}, line {line}: {many} where other lines have {width} (column {row}).",
                    source=source,
                    line=line,
                    many=many,
                    width=width,
                    row=len(row) + 1,
                ),
                "Give every line the same number of cells.",
            )
    decimals, doubtful = decimals_of([cell for row in rows for cell in row])
    return Matrix(source, tuple(tuple(row) for row in rows), tuple(lines), decimals, doubtful, note)


def check_not_named(matrix: Matrix, decimal: Decimal) -> None:
    """Refuse columns of numbers that all have names: of a curve there are two, and a grid's breakpoints are numbers.

    Raises:
        FileError: saying what was seen.
    """
    top = [matrix.number(0, column, decimal) for column in range(1, matrix.columns)]
    if any(number is not None for number in top) or not all(matrix.texts[0][1:]):
        return
    raise FileError(
        phrase(
            "{source}, {place}: {n} columns have names, such as {cell!r}; a curve has two, a grid has numbers there.",
            source=matrix.source,
            place=matrix.place(0, 1),
            n=matrix.columns,
            cell=matrix.cell(0, 1),
        ),
        "Keep the column of breakpoints and that of values, and take the others out.",
    )


def name_and_unit(label: str) -> tuple[str, str]:
    """Split a label as in "engine speed (rpm)" or "airflow [g/s]" into name and unit."""
    label = label.strip(_BLANKS)
    for opening, closing in ("()", "[]"):
        if not label.endswith(closing):
            continue
        depth = 0
        for at in range(len(label) - 1, -1, -1):
            depth += (label[at] == closing) - (label[at] == opening)
            if depth == 0:
                return label[:at].strip(_BLANKS), label[at + 1 : -1].strip(_BLANKS)
    return label, ""


def _delimiter(text: str) -> tuple[str, str]:
    sample = "".join([line for line in io.StringIO(text, newline="") if line.strip()][:50])
    present = [sign for sign in "\t;," if sign in sample] or [sign for sign in "|" if sign in sample]
    if present == [","] and all(_COMMA.fullmatch(word) for word in sample.split()):
        present = []
    for sign in present:
        widths = {len(row) for row in csv.reader(io.StringIO(sample, newline=""), delimiter=sign)}
        if len(widths) == 1 and max(widths) > 1:
            return sign, ""
    if present:
        return present[0], ""
    if re.search(r"\S[ \u00a0]+\S", sample):
        return " ", "There are no commas, semicolons or tabs: cells were split at spaces."
    return ",", ""


def _split(text: str, delimiter: str, source: str) -> tuple[list[list[str]], list[int]]:
    rows: list[list[str]] = []
    lines: list[int] = []
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, skipinitialspace=delimiter == " ")
    before = 0
    try:
        for row in reader:
            line, before = before + 1, reader.line_num
            cells = [cell.strip(_BLANKS + "\r\n") for cell in row]
            numbered = cells[:1] == ["#"] and sum(map(bool, cells)) > 1  # a name: of the number of a row
            if not any(cells) or (cells[0].startswith("#") and not rows and not numbered):
                continue
            rows.append([cell for cell in cells if cell] if delimiter == " " else cells)
            lines.append(line)
    except csv.Error as error:
        raise FileError(f"{source}, line {reader.line_num}: {error}.", "Check the quotation marks.") from error
    return rows, lines


def _drop_empty_edges(rows: list[list[str]]) -> None:
    """Take away cells that a spreadsheet adds at the right end of every row."""
    while rows and all(len(row) > 1 for row in rows) and not any(row[-1] for row in rows):
        for row in rows:
            row.pop()


def decimals_of(cells: Sequence[str]) -> tuple[tuple[Decimal, ...], str]:
    """Return the ways in which numbers may be read, and a cell that reads differently in them.

    A mark that groups digits stands before every three of them, and the first group does not begin with 0. Of the ways
    that take all cells one is left, but where three digits follow every comma.
    """
    written = [cell.replace("\u2212", "-") for cell in cells if _NUMERIC.fullmatch(cell.replace("\u2212", "-"))]
    marks = "".join(mark for mark in _MARKS if any(mark in cell for cell in written))
    odd = [cell for cell in written if not _PLAIN.fullmatch(cell)]
    if not odd:
        return (POINT,), ""
    if marks:
        ways = [Decimal(".", marks, "with separated thousands"), Decimal(",", marks, POINT_THOUSANDS.reading)]
    elif not any("," in cell for cell in odd):
        ways = [POINT_THOUSANDS]
    else:
        ways = [COMMA, COMMA_THOUSANDS, POINT_THOUSANDS]
    pointed = any("." in cell for cell in written)
    fitting = [
        way
        for way in ways
        if all(way.number(cell) is not None for cell in written) and (way is not POINT_THOUSANDS or pointed)
    ]
    if COMMA in fitting or not fitting:
        fitting = [way for way in fitting if way is not POINT_THOUSANDS] or [ways[0]]
    commas = [cell for cell in written if "," in cell]
    if marks and not commas:
        fitting = fitting[:1]
    return tuple(fitting), (commas or odd)[0]


def with_unit_apart(cell: str) -> tuple[str, str]:
    """Part a number from the unit behind it, as in `20 kPa` or `64.6 %`; other text stays whole."""
    match = _WITH_UNIT.fullmatch(cell)
    if match is None or match[2] == "k" or (find_unit(match[2]) is None and match[2] != "%"):
        return cell, ""
    return match[1], match[2]


@cache
def _grouped(marks: str, sign: str) -> re.Pattern[str]:
    return re.compile(rf"[+-]?[1-9]\d{{0,2}}([{re.escape(marks)}]\d{{3}})+({re.escape(sign)}\d*)?")
