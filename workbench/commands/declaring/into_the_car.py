"""What goes into an engine is held against what is in the car now: leaner at high load, it takes a yes by name."""

from collections.abc import Iterator
from dataclasses import dataclass

from workbench.commands.declaring.making import NOT_LEANING, leaning, objection_json
from workbench.errors import InputError
from workbench.files.disk.clock import now
from workbench.model.history import Json, Revision
from workbench.model.state import State
from workbench.phrases import flag, join_phrases, phrase


@dataclass(frozen=True)
class Carried:
    """A revision that is in the car, for all that is known.

    Attributes:
        revision: which.
        since: when it was put there, or its first log since then was added; ISO 8601, UTC.
    """

    revision: Revision
    since: str


def in_the_car(state: State, table: str) -> tuple[Carried, ...]:
    """Return what is in the car: what was put there last, and what was driven last where that was added later."""
    mark = state.carried_at(table, now())
    found = [] if mark is None else [Carried(state.history.revision(mark.revision), mark.since)]
    then = [(state.history.driven(drive, table), drive.added) for drive in state.drives]
    driven = [(revision, added) for revision, added in then if revision is not None]
    if driven and (mark is None or driven[-1][1] >= mark.since):
        last, since = driven[-1]
        for revision, added in reversed(driven):
            if revision is not last:
                break
            since = added
        if not any(each.revision is last for each in found):
            found.append(Carried(last, since))
    return tuple(found)


def accepted_lean(
    state: State, revision: Revision, accept: tuple[str, ...], why: str, *, left: bool
) -> tuple[dict[str, Json], tuple[str, ...]]:
    """Return how a revision that goes into an engine leans high load: on the way to it, and from what is in the car.

    Args:
        state: the session.
        revision: that goes into an engine.
        accept: what is accepted by name.
        why: begins the hint.
        left: whether it was approved, exported or driven already; the lean steps on the way to it were looked into
            then, but not those from what came into the car after that.

    Raises:
        InputError: where it does and that was not accepted by name.
    """
    from workbench.maths.verdict.objections import LEAN_STEP  # looking at a session needs none of what judges it

    lean, warnings = NOT_LEANING if left else leaning(state, revision)
    for data, sentence in _from_the_car(state, revision):
        if sentence not in warnings:
            lean, warnings = (lean if warnings else data), (*warnings, sentence)
    if warnings and LEAN_STEP not in accept:
        hint = phrase("{why} Look into it, then accept it: {flag}.", why=why, flag=flag("accept", LEAN_STEP))
        refusal = InputError(join_phrases(" ", warnings), hint)
        refusal.details["accept"] = [LEAN_STEP]
        raise refusal
    return lean, warnings


def _from_the_car(state: State, revision: Revision) -> Iterator[tuple[dict[str, Json], str]]:
    """Tell of the lean steps from what is in the car that nobody accepted since it is there."""
    from workbench.maths.verdict.objections import lean_step_from

    ecu_format = state.ecu_format(revision.table.name)
    for carried in in_the_car(state, revision.table.name):
        found = lean_step_from(carried.revision, state.history, revision, state.drives, state.settings, ecu_format)
        if found is not None and not _looked_into(state, revision, carried):
            yield {"lean_step": objection_json(found)}, found.sentence


def _looked_into(state: State, revision: Revision, carried: Carried) -> bool:
    """Tell whether the very step from what is in the car was accepted since it is there.

    A draft is held against what is in the car as it is exported; an approval against revisions on the way to it, among
    which what is in the car need not be.
    """
    from workbench.maths.verdict.objections import LEAN_STEP, lean_steps_from

    history = state.history
    if any(
        each.revision == revision.id and not each.approved and each.time > carried.since for each in history.exports
    ):
        return True
    approval = history.approvals.get(revision.id)
    if approval is None or LEAN_STEP not in approval.accepted or approval.time <= carried.since:
        return False
    known = [drive for drive in state.drives if drive.added <= approval.time]
    return carried.revision.id in lean_steps_from(history, revision, known)
