"""Differences between any two tables, and what became of a cell over all revisions."""

from collections.abc import Generator
from dataclasses import dataclass, replace
from typing import Annotated, Literal

import numpy as np

from workbench.commands.declaring.kinds import FIRST, Called, DriveId, TableName, TableReference
from workbench.commands.declaring.registry import Answer, Job, command
from workbench.commands.declaring.telling import percent_text, plain
from workbench.commands.evidence.evidence import prediction_of
from workbench.commands.record.references import Referred, referred, revision_of
from workbench.errors import InputError
from workbench.maths.table.comparing import Comparison, compared
from workbench.maths.verdict.cell_record import CellAct, cell_record, moved_by
from workbench.maths.verdict.prediction_check import VERDICTS
from workbench.model.cells import Cells
from workbench.model.history import Json, Revision
from workbench.model.state import State
from workbench.phrases import phrase
from workbench.work import Progress

Earlier = Annotated[TableReference, Called("Earlier revision")]
Later = Annotated[TableReference, Called("Later revision")]
PREDICTIONS = {
    "kept": "prediction met",
    "better": "prediction not met, but closer than before",
    "not kept": "prediction NOT met",
}
Show = Literal["percent", "ratio", "values"]


@dataclass(frozen=True, eq=False)
class Difference:
    """How two tables differ.

    Attributes:
        earlier, later: the two.
        cells: the comparison of their cells.
        show: in what the change of a cell is told.
        remarks: how the two were read, where that is not plain.
    """

    earlier: Referred
    later: Referred
    cells: Comparison
    show: Show = "percent"
    remarks: tuple[str, ...] = ()


@command(
    "Compare two revisions",
    menu="History",
    shortcut="Ctrl+D",
    icon="difference",
    button="Compare",
    opens="answer",
    quiet=True,
)
def difference(
    state: State, a: Earlier, b: Later, *, show: Show = "percent", table: TableName = FIRST
) -> Answer[Difference]:
    """Show by how much each cell differs between two tables, of this session or from outside.

    Each is a revision (3), the name of a branch (safe), a file with a table (donor.csv), another session
    (other.session, its current revision), or a revision of another session (other.session:3). Where they stand on
    other breakpoints, the first is read at those of the second, as the ECU reads it.

    Args:
        a: the earlier table.
        b: the later table.
        show: percent, ratio, or values (the change in the table's unit).
        table: which table an outside one is compared with, where neither is a revision; the first one if not given.

    Example:
        difference car.session 1 4
    """
    inside = (revision_of(state, each) for each in (a, b))
    ours = next((state.history.revision(each).table for each in inside if each is not None), state.table(table))
    earlier, later = referred(state, a, ours), referred(state, b, ours)
    if earlier.table.kind != later.table.kind or earlier.table.name != later.table.name:
        raise InputError(
            phrase(
                "Revision {a} is one of the {kind} {table!r}, revision {b} of the {kind_2} {table_2!r}.",
                a=a,
                kind=earlier.table.kind,
                table=earlier.table.name,
                b=b,
                kind_2=later.table.kind,
                table_2=later.table.name,
            ),
            "Compare two revisions of one table.",
        )
    cells = compared(earlier.table, later.table)
    remarks = (*earlier.notes, *later.notes)
    if cells.interpolated:
        remarks += (phrase("{a} was interpolated at the breakpoints of {b}.", a=_begun(earlier), b=str(later)),)

    def as_json() -> dict[str, Json]:
        return {
            "a": earlier.json,
            "b": later.json,
            "change_percent": plain(cells.percent),
            "ratio": plain(cells.ratio),
            "change": plain(cells.change),
            "changed": int(cells.moved.sum()),
            "notes": list(remarks),
        }

    found = Difference(earlier, later, cells, show, remarks)
    return Answer(found, as_json, (*remarks, *_lines(earlier, later, cells, show)))


def _begun(which: Referred) -> str:
    text = str(which)
    return text[:1].upper() + text[1:] if isinstance(which.name, int) else text


def _lines(earlier: Referred, later: Referred, cells: Comparison, show: Show) -> list[str]:
    lines: list[str] = [
        phrase(
            "{moved} of {cells} cells differ between {a} and {b}.",
            moved=int(cells.moved.sum()),
            cells=cells.moved.size,
            a=str(earlier),
            b=str(later),
        )
    ]
    for index in np.argwhere(cells.moved):
        at = tuple(int(i) for i in index)
        shown = {
            "percent": f"{cells.percent[at]:+9.3f} %",
            "ratio": f"{cells.ratio[at]:9.5f}",
            "values": f"{cells.change[at]:+12.6g} {later.table.unit}",
        }[show]
        change = shown if np.isfinite(cells.ratio[at]) or show == "values" else "from zero"
        name = later.table.cell_name(at)
        lines.append(f"{name:>28}  {cells.earlier[at]:12.6g} -> {cells.later[at]:12.6g}  {change}")
    return lines


@command("Show what became of a cell", menu="History", word="cell-history", icon="history")
def cell_history(state: State, *, cells: Cells, table: TableName = FIRST) -> Job[tuple[CellAct, ...]]:
    """List every act that touched a cell: its factor, the factor since the first table, value, evidence, who and why.

    Args:
        cells: one cell.
        table: which table; the first one if not given.

    Example:
        cell-history car.session --cells 12
    """
    head = state.head(table)
    chosen = np.argwhere(cells.mask(head.table))
    if len(chosen) != 1:
        raise InputError(
            phrase("{count} cells are chosen; a history is of one.", count=len(chosen)), "Choose one cell, as in 12."
        )
    at = tuple(int(i) for i in chosen[0])
    acts = []
    for act in cell_record(state.history, head, at, state.drives):
        met = yield from _prediction_met(state, act, head, at)
        acts.append(replace(act, prediction=met))
    lines = [
        phrase("{cell} of {table!r}, from the first table on:", cell=head.table.cell_name(at), table=head.table.name)
    ]
    lines += [_act_line(act) for act in acts]
    return Answer(tuple(acts), lambda: {"cell": list(at), "acts": [_act_json(act) for act in acts]}, tuple(lines))


def _prediction_met(state: State, act: CellAct, head: Revision, at: tuple[int, ...]) -> Generator[Progress, None, str]:
    """Tell whether the drives made with a correction found what it expected of a cell; empty where it says nothing."""
    if act.revision.operation != "correct" or not act.revision.table.same_axes(head.table):
        return ""
    check = yield from prediction_of(state, head.table.name, "both", "", act.revision)
    return "" if check is None else VERDICTS[int(check.verdict[at])]


def _act_json(act: CellAct) -> Json:
    revision = act.revision
    return {
        "revision": revision.id,
        "operation": revision.operation,
        "factor": plain(act.factor),
        "cumulative": plain(act.cumulative),
        "value": act.value,
        "note": revision.note,
        "author": revision.author,
        "time": revision.time,
        "drives": list(act.drives),
        "ratio_expected_after": plain(act.expected),
        "half_width": plain(act.half_width),
        "driven_since": list(act.driven_since),
        "interpolated": act.interpolated,
        "prediction": act.prediction or None,
        "inferred": act.inferred,
    }


def _act_line(act: CellAct) -> str:
    revision = act.revision
    factor = percent_text(np.array([act.factor])) if np.isfinite(act.factor) else "set outright"
    whole = phrase(", {percent:+.2f} % since the first table", percent=100 * (act.cumulative - 1))
    whole = whole if np.isfinite(act.cumulative) else ""
    words = [f"{revision.id:4d}  {act.value:<12.6g}  {revision.operation}: {factor}{whole}"]
    if act.drives:
        half = phrase(", ± {half:.1f} %", half=100 * act.half_width) if np.isfinite(act.half_width) else ""
        words.append(phrase("from drives {drives}{half}", drives=", ".join(map(str, act.drives)), half=half))
    words += ["inferred, not measured"] if act.inferred else []
    words += [phrase("read between breakpoints")] if act.interpolated else []
    words += (
        [phrase("driven since: {drives}", drives=", ".join(map(str, act.driven_since)))] if act.driven_since else []
    )
    words += [PREDICTIONS[act.prediction]] if act.prediction in PREDICTIONS else []
    words += [revision.time, *([f"by {revision.author}"] if revision.author else [])]
    words += [f"“{revision.note}”"] if revision.note else []
    return "  ".join(words)


@command("Show what a drive changed", menu="History", word="changed-by", icon="difference")
def changed_by(state: State, drive: DriveId, *, table: TableName = FIRST) -> Answer[tuple[Revision, ...]]:
    """List the corrections that rest on a drive, and by how much each moved its cells.

    Args:
        drive: number of the drive.
        table: which table; the first one if not given.

    Example:
        changed-by car.session 2
    """
    name = state.table_name(table)
    number = state.drive(drive).id
    found = moved_by(state.history, number, name)
    lines = []
    for made in found:
        moved = made.multipliers[np.isfinite(made.multipliers) & (made.multipliers != 1)]
        extent = (
            phrase("{count} cells {percent}", count=moved.size, percent=percent_text(moved)) if moved.size else "none"
        )
        lines.append(phrase("Revision {revision}, {time}: {extent}.", revision=made.id, time=made.time, extent=extent))
    none = (phrase("No correction of {table!r} rests on drive {number}.", table=name, number=number),)

    def as_json() -> dict[str, Json]:
        return {
            "drive": number,
            "corrections": [{"revision": made.id, "multipliers": plain(made.multipliers)} for made in found],
        }

    return Answer(found, as_json, tuple(lines) or none)
