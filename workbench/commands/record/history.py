"""The history of a session, revision by revision."""

from dataclasses import asdict

import numpy as np

from workbench.commands.declaring.kinds import FIRST, TableName
from workbench.commands.declaring.registry import Answer, command
from workbench.commands.declaring.telling import percent_text, plain
from workbench.commands.evidence.approval_grounds import fallen_grounds
from workbench.model.counting import counted
from workbench.model.history import Export, History, Json, Revision
from workbench.model.state import State
from workbench.phrases import phrase


@command("Show the history", menu="History", shortcut="Ctrl+H", icon="history", opens="answer", quiet=True)
def history(state: State, *, table: TableName = FIRST) -> Answer[History]:
    """List the revisions: who made them, why, and which are approved.

    Args:
        table: only revisions of this table; all if not given.

    Example:
        history car.session
    """
    all_of_it = state.history
    name = state.table_name(table)
    listed = [each for each in all_of_it.revisions if not table or each.table.name == name]

    def as_json() -> dict[str, Json]:
        return {
            "revisions": [_revision_json(state, each) for each in listed],
            "head": all_of_it.heads[name],
            "heads": plain(all_of_it.heads),
        }

    return Answer(all_of_it, as_json, tuple(_revision_line(state, each) for each in listed))


def _revision_json(state: State, each: Revision) -> Json:
    all_of_it = state.history
    approval = all_of_it.approvals.get(each.id)
    return {
        "id": each.id,
        "parent": each.parent,
        "table": each.table.name,
        "operation": each.operation,
        "arguments": plain(each.arguments),
        "note": each.note,
        "author": each.author,
        "time": each.time,
        "digest": each.digest,
        "approved": approval is not None,
        "approval": None if approval is None else plain(asdict(approval)),
        "approval_fell": fallen_grounds(state, each),
        "branch": state.branch_of(each.id),
        "in_car_since": list(_in_car(state, each)),
        "exports": [plain(asdict(made)) for made in all_of_it.exports if made.revision == each.id],
    }


def export_words(made: Export) -> str:
    """Describe when and as what a revision was handed over."""
    draft = "" if made.approved else " as a draft"
    return phrase(
        "exported{draft} on {time} as {files}", draft=draft, time=made.time, files=next(iter(made.files), "?")
    )


def _in_car(state: State, each: Revision) -> tuple[str, ...]:
    """Return when a revision was put into the car."""
    return tuple(mark.since for mark in state.in_car.get(each.table.name, ()) if mark.revision == each.id)


def _revision_line(state: State, each: Revision) -> str:
    all_of_it = state.history
    mark = "*" if all_of_it.heads[each.table.name] == each.id else " "
    factors = all_of_it.moved(each)
    known = np.isfinite(factors)
    moved = factors[known & (factors != 1)]
    extent = f", {counted(moved.size, 'cell')} {percent_text(moved)}" if moved.size else ""
    outright = int((~known).sum()) if each.parent is not None else 0
    extent += phrase(", {cells} set outright", cells=counted(outright, "cell")) if outright else ""
    approval = all_of_it.approvals.get(each.id)
    parent = "" if each.parent is None else f" from {each.parent}"
    words = [f"{mark}{each.id:4d}{parent}  {each.time}  {each.table.name}: {each.operation}{extent}"]
    words += [f"by {each.author}"] if each.author else []
    words += [f"“{each.note}”"] if each.note else []
    words += [phrase("begins the branch {name!r}", name=state.branches[each.id])] if each.id in state.branches else []
    words += [phrase("approved by {by}", by=approval.by)] if approval else []
    words += [fallen] if (fallen := fallen_grounds(state, each)) else []
    words += [phrase("in the car since {since}", since=since) for since in _in_car(state, each)]
    words += [export_words(made) for made in all_of_it.exports if made.revision == each.id]
    return "  ".join(words)
