"""What an approval rested on, and whether all of it still counts."""

from workbench.model.evidence import Evidence
from workbench.model.history import Revision
from workbench.model.log import Drive, renaming_note
from workbench.model.state import State
from workbench.phrases import join_phrases, phrase


def fallen_grounds(state: State, revision: Revision, evidence: Evidence | None = None) -> str:
    """Name the drives that an approval rested on and that no longer count as they did then; empty where all do.

    Args:
        state: the session.
        revision: approved or not.
        evidence: of its table; None where it was not gathered, and only what was said of the logs tells.
    """
    approval = state.history.approvals.get(revision.id)
    if approval is None or not approval.rested_on:
        return ""
    since = state.history.approved_at[revision.id]
    known = {drive.id: drive for drive in (*state.drives, *state.removed)}
    removed = {drive.id for drive in state.removed}
    silent = {} if evidence is None else evidence.unused
    said = []
    for number in approval.rested_on:
        if number not in known:
            continue
        name = known[number].log.name
        if number in removed:
            said.append(phrase("{log} was taken out since", log=name))
        elif number in silent:
            said.append(phrase("{log} does not count any more", log=name))
        else:
            said += _changes(known[number], _as_it_was(state, known[number], since))
    if not said:
        return ""
    return phrase(
        "The approval of revision {id} rested on drives that no longer count as they did: {said}. Look at the evidence "
        "again before this table is used, and approve it again.",
        id=revision.id,
        said=join_phrases("; ", said),
    )


def _as_it_was(state: State, drive: Drive, since: int) -> Drive:
    """Return a drive as it was when a change of that number was made."""
    changed = (
        each for each in state.done if each.kind == "log" and each.sequence > since and str(drive.id) in each.about
    )
    first = next(changed, None)
    before = first.before if first is not None else None
    return before if isinstance(before, Drive) else drive


def _changes(drive: Drive, before: Drive) -> list[str]:
    """Say what of a drive is otherwise than it was, so that it speaks no more as it did."""
    said = []
    if (drive.revision, drive.others) != (before.revision, before.others):
        said.append(phrase("{log} is said to be driven on another revision since", log=drive.log.name))
    if _is_read_otherwise(drive, before):
        said.append(phrase("{log} is read otherwise since", log=drive.log.name))
    if not set(drive.left_out) <= set(before.left_out):
        said.append(phrase("part of {log} was left out since", log=drive.log.name))
    return said


def _is_read_otherwise(drive: Drive, before: Drive) -> bool:
    """Tell whether roles, units or values of a log are meant otherwise; another name of a channel alone is not that.

    But for the wideband's: it may tell the bank that it sits in.
    """
    now, then = drive.as_read, before.as_read
    was = {new.name: old.name for old, new in zip(then.channels, now.channels, strict=False)}
    renamed = {renaming_note(old, new) for new, old in was.items() if new != old}
    roles = {role: was.get(name, name) for role, name in now.roles.items()}
    sensor = now.roles.get("lambda_measured", "")
    return (
        (drive.wideband, roles, [each.unit for each in now.channels])
        != (before.wideband, then.roles, [each.unit for each in then.channels])
        or not set(now.notes) <= {*then.notes, *renamed}
        or was.get(sensor, sensor) != sensor
    )
