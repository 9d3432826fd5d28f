"""Logs that give no evidence for a table though the work waits for them, and what to do about each."""

from dataclasses import replace

import numpy as np

from workbench.commands.evidence.advice import NextStep
from workbench.maths.signals.axes import axis_role
from workbench.maths.verdict.drive_objections import CAUTIONS
from workbench.model.evidence import Evidence
from workbench.model.history import Revision
from workbench.model.log import Drive
from workbench.model.state import State
from workbench.phrases import call, flag


def of_silent_log(state: State, head: Revision, evidence: Evidence | None) -> NextStep | None:
    """Advise what to do about a log that gives no evidence though the work waits for it; None where there is none.

    Args:
        state: the session, with drives if the revision is not approved.
        head: the revision that is worked on.
        evidence: of its table; None while it is not gathered.
    """
    if head.id not in state.history.approvals and (of_none := _of_none(state, head)) is not None:
        return of_none
    if (asking := _asking(state, head)) is not None:
        reason = "What {name} holds is not clear yet: it gives no evidence until its questions are answered."
        values = {"log": str(asking.id), "name": asking.log.name}
        return NextStep("Answer the questions of log {log}", "amend-log", reason, values)
    return _unheard(state, head, evidence)


def with_silent_danger(state: State, evidence: Evidence | None, step: NextStep | None) -> NextStep | None:
    """Tell with a next step of a danger in a log that does not count: the engine was as lean whatever its log is worth.

    Args:
        state: the session.
        evidence: without the cautions that were acknowledged.
        step: as it is without that.
    """
    if step is None or evidence is None:
        return step
    dangers = ((number, each) for number, each in evidence.cautions if each.kind == "danger")
    number, danger = next((each for each in dangers if each[0] not in evidence.drives), (0, None))
    if danger is None:
        return step
    before = [name for name in step.values.get("objections", "").split(", ") if name and name != CAUTIONS]
    values = {
        **step.values,
        "silent": state.drive(number).log.name,
        "danger": danger.sentence,
        "objections": ", ".join((CAUTIONS, *before)),
    }
    told = "Danger in {silent}, which does not count: {danger} "
    return replace(step, reason=told + step.reason, values=values, danger=True)


def with_danger(evidence: Evidence, step: NextStep, alike: frozenset[int]) -> NextStep:
    """Tell with a next step of a danger that came of the table worked on, whatever the step is about.

    Args:
        evidence: without the cautions that were acknowledged.
        step: as it is without that.
        alike: the drives whose dangers stand.
    """
    dangers = (each for number, each in evidence.cautions if each.kind == "danger" and number in alike)
    danger = next((each for each in dangers), None)
    if danger is None or step.danger or danger.sentence in step.values.values():
        return step
    before = [name for name in step.values.get("objections", "").split(", ") if name and name != CAUTIONS]
    values = {**step.values, "standing": danger.sentence, "objections": ", ".join((CAUTIONS, *before))}
    return replace(step, reason="Danger: {standing} " + step.reason, values=values, danger=True)


def _asking(state: State, head: Revision) -> Drive | None:
    """Return the first log of a table that left questions open; once approved, only what was added since counts."""
    approval = state.history.approvals.get(head.id)
    name = head.table.name
    asking = (drive for drive in state.drives if drive.log.questions and state.history.driven(drive, name) is not None)
    return next((drive for drive in asking if approval is None or drive.added > approval.time), None)


def _of_none(state: State, head: Revision) -> NextStep | None:
    """Ask about the latest log where all were added before the table was: which of its revisions was in the car."""
    name = head.table.name
    if any(state.history.driven(drive, name) is not None for drive in state.drives):
        return None
    last = state.drives[-1]
    values = {"log": str(last.id), "name": last.log.name, "table": name}
    reason = (
        "{name} was added before the table {table}: it says nothing of it until you say which of its revisions was in "
        "the car."
    )
    typed = call("amend-log", "SESSION", values["log"], flag("on"), str(head.id))
    return NextStep("Say with which revision log {log} was driven", "amend-log", reason, values, typed)


def _unheard(state: State, head: Revision, evidence: Evidence | None) -> NextStep | None:
    """Tell of a drive that the work waits for and that does not count: the latest one, or one made with a revision.

    One that speaks of another table of the session is not waited for here; nor one from before an approval.
    """
    if evidence is None:
        return None
    approval = state.history.approvals.get(head.id)
    waited_for = [*drives_of(state, head), *state.drives[-1:]]
    silent = (each for each in waited_for if each.id in evidence.unused and not _of_another(state, head, each))
    drive = next((each for each in silent if approval is None or each.added > approval.time), None)
    if drive is None:
        return None
    values = {"log": str(drive.id), "why": evidence.unused[drive.id]}
    return NextStep("Look at log {log}: it does not count", "amend-log", "{why}", values)


def _of_another(state: State, head: Revision, drive: Drive) -> bool:
    """Tell whether a drive logs what feeds the axes of another table of the session."""
    others = [state.table(name) for name in state.history.table_names if name != head.table.name]
    return any(all(axis_role(axis) in drive.log.roles for axis in table.axes) for table in others)


def drives_of(state: State, revision: Revision) -> tuple[Drive, ...]:
    """Return the drives that were driven on a revision."""
    name = revision.table.name
    return tuple(drive for drive in state.drives if state.history.driven(drive, name) is revision)


def driven_alike(state: State, head: Revision) -> frozenset[int]:
    """Number the drives made with a revision or with a table of the same values."""
    name, values = head.table.name, head.table.values
    driven = ((drive.id, state.history.driven(drive, name)) for drive in state.drives)
    return frozenset(
        number for number, made in driven if made is not None and np.array_equal(made.table.values, values)
    )
