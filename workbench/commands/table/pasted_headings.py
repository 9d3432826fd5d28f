"""Breakpoints that were copied along with a table's values: told from values, and used to place them."""

from dataclasses import dataclass

import numpy as np

from workbench.model.arrays import FloatArray, IntArray
from workbench.model.table import Axis, Table
from workbench.phrases import join_phrases, phrase

SAME_POINT = 1e-4  # relative difference up to which a pasted breakpoint is the table's: spreadsheets round
LEAST = 2  # numbers that must all be breakpoints, before a row or column is taken for a heading


@dataclass(frozen=True, eq=False)
class Headed:
    """A pasted block without its headings.

    Attributes:
        numbers: what is left, shape (rows, columns).
        places: for each axis of the table the breakpoints, from 0, that the headings name; None where none stood there.
        note: what was left out, as a sentence.
    """

    numbers: FloatArray
    places: tuple[IntArray | None, IntArray | None]
    note: str


def headed(table: Table, numbers: FloatArray) -> Headed | None:
    """Find a first row or column of a grid's block that equals its axis to the digit; None where there is none.

    Args:
        table: where the block is to go.
        numbers: shape (rows, columns).
    """
    if table.kind != "grid" or min(numbers.shape) < 2:
        return None
    down, across = table.axes
    row, column = named(across, numbers[0, 1:]), named(down, numbers[1:, 0])
    if row is not None and column is not None and row.size + column.size > LEAST:
        return Headed(
            numbers[1:, 1:], (column, row), join_phrases(" ", (_words(across, "row"), _words(down, "column")))
        )
    row, column = named(across, numbers[0]), named(down, numbers[:, 0])
    if row is not None and row.size >= LEAST:
        return Headed(numbers[1:], (None, row), _words(across, "row"))
    if column is not None and column.size >= LEAST:
        return Headed(numbers[:, 1:], (column, None), _words(down, "column"))
    return None


def named(axis: Axis, numbers: FloatArray) -> IntArray | None:
    """Find which breakpoints of an axis rising numbers are, from 0; None where one of them is none."""
    points = axis.breakpoints
    at = np.abs(points[:, None] - numbers).argmin(axis=0)
    same = (
        numbers.size > 0 and np.allclose(points[at], numbers, rtol=SAME_POINT, atol=0) and bool(np.all(np.diff(at) > 0))
    )
    return at if same else None


def likeness(table: Table, numbers: FloatArray) -> str:
    """Caution against a single row or column that equals an axis to the digit; empty where it does not."""
    if min(numbers.shape) != 1 or numbers.size <= LEAST:
        return ""
    axis = next((each for each in table.axes if named(each, numbers.ravel()) is not None), None)
    if axis is None:
        return ""
    return phrase(
        "Caution: the pasted numbers are the breakpoints of {axis} to the digit; check that values were copied.",
        axis=axis.name,
    )


def _words(axis: Axis, which: str) -> str:
    if which == "row":
        return phrase(
            "The first row holds breakpoints of {axis}: it was left out, and the values stand under them.",
            axis=axis.name,
        )
    return phrase(
        "The first column holds breakpoints of {axis}: it was left out, and the values stand beside them.",
        axis=axis.name,
    )
