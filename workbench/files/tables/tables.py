"""Tables from and to text: the CSV of the contract, and whatever a spreadsheet pastes."""

import csv
import io
from collections.abc import Sequence
from pathlib import Path
from typing import Literal

import numpy as np

from workbench.errors import FileError
from workbench.files.disk.formulas import begins_formula, beyond_formulas
from workbench.files.tables.arranging import arranged, check_one_table, is_swapped, table_number
from workbench.files.tables.cells import Block, Decimal, Matrix, check_not_named, name_and_unit, read_matrix, read_rows
from workbench.files.tables.corners import corner_parts, is_turned, pointed
from workbench.files.tables.named_arrays import sections_of, told
from workbench.files.tables.oddities import check_thousands, falls, in_whole_units, lost_signs
from workbench.files.tables.opening import text_of
from workbench.files.tables.tidying import tidied
from workbench.files.tables.unfolding import unfolded
from workbench.files.vocabulary.units import find_unit
from workbench.model.table import Axis, Table
from workbench.phrases import flag, phrase

TableKind = Literal["auto", "curve", "grid"]
Notes = tuple[str, ...]

_CORNER = " / "
# Quantity of a unit -> what a header that is only that unit is called.
_MEASURED_IN = {
    "turning": "engine speed",
    "pressure": "pressure",
    "frequency": "frequency",
    "voltage": "voltage",
    "mass flow": "airflow",
}


def read_table(
    path: Path,
    *,
    name: str | None = None,
    kind: TableKind = "auto",
    part: str = "",
    axes: tuple[Axis, ...] = (),
) -> tuple[Table, Notes]:
    """Read a table from a text file or a spreadsheet; also tell, as sentences, what had to be assumed.

    Args:
        path: the file.
        name: of the table; by default that of the file.
        kind: what it is, where that is not to be told from its shape.
        part: the sheet of a workbook, the file in a zip with several, or the number of one of several tables in a text.
        axes: for a file of bare values: their axis, or the row and the column axis.

    Raises:
        FileError: naming file, line and column of what is wrong.
    """
    text, opened, which = text_of(path, part)
    called = path.name.split(".")[0] or path.stem if name is None else name
    if which:
        text = table_number(text, path.name, int(which))
    table, notes = read_table_text(text, path.name, name=called, kind=kind, axes=axes)
    check_thousands(path.name, table, grouped=any("thousands" in note for note in notes))
    return table, (*opened, *notes, *lost_signs(table), *falls(table))


def read_table_text(
    text: str, source: str, *, name: str = "table", kind: TableKind = "auto", axes: tuple[Axis, ...] = ()
) -> tuple[Table, Notes]:
    """Read a table from text; `source` names it in errors. Also tell what had to be assumed.

    Raises:
        FileError: naming source, line and column of what is wrong.
    """
    if axes:
        return _from_matrix(read_matrix(text, source), name, kind, axes)
    try:
        return _from_matrix(read_matrix(text, source), name, kind, axes)
    except FileError as refusal:
        rows, lines, _ = read_rows(text, source)
        if (listed := sections_of(text)) is not None:
            return _tidy((listed, [told("source code")]), source, name, kind, refusal)
        if (whole := unfolded(rows)) is not None:
            return _tidy((whole[0], [whole[1]]), source, name, kind, refusal)
        if (tidy := tidied(rows, lines)) is not None:
            return _tidy(tidy, source, name, kind, refusal)
        found = arranged(rows, lines, source)
        if found is None:
            check_one_table(rows, source)
            raise
        try:
            return _from_matrix(found, name, kind, axes)
        except FileError:
            raise refusal from None


def _tidy(
    tidy: tuple[list[list[str]], list[str]], source: str, name: str, kind: TableKind, refusal: FileError
) -> tuple[Table, Notes]:
    """Read cells that were made tidy; where that is no table either, the refusal of what the file holds stands."""
    text = "\n".join("\t".join(row) for row in tidy[0])
    try:
        table, notes = read_table_text(text, source, name=name, kind=kind)
    except FileError:
        raise refusal from None
    return table, (*tidy[1], *notes)


def _from_matrix(matrix: Matrix, name: str, kind: TableKind, axes: tuple[Axis, ...]) -> tuple[Table, Notes]:
    source = matrix.source
    refusals: list[FileError] = []
    found: list[tuple[Decimal, Table, Notes]] = []
    for decimal in matrix.decimals:
        try:
            shaped = _bare(matrix, decimal, name, axes) if axes else _shape(matrix, decimal, name, kind)
            found.append((decimal, *shaped))
        except FileError as refusal:
            refusals.append(refusal)
    if not found and kind == "grid" and matrix.columns == 2:
        raise FileError(
            refusals[0].message,
            phrase(
                "It has two columns, like a curve: leave {kind_flag} out, or give {kind_flag} curve.",
                kind_flag=flag("kind"),
            ),
        )
    if not found:
        raise refusals[0]
    decimal, table, notes = found[0]
    table, multiplied = in_whole_units(table)
    notes += multiplied
    if len(found) > 1:
        raise FileError(
            phrase(
                "{source}: numbers such as {doubtful!r} can be read with a decimal comma or with a "
                "comma between thousands, and both give a table.",
                source=source,
                doubtful=matrix.doubtful,
            ),
            "Write the numbers with a decimal point and without thousands separators.",
        )
    if decimal.reading:
        notes = (phrase("Numbers were read {reading}.", reading=decimal.reading), *notes)
    if matrix.note:
        notes = (matrix.note, *notes)
    return table, notes


def write_table_text(table: Table) -> str:
    """Write a table as the CSV of the contract: RFC 4180, lines ended by CR LF, numbers that read back exactly.

    Numbers have their shortest such form. Write the text to a file with `newline=""`, so that no system changes the
    line ends.
    """
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    labels = [_label(axis.name, axis.unit) for axis in table.axes] + [_label(table.value_name, table.unit)]
    if table.kind == "curve":
        writer.writerow(labels)
        rows = np.column_stack([table.axes[0].breakpoints, table.values])
        writer.writerows([number_text(cell) for cell in row] for row in rows)
    else:
        corner = _CORNER.join(label.replace(_CORNER, "/") for label in labels)
        writer.writerow([corner, *(number_text(point) for point in table.axes[1].breakpoints)])
        for point, row in zip(table.axes[0].breakpoints, table.values, strict=True):
            writer.writerow([number_text(cell) for cell in (point, *row)])
    text = out.getvalue()
    # Behind a bare semicolon stands a remark; a quoted cell is none.
    return '"' + text.replace(",", '",', 1) if text.startswith(";") else text


def number_text(value: float) -> str:
    """Write the shortest text that reads back as exactly this number."""
    return repr(float(value)).removesuffix(".0")


def _label(name: str, unit: str) -> str:
    # Empty brackets keep a name that ends in one, or is a number or a unit, from being read as something else.
    name = beyond_formulas(name)
    odd = name[-1:] in ")]" or name[:1].isdigit() or name[:1] in "+-.," or _quantity(name)
    return f"{name} ({unit})" if unit or odd else name


def _quantity(label: str) -> str:
    """Return what a label that is only a unit measures; empty where it is more than that."""
    unit = find_unit(label) if len(label) > 1 or label == "V" else None  # one letter may be any quantity's sign
    return _MEASURED_IN.get(unit.quantity, "") if unit is not None else ""


def _named(labels: Sequence[str]) -> tuple[list[tuple[str, str]], Notes]:
    """Split labels into names and units; one that is only a unit is called by what that measures."""
    named, notes = [], []
    # Beside the bare name of its axis, a curve's word such as `Bar` is a name, too.
    bare = len(labels) == 2 and not _quantity(labels[0]) and not name_and_unit(labels[0])[1]
    for at, written in enumerate(labels):
        label = written[1:] if written[:1] == "'" and begins_formula(written) else written
        quantity = _quantity(label) if not (bare and at == 1 and label.isalpha()) else ""
        named.append((quantity, label) if quantity else name_and_unit(label))
        if quantity:
            notes.append(
                phrase(
                    "The header holds only a unit, {label!r}; named '{quantity} ({label})'.",
                    label=label,
                    quantity=quantity,
                )
            )
    return named, tuple(notes)


def _bare(matrix: Matrix, decimal: Decimal, name: str, axes: tuple[Axis, ...]) -> tuple[Table, Notes]:
    """Read values that stand without their axes."""
    values = matrix.block(decimal, rows=slice(None), columns=slice(None)).numbers
    shape = tuple(len(axis) for axis in axes)
    if values.size != int(np.prod(shape)) or (len(shape) == 2 and values.shape != shape):
        raise FileError(
            phrase(
                "{source} has {rows} rows and {columns} columns of values, the axes ask for {shape}.",
                source=matrix.source,
                rows=matrix.rows,
                columns=matrix.columns,
                shape=" by ".join(str(length) for length in shape),
            ),
            "Give axes with as many breakpoints as there are rows and columns.",
        )
    return Table(name, "value", "", axes, values.reshape(shape)), ("The axes were given; the file holds the values.",)


def _shape(matrix: Matrix, decimal: Decimal, name: str, kind: TableKind) -> tuple[Table, Notes]:
    """Find out what kind of table the cells are, and read it."""
    corner = matrix.cell(0, 0)
    second_is_text = matrix.columns > 1 and bool(matrix.cell(0, 1)) and matrix.number(0, 1, decimal) is None
    grid_corner = len(corner_parts(corner)) == 3 and not second_is_text
    if kind == "grid" or (kind == "auto" and grid_corner):
        return _grid(matrix, decimal, name)
    if matrix.columns == 2:
        return _standing(matrix, decimal, name)
    if matrix.rows == 2 and matrix.columns > 2:
        return _lying(matrix, decimal, name)
    if kind == "curve" or matrix.columns < 2 or matrix.rows < 2:
        raise FileError(
            phrase(
                "{source} has {rows} rows and {columns} columns, which is not a curve.",
                source=matrix.source,
                rows=matrix.rows,
                columns=matrix.columns,
            ),
            "A curve has two columns (or two rows): breakpoints and values."
            if kind == "curve"
            else "A table has at least two columns and two rows; separate cells by commas, semicolons or tabs.",
        )
    return _grid(matrix, decimal, name)


def _standing(matrix: Matrix, decimal: Decimal, name: str) -> tuple[Table, Notes]:
    header = matrix.number(0, 0, decimal) is None and matrix.number(0, 1, decimal) is None
    first = 1 if header else 0
    if matrix.rows <= first:
        raise FileError(
            phrase("{source} has a header but no rows of numbers.", source=matrix.source),
            "Give at least one breakpoint.",
        )
    points = matrix.block(decimal, rows=slice(first, None), columns=slice(0, 1))
    values = matrix.block(decimal, rows=slice(first, None), columns=slice(1, 2))
    return _curve(matrix, name, points, values, header)


def _lying(matrix: Matrix, decimal: Decimal, name: str) -> tuple[Table, Notes]:
    header = matrix.number(0, 0, decimal) is None and matrix.number(1, 0, decimal) is None
    first = 1 if header else 0
    points = matrix.block(decimal, rows=slice(0, 1), columns=slice(first, None))
    values = matrix.block(decimal, rows=slice(1, 2), columns=slice(first, None))
    table, notes = _curve(matrix, name, points, values, header, below=True)
    return table, ("The curve is transposed: breakpoints in the first row, values in the second.", *notes)


def _curve(
    matrix: Matrix, name: str, points: Block, values: Block, header: bool, *, below: bool = False
) -> tuple[Table, Notes]:
    labels = ("", "")
    if header:
        labels = pointed((matrix.cell(0, 0), matrix.cell(1, 0) if below else matrix.cell(0, 1)))
    if is_swapped(*labels):
        raise FileError(
            phrase(
                "{source}: its first column holds the values, and its second the breakpoints.", source=matrix.source
            ),
            "Swap the two columns.",
        )
    _check_many(matrix, points, "breakpoint")
    points.check_rising(matrix.source)
    ((axis_name, axis_unit), (value_name, unit)), notes = _named(labels)
    if not header:
        notes = ("There is no header: the axis is named 'axis' and the values 'value', without units.",)
    axis = Axis(axis_name or "axis", axis_unit, points.numbers.ravel())
    return Table(name, value_name or "value", unit, (axis,), values.numbers.ravel()), notes


def _check_many(matrix: Matrix, points: Block, what: str) -> None:
    """Refuse an axis of one breakpoint.

    Raises:
        FileError: saying what is missing.
    """
    if points.numbers.size < 2:
        raise FileError(
            phrase("{source} has one {what} only: there is nothing to interpolate.", source=matrix.source, what=what),
            "Give a table with at least two breakpoints on every axis.",
        )


def _grid(matrix: Matrix, decimal: Decimal, name: str) -> tuple[Table, Notes]:
    if matrix.rows < 2 or matrix.columns < 2:
        raise FileError(
            phrase(
                "{source} has {rows} rows and {columns} columns, which is not a grid.",
                source=matrix.source,
                rows=matrix.rows,
                columns=matrix.columns,
            ),
            "A grid has column breakpoints in its first row and row breakpoints in its first column.",
        )
    check_not_named(matrix, decimal)
    if matrix.number(0, 0, decimal) is not None:
        raise FileError(
            phrase(
                "{source}, {place}: the corner is the number {cell!r}, so it is unclear whether the "
                "first row and column are breakpoints or values.",
                source=matrix.source,
                place=matrix.place(0, 0),
                cell=matrix.cell(0, 0),
            ),
            "Put the breakpoints into the first row and column, and text or nothing into the corner.",
        )
    across = matrix.block(decimal, rows=slice(0, 1), columns=slice(1, None))
    down = matrix.block(decimal, rows=slice(1, None), columns=slice(0, 1))
    for points, what in ((across, "column breakpoint"), (down, "row breakpoint")):
        _check_many(matrix, points, what)
        points.check_rising(matrix.source)
    values = matrix.block(decimal, rows=slice(1, None), columns=slice(1, None))
    corner = matrix.cell(0, 0)
    parts = corner_parts(corner)
    notes: Notes = ()
    if len(parts) == 2:
        parts = [*parts, "value"]
    elif len(parts) != 3:
        parts = ["row axis", "column axis", corner or "value"]
        want = phrase("row axis (unit){corner}column axis (unit){corner}value (unit)", corner=_CORNER)
        notes = (
            phrase(
                "The corner does not name the axes ({want!r}): they are named 'row axis' and 'column axis'.", want=want
            ),
        )
    labels, units = _named(parts)
    notes += units
    if is_turned(labels[0], labels[1], down.numbers.ravel(), across.numbers.ravel()):
        labels = [labels[1], labels[0], labels[2]]
        notes += (phrase("The corner names the columns first: {rows} goes down, by its values.", rows=labels[0][0]),)
    axes = (Axis(*labels[0], down.numbers.ravel()), Axis(*labels[1], across.numbers.ravel()))
    return Table(name, labels[2][0] or "value", labels[2][1], axes, values.numbers), notes
