"""Shapes drawn through chosen cells: ramps, smooth lines, filled gaps, rising curves, and corrections carried on."""

from collections.abc import Iterator
from typing import Annotated, Literal

import numpy as np

from workbench.commands.declaring.kinds import FIRST, Between, Called, Note, RevisionId, Share, TableName
from workbench.commands.declaring.making import finite, revised, revised_softly
from workbench.commands.declaring.registry import Answer, command
from workbench.errors import InputError
from workbench.maths.table.filling import carried, filled, ramped
from workbench.maths.table.resample import read_at
from workbench.maths.table.smooth import kept_rising, rising, smoothed
from workbench.maths.verdict.high_load import barometer, high_load, leans
from workbench.model.arrays import BoolArray, FloatArray
from workbench.model.cells import ALL, Cells
from workbench.model.counting import counted
from workbench.model.history import Json, Revision
from workbench.model.state import State
from workbench.model.table import Table
from workbench.phrases import flag, phrase

Edges = Literal["auto", "held", "free"]
Along = Literal["rows", "columns", "corners"]
Lines = Literal["rows", "columns"]
Direction = Literal["rising", "falling"]


@command("Ramp between the ends", menu="Table", shortcut="Ctrl+R", icon="ramp", preview=True, past="Ramped")
def ramp(
    state: State,
    *,
    cells: Cells = ALL,
    along: Along = "corners",
    table: TableName = FIRST,
    note: Note = "",
) -> Answer[Revision]:
    """Interpolate linearly between the outermost chosen cells, which keep their values.

    Args:
        cells: which cells; all if not given.
        along: in a grid, along each row, along each column, or between the four corners.
        table: which table; the first one if not given.
        note: kept with the revision.

    Example:
        ramp car.session --cells 8:12
    """
    before = state.table(table)
    after = before
    for block in blocks_of(before, cells):
        axes = tuple(range(len(before.axes))) if along == "corners" else ((1,) if along == "rows" else (0,))
        if before.kind == "curve":
            axes = (0,)
        elif along == "corners":
            # A block one cell wide has its corners on one line.
            axes = tuple(n for n in axes if block[n].stop - block[n].start > 1) or axes
        after = after.with_values(ramped(after, block, axes))
    return revised_softly(state, after, "ramp", {"along": along, "cells": str(cells)}, note)


@command("Smooth cells", menu="Table", shortcut="Ctrl+M", icon="smooth", preview=True, past="Smoothed", rounds_off=True)
def smooth(
    state: State,
    *,
    strength: Share = 0.5,
    edges: Edges = "auto",
    by_evidence: bool = False,
    since: Annotated[RevisionId | None, Called("Since revision", unset="none")] = None,
    cells: Cells = ALL,
    table: TableName = FIRST,
    note: Note = "",
) -> Answer[Revision]:
    """Smooth the chosen cells; straight stretches keep their values.

    A curve that rises keeps rising.

    Args:
        strength: how far a curve moves towards a straight one.
        edges: held keeps the outermost chosen cells, free lets them move, auto holds those with a neighbour beyond.
        by_evidence: weight cells by the uncertainty of the latest correction; undriven cells follow the others.
        since: smooth the multipliers applied since this revision instead of the values, which keeps the curve's shape.
        cells: which cells; all if not given.
        table: which table; the first one if not given.
        note: kept with the revision.

    Example:
        smooth car.session --strength 0.3 --cells 10:20
    """
    before = state.table(table)
    chosen = cells.mask(before)
    if max(_longest_run(chosen, number) for number in range(chosen.ndim)) < 3:
        raise InputError(
            "Fewer than three cells in a row are chosen: smoothing needs at least three.", "Choose more cells."
        )
    held = _edge(chosen, edges)
    weight = _weights(state, before) if by_evidence else None
    base = np.ones(before.shape) if since is None else _base(state, before, since)
    drawn = smoothed(before.with_values(before.values / base), chosen, strength, held=held, weight=weight)
    values = np.where(chosen & ~held & (strength > 0), drawn * base, before.values)
    if before.kind == "curve" and (np.diff(before.values) >= 0).all():
        values = kept_rising(values, chosen & ~held)
    if (before.values > 0).all() and (values <= 0).any():
        at = before.cell_name(tuple(int(i) for i in np.argwhere(values <= 0)[0]))
        raise InputError(
            phrase("The smoothed curve would fall to zero or below at {at}.", at=at),
            "Use less strength, or fewer cells.",
        )
    arguments: dict[str, Json] = {"strength": strength, "edges": edges, "by_evidence": by_evidence, "since": since}
    return revised_softly(state, finite(before, values), "smooth", {**arguments, "cells": str(cells)}, note)


@command("Fill cells from their neighbours", menu="Table", icon="fill", preview=True, past="Filled")
def fill(state: State, *, cells: Cells, table: TableName = FIRST, note: Note = "") -> Answer[Revision]:
    """Interpolate the chosen cells from the cells around them, within the range of those.

    Args:
        cells: the cells to fill.
        table: which table; the first one if not given.
        note: kept with the revision.

    Example:
        fill car.session --cells 5:6
    """
    before = state.table(table)
    after = before.with_values(filled(before, cells.mask(before)))
    return revised_softly(state, after, "fill", {"cells": str(cells)}, note)


@command("Keep rising", menu="Table", icon="keep-rising", preview=True, past="Made to rise", rounds_off=True)
def keep_rising(
    state: State,
    *,
    direction: Direction = "rising",
    along: Lines = "columns",
    by_evidence: bool = False,
    cells: Cells = ALL,
    table: TableName = FIRST,
    note: Note = "",
) -> Answer[Revision]:
    """Make the chosen cells rise, with the smallest change that does it (least squares).

    Args:
        direction: make them rise, or fall.
        along: in a grid, along each row, or along each column.
        by_evidence: weight cells by the uncertainty of the latest correction.
        cells: which cells; all if not given.
        table: which table; the first one if not given.
        note: kept with the revision.

    Example:
        keep-rising car.session
    """
    before = state.table(table)
    chosen = cells.mask(before)
    weight = _weights(state, before, least=1e-3) if by_evidence else np.ones(before.shape)
    sign = 1.0 if direction == "rising" else -1.0
    number = 0 if before.kind == "curve" or along == "columns" else 1
    values = np.moveaxis(sign * before.values, number, -1).copy()
    lines = np.moveaxis(chosen, number, -1).reshape(-1, values.shape[-1])
    flat, counts = values.reshape(lines.shape), np.moveaxis(weight, number, -1).reshape(lines.shape)
    for row, line, count in zip(flat, lines, counts, strict=True):
        for first, end in _runs(line):
            row[first:end] = rising(row[first:end], count[first:end])
    after = before.with_values(np.moveaxis(sign * flat.reshape(values.shape), -1, number))
    arguments: dict[str, Json] = {
        "direction": direction,
        "along": along,
        "by_evidence": by_evidence,
        "cells": str(cells),
    }
    return revised(state, after, "keep-rising", arguments, note)


@command("Blend with another revision", menu="Table", icon="blend", preview=True, past="Blended with {with}")
def blend(
    state: State,
    revision: RevisionId,
    *,
    share: Share = 0.5,
    cells: Cells = ALL,
    note: Note = "",
) -> Answer[Revision]:
    """Move the chosen cells towards their values in another revision of the table.

    Args:
        revision: the other revision.
        share: how far the cells move towards the other revision's values.
        cells: which cells; all if not given.
        note: kept with the revision.

    Example:
        blend car.session 3 --share 0.5
    """
    other = state.history.revision(revision)
    before = state.table(other.table.name)
    if other.table.kind != before.kind:
        raise InputError(
            phrase("Revision {revision} is a {kind}.", revision=revision, kind=other.table.kind),
            phrase("Blend with a {kind}.", kind=before.kind),
        )
    theirs = read_at(other.table, before.axes)
    mixed = theirs if share == 1 else before.values + share * (theirs - before.values)
    after = before.with_values(np.where(cells.mask(before), mixed, before.values))
    arguments: dict[str, Json] = {"with": revision, "share": share, "cells": str(cells)}
    same = other.table.same_axes(before)
    remarks = (
        ()
        if same
        else (phrase("Revision {revision} has other breakpoints and was interpolated at these.", revision=revision),)
    )
    make = revised if share == 1 else revised_softly
    return make(state, after, "blend", arguments, note, remarks=remarks)


@command("Carry the correction on", menu="Table", icon="carry-on", preview=True, past="Carried on", rounds_off=True)
def carry_on(
    state: State,
    *,
    over: Annotated[int | None, Between(1, 1000)] = None,
    lean_is_meant: Annotated[bool, Called("Allow a lean step")] = False,
    cells: Cells = ALL,
    table: TableName = FIRST,
    note: Note = "",
) -> Answer[Revision]:
    """Extend the latest correction from the cells that it corrected to undriven cells.

    Between driven cells it runs straight, beyond the last it stays the same, or fades. Values are counted from before
    the correction, so that doing it twice does it once.

    Args:
        over: fade the correction out over this many cells.
        lean_is_meant: allow a lean step of more than 1 % in undriven cells at high load.
        cells: which cells may change; all if not given.
        table: which table; the first one if not given.
        note: kept with the revision.

    Example:
        carry-on car.session --over 4
    """
    before = state.table(table)
    last, standing = _latest_correction(state, before)
    if last.parent is None:
        raise InputError("No revision precedes the latest correction.", "Make a correction from evidence first.")
    base = state.history.revision(last.parent).table
    multipliers = np.where(np.isfinite(last.multipliers), last.multipliers, 1.0)
    spread = carried(before, multipliers, _earned(standing, multipliers), over)
    targets = cells.mask(before) & (standing == "undriven")
    if not targets.any():
        raise InputError(
            "None of the chosen cells is undriven.", "Choose undriven cells; the others have evidence of their own."
        )
    lean = targets & leans(before, spread - 1) & high_load(before, base.values, barometer(state.drives))
    if lean.any() and not lean_is_meant:
        at = before.cell_name(tuple(int(i) for i in np.argwhere(lean)[0]))
        raise InputError(
            phrase(
                "This would lean the mixture in {undriven_cells} at high load, the first at {at} by "
                "{spread:+.1f} %, where nothing was measured.",
                undriven_cells=counted(int(lean.sum()), "undriven cell"),
                at=at,
                spread=100 * (spread[lean][0] - 1),
            ),
            phrase(
                "Drive there first, leave these cells out, or give {lean_is_meant_flag}.",
                lean_is_meant_flag=flag("lean-is-meant"),
            ),
        )
    after = finite(before, np.where(targets, base.values * spread, before.values))
    arguments: dict[str, Json] = {
        "correction": last.id,
        "over": over,
        "lean_is_meant": lean_is_meant,
        "cells": str(cells),
    }
    return revised_softly(state, after, "carry-on", arguments, note)


def _earned(standing: np.ndarray, multipliers: FloatArray) -> BoolArray:
    """Mark the cells that a correction is carried on from: proven ones, and with them thin ones that were corrected.

    Those stand beside undriven cells, too: what passes them by ends in a cliff there.
    """
    proven = standing == "proven"
    return np.asarray(proven | ((standing == "thin") & (multipliers != 1) & proven.any()))


def blocks_of(table: Table, cells: Cells) -> Iterator[tuple[slice, ...]]:
    """Yield the blocks that were chosen as slices; the whole table where none was.

    Raises:
        InputError: when a block does not fit the table.
    """
    cells.mask(table)
    for block in cells.blocks or (tuple((0, size - 1) for size in table.shape),):
        yield tuple(slice(first, last + 1) for first, last in block)


def _latest_correction(state: State, table: Table) -> tuple[Revision, np.ndarray]:
    """Find the latest correction on the way to the head, and the standing it gave each cell, as words."""
    head = state.head(table.name)
    for revision in reversed(state.history.line(head.id)):
        standing = revision.arguments.get("standing")
        if standing is not None and revision.table.same_axes(table):
            return revision, np.array(standing, dtype="<U8").reshape(table.shape)
    raise InputError(
        phrase("No correction from evidence leads to revision {head} on its breakpoints.", head=head.id),
        "Make a correction from evidence first.",
    )


def _weights(state: State, table: Table, least: float = 1e-6) -> FloatArray:
    """Weigh cells by the evidence of the latest correction: inverse squared half-widths, 1 for the best known cell."""
    revision, _ = _latest_correction(state, table)
    recorded = revision.arguments.get("half_width")
    if recorded is None:
        raise InputError(
            phrase("Revision {revision} carries no half-widths.", revision=revision.id),
            phrase("Leave {by_evidence_flag} out.", by_evidence_flag=flag("by-evidence")),
        )
    known = np.array(recorded, dtype=np.float64).reshape(table.shape)
    with np.errstate(divide="ignore"):
        weight = np.where(np.isfinite(known), 1 / known**2, 0.0)
    best = weight[np.isfinite(weight)].max(initial=0.0)
    if not best > 0:
        raise InputError(
            phrase("Revision {revision} carries no half-widths.", revision=revision.id),
            phrase("Leave {by_evidence_flag} out.", by_evidence_flag=flag("by-evidence")),
        )
    return np.asarray(np.clip(weight / best, least, 1.0), dtype=np.float64)


def _base(state: State, table: Table, since: int) -> FloatArray:
    other = state.history.revision(since)
    if other.table.name != table.name or other.table.kind != table.kind:
        raise InputError(
            phrase("Revision {since} is not one of the table {table!r}.", since=since, table=table.name),
            "Name one of its revisions.",
        )
    base = read_at(other.table, table.axes)
    if (base == 0).any() or (table.values == 0).any():
        raise InputError(
            "The multipliers of a table with zeros cannot be smoothed.",
            phrase("Leave {since_flag} out.", since_flag=flag("since")),
        )
    return base


def _longest_run(chosen: BoolArray, axis: int) -> int:
    longest, run = 0, np.zeros(np.delete(chosen.shape, axis), dtype=np.int64)
    for line in np.moveaxis(chosen, axis, 0):
        run = np.where(line, run + 1, 0)
        longest = max(longest, int(run.max()))
    return longest


def _runs(line: BoolArray) -> Iterator[tuple[int, int]]:
    edges = np.flatnonzero(np.diff(np.concatenate([[False], line, [False]]).astype(np.int8)))
    yield from zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True)


def _edge(chosen: BoolArray, edges: Edges) -> BoolArray:
    """Mark the chosen cells that are held: beside one that is not chosen, or, if asked, at the table's ends too."""
    beyond = edges == "held"
    padded = np.pad(chosen, 1, constant_values=not beyond)
    held = np.zeros_like(chosen)
    if edges == "free":
        return held
    for axis in range(chosen.ndim):
        for shift in (-1, 1):
            inner = tuple(slice(1, -1) for _ in range(chosen.ndim))
            held |= ~np.roll(padded, shift, axis=axis)[inner]
    return held & chosen
