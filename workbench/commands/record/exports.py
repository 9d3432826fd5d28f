"""Handing a table over, and checking a handed-over file against the session."""

from collections.abc import Iterator, Mapping
from dataclasses import replace as replace_fields
from functools import partial
from pathlib import Path
from typing import Annotated, NoReturn

import numpy as np

from workbench.commands.declaring.into_the_car import accepted_lean
from workbench.commands.declaring.kinds import FIRST, Called, ExistingFile, NewFile, Replace, RevisionId, TableName
from workbench.commands.declaring.making import NOT_LEANING
from workbench.commands.declaring.registry import Answer, command
from workbench.commands.declaring.telling import plain
from workbench.commands.evidence.approval_grounds import fallen_grounds
from workbench.commands.evidence.next_step import next_step, stored_as_approved
from workbench.commands.evidence.open_dangers import open_dangers
from workbench.commands.record.comparing import (
    FileChecked,
    best_of,
    claim_of,
    differences,
    export_of,
    exports_beside,
    forms,
    holds,
    missing_since,
)
from workbench.commands.record.export_names import check_name, files_of, whose
from workbench.commands.record.history import export_words
from workbench.commands.record.signatures import signature_lines, signature_problems, signatures_json
from workbench.commands.table.ecu_format import keeping_json
from workbench.errors import InputError
from workbench.files.disk.clock import now, user_name
from workbench.files.export.exporting import draft_path, export_files, read_paper
from workbench.files.store.verifying import chain_digests, stored_problems
from workbench.files.tables.tables import read_table, write_table_text
from workbench.maths.table.scale import replay
from workbench.maths.table.storage import as_stored
from workbench.model.counting import counted
from workbench.model.ecu_format import EcuFormat
from workbench.model.history import Approval, Export, History, Json, Revision
from workbench.model.state import Exported, State
from workbench.model.step import step
from workbench.model.table import Table
from workbench.phrases import call, flag, harmless, phrase, plural_phrase

AS_RECORDED = "Everything in the session is as recorded."
NOTHING_TO_COMPARE = phrase(
    "Only an exported file with its provenance file can show whether later changes were cut off: {against_flag}.",
    against_flag=flag("against", "FILE"),
)


@command("Export a table", menu="Session", shortcut="Ctrl+Shift+E", icon="export", button="Export")
def export(
    state: State,
    file: NewFile,
    *,
    revision: RevisionId | None = None,
    draft: bool = False,
    replace: Replace = False,
    accept: Annotated[tuple[str, ...], Called("Accepted objections", "CHECK")] = (),
    table: TableName = FIRST,
) -> Answer[Path]:
    """Write an approved table, or a draft, as CSV with a provenance file (JSON) beside it.

    Where the ECU's step is known, the file holds the stored values; where it keeps a curve in parts, each part gets a
    file of its own besides.

    Args:
        file: the file to write.
        revision: which revision; the current one if not given.
        draft: write a revision that is not approved; the file name says so.
        replace: replace what is no earlier export of this table and session; sessions and logs are never replaced.
        accept: lean-step-at-high-load, for a draft that is leaner at high load than what is in the car.
        table: the table whose current revision is meant; the first one if not given.

    Example:
        export car.session airflow_new.csv --revision 4
    """
    wanted = state.head(table) if revision is None else state.history.revision(revision)
    check_name(state, wanted, file)
    approval = _approval(state, wanted)
    if approval is None and not draft:
        _refuse(state, wanted)
    lean, warnings = _lean(state, wanted, accept, approval) if draft else NOT_LEANING
    recorded, warnings = _sound(state), (*warnings, *_doubted(state, wanted, approval))
    path = draft_path(file) if draft else file
    ecu_format = state.ecu_format(wanted.table.name)
    whole = as_stored(wanted.table, ecu_format)
    files = files_of(path, whole, ecu_format)
    paper = _paper(state, wanted, recorded)
    digests = export_files(
        {each: (write_table_text(held).encode(), {**paper, "table": held.name}) for each, held in files.items()},
        replace=replace,
        kept={drive.log.sha256 for drive in state.drives},
        whose=partial(whose, chain=recorded),
    )
    named = {harmless(each.name): digest for each, digest in zip(files, digests, strict=True)}
    change = Exported(Export(wanted.id, named, approval is not None, user_name(), str(paper["exported_on"])))
    rounding = float(np.abs(whole.values - wanted.table.values).max())
    data: dict[str, Json] = {
        **lean,
        "path": str(path),
        "revision": wanted.id,
        "table": wanted.table.name,
        "approved": approval is not None,
        "sha256": digests[0],
        "values": plain(whole.values),
        "largest_rounding": rounding,
        "parts": [str(each) for each in files if each != path],
    }
    lines = _export_lines(step(state, change), wanted, files, rounding, warnings)
    return Answer(path, lambda: data, lines, change, stands=True, warnings=warnings)


def _sound(state: State) -> Mapping[int, str]:
    """Return the digest of each change; refuse a session in which a signature does not hold."""
    recorded = chain_digests(Path(state.path), state.sequence)
    if wrong := next(signature_problems(state, recorded), ""):
        raise InputError(wrong, "Find out who altered the session, and go back to your last good copy.")
    return recorded


def _lean(
    state: State, wanted: Revision, accept: tuple[str, ...], approval: Approval | None
) -> tuple[dict[str, Json], tuple[str, ...]]:
    """Return how a draft leans high load; refuse one that nobody accepted."""
    return accepted_lean(state, wanted, accept, "A draft is flashed too.", left=approval is not None)


def _approval(state: State, wanted: Revision) -> Approval | None:
    """Return the approval of the values that the ECU stores now; None where it is of others, fell, or is none."""
    approval = state.history.approvals.get(wanted.id)
    stands = approval is not None and stored_as_approved(state, wanted) and not fallen_grounds(state, wanted)
    return approval if stands else None


def _doubted(state: State, wanted: Revision, approval: Approval | None) -> tuple[str, ...]:
    """Return what is to be told with a file: that its approval fell, or a draft's dangers that nobody looked into."""
    fallen = fallen_grounds(state, wanted)
    return (fallen,) if fallen else () if approval else open_dangers(state, wanted)


def _refuse(state: State, wanted: Revision) -> NoReturn:
    """Explain why a revision cannot leave as an approved one."""
    again = call("approve", "SESSION", f"{wanted.id}", flag("by", "NAME"))
    if fallen := fallen_grounds(state, wanted):
        hint = phrase(
            "Approve it again: {approve_command}; or write a draft with {draft_flag}.",
            approve_command=again,
            draft_flag=flag("draft"),
        )
        raise InputError(fallen, hint)
    if wanted.id in state.history.approvals:
        raise InputError(
            phrase(
                "The ECU storage settings have changed since revision {wanted} was approved, so the "
                "ECU would store other values than were approved.",
                wanted=wanted.id,
            ),
            phrase(
                "Approve it again: {approve_command}; or restore the storage settings; or write a "
                "draft with {draft_flag}.",
                approve_command=again,
                draft_flag=flag("draft"),
            ),
        )
    others = " or ".join(str(number) for number in state.history.approvals)
    named = {"revision_flag": flag("revision"), "others": others}
    raise InputError(
        phrase("Revision {wanted} of {table!r} is not approved.", wanted=wanted.id, table=wanted.table.name),
        phrase(
            "Approve it first: {approve_command}",
            approve_command=again,
        )
        + (phrase("; or export one that is: {revision_flag} {others}", **named) if others else "")
        + phrase("; or write a draft with {draft_flag}.", draft_flag=flag("draft")),
    )


def _export_lines(
    state: State, wanted: Revision, files: Mapping[Path, Table], rounding: float, warnings: tuple[str, ...]
) -> tuple[str, ...]:
    approval = _approval(state, wanted)
    stand = phrase("approved by {by}", by=approval.by) if approval else "NOT APPROVED, a draft for a test drive"
    path, *others = files
    if approval and draft_path(path) == path:
        stand = phrase("a draft for a test drive, although {stand}", stand=stand)
    lines = [
        phrase(
            "{path}: revision {wanted} of {table!r}, {stand}.",
            path=path,
            wanted=wanted.id,
            table=wanted.table.name,
            stand=stand,
        )
    ]
    lines += warnings
    lines += [f"{each}: part {files[each].name!r}." for each in others]
    if state.ecu_format(wanted.table.name).storage:
        lines += [phrase("Values are rounded to the ECU's step, by at most {rounding:.3g}.", rounding=rounding)]
    after = next_step(state, wanted, None)
    return (*lines, *(() if after is None else (after.line,)))


def _paper(state: State, wanted: Revision, digests: Mapping[int, str]) -> dict[str, Json]:
    """Make the provenance of an exported table; the last digest stands for everything that the session held then."""
    approval = _approval(state, wanted)
    return {
        "session": harmless(Path(state.path).name),
        "table": wanted.table.name,
        "revision": wanted.id,
        "digest": wanted.digest,
        "changes": state.sequence,
        "begins": digests[1],
        "chain": digests[state.sequence],
        "standing": "approved" if approval else "not approved: a draft for a test drive",
        "approved": approval is not None,
        "approved_by": approval.by if approval else None,
        "approved_on": approval.time if approval else None,
        "note": approval.note if approval else wanted.note,
        "accepted_objections": list(approval.accepted) if approval else [],
        **({"approval_rests_on": list(approval.rested_on)} if approval and approval.rested_on else {}),
        **({"no_longer_counts": fallen} if (fallen := fallen_grounds(state, wanted)) else {}),
        "signatures": signatures_json(state, wanted.id, digests) if approval else [],
        "exported_on": now(),
        "keeping": keeping_json(state.ecu_format(wanted.table.name)),
    }


@command("Check the session", menu="Session", icon="check", button="Check", opens="answer")
def check(state: State, *, against: ExistingFile | None = None, table: TableName = FIRST) -> Answer[tuple[str, ...]]:
    """Replay the whole history bit for bit, and compare an exported file with it if given.

    That shows that what stands in the session is as it was recorded. That nothing was cut off its end only an exported
    file can show, whose paper tells how far the session had come by then; those that lie beside it are asked.

    Args:
        against: an exported CSV file to compare with the session.
        table: the table that was exported; the first one if not given.

    Example:
        check car.session --against airflow_new.csv
    """
    problems = [*stored_problems(Path(state.path)), *replay_problems(state.history)]
    digests = {} if problems else chain_digests(Path(state.path), state.sequence)
    problems += signature_problems(state, digests)
    replayed = counted(len(state.history.revisions), "revision")
    lines = [
        phrase("{replayed} and {changes} were replayed.", replayed=replayed, changes=counted(state.sequence, "change")),
        *signature_lines(state),
    ]
    known, lost, beside = _known_beside(state, digests) if against is None else ("", [], [])
    problems += lost
    data: dict[str, Json] = {"revisions": len(state.history.revisions), "changes": state.sequence, "beside": beside}
    if against is not None:
        held = file_problems(state, state.table_name(table), against)
        is_revision = held.revision
        problems += [*held.problems, *missing_since(state, against, digests)]
        known = "" if read_paper(against) else NOTHING_TO_COMPARE
        data |= {"against": str(against), "is_revision": is_revision, **_cells_json(held)}
        lines += (
            [phrase("{against} holds revision {is_revision}.", against=against, is_revision=is_revision)]
            if is_revision is not None
            else []
        )
        made = export_of(state, against)
        data["exported"] = None if made is None else made.time
        lines += (
            []
            if made is None
            else [phrase("It is byte for byte the file {export_words}.", export_words=export_words(made))]
        )
    data |= {"ok": not problems, "problems": list(problems)}
    count = "1 problem was" if len(problems) == 1 else phrase("{problems} problems were", problems=len(problems))
    refusal = f"{count} found: {problems[0]}" if problems else ""
    lines_shown = (*lines, *(problems or (AS_RECORDED, *((known,) if known else ()))))
    return Answer(tuple(problems), lambda: data, lines_shown, refusal=refusal)


def _known_beside(state: State, digests: Mapping[int, str]) -> tuple[str, list[str], list[Json]]:
    """Ask the exported files beside a session: what is to be said, what is missing, and which they are."""
    beside = exports_beside(state, digests)
    lost = list(dict.fromkeys(sentence for each in beside for sentence in missing_since(state, each, digests)))
    if not beside:
        return NOTHING_TO_COMPARE, lost, []
    known = plural_phrase(
        len(beside),
        "The exported file beside it, {first}, knows of nothing that is missing.",
        "The {n} exported files beside it know of nothing that is missing.",
        first=beside[0].name,
    )
    return known, lost, [each.name for each in beside]


def _cells_json(held: FileChecked) -> dict[str, Json]:
    """Name the cells in which a file differs from the revision it was compared with."""
    cells: list[Json] = [{"cell": list[Json](at), "file": theirs, "revision": ours} for at, theirs, ours in held.cells]
    return {"compared_with": held.compared, "differing_cells": cells}


def replay_problems(all_of_it: History) -> list[str]:
    """Replay a history: digests along every branch, and each cell's old value times its multiplier."""
    problems = []
    for each in all_of_it.revisions:
        parent = None if each.parent is None else all_of_it.revision(each.parent)
        if each.chained("" if parent is None else parent.digest) != each.digest:
            problems.append(
                phrase("Revision {each} differs from what was recorded: its digest does not match.", each=each.id)
            )
        if parent is None or not each.table.same_axes(parent.table):
            continue
        wrong = np.argwhere(~replay(parent.table.values, each.multipliers, each.table.values))
        if wrong.size:
            at = each.table.cell_name(tuple(int(i) for i in wrong[0]))
            problems.append(
                phrase(
                    "Revision {each}: in {cells} (first at {at}) the value of revision {parent} times "
                    "the multiplier is not the value.",
                    each=each.id,
                    cells=counted(len(wrong), "cell"),
                    at=at,
                    parent=parent.id,
                )
            )
    return problems


def file_problems(state: State, name: str, path: Path) -> FileChecked:
    """Compare a file with the revisions of a table: what is wrong with it, and which revision it is.

    Raises:
        FileError: when the file cannot be read as a table.
    """
    all_of_it = state.history
    revisions = [each for each in all_of_it.revisions if each.table.name == name]
    read, _ = read_table(path, name=name, kind=revisions[0].table.kind)
    paper = read_paper(path) or {}
    made, ecu_format = export_of(state, path), state.ecu_format(name)
    claim = claim_of(path, revisions, all_of_it.exports, paper)
    named = made.revision if made is not None else None if claim is None else claim.revision
    candidates = [(each, held) for each in revisions for held in forms(each.table, ecu_format, paper)]
    same = [each for each, held in candidates if (made is not None and each.id == named) or holds(held, read)]
    if not same:
        return differences(path, read, candidates, claim)
    found = next((each for each in same if each.id == named), None) or best_of(all_of_it, same)
    if claim is not None and made is None and found.id != claim.revision and paper.get("revision") == claim.revision:
        other = differences(path, read, candidates, claim)
        sentence = phrase(
            "{path} holds the values of revision {found}, not of revision {named}, which {why}.",
            path=path.name,
            found=found.id,
            named=claim.revision,
            why=claim.why,
        )
        return replace_fields(other, problems=(sentence,), revision=found.id)
    return FileChecked(tuple(_unapproved(state, path, read, found, made)), found.id)


def _unapproved(state: State, path: Path, read: Table, found: Revision, made: Export | None) -> Iterator[str]:
    """Say what is missing for a file that holds a revision to be an approved table; a draft need be none."""
    approval = state.history.approvals.get(found.id)
    if "draft" in path.name.lower():
        return
    if fallen := fallen_grounds(state, found):
        yield phrase("{path} is revision {found}. {fallen}", path=path.name, found=found.id, fallen=fallen)
        return
    if made is not None and made.approved and made.revision == found.id:
        return
    if approval is None:
        yield phrase("{path} is revision {found}, which nobody approved.", path=path.name, found=found.id)
        return
    kept = EcuFormat(approval.storage, state.ecu_format(found.table.name).parts)
    if not any(holds(held, read) for held in forms(found.table, kept, {})):
        yield phrase(
            "{path} is revision {found} rounded differently from the approved one.", path=path.name, found=found.id
        )
