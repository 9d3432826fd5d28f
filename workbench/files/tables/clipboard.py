"""Blocks of numbers as spreadsheets put them on the clipboard: tab-separated text."""

from dataclasses import dataclass
from typing import Literal

import numpy as np

from workbench.errors import FileError
from workbench.files.disk.formulas import beyond_formulas
from workbench.files.tables.cells import Decimal, Matrix, read_matrix
from workbench.files.tables.tables import number_text
from workbench.model.arrays import FloatArray
from workbench.model.table import Table
from workbench.phrases import phrase

DecimalSign = Literal["point", "comma"]
LARGEST = 5_000_000  # characters


@dataclass(frozen=True, eq=False)
class PastedBlock:
    """Numbers from a clipboard.

    Attributes:
        numbers: shape (rows, columns), finite.
        percent: whether every cell was written with a percent sign, which was taken off.
        note: what was assumed in reading; empty where nothing was.
    """

    numbers: FloatArray
    percent: bool = False
    note: str = ""


def read_block(text: str, source: str = "the clipboard") -> PastedBlock:
    """Read a block of numbers, with decimal points or commas.

    Raises:
        FileError: naming line and column of what is not a finite number, or that a number can be read in two ways.
    """
    if not text.strip():
        raise FileError(phrase("There is no text in {source}.", source=source), "Copy cells in the spreadsheet first.")
    if len(text) > LARGEST:
        raise FileError(
            phrase("There are {text} characters in {source}.", text=len(text), source=source),
            "Copy only the cells you need.",
        )
    lines = text.replace("\r\n", "\n").replace("\r", "\n").rstrip("\n").split("\n")
    headed = len(lines) > 1 and _is_heading(lines[0])
    lines = lines[1:] if headed else lines
    cells = [cell.strip() for line in lines for cell in line.split("\t") if cell.strip()]
    percent = bool(cells) and all(cell.endswith("%") for cell in cells)
    if percent:
        lines = [line.replace("%", "") for line in lines]
    # A tab at the end of each line says that only tabs part cells, even where there is one column.
    matrix = read_matrix("\n".join(line + "\t" for line in lines), source)
    found = [(decimal, numbers) for decimal in matrix.decimals if (numbers := _numbers(matrix, decimal)) is not None]
    if not found:
        raise _complaint(matrix)
    if len(found) > 1 and any((numbers != found[0][1]).any() for _, numbers in found):
        raise FileError(
            phrase(
                "Numbers such as {doubtful!r} in {source} can be read with a decimal comma or with a "
                "comma between thousands.",
                doubtful=matrix.doubtful,
                source=source,
            ),
            "Copy them with a decimal point, or with another number of decimals.",
        )
    decimal, numbers = found[0]
    notes = [
        *(["The first line was read as a heading."] if headed else []),
        *([phrase("Numbers were read {reading}.", reading=decimal.reading)] if decimal.reading else []),
    ]
    return PastedBlock(numbers, percent, " ".join(notes))


def _is_heading(line: str) -> bool:
    """Tell whether a line names columns: none of its cells begins as a number does, as 'load 20' does not."""
    cells = [cell.strip() for cell in line.split("\t") if cell.strip()]
    return bool(cells) and all(cell[0].isalpha() or not any(map(str.isdigit, cell)) for cell in cells)


def _numbers(matrix: Matrix, decimal: Decimal) -> FloatArray | None:
    cells = [[matrix.number(row, column, decimal) for column in range(matrix.columns)] for row in range(matrix.rows)]
    return None if any(None in row for row in cells) else np.array(cells, dtype=np.float64)


def _complaint(matrix: Matrix) -> FileError:
    for row, column in np.ndindex(matrix.rows, matrix.columns):
        if matrix.number(row, column, matrix.decimals[0]) is None:
            text = matrix.cell(row, column)
            complaint = phrase("{text!r} is not a finite number", text=text[:40]) if text else "the cell is empty"
            return FileError(
                f"{matrix.source}, {matrix.place(row, column)}: {complaint}.",
                "Copy only cells that hold numbers, without headings and breakpoints.",
            )
    return FileError(phrase("The numbers in {source} cannot be read.", source=matrix.source), "Copy them again.")


def write_block(numbers: FloatArray, decimal: DecimalSign = "point") -> str:
    """Write a block of numbers, shape (rows, columns), as tab-separated text that reads back exactly."""
    return _joined([[number_text(number) for number in row] for row in numbers.tolist()], decimal)


def write_with_axes(table: Table, decimal: DecimalSign = "point") -> str:
    """Write a table with its breakpoints: a curve as two columns, a grid with them in its first row and column."""
    labels = [beyond_formulas(axis.label) for axis in table.axes] + [beyond_formulas(table.value_label)]
    if table.kind == "curve":
        pairs = zip(table.axes[0].breakpoints.tolist(), table.values.tolist(), strict=True)
        rows = [[number_text(number) for number in pair] for pair in pairs]
        return "\t".join(labels) + "\n" + _joined(rows, decimal)
    head = [" / ".join(labels), *(number_text(point) for point in table.axes[1].breakpoints)]
    rows = [
        [number_text(number) for number in (point, *row)]
        for point, row in zip(table.axes[0].breakpoints.tolist(), table.values.tolist(), strict=True)
    ]
    return _head(head, decimal) + _joined(rows, decimal)


def _head(head: list[str], decimal: DecimalSign) -> str:
    return head[0] + "\t" + _joined([head[1:]], decimal)


def _joined(rows: list[list[str]], decimal: DecimalSign) -> str:
    text = "".join("\t".join(row) + "\n" for row in rows)
    return text.replace(".", ",") if decimal == "comma" else text
