"""Undo and redo of whatever was recorded last: tables, logs, settings, storage, cautions, branches and marks."""

from workbench.commands.declaring.kinds import FIRST, TableName
from workbench.commands.declaring.making import changed_cells, leaner_than_driven
from workbench.commands.declaring.registry import Answer, command
from workbench.commands.declaring.telling import plain
from workbench.errors import NothingToUndoError
from workbench.model.deed import Acknowledgement, Deed
from workbench.model.history import Json, Revision
from workbench.model.log import Drive
from workbench.model.state import DoneAgain, HeadMoved, Settings, State, TakenBack
from workbench.phrases import phrase

SETTINGS = {  # by field
    "part_throttle_target": "the target at part throttle",
    "full_throttle_target": "the target at full throttle",
    "stoichiometric_afr": "the air-fuel ratio at lambda 1",
    "gates": "the gates",
    "wideband": "where the wideband sits",
    "limits": "the limits of cautions",
    "wideband_tolerance": "the wideband's tolerance",
}


@command("Undo", menu="History", shortcut="Ctrl+Z", icon="undo", opens="nothing")
def undo(state: State, *, table: TableName = FIRST) -> Answer[Revision | Deed]:
    """Undo the last change to a table, a log, the settings or a caution; nothing is lost, redo restores it.

    Approvals and exports stay.

    Args:
        table: undo only changes of this table; the last change of any kind if not given.

    Example:
        undo car.session
    """
    if table or not state.done:
        head = state.head(table)
        if head.parent is None:
            raise NothingToUndoError(
                phrase("Revision {head} is the first of {table!r}.", head=head.id, table=head.table.name),
                "Nothing can be undone.",
            )
        return _moved(state, head, head.parent)
    deed = state.done[-1]
    if deed.kind == "revision":
        return _moved(state, state.head(deed.about[0]), int(str(deed.before)))
    return _answer(state, deed, f"Undone: {deed_words(state, deed)}.", TakenBack(deed.sequence))


@command("Redo", menu="History", shortcut="Ctrl+Shift+Z", icon="redo", opens="nothing")
def redo(state: State, *, table: TableName = FIRST) -> Answer[Revision | Deed]:
    """Redo the change that was last undone.

    Args:
        table: redo only changes of this table; the last undone change if not given.

    Example:
        redo car.session
    """
    if not table and state.undone:
        deed = state.undone[-1]
        if deed.kind == "revision":
            return _moved(state, state.head(deed.about[0]), int(str(deed.after)))
        return _answer(
            state,
            deed,
            phrase("Redone: {deed_words}.", deed_words=deed_words(state, deed)),
            DoneAgain(deed.sequence),
        )
    head = state.head(table)
    child = state.history.left.get(head.id)
    if child is None:
        raise NothingToUndoError(
            phrase("Nothing was undone after revision {head}.", head=head.id), "Nothing can be redone."
        )
    return _moved(state, head, child)


def deed_words(state: State, deed: Deed) -> str:
    """Describe what was done."""
    files = {str(each.id): each.log.name for each in (*state.drives, *state.removed)}
    about = ", ".join(deed.about)
    match deed.kind:
        case "revision":
            revision = state.history.revision(int(str(deed.after)))
            return phrase(
                "revision {revision} of {about!r} ({operation})",
                revision=revision.id,
                about=about,
                operation=revision.operation,
            )
        case "logs":
            return "the log added, " + ", ".join(files.get(number, number) for number in deed.about)
        case "log":
            return phrase(
                "the settings of the log {get}{changed}",
                get=files.get(about, about),
                changed=_changed_of_log(deed),
            )
        case _:
            return _other_words(deed, about)


def _other_words(deed: Deed, about: str) -> str:  # noqa: PLR0911 - one for each kind
    """Describe what is neither of revisions nor of logs."""
    match deed.kind:
        case "format":
            return phrase("the ECU storage of {about!r}", about=about)
        case "input":
            return phrase("the scaling of {channel!r}", channel=deed.about[0])
        case "computed":
            return phrase("the computed channel {about!r}", about=about)
        case "branch":
            return phrase("the branch from revision {about} named {name!r}", about=about, name=deed.after)
        case "car":
            return phrase("the mark of what is in the car, of {about!r}", about=about)
        case "caution":
            return phrase("the caution acknowledged: {about}", about=about)
        case _:
            return _settings_words(deed)


def _settings_words(deed: Deed) -> str:
    """Describe what of the settings was changed."""
    before, after = deed.before, deed.after
    if not (isinstance(before, Settings) and isinstance(after, Settings)):
        return "the session's settings"
    named = [words for field, words in SETTINGS.items() if getattr(before, field) != getattr(after, field)]
    if before.delays == after.delays:
        listed = phrase(" ({named})", named=", ".join(named)) if named else ""
        return phrase("the session's settings{listed}", listed=listed)
    moved = sorted({each.drive for each in {*before.delays} ^ {*after.delays}})
    whose = ", ".join(phrase("drive {number}", number=number) if number else "the car" for number in moved)
    return phrase("the wideband's delay of {whose}", whose=whose)


def _changed_of_log(deed: Deed) -> str:
    """Name what of a log was stated otherwise: roles, revision, wideband, what is left out."""
    if not (isinstance(deed.before, Drive) and isinstance(deed.after, Drive)):
        return ""
    old, new = deed.before, deed.after
    before, after = old.log.roles, new.log.roles
    listed = [f"{role}={after.get(role, '')}" for role in {**before, **after} if before.get(role) != after.get(role)]
    if (old.revision, old.others) != (new.revision, new.others):
        listed.append(phrase("driven on revision {revision}", revision=new.revision))
    if old.wideband != new.wideband:
        listed.append(phrase("wideband {place}", place=new.wideband))
    if old.left_out != new.left_out:
        for each in (*new.left_out, *old.left_out):
            if each not in old.left_out or each not in new.left_out:
                counts = each in old.left_out
                words = "{start:.1f} to {end:.1f} s counts again" if counts else "{start:.1f} to {end:.1f} s left out"
                listed.append(phrase(words, start=each.start, end=each.end))
    return f" ({', '.join(listed)})" if listed else ""


def acts_since(before: State, after: State) -> tuple[str, ...]:
    """Describe what was done between two states of a session, in order; approvals and exports come last."""
    known = {each.sequence for each in before.done}
    kept = {each.sequence for each in after.done}
    found = [
        phrase("{what} taken back", what=deed_words(before, each)) for each in before.done if each.sequence not in kept
    ]
    found += [deed_words(after, each) for each in after.done if each.sequence not in known]
    approved = after.history.approvals.keys() - before.history.approvals.keys()
    found += [phrase("revision {number} approved", number=number) for number in sorted(approved)]
    for made in after.history.exports[len(before.history.exports) :]:
        found.append(phrase("revision {number} exported", number=made.revision))
    return tuple(found)


def _answer(state: State, deed: Deed, line: str, change: TakenBack | DoneAgain) -> Answer[Revision | Deed]:
    reason = deed.after.reason if isinstance(deed.after, Acknowledgement) else ""
    data: dict[str, Json] = {
        "change": deed.sequence,
        "kind": deed.kind,
        "about": list(deed.about),
        "what": deed_words(state, deed),
        **({"reason": reason} if reason else {}),
    }
    return Answer(deed, lambda: data, (line,), change)


def _moved(state: State, head: Revision, to: int) -> Answer[Revision | Deed]:
    target = state.history.revision(to)
    name = head.table.name
    data: dict[str, Json] = {
        "revision": to,
        "from": head.id,
        "table": name,
        "values": plain(target.table.values),
        "changed": changed_cells(head.table, target.table),
    }
    line = phrase(
        "{name!r} is back at revision {to} ({operation}), from revision {head} ({operation_2}).",
        name=name,
        to=to,
        operation=target.operation,
        head=head.id,
        operation_2=head.operation,
    )
    leaner = leaner_than_driven(state, target)
    data["leaner_than_driven"] = leaner or None
    lines = (line, leaner) if leaner else (line,)
    warnings = (leaner,) if leaner else ()
    return Answer(target, lambda: data, lines, HeadMoved(state.table_name(name), to), warnings=warnings)
