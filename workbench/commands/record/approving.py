"""Stand by a revision: approve it, with all that speaks against it accepted by name."""

from collections.abc import Generator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated

from workbench.commands.declaring.kinds import FIRST, Called, Kind, Note, RevisionId, Signature, TableName
from workbench.commands.declaring.making import objection_json
from workbench.commands.declaring.registry import Answer, Job, command
from workbench.commands.evidence.approval_grounds import fallen_grounds
from workbench.commands.evidence.evidence import gather_for, prediction_of
from workbench.commands.evidence.next_step import against, next_step, stored_as_approved
from workbench.errors import InputError
from workbench.files.disk.clock import now
from workbench.files.store.verifying import chain_digests
from workbench.maths.verdict.approval_case import Objection
from workbench.model.evidence import Evidence
from workbench.model.history import Approval, Json, Revision
from workbench.model.state import Approved, State
from workbench.model.step import step
from workbench.phrases import flag, join_phrases, phrase
from workbench.work import Progress


@command("Approve a revision", menu="History", shortcut="Ctrl+Shift+A", icon="approve")
def approve(
    state: State,
    revision: RevisionId | None = None,
    *,
    by: Signature,
    note: Note = "",
    accept: Annotated[tuple[str, ...], Kind.LINE, Called("Accepted objections", "NAME=REASON")] = (),
    table: TableName = FIRST,
) -> Job[tuple[Objection, ...]]:
    """Approve a revision under your name; only then can it be exported.

    What speaks against it is listed first; each such objection must be accepted by its name, after looking into it.

    Args:
        revision: which revision; the current one if not given.
        by: your name.
        note: kept with the approval, in your words.
        accept: NAME=REASON, an objection that you have examined and accept, and why; the reason is kept.
        table: the table whose current revision is meant; the first one if not given.

    Example:
        approve car.session --by "A. Calibrator" --accept "not-driven-since=rounding only, driven before"
    """
    if not by.strip():
        raise InputError(
            "An approval needs your name.", phrase("Give your name with {by_flag}.", by_flag=flag("by", "NAME"))
        )
    wanted = state.head(table) if revision is None else state.history.revision(revision)
    if wanted.id in state.history.approvals and stored_as_approved(state, wanted) and not fallen_grounds(state, wanted):
        raise InputError(
            phrase(
                "Revision {wanted} is approved already, by {by}.",
                wanted=wanted.id,
                by=state.history.approvals[wanted.id].by,
            ),
            "No further approval is needed.",
        )
    chain_digests(Path(state.path), state.sequence)
    weighed = yield from standing_against(state, wanted)
    standing = weighed.objections
    reasons = {name.strip(): reason.strip() for name, _, reason in (each.partition("=") for each in accept)}
    _check_accepted(wanted, standing, reasons)
    told = [f"{name}: {reason}" for name, reason in reasons.items()]
    kept = "; ".join(part for part in (note.strip(), *told) if part)
    return approved(state, wanted, standing, by, kept, weighed.rests_on)


@dataclass(frozen=True, eq=False)
class Weighed:
    """What all drives say of a revision, and what speaks against approving it.

    Attributes:
        found: the evidence; None where the drives give none.
        refusal: why they give none; empty where they do, or where there are none.
        objections: as they are shown everywhere.
    """

    found: Evidence | None
    refusal: str
    objections: tuple[Objection, ...]

    @property
    def rests_on(self) -> tuple[int, ...]:
        """The drives that give the evidence."""
        return () if self.found is None else self.found.drives


def standing_against(state: State, wanted: Revision) -> Generator[Progress, None, Weighed]:
    """Gather what all drives say of a revision, and list what speaks against approving it."""
    if not state.drives:
        return Weighed(None, "", against(state, wanted, None))
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
        return Weighed(None, str(refusal), (*against(state, wanted, None), silent))
    return Weighed(found, "", against(state, wanted, found, prediction))


def approved(
    state: State, wanted: Revision, standing: tuple[Objection, ...], by: str, note: str, rests_on: tuple[int, ...]
) -> Answer[tuple[Objection, ...]]:
    """Approve a revision, all that speaks against it being accepted; what its evidence rests on is kept with it."""
    accepted = tuple(each.name for each in standing)
    looked_into = {name: given.reason for name, given in state.acknowledged.items()} or None
    storage = state.ecu_format(wanted.table.name).storage
    sentences = {each.name: str(each.sentence) for each in standing}
    approval = Approval(by.strip(), note, now(), accepted, storage, looked_into, sentences or None, rests_on or None)
    data: dict[str, Json] = {
        "revision": wanted.id,
        "table": wanted.table.name,
        "by": approval.by,
        "accepted": list(accepted),
        "rested_on": list(rests_on),
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
        *((phrase("It rests on drive {named}.", named=", ".join(map(str, rests_on))),) if rests_on else ()),
        *(f"Accepted: {each.name}. {each.sentence}" for each in standing),
        *(f"Acknowledged: {name}. {reason}" for name, reason in (looked_into or {}).items()),
        *(() if after is None else (after.line,)),
    )
    return Answer(standing, lambda: data, lines, change)


def _check_accepted(wanted: Revision, standing: tuple[Objection, ...], reasons: Mapping[str, str]) -> None:
    """Refuse where an objection is not named, or named without a reason."""
    names = [each.name for each in standing]
    unknown = [name for name in reasons if name not in names]
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
    open_ones = [each for each in standing if not reasons.get(each.name)]
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
                "Look into each, then accept it with your reason, which is kept: {accepted}",
                accepted=join_phrases(
                    " ",
                    (flag("accept", f'"{each.name}=REASON"') for each in open_ones),
                ),
            ),
        )
        refusal.details["objections"] = [objection_json(each) for each in standing]
        raise refusal
