"""The one thing to do next with a table, as the command line and the window both say it."""

import math
from dataclasses import replace

import numpy as np

from workbench.commands.evidence.advice import NextStep
from workbench.commands.evidence.approval_grounds import fallen_grounds
from workbench.commands.evidence.silent_logs import (
    driven_alike,
    drives_of,
    of_silent_log,
    with_danger,
    with_silent_danger,
)
from workbench.commands.evidence.verdict import judged, least_known
from workbench.commands.finding import find
from workbench.maths.verdict.approval_case import Objection, where
from workbench.maths.verdict.cliffs import CARRY, CLIFF
from workbench.maths.verdict.drive_objections import (
    CAUTIONS,
    NOT_DRIVEN,
    OUTSIDE,
    UNPROVEN,
    WORD_NOT_KEPT,
)
from workbench.maths.verdict.high_load import lean_at_full_throttle
from workbench.maths.verdict.objections import objections
from workbench.maths.verdict.prediction_check import PredictionCheck
from workbench.model.evidence import Caution, Evidence, Target
from workbench.model.history import Revision
from workbench.model.state import State
from workbench.phrases import call, flag, phrase, plural_phrase

# Common practice, no source. What saves the engine comes first: a narrow window cuts the end of a line.
DRIVE_WITH_CARE = (
    "drive and stop when the wideband reads leaner than commanded, with a passenger at the laptop, part throttle "
    "first, then pulls one at a time"
)
__all__ = ["CAUTIONS", "NextStep", "PredictionCheck", "drives_of"]  # the window may not use maths
# What is to be looked into before a table goes into an engine even for a trial.
WEIGHTY = ("falling-curve", CLIFF, "lean-step-at-high-load", "step-over-limit", "storage-range")
# In this order they come before approving: what a drive showed to be wrong, and what no drive has shown yet.
UNDONE = (WORD_NOT_KEPT, CAUTIONS, NOT_DRIVEN, UNPROVEN)

# Cautions of what makes the mixture wrong whatever the table says, by their names.
OTHER_CAUSES = ("fuel-pressure", "fuel-supply", "banks-apart", "low-voltage")


def next_step(
    state: State,
    head: Revision,
    evidence: Evidence | None,
    prediction: PredictionCheck | None = None,
    own: Evidence | None = None,
) -> NextStep | None:
    """Choose what to do next with a table.

    A revision that no drive was made with is tried as a draft first, however good it is expected to be; it is approved
    when a drive with it stands in the session and nothing that the drives say speaks against it. What they say later
    counts after an approval too.

    Args:
        state: the session.
        head: the revision that is worked on.
        evidence: of its table; None while it is not gathered.
        prediction: how far the last correction did what it said, where that is known.
        own: what the drives made with this revision say alone; None where there are none, or all are. Where they and
            all drives together disagree, the reason says whose word it is.

    Returns:
        None where only the evidence can tell.
    """
    evidence = without_acknowledged(state, evidence)
    step = _chosen(state, head, evidence, prediction, own)
    fallen = fallen_grounds(state, head, evidence)
    if step is not None and fallen:
        told = {**step.values, "id": str(head.id), "fallen": fallen}
        step = replace(step, reason="{fallen} " + step.reason, values=told)
        if step.word in ("add-log", "export"):  # to flash or to hand over what nobody vouches for any more
            step = replace(step, title="Approve revision {id} again", word="approve", reason="{fallen}")
    if step is not None and evidence is not None and head.id not in state.history.approvals:
        step = with_danger(evidence, step, _alike(state, head, evidence))
    return with_silent_danger(state, evidence, step)


def _chosen(
    state: State, head: Revision, evidence: Evidence | None, prediction: PredictionCheck | None, own: Evidence | None
) -> NextStep | None:
    """Choose what to do next; `evidence` is without the cautions that were acknowledged."""
    if head.id not in state.history.approvals and not state.drives:
        return NextStep("Add the log of a drive", "add-log", "No drive was made with this table yet.")
    if (silent := of_silent_log(state, head, evidence)) is not None:
        return silent
    found = against(state, head, evidence, prediction)
    if head.id in state.history.approvals:
        return _after_approval(state, head, found, evidence, own)
    driven = any(evidence is None or drive.id in evidence.drives for drive in drives_of(state, head))
    step: NextStep | None = None
    exported = {each.approved for each in state.history.exports if each.revision == head.id}
    lean = evidence is not None and _is_lean(state, head, evidence)
    if not driven and _corrected_since_driven(state, head) and not lean:
        drafted = False in exported
        step = None if drafted else _mend(state, head, found)
        step = step or _trial(state, head, found, evidence, drafted=drafted)
    elif evidence is not None and asks_for_place(state, evidence):
        step = _place(evidence)
    elif evidence is not None and not (inside(evidence.part_target) and inside(evidence.full_target)):
        step = _correct(head, evidence, found, own, _alike(state, head, evidence))
    elif evidence is not None and not driven:
        step = _trial(state, head, found, evidence, drafted=False in exported)
    elif evidence is not None and evidence.revision == head.id:
        step = _approve(head, evidence, found, own)
    return None if step is None else replace(step, objections=tuple(each.name for each in found))


def against(
    state: State, revision: Revision, evidence: Evidence | None, prediction: PredictionCheck | None = None
) -> tuple[Objection, ...]:
    """List what speaks against approving a revision, by what is known of it."""
    ecu_format, evidence = state.ecu_format(revision.table.name), without_acknowledged(state, evidence)
    return objections(state.history, revision, state.drives, state.settings, ecu_format, evidence, prediction)


def without_acknowledged(state: State, evidence: Evidence | None) -> Evidence | None:
    """Leave out the cautions that somebody looked into and gave a reason for."""
    if evidence is None or not state.acknowledged:
        return evidence
    left = tuple(each for each in evidence.cautions if state.acknowledgement(*each) is None)
    return evidence if len(left) == len(evidence.cautions) else replace(evidence, cautions=left)


def stored_as_approved(state: State, revision: Revision) -> bool:
    """Return whether the ECU stores an approved revision as it did when it was approved."""
    return state.history.approvals[revision.id].storage == state.ecu_format(revision.table.name).storage


def _after_approval(
    state: State, head: Revision, found: tuple[Objection, ...], evidence: Evidence | None, own: Evidence | None
) -> NextStep:
    values = {"id": str(head.id)}
    approval = state.history.approvals[head.id]
    if not stored_as_approved(state, head):
        reason = "The ECU storage settings have changed since approval: check what the ECU would store now."
        return NextStep("Approve revision {id} again", "approve", reason, values)
    newer = any(drive.added > approval.time for drive in state.drives)
    speaking = [
        each
        for each in found
        if (each.name.endswith(OUTSIDE) or each.name in (WORD_NOT_KEPT, CAUTIONS))
        and (newer or each.name not in approval.accepted)
    ]
    if speaking:
        why = {**values, "why": speaking[0].sentence, "objections": ", ".join(each.name for each in speaking)}
        reason = "Revision {id} is approved, but drives since then raise objections. {why}"
        if speaking[0].name.endswith(OUTSIDE):
            return NextStep("Correct again", "correct", reason, why)
        return NextStep("Look at the evidence again", "evidence", reason, why)
    contrary = _contrary(head, evidence, own) if evidence is not None and newer else None
    if contrary is not None:
        return contrary
    if any(each.approved and each.revision == head.id for each in state.history.exports):
        reason = "Flash revision {id}, drive, and add the new log."
        if all(state.history.driven(drive, head.table.name) is not head for drive in state.drives):
            reason = "Flash revision {id}, with which no drive was made yet; {care}. Then add the new log."
        return NextStep("Add the next drive", "add-log", reason, {**values, "care": DRIVE_WITH_CARE})
    return NextStep("Export revision {id}", "export", "It is approved.", values)


def asks_for_place(state: State, evidence: Evidence) -> bool:
    """Return whether the logs leave open where the wideband sits, and nobody said yet that it cannot be told."""
    return state.settings.wideband == "auto" and "unknown" in evidence.wideband.values()


def _place(evidence: Evidence) -> NextStep:
    open_ones = [str(number) for number, place in evidence.wideband.items() if place == "unknown"]
    reason = (
        "Log {logs} cannot tell before or after the catalyst, so most of what the wideband reads there is left out, at "
        "full throttle too."
    )
    typed = call("settings", "SESSION", flag("wideband"), "before (or after the catalyst, or unknown)")
    return NextStep("Say where the wideband sits", "settings", reason, {"logs": ", ".join(open_ones)}, typed)


def _correct(
    head: Revision,
    evidence: Evidence,
    found: tuple[Objection, ...],
    own: Evidence | None,
    alike: frozenset[int],
) -> NextStep:
    """Advise correcting; what the table must not make up for is looked into before.

    Args:
        head: the revision that is worked on.
        evidence: of its table, without the cautions that were acknowledged.
        found: what speaks against it.
        own: what the drives made with it say alone.
        alike: the drives made with it, or with a table of the same values: the engine met these.
    """
    title = plural_phrase(len(evidence.drives), "Correct from {n} drive", "Correct from {n} drives")
    reason = "Part of what was driven is outside its target."
    if own is not None and all(inside(target) for target, _ in judged(evidence, own)):
        reason = (
            "All drives together show part of what was driven outside its target; those made with revision {id} alone "
            "show it inside."
        )
    if evidence.disputed.any():
        reason = (
            "Part of what was driven is outside its target, but the drives disagree: find out why first, or choose "
            "the drives to use."
        )
    values = {"id": str(head.id), "n": str(len(evidence.drives)), "objections": ""}
    # A danger that came of this table is told first of all, also where a roll-back brought the table back.
    waiting = evidence.cautions if any(each.name == CAUTIONS for each in found) else ()
    doubt = next((each for _, each in waiting if _is_no_matter_of_the_table(each)), None)
    danger = next((each for number, each in evidence.cautions if each.kind == "danger" and number in alike), None)
    if doubt is not None:
        why = {**values, "why": doubt.sentence, "objections": CAUTIONS}
        return NextStep("Look at the cautions", "cautions", "Before the table is corrected: {why}", why)
    if danger is not None:
        why = {**values, "why": danger.sentence, "rest": reason, "objections": CAUTIONS}
        return NextStep(title, "correct", "Danger: {why} {rest}", why, danger=True)
    if any(not each.passes for _, each in waiting):  # they weaken the evidence, and stand in its intervals and notes
        values["objections"] = CAUTIONS
    return NextStep(title, "correct", reason, values)


def _is_lean(state: State, head: Revision, evidence: Evidence) -> bool:
    """Tell whether a danger that nobody acknowledged stands on: full throttle is expected lean with this table too."""
    danger = any(each.passes and each.kind == "danger" for _, each in evidence.cautions)
    return danger and evidence.revision == head.id and lean_at_full_throttle(evidence, state.settings.limits.lean)


def _alike(state: State, head: Revision, evidence: Evidence) -> frozenset[int]:
    """Number the drives whose dangers stand: made with a table of these values, or all while it is as lean."""
    return frozenset(evidence.drives) if _is_lean(state, head, evidence) else driven_alike(state, head)


def _is_no_matter_of_the_table(caution: Caution) -> bool:
    """Tell whether a caution is of a cause that no table may make up for; a log that is slow, say, is none."""
    return not caution.passes and (caution.kind == "danger" or caution.name.startswith(OTHER_CAUSES))


def _least_known(evidence: Evidence, own: Evidence | None) -> dict[str, str]:
    """Name the cell that is known less closely than its target asks, and how closely; empty where none is."""
    known = (least_known(target, pooled) for target, pooled in judged(evidence, own))
    blurred = [each for each in known if each.widest > each.limit]
    least = max(blurred, key=lambda each: each.widest / each.limit, default=None)
    if least is None or least.widest_cell is None:
        return {}
    return {"where": evidence.table.cell_name(least.widest_cell), "half": f"{100 * least.widest:.1f}"}


def _contrary(head: Revision, evidence: Evidence, own: Evidence | None) -> NextStep | None:
    """Advise another drive where those made with a revision show it outside, and all drives together inside."""
    targets = judged(evidence, own)
    out = next((target for target, pooled in targets if not inside(target) and inside(pooled)), None)
    if out is None or out.worst_cell is None:
        return None
    reason = (
        "The drives made with revision {id} show {where} outside its target, {error} % off; all drives together show "
        "it inside. Another drive with revision {id} tells which is right."
    )
    values = {"id": str(head.id), "where": evidence.table.cell_name(out.worst_cell), "error": f"{100 * out.worst:+.1f}"}
    return NextStep("Add another drive", "add-log", reason, values)


def _approve(head: Revision, evidence: Evidence, found: tuple[Objection, ...], own: Evidence | None) -> NextStep:
    """Advise approving, or what is to be seen to before."""
    contrary = _contrary(head, evidence, own)
    if contrary is not None:
        return contrary
    one_cell = [each for each in found if each.name.endswith(UNPROVEN) and each.cells]  # no reason to drive all again
    rest = [each for each in found if each not in one_cell]
    undone = next((each for ending in UNDONE for each in rest if each.name.endswith(ending)), None)
    if undone is None:
        reason = "It was driven, and everything driven is inside its target."
        if not all(target.measured for target, _ in judged(evidence, own) if target.worst_cell is not None):
            reason = "It was driven, and what was driven with it is inside its target; the rest is expected to be."
        least = _least_known(evidence, own)
        if least:
            reason = "Everything driven is inside its target, but {where} is known only to ±{half} %."
        weighty = ", ".join(each.name for each in found if each.name in WEIGHTY)
        if weighty:
            reason = "Everything driven is inside its target. Objections: {objections}. Look into them first."
        return NextStep(
            "Approve revision {id}", "approve", reason, {"id": str(head.id), "objections": weighty, **least}
        )
    why = {"id": str(head.id), "why": undone.sentence, "objections": undone.name}
    reason = "Before revision {id} is approved: {why}"
    if undone.name == CAUTIONS:
        return NextStep("Look at the cautions", "cautions", reason, why)
    return NextStep("Add another drive", "add-log", reason, why)


def _trial(
    state: State, head: Revision, found: tuple[Objection, ...], evidence: Evidence | None, *, drafted: bool
) -> NextStep:
    """Advise trying a revision as a draft; what no table may make up for is named first."""
    weighty = [each.name for each in found if each.name in WEIGHTY]
    lasting = _lasting(state, evidence)
    values = {"id": str(head.id), "care": DRIVE_WITH_CARE, "objections": ", ".join(weighty)}
    if lasting:
        values |= {"objections": ", ".join((CAUTIONS, *weighty)), "why": lasting}
    if drafted:
        reason = "Flash the draft; {care}. Then add the log, stating that revision {id} was in the car."
        if lasting:
            reason = "{why} Look into that first. Then flash the draft; {care}; add the log, stating revision {id}."
        return NextStep("Add the drive with revision {id}", "add-log", reason, values)
    reason = (
        "No drive was made with revision {id} yet: export it as a draft, flash that, {care}; then add the log. It is "
        "not approved."
    )
    if lasting:
        reason = (
            "{why} Look into that before revision {id} goes into the car. Then export it as a draft, flash that, "
            "{care}; then add the log. It is not approved."
        )
    elif weighty:
        reason = (
            "Objections to revision {id}: {objections}. Look into them first. Then export it as a draft, flash that, "
            "{care}; then add the log. It is not approved."
        )
    elif drives_of(state, head):
        reason = (
            "No drive with revision {id} gives evidence of this table yet: export it as a draft, flash that, {care}; "
            "then add the log. It is not approved."
        )
    return NextStep("Export a draft of revision {id}", "export", reason, values)


def _lasting(state: State, evidence: Evidence | None) -> str:
    """Return what the first open caution says of a cause that no table may make up for; empty where none is."""
    names = {drive.id: drive.log.name for drive in state.drives}
    open_ones = () if evidence is None else evidence.cautions
    said = (
        phrase("{log}: {caution}", log=names[number], caution=caution.sentence)
        for number, caution in open_ones
        if _is_no_matter_of_the_table(caution) and number in names
    )
    return next(said, "")


def _mend(state: State, head: Revision, found: tuple[Objection, ...]) -> NextStep | None:
    """Advise what mends a step beside undriven cells, or a falling curve, that a correction left; None where none is.

    Beside undriven cells that were left alone it is carried on, once. Else a fall is drawn level by as little as
    needed.
    """
    cliff = next((each for each in found if each.name == CLIFF), None)
    if cliff is not None and CARRY in cliff.remedies and not _carried_on(state, head):
        reason = "{why}"
        return NextStep(
            "Carry the correction on", CARRY, reason, {"id": str(head.id), "why": cliff.sentence, "objections": CLIFF}
        )
    fall = next((each for each in found if each.name == "falling-curve"), None)
    line = state.history.line(head.id)
    made = max(number for number, each in enumerate(line) if each.origin == "measured")
    if fall is None or head.table.values[0] > head.table.values[-1] or not line[made].table.same_axes(head.table):
        return None
    weighty = ", ".join(each.name for each in found if each.name in WEIGHTY)
    values = {"id": str(head.id), "where": where(head.table, fall.cells), "objections": weighty}
    standing = np.array(line[made].arguments["standing"])
    beside = any("undriven" in standing[at - 1 : at + 1] for (at,) in fall.cells)
    if beside and not _carried_on(state, head):
        reason = (
            "The curve of revision {id} falls at {where}, beside undriven cells that the correction did not change: "
            "carry the correction on to them, or drive there."
        )
        return NextStep("Carry the correction on", "carry-on", reason, values)
    reason = "The curve of revision {id} falls at {where}: raise the falling cells by as little as needed."
    return NextStep("Keep the curve rising", "keep-rising", reason, values)


def _carried_on(state: State, head: Revision) -> bool:
    """Tell whether the latest correction on the way was carried on since."""
    line = state.history.line(head.id)
    made = max((number for number, each in enumerate(line) if each.origin == "measured"), default=0)
    return any(each.operation == "carry-on" for each in line[made:])


def _corrected_since_driven(state: State, head: Revision) -> bool:
    """Tell whether nothing but a correction, and what is done to round it off, lies between the car and a revision."""
    each = head
    while _rounds_off(each) and each.parent is not None and not drives_of(state, each):
        each = state.history.revision(each.parent)
    return each.origin == "measured" and not drives_of(state, each)


def _rounds_off(revision: Revision) -> bool:
    """Return whether a revision only rounds off the one before it, as its command declares."""
    command = find(revision.operation)
    return command is not None and command.rounds_off


def inside(target: Target) -> bool:
    """Return whether nothing that was driven is outside; so it is where nothing was."""
    return math.isnan(target.worst) or abs(target.worst) <= target.limit
