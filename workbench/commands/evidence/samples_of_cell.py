"""The samples of one cell, listed and exported, and what a pocket calculator makes of them."""

import csv
import io
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

import numpy as np

from workbench.commands.declaring.kinds import FIRST, Drives, NewFile, Replace, TableName
from workbench.commands.declaring.registry import Answer, Job, command
from workbench.commands.declaring.telling import plain
from workbench.commands.evidence.evidence import SourceName, gather_for
from workbench.errors import FileError, InputError
from workbench.files.disk.atomic_write import check_place, write_whole
from workbench.files.disk.formulas import beyond_formulas
from workbench.maths.pooling.cell_samples import CellSamples, CellSums, cell_samples, sums_of
from workbench.model.cells import Cells
from workbench.model.evidence import Evidence
from workbench.model.history import Json
from workbench.model.state import State
from workbench.phrases import flag, phrase

LISTED = 200  # lines; more belong into a file


@command("Show the samples of a cell", menu="Evidence", word="cell-samples", icon="samples")
def cell_samples_command(
    state: State,
    *,
    cells: Cells,
    table: TableName = FIRST,
    from_: Drives = "all",
    source: SourceName = "both",
    file: NewFile | None = None,
    replace: Replace = False,
) -> Job[tuple[CellSamples, ...]]:
    """List the samples behind a cell (time, drive, ratio, weight, gate), to check its mean with a pocket calculator.

    Args:
        cells: one cell.
        table: the table to look at; the first one if not given.
        from_: which drives to use: all, latest, or numbers joined by commas.
        source: use trims and wideband, or only one of them.
        file: a CSV file to write all of them to, with those that gates rejected.
        replace: replace an existing file; sessions and their logs are never replaced.

    Example:
        cell-samples car.session --cells 12 --file cell_12.csv
    """
    found = yield from gather_for(state, table, from_, source, "")
    at = _only_cell(cells, found)
    listed = cell_samples(state.history, found, state.drives, at)
    sums = sums_of(listed)
    lines = [*_sum_lines(found, at, sums, listed), *_sample_lines(listed)]
    if file is not None:
        _write(state, file, found, listed, replace=replace)
        lines.insert(0, phrase("{file}: {rows} samples.", file=file, rows=sum(each.rows.size for each in listed)))

    def as_json() -> dict[str, Json]:
        return {
            "cell": list(at),
            "ratio": plain(found.ratio[at]),
            "half_width": plain(found.half_width[at]),
            "amount": sums.amount,
            "solve_amount": sums.solve_amount,
            "weighted_mean": plain(sums.weighted_mean),
            "plain_mean": plain(sums.plain_mean),
            "plain_count": sums.plain_count,
            "path": None if file is None else str(file),
            "samples": [dict(zip(_head(found), row, strict=True)) for row in _rows(listed)],
        }

    return Answer(listed, as_json, tuple(lines))


def _only_cell(cells: Cells, found: Evidence) -> tuple[int, ...]:
    chosen = np.argwhere(cells.mask(found.table))
    if len(chosen) != 1:
        raise InputError(
            phrase("{count} cells are chosen; samples are listed for one.", count=len(chosen)),
            phrase("Choose one cell: {cells_flag}.", cells_flag=flag("cells", "12")),
        )
    return tuple(int(i) for i in chosen[0])


def _sum_lines(found: Evidence, at: tuple[int, ...], sums: CellSums, listed: tuple[CellSamples, ...]) -> Iterator[str]:
    """Say what the samples come to, and what the evidence says: what is the same, and what is not and why."""
    name = found.table.cell_name(at)
    if not sums.amount:
        yield phrase("{cell}: no sample touches it.", cell=name)
    else:
        yield phrase(
            "{cell}: weighted mean {mean:.4f} (weight * share, which sum to {amount:.2f}); {solved:.2f} effective "
            "samples (weight * share in the solve).",
            cell=name,
            amount=sums.amount,
            solved=sums.solve_amount,
            mean=sums.weighted_mean,
        )
    if sums.plain_count:
        yield phrase(
            "Plain mean of the {count} samples nearest to it that need no model of film or purge: {mean:.4f}.",
            count=sums.plain_count,
            mean=sums.plain_mean,
        )
    if np.isfinite(found.ratio[at]) and not sums.amount:
        yield phrase(
            "The evidence says {ratio:.4f} (±{half:.4f}): it follows from the cells around, along a smooth surface.",
            ratio=found.ratio[at],
            half=found.half_width[at],
        )
    elif np.isfinite(found.ratio[at]):
        yield phrase(
            "The evidence says {ratio:.4f} (±{half:.4f}). It is solved for all cells together: what a sample says is "
            "shared with the cells beside it, the surface is held smooth, and delay, film, purge and rounding of the "
            "trims are fitted too; that moves it by {moved:+.4f} from the weighted mean.",
            ratio=found.ratio[at],
            half=found.half_width[at],
            moved=found.ratio[at] - sums.weighted_mean,
        )
    else:
        yield phrase("The evidence says nothing of it: it is undriven.")
    gates = Counter(gate for each in listed for gate in each.gate if gate)
    if gates:
        counted = ", ".join(f"{gate} {count}" for gate, count in gates.most_common())
        yield phrase("Rejected by gates there: {gates}.", gates=counted)


def _sample_lines(listed: tuple[CellSamples, ...]) -> Iterator[str]:
    kept = [(each, i) for each in listed for i in np.flatnonzero(each.kept).tolist()]
    if kept:
        yield phrase("drive     time s      ratio   weight    share")
    for each, i in kept[:LISTED]:
        marks = [*(["plain, nearest"] if each.plain[i] and each.nearest[i] else [])]
        marks += ["full throttle"] if each.full_throttle[i] else []
        figures = f"{each.time[i]:10.3f} {each.ratio[i]:10.5f} {each.weight[i]:8.4f} {each.share[i]:8.4f}"
        yield f"{each.drive.id:5d} {figures}  {', '.join(marks)}".rstrip()
    if len(kept) > LISTED:
        yield phrase(
            "… and {more} more: write all to a file with {file_flag}.",
            more=len(kept) - LISTED,
            file_flag=flag("file", "FILE"),
        )


def _head(found: Evidence) -> tuple[str, ...]:
    axes = tuple(axis.label for axis in found.table.axes)
    named = ("drive", "log", "row", "time_s", *axes, "ratio", "weight", "share", "share_in_solve")
    return (*named, "weight_times_share", "nearest", "plain", "full_throttle", "gate")


def _rows(listed: tuple[CellSamples, ...]) -> Iterator[tuple[Json, ...]]:
    for each in listed:
        for i in range(each.rows.size):
            kept = bool(each.kept[i])
            yield (
                each.drive.id,
                each.drive.log.name,
                int(each.rows[i]) + 1,
                float(each.time[i]),
                *(float(place) for place in each.position[i]),
                float(each.ratio[i]) if kept else None,
                float(each.weight[i]),
                float(each.share[i]),
                float(each.solve_share[i]),
                float(each.weight[i] * each.share[i]),
                bool(each.nearest[i]),
                bool(each.plain[i]),
                bool(each.full_throttle[i]),
                each.gate[i],
            )


def _write(state: State, file: Path, found: Evidence, listed: tuple[CellSamples, ...], *, replace: bool) -> None:
    check_place(file, {drive.log.sha256 for drive in state.drives})
    if file.exists() and not replace:
        raise FileError(
            phrase("{file} already exists.", file=file),
            phrase("Name another file, or give {replace_flag}.", replace_flag=flag("replace")),
        )
    text = io.StringIO()
    writer = csv.writer(text)
    for row in (_head(found), *_rows(listed)):
        writer.writerow(beyond_formulas(value) if isinstance(value, str) else value for value in row)
    write_whole(file, text.getvalue().encode())
