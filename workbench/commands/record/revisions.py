"""The history of a session: look at it, go back and forth in it, stand by a revision, and check it."""

from collections.abc import Generator
from dataclasses import asdict
from pathlib import Path
from typing import Annotated

import numpy as np

from workbench.commands.declaring.kinds import FIRST, Called, Note, RevisionId, Signature, TableName
from workbench.commands.declaring.making import objection_json, percent_text, plain, revised
from workbench.commands.declaring.registry import Answer, Job, command
from workbench.commands.evidence.evidence import gather_for, prediction_of
from workbench.commands.evidence.next_step import against, next_step, stored_as_approved
from workbench.errors import InputError
from workbench.files.disk.clock import now
from workbench.files.store.verifying import chain_digests
from workbench.maths.table.comparing import compared
from workbench.maths.verdict.approval_case import Objection
from workbench.model.cells import ALL, Cells
from workbench.model.counting import counted
from workbench.model.history import Approval, Export, History, Json, Revision
from workbench.model.state import Approved, State
from workbench.model.step import step
from workbench.phrases import flag, join_phrases, phrase
from workbench.work import Progress


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
            "revisions": [_revision_json(all_of_it, each) for each in listed],
            "head": all_of_it.heads[name],
            "heads": plain(all_of_it.heads),
        }

    return Answer(all_of_it, as_json, tuple(_revision_line(all_of_it, each) for each in listed))


@command(
    "Roll back to a revision",
    menu="History",
    shortcut="Ctrl+Shift+B",
    icon="roll-back",
    button="Roll back",
    past="Rolled back to {to}",
)
def roll_back(state: State, revision: RevisionId, *, cells: Cells = ALL, note: Note = "") -> Answer[Revision]:
    """Make a new revision with the values of an earlier one; everything in between stays in the history.

    With some cells chosen, the others keep what they hold now; where the breakpoints changed since, the chosen cells
    take what the ECU read there then.

    Args:
        revision: the revision whose values to restore.
        cells: which cells; all, with their breakpoints, if not given.
        note: kept with the new revision.

    Example:
        roll-back car.session 3 --note "revision 5 ran rough"
    """
    wanted = state.history.revision(revision)
    if cells == ALL:
        return revised(state, wanted.table, "roll-back", {"to": revision}, note, was_before=True)
    now_held = state.table(wanted.table.name)
    before = compared(wanted.table, now_held)
    values = np.where(cells.mask(now_held), before.earlier, now_held.values)
    remarks = (
        (phrase("Revision {revision} was interpolated at the breakpoints of today.", revision=revision),)
        if before.interpolated
        else ()
    )
    arguments: dict[str, Json] = {"to": revision, "cells": str(cells)}
    return revised(state, now_held.with_values(values), "roll-back", arguments, note, remarks=remarks)


@command("Approve a revision", menu="History", shortcut="Ctrl+Shift+A", icon="approve")
def approve(
    state: State,
    revision: RevisionId | None = None,
    *,
    by: Signature,
    note: Note = "",
    accept: Annotated[tuple[str, ...], Called("Accepted objections", "CHECK")] = (),
    table: TableName = FIRST,
) -> Job[tuple[Objection, ...]]:
    """Approve a revision under your name; only then can it be exported.

    What speaks against it is listed first; each such objection must be accepted by its name, after looking into it.

    Args:
        revision: which revision; the current one if not given.
        by: your name.
        note: the reason, in your words.
        accept: name of an objection that you have examined and accept.
        table: the table whose current revision is meant; the first one if not given.

    Example:
        approve car.session --by "A. Calibrator" --accept not-driven-since
    """
    if not by.strip():
        raise InputError(
            "An approval needs your name.", phrase("Give your name with {by_flag}.", by_flag=flag("by", "NAME"))
        )
    wanted = state.head(table) if revision is None else state.history.revision(revision)
    if wanted.id in state.history.approvals and stored_as_approved(state, wanted):
        raise InputError(
            phrase(
                "Revision {wanted} is approved already, by {by}.",
                wanted=wanted.id,
                by=state.history.approvals[wanted.id].by,
            ),
            "No further approval is needed.",
        )
    chain_digests(Path(state.path), state.sequence)
    standing = yield from standing_against(state, wanted)
    _check_accepted(wanted, standing, accept)
    return approved(state, wanted, standing, by, note)


def standing_against(state: State, wanted: Revision) -> Generator[Progress, None, tuple[Objection, ...]]:
    """Gather what all drives say of a revision, and list what speaks against approving it."""
    if not state.drives:
        return against(state, wanted, None)
    name = wanted.table.name
    try:
        found = yield from gather_for(state, name, "all", "both", "", wanted)
        prediction = yield from prediction_of(state, name, "both", "", wanted)
    except InputError as refusal:
        silent = Objection(
            "no-evidence",
            phrase(
                "The drives give no evidence for this table. {message} {hint}",
                message=refusal.message,
                hint=refusal.hint,
            ),
        )
        return (*against(state, wanted, None), silent)
    return against(state, wanted, found, prediction)


def approved(
    state: State, wanted: Revision, standing: tuple[Objection, ...], by: str, note: str
) -> Answer[tuple[Objection, ...]]:
    """Approve a revision, all that speaks against it being accepted."""
    accepted = tuple(each.name for each in standing)
    looked_into = {name: said.reason for name, said in state.acknowledged.items()} or None
    approval = Approval(by.strip(), note, now(), accepted, state.ecu_format(wanted.table.name).storage, looked_into)
    data: dict[str, Json] = {
        "revision": wanted.id,
        "table": wanted.table.name,
        "by": approval.by,
        "accepted": list(accepted),
        "acknowledged": dict[str, Json](looked_into or {}),
        "objections": [objection_json(each) for each in standing],
    }
    change = Approved(wanted.id, approval)
    after = next_step(step(state, change), wanted, None)
    lines = (
        phrase(
            "Revision {wanted} of {table!r} is approved by {by}.",
            wanted=wanted.id,
            table=wanted.table.name,
            by=approval.by,
        ),
        *(f"Accepted: {each.name}. {each.sentence}" for each in standing),
        *(f"Acknowledged: {name}. {reason}" for name, reason in (looked_into or {}).items()),
        *(() if after is None else (after.line,)),
    )
    return Answer(standing, lambda: data, lines, change)


def _check_accepted(wanted: Revision, standing: tuple[Objection, ...], accept: tuple[str, ...]) -> None:
    names = [each.name for each in standing]
    unknown = [name for name in accept if name not in names]
    if unknown:
        listed = ", ".join(names)
        hint = (
            phrase("The objections are: {listed}.", listed=listed)
            if names
            else phrase("There are no objections: leave {accept_flag} out.", accept_flag=flag("accept"))
        )
        refusal = InputError(
            phrase("There is no objection {unknown!r} to revision {wanted}.", unknown=unknown[0], wanted=wanted.id),
            hint,
        )
        refusal.details["objections"] = [objection_json(each) for each in standing]
        raise refusal
    open_ones = [each for each in standing if each.name not in accept]
    if open_ones:
        refusal = InputError(
            join_phrases(
                "\n",
                (
                    phrase("Objections to revision {wanted}:", wanted=wanted.id),
                    *(phrase("- {name}: {objection}", name=each.name, objection=each.sentence) for each in open_ones),
                ),
            ),
            phrase(
                "Look into each, then accept it with: {accepted}",
                accepted=join_phrases(
                    " ",
                    (phrase("{accept_flag} {name}", accept_flag=flag("accept"), name=each.name) for each in standing),
                ),
            ),
        )
        refusal.details["objections"] = [objection_json(each) for each in standing]
        raise refusal


def _revision_json(all_of_it: History, each: Revision) -> Json:
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
        "exports": [plain(asdict(made)) for made in all_of_it.exports if made.revision == each.id],
    }


def export_words(made: Export) -> str:
    """Describe when and as what a revision was handed over."""
    draft = "" if made.approved else " as a draft"
    return phrase(
        "exported{draft} on {time} as {files}", draft=draft, time=made.time, files=next(iter(made.files), "?")
    )


def _revision_line(all_of_it: History, each: Revision) -> str:
    mark = "*" if all_of_it.heads[each.table.name] == each.id else " "
    known = np.isfinite(each.multipliers)
    moved = each.multipliers[known & (each.multipliers != 1)]
    extent = f", {counted(moved.size, 'cell')} {percent_text(moved)}" if moved.size else ""
    outright = int((~known).sum()) if each.parent is not None else 0
    extent += phrase(", {cells} set outright", cells=counted(outright, "cell")) if outright else ""
    approval = all_of_it.approvals.get(each.id)
    parent = "" if each.parent is None else f" from {each.parent}"
    words = [f"{mark}{each.id:4d}{parent}  {each.time}  {each.table.name}: {each.operation}{extent}"]
    words += [f"by {each.author}"] if each.author else []
    words += [f"“{each.note}”"] if each.note else []
    words += [phrase("approved by {by}", by=approval.by)] if approval else []
    words += [export_words(made) for made in all_of_it.exports if made.revision == each.id]
    return "  ".join(words)
