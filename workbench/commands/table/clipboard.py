"""Cells to and from a spreadsheet's clipboard."""

import sys
from pathlib import Path
from typing import Literal

import numpy as np

from workbench.commands.declaring.kinds import FIRST, Block, Note, PastedFile, Share, TableName
from workbench.commands.declaring.making import finite, revised
from workbench.commands.declaring.registry import Answer, command
from workbench.commands.declaring.telling import plain
from workbench.commands.table.pasted_headings import SAME_POINT, Headed, headed, likeness
from workbench.commands.table.shaping import blocks_of
from workbench.errors import InputError
from workbench.files.disk.plain_files import reading
from workbench.files.disk.text_decoding import check_readable, decode
from workbench.files.tables.clipboard import LARGEST, DecimalSign, PastedBlock, read_block, write_block, write_with_axes
from workbench.maths.table.scale import same_bits
from workbench.model.arrays import BoolArray, FloatArray
from workbench.model.cells import ALL, Cells
from workbench.model.counting import counted
from workbench.model.history import Json, Origin, Revision
from workbench.model.state import State
from workbench.model.table import Axis, Table
from workbench.phrases import flag, phrase

Meaning = Literal["auto", "factors", "percents"]

LEAST_FACTOR = 0.5  # factors beyond this and its inverse are asked about: common practice, no source


@command("Copy cells", menu="Table", shortcut="Ctrl+C", icon="copy")
def copy(
    state: State,
    *,
    with_axes: bool = False,
    decimal: DecimalSign = "point",
    cells: Cells = ALL,
    table: TableName = FIRST,
) -> Answer[str]:
    """Copy the chosen cells as tab-separated text for a spreadsheet.

    Args:
        with_axes: include the breakpoints and axis names.
        decimal: the decimal sign of the spreadsheet.
        cells: one block of cells; all if not given.
        table: which table; the first one if not given.

    Example:
        copy car.session --cells 3:7 --decimal comma
    """
    of = state.table(table)
    block = _one_block(of, cells)
    axes = tuple(Axis(axis.name, axis.unit, axis.breakpoints[part]) for axis, part in zip(of.axes, block, strict=True))
    values = of.values[block]
    part = Table(of.name, of.value_name, of.unit, axes, values)
    text = write_with_axes(part, decimal) if with_axes else write_block(_upright(values), decimal)
    return Answer(
        text,
        lambda: {"table": of.name, "cells": str(cells), "text": text, "values": plain(values)},
        tuple(text.splitlines()),
    )


@command("Paste values", menu="Table", shortcut="Ctrl+V", icon="paste", preview=True, past="Pasted")
def paste(
    state: State,
    file: PastedFile = None,
    *,
    text: Block = "",
    cells: Cells,
    table: TableName = FIRST,
    note: Note = "",
) -> Answer[Revision]:
    """Paste values copied from a spreadsheet into the table.

    Args:
        file: a file with the copied text.
        text: the copied text itself, instead of a file.
        cells: the cell for the first value, or a block of the same shape; a single value fills all chosen cells. Two
            columns, of which the first holds breakpoints of a curve, are placed by these; so is a grid's block whose
            first row or column equals its axis to the digit.
        table: which table; the first one if not given.
        note: kept with the revision.

    Example:
        paste car.session copied.txt --cells 3
    """
    before = state.table(table)
    pasted = _read(file, text)
    values, chosen, told = _placed(before, cells, pasted.numbers)
    after = before.with_values(np.where(chosen, values + 0.0, before.values))
    multipliers = np.where(same_bits(after.values, before.values), 1.0, np.nan)
    remarks = ("Percent signs were ignored.",) if pasted.percent else ()
    arguments: dict[str, Json] = {"cells": str(cells), "shape": list(pasted.numbers.shape)}
    notes = (*filter(None, (pasted.note, told)), *remarks)
    whole = chosen.all() and pasted.numbers.size >= before.values.size  # of a table that was made elsewhere
    origin: Origin = "brought in whole" if whole else "by hand"
    return revised(state, after, "paste", arguments, note, multipliers=multipliers, remarks=notes, origin=origin)


@command("Multiply by pasted factors", menu="Table", icon="multiply-by-paste", preview=True, past="Multiplied")
def multiply_by_paste(
    state: State,
    file: PastedFile = None,
    *,
    text: Block = "",
    share: Share = 1.0,
    meaning: Meaning = "auto",
    cells: Cells,
    table: TableName = FIRST,
    note: Note = "",
) -> Answer[Revision]:
    """Multiply cells by factors or percentages copied from a spreadsheet.

    Args:
        file: a file with the copied text.
        text: the copied text itself, instead of a file.
        share: part of each step to apply.
        meaning: factors such as 1.02, or percents such as 2; auto reads numbers with a percent sign as percents.
        cells: the cell for the first factor, or a block of the same shape; a single factor multiplies all chosen cells.
        table: which table; the first one if not given.
        note: kept with the revision.

    Example:
        multiply-by-paste car.session factors.txt --share 0.5 --cells 3:7
    """
    before = state.table(table)
    pasted = _read(file, text)
    as_percents = pasted.percent if meaning == "auto" else meaning == "percents"
    numbers, chosen, told = _placed(before, cells, pasted.numbers)
    factors = 1 + numbers / 100 if as_percents else numbers
    _check_factors(before, factors, chosen, asked=meaning == "auto")
    multipliers = np.where(chosen, 1 + share * (factors - 1), 1.0)
    with np.errstate(over="ignore"):
        after = finite(before, before.values * multipliers)
    arguments: dict[str, Json] = {
        "share": share,
        "meaning": "percents" if as_percents else "factors",
        "cells": str(cells),
    }
    notes = (
        phrase("The numbers were read as {arguments}.", arguments=arguments["meaning"]),
        *filter(None, (pasted.note, told)),
    )
    return revised(state, after, "multiply-by-paste", arguments, note, multipliers=multipliers, remarks=notes)


def _check_factors(before: Table, factors: FloatArray, chosen: BoolArray, *, asked: bool) -> None:
    """Refuse factors that no table can take, and such as look like percents where it was not said what they are."""
    bad = np.argwhere(chosen & ~(factors > 0))
    if bad.size:
        at = tuple(int(i) for i in bad[0])
        raise InputError(
            phrase("The factor for the cell at {cell} is {factors:g}.", cell=before.cell_name(at), factors=factors[at]),
            phrase(
                "Factors are above 0, as in 1.02; if percents are meant, give {meaning_flag} percents.",
                meaning_flag=flag("meaning"),
            ),
        )
    wild = np.argwhere(chosen & ((factors < LEAST_FACTOR) | (factors > 1 / LEAST_FACTOR)))
    if wild.size and asked:
        at = tuple(int(i) for i in wild[0])
        raise InputError(
            phrase(
                "The cell at {cell} would be multiplied by {factors:g}.", cell=before.cell_name(at), factors=factors[at]
            ),
            phrase(
                "If percents are meant, give {meaning_flag} percents; if factors are, give {meaning_flag} factors.",
                meaning_flag=flag("meaning"),
            ),
        )


def _read(file: Path | None, text: str) -> PastedBlock:
    if (file is None) == (not text):
        raise InputError(
            "No text to paste is given.",
            phrase("Name a file, or give {text_flag}.", text_flag=flag("text")),
        )
    if file is None:
        return read_block(text)
    if str(file) == "-":
        return read_block(sys.stdin.read(LARGEST + 1), "standard input")
    check_readable(file)
    with reading(file) as opened:
        return read_block(decode(opened.read(LARGEST + 1), file.name).text, file.name)


def _one_block(table: Table, cells: Cells) -> tuple[slice, ...]:
    blocks = list(blocks_of(table, cells))
    if len(blocks) > 1:
        raise InputError("Several blocks are chosen.", "Copy or paste one block at a time.")
    return blocks[0]


def _upright(values: FloatArray) -> FloatArray:
    """Return a part of a table as rows and columns; a curve stands, as a column."""
    return values[:, None] if values.ndim == 1 else values


def _placed(table: Table, cells: Cells, numbers: FloatArray) -> tuple[FloatArray, np.ndarray, str]:
    """Place a pasted block on the table.

    Returns:
        Its numbers where they fall (NaN elsewhere), a mask of these cells, both of the table's shape, and a sentence
        on breakpoints among what was pasted; empty where there are none.
    """
    placed = np.full(table.shape, np.nan)
    if numbers.size == 1:
        chosen = cells.mask(table)
        placed[chosen] = numbers[0, 0]
        return placed, chosen, ""
    if (named := _by_breakpoint(table, numbers)) is not None:
        note = phrase("The values were placed by the breakpoints beside them.")
        return named, np.isfinite(named), note
    found = headed(table, numbers)
    if found is not None:
        placed[np.ix_(*_rows_and_columns(table, cells, found))] = found.numbers
        return placed, np.isfinite(placed), found.note
    placed[_block_for(table, cells, numbers)] = numbers.ravel() if table.kind == "curve" else numbers
    return placed, np.isfinite(placed), likeness(table, numbers)


def _rows_and_columns(table: Table, cells: Cells, found: Headed) -> list[np.ndarray]:
    """Return the breakpoints that a block goes to: those its headings name, else from the chosen cell on."""
    given = [None if at is None else slice(int(at[0]), int(at[0]) + 1) for at in found.places]
    block = tuple(part if known is None else known for part, known in zip(_one_block(table, cells), given, strict=True))
    shape = tuple(1 if known is not None else size for size, known in zip(found.numbers.shape, given, strict=True))
    parts = _fitting(block, shape, table.shape)
    return [
        np.arange(part.start, part.stop) if at is None else at for part, at in zip(parts, found.places, strict=True)
    ]


def _block_for(table: Table, cells: Cells, numbers: FloatArray) -> tuple[slice, ...]:
    """Return the block of cells that a pasted block fills."""
    block = _one_block(table, cells)
    if table.kind != "curve":
        return _fitting(block, numbers.shape, table.shape)
    if min(numbers.shape) != 1:
        raise InputError(
            phrase(
                "The pasted block is {shape}; the curve {table!r} takes one row or one column.",
                shape=_shape(numbers),
                table=table.name,
            ),
            "Copy only the values, or two columns of which the first holds breakpoints of the table.",
        )
    return _fitting(block, (numbers.size,), table.shape)


def _fitting(block: tuple[slice, ...], shape: tuple[int, ...], whole: tuple[int, ...]) -> tuple[slice, ...]:
    """Return the block from the chosen cell on, or the chosen block where it has the shape of what is pasted."""
    sizes = tuple(part.stop - part.start for part in block)
    if sizes == (1,) * len(sizes):
        room = tuple(size - part.start for part, size in zip(block, whole, strict=True))
        if any(size > space for size, space in zip(shape, room, strict=True)):
            raise InputError(
                phrase(
                    "The pasted block is {shape}; from there on the table has {words}.",
                    shape=_words(shape),
                    words=_words(room),
                ),
                "Start at an earlier cell, or copy less.",
            )
        return tuple(slice(part.start, part.start + size) for part, size in zip(block, shape, strict=True))
    if sizes != shape:
        raise InputError(
            phrase(
                "The pasted block is {shape}; the chosen cells are {words}.", shape=_words(shape), words=_words(sizes)
            ),
            "Choose a block of the same shape, or only the cell for the first value.",
        )
    return block


def _by_breakpoint(table: Table, numbers: FloatArray) -> FloatArray | None:
    """Place the second of two columns of a curve by the first, where that holds nothing but its breakpoints.

    Returns:
        The numbers where they fall, NaN elsewhere; None where the block is another one.
    """
    if table.kind != "curve" or numbers.ndim != 2 or 2 not in numbers.shape:
        return None
    columns = numbers if numbers.shape[1] == 2 else numbers.T
    points = table.axes[0].breakpoints
    at = np.abs(points[:, None] - columns[:, 0]).argmin(axis=0)
    if not np.allclose(points[at], columns[:, 0], rtol=SAME_POINT, atol=0) or len(set(at.tolist())) < at.size:
        return None
    placed = np.full(table.shape, np.nan)
    placed[at] = columns[:, 1]
    return placed


def _shape(numbers: FloatArray) -> str:
    return _words(numbers.shape)


def _words(sizes: tuple[int, ...]) -> str:
    if len(sizes) == 1:
        return counted(sizes[0], "cell")
    return f"{counted(sizes[0], 'row')} by {counted(sizes[1], 'column')}"
