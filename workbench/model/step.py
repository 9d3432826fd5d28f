"""How a change leads from one state of a session to the next; every change but two kinds can be taken back."""

from dataclasses import replace

from workbench.errors import InputError, StaleError
from workbench.model.deed import Acknowledgement, Deed, DeedKind, InCar, last_of
from workbench.model.derived import ComputedChannel
from workbench.model.ecu_format import EcuFormat
from workbench.model.history import Approval, History, Revision, Signed
from workbench.model.log import AnalogueInput, Drive
from workbench.model.state import (
    Acknowledged,
    Applied,
    ApprovalSigned,
    Approved,
    BranchNamed,
    Change,
    ChannelComputed,
    DoneAgain,
    DriveAdded,
    DriveCorrected,
    EcuFormatSet,
    Exported,
    HeadMoved,
    InputStated,
    PutInCar,
    Settings,
    SettingsSet,
    State,
    TakenBack,
)
from workbench.phrases import flag, phrase


def step(state: State, change: Change) -> State:  # noqa: C901, PLR0912 - one case for each kind
    """Return the state after a change.

    Raises:
        StaleError: when a revision was made from something that is not the head any more.
        InputError: when the change does not fit the state.
    """
    history = state.history
    match change:
        case Applied(revision, ecu_format):
            after = replace(state, history=_with_revision(history, revision))
            if ecu_format is not None:
                after = _with_ecu_format(after, revision.table.name, ecu_format)
        case HeadMoved(table, to):
            after = replace(state, history=_with_head(history, state.table_name(table), to))
        case Approved(number, approval):
            after = replace(state, history=_with_approval(history, number, approval, state.sequence + 1))
        case ApprovalSigned(number, signed):
            after = replace(state, history=_with_signature(history, number, signed))
        case Exported(export):
            history.revision(export.revision)
            after = replace(state, history=replace(history, exports=(*history.exports, export)))
        case DriveAdded(drives):
            after = _with_drives(state, drives)
        case DriveCorrected():
            after = _with_corrected(state, change)
        case SettingsSet(settings):
            after = replace(state, settings=settings)
        case EcuFormatSet(table, ecu_format):
            after = _with_ecu_format(state, state.table_name(table), ecu_format)
        case InputStated():
            after = _with_input(state, (change.channel, change.unit_read), change.scaling)
        case ChannelComputed(name, computed):
            after = _with_computed(state, name, computed)
        case Acknowledged(acknowledged):
            after = replace(state, acknowledged={**state.acknowledged, acknowledged.caution: acknowledged})
        case BranchNamed(number, name):
            after = _with_branch(state, number, name)
        case PutInCar(mark):
            after = _with_mark(state, mark)
        case TakenBack(undone):
            after = _with_taken_back(state, undone)
        case DoneAgain(redone):
            after = _with_done_again(state, redone)
    return replace(_with_deed(state, after, change), sequence=state.sequence + 1)


def _with_deed(before: State, after: State, change: Change) -> State:  # noqa: C901 - one case for each kind
    """Note what a change did, so that it can be taken back; what was taken back before is then given up."""
    if isinstance(change, HeadMoved):
        return _with_head_deed(before, after, change)
    deed: tuple[DeedKind, tuple[str, ...], object, object] | None = None
    match change:
        case Applied(revision, _) if revision.parent is not None:
            deed = "revision", (revision.table.name,), revision.parent, revision.id
        case DriveAdded(drives):
            deed = "logs", tuple(str(each.id) for each in drives), (), drives
        case DriveCorrected():
            deed = "log", (str(change.drive),), before.drive(change.drive), after.drive(change.drive)
        case SettingsSet():
            deed = "settings", ("",), before.settings, after.settings
        case EcuFormatSet(table, _):
            name = before.table_name(table)
            deed = "format", (name,), before.ecu_format(name), after.ecu_format(name)
        case InputStated(channel, unit_read, scaling):
            deed = "input", (channel, unit_read), before.inputs.get((channel, unit_read)), scaling
        case ChannelComputed(name, computed):
            deed = "computed", (name,), before.computed.get(name), computed
        case Acknowledged() | BranchNamed() | PutInCar():
            deed = _said_deed(before, after, change)
    if deed is None:
        return after
    return replace(after, done=(*after.done, Deed(before.sequence + 1, *deed)), undone=())


def _said_deed(
    before: State, after: State, change: Acknowledged | BranchNamed | PutInCar
) -> tuple[DeedKind, tuple[str, ...], object, object]:
    """Return what was said besides: of a caution, a branch, or what is in the car."""
    match change:
        case Acknowledged(acknowledged):
            return "caution", (acknowledged.caution,), before.acknowledged.get(acknowledged.caution), acknowledged
        case BranchNamed(number, name):
            return "branch", (str(number),), before.branches.get(number, ""), name
        case PutInCar(mark):
            name = before.history.revision(mark.revision).table.name
            return "car", (name,), before.in_car.get(name, ()), after.in_car[name]


def _with_head_deed(before: State, after: State, change: HeadMoved) -> State:
    """Move the deed of a revision between what is done and what is undone, as undo and redo move the head."""
    name = before.table_name(change.table)
    here = before.history.heads[name]
    if before.history.revision(here).parent == change.to:
        deed = last_of(before.done, "revision", name)
        return after if deed is None else _moved(after, deed, back=True)
    deed = Deed(before.sequence + 1, "revision", (name,), here, change.to)
    kept = tuple(each for each in after.undone if (each.kind, each.after) != ("revision", change.to))
    return replace(after, done=(*after.done, deed), undone=kept)


def _moved(state: State, deed: Deed, *, back: bool) -> State:
    done, undone = (tuple(each for each in part if each is not deed) for part in (state.done, state.undone))
    if back:
        return replace(state, done=done, undone=(*undone, deed))
    return replace(state, done=(*done, deed), undone=undone)


def _with_taken_back(state: State, sequence: int) -> State:
    at = next((i for i, each in enumerate(state.done) if each.sequence == sequence), None)
    if at is None or any(state.done[at].touches(later) for later in state.done[at + 1 :]):
        raise StaleError("The session was changed meanwhile.", "Check the last change, then undo again.")
    deed = state.done[at]
    return _moved(_holding(state, deed, deed.before), deed, back=True)


def _with_done_again(state: State, sequence: int) -> State:
    deed = next((each for each in state.undone if each.sequence == sequence), None)
    if deed is None:
        raise StaleError("The session was changed meanwhile.", "Nothing is left to redo.")
    return _moved(_holding(state, deed, deed.after), deed, back=False)


def _holding(state: State, deed: Deed, value: object) -> State:  # noqa: PLR0911 - one for each kind
    """Return the state in which what a deed is about is as it was before it, or after it."""
    match deed.kind, value:
        case "settings", Settings():
            return replace(state, settings=value)
        case "format", EcuFormat():
            return replace(state, ecu_formats={**state.ecu_formats, deed.about[0]: value})
        case "log", Drive():
            new = state.derived(value)
            return replace(state, drives=tuple(new if each.id == value.id else each for each in state.drives))
        case "logs", tuple():
            return _with_logs(state, deed)
        case "input", None | AnalogueInput():
            return _with_input(state, (deed.about[0], deed.about[1]), value)
        case "computed", None | ComputedChannel():
            return _with_computed(state, deed.about[0], value)
    return _holding_said(state, deed, value)


def _holding_said(state: State, deed: Deed, value: object) -> State:
    """Do the same for what was said of a caution, a branch, or what is in the car."""
    match deed.kind, value:
        case "branch", str():
            return _with_branch(state, int(deed.about[0]), value)
        case "car", tuple():
            return replace(state, in_car={**state.in_car, deed.about[0]: value})
        case "caution", None:
            kept = {name: given for name, given in state.acknowledged.items() if name != deed.about[0]}
            return replace(state, acknowledged=kept)
        case "caution", Acknowledgement():
            return replace(state, acknowledged={**state.acknowledged, value.caution: value})
    raise StaleError(
        "This cannot be undone.",
        phrase("Undo the table's changes with undo {table_flag}.", table_flag=flag("table")),
    )


def _with_input(state: State, key: tuple[str, str], scaling: AnalogueInput | None) -> State:
    kept = {name: each for name, each in state.inputs.items() if name != key}
    return _derived(replace(state, inputs=kept if scaling is None else {**kept, key: scaling}))


def _with_computed(state: State, name: str, computed: ComputedChannel | None) -> State:
    kept = {each: known for each, known in state.computed.items() if each != name}
    return _derived(replace(state, computed=kept if computed is None else {**kept, name: computed}))


def _derived(state: State) -> State:
    """Lay what is stated of channels over all logs anew."""
    return replace(
        state,
        drives=tuple(state.derived(each) for each in state.drives),
        removed=tuple(state.derived(each) for each in state.removed),
    )


def _with_branch(state: State, number: int, name: str) -> State:
    table = state.history.revision(number).table.name
    for other, taken in state.branches.items():
        if name and taken == name and other != number and state.history.revision(other).table.name == table:
            raise InputError(
                phrase("The branch from revision {other} is called {name!r} already.", other=other, name=name),
                "Choose another name, or rename that branch first.",
            )
    named = {other: kept for other, kept in state.branches.items() if other != number}
    return replace(state, branches={**named, number: name} if name else named)


def _with_mark(state: State, mark: InCar) -> State:
    name = state.history.revision(mark.revision).table.name
    marks = sorted((*state.in_car.get(name, ()), mark), key=lambda each: each.since)
    return replace(state, in_car={**state.in_car, name: tuple(marks)})


def _with_logs(state: State, deed: Deed) -> State:
    """Take the logs of a deed out, or put them back where they were."""
    moved = {int(number) for number in deed.about}
    out = any(each.id in moved for each in state.drives)
    every = sorted((*state.drives, *state.removed), key=lambda each: each.id)
    gone = {each.id for each in state.removed} | moved if out else {each.id for each in state.removed} - moved
    drives = tuple(each for each in every if each.id not in gone)
    return replace(state, drives=drives, removed=tuple(each for each in every if each.id in gone))


def _with_approval(history: History, number: int, approval: Approval, sequence: int) -> History:
    history.revision(number)
    return replace(
        history,
        approvals={**history.approvals, number: approval},
        approved_at={**history.approved_at, number: sequence},
        signatures={**history.signatures, number: ()},
    )


def _with_signature(history: History, number: int, signed: Signed) -> History:
    if history.approved_at.get(number) != signed.approval:
        raise StaleError(
            phrase("Revision {number} was approved again meanwhile.", number=number),
            "Check the new approval, then sign it.",
        )
    return replace(history, signatures={**history.signatures, number: (*history.signatures[number], signed)})


def _with_drives(state: State, drives: tuple[Drive, ...]) -> State:
    numbers = [drive.id for drive in drives]
    if numbers != list(range(state.next_drive, state.next_drive + len(drives))):
        raise StaleError("Other logs were added meanwhile.", "Add these again.")
    for number in {number for drive in drives for number in (drive.revision, *drive.others.values())}:
        state.history.revision(number)
    return replace(state, drives=state.drives + tuple(state.derived(drive) for drive in drives))


def _with_corrected(state: State, change: DriveCorrected) -> State:
    for number in (change.revision, *change.others.values()):
        state.history.revision(number)
    old = state.drive(change.drive)
    new = state.derived(change.applied(old))
    return replace(state, drives=tuple(new if drive is old else drive for drive in state.drives))


def _with_ecu_format(state: State, table: str, ecu_format: EcuFormat) -> State:
    ecu_format.check(state.table(table))
    return replace(state, ecu_formats={**state.ecu_formats, table: ecu_format})


def _with_revision(history: History, revision: Revision) -> History:
    name = revision.table.name
    if revision.id != history.next_id or history.heads.get(name) != revision.parent:
        raise StaleError("The table was changed meanwhile.", "Look at the current table, then do it again.")
    return replace(history, revisions=(*history.revisions, revision), heads={**history.heads, name: revision.id})


def _with_head(history: History, table: str, to: int) -> History:
    here = history.heads[table]
    target = history.revision(to)
    if target.table.name != table:
        raise InputError(
            phrase(
                "Revision {to} is one of the table {table!r}, not of {table_2!r}.",
                to=to,
                table=target.table.name,
                table_2=table,
            ),
            "Name its table.",
        )
    left = dict(history.left)
    if history.revision(here).parent == to:
        left[to] = here
    elif target.parent != here:
        raise StaleError("The current revision was changed meanwhile.", "Look at the history, then undo or redo again.")
    return replace(history, heads={**history.heads, table: to}, left=left)
