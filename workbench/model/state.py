"""The whole of a session as a frozen value, and the changes that lead from one to the next."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from workbench.errors import InputError, StaleError
from workbench.model.ecu_format import AS_IS, EcuFormat
from workbench.model.gate import Gates
from workbench.model.history import Approval, Export, History, Revision, Signed
from workbench.model.log import Channel, Column, Drive, Role, Wideband
from workbench.model.table import Table


@dataclass(frozen=True)
class Settings:
    """What a session states about its car and its goal.

    Attributes:
        part_throttle_target: largest error wanted at part throttle, as a ratio (common practice, no source).
        full_throttle_target: the same at full throttle.
        stoichiometric_afr: air-fuel ratio at lambda 1 of the fuel, for channels logged as AFR.
        gates: limits of the gates.
        wideband: where the car's wideband sits, for the drives of which nothing else is said; "auto" leaves it to be
            recognised from all of them together.
    """

    part_throttle_target: float = 0.05
    full_throttle_target: float = 0.01
    stoichiometric_afr: float = 14.7
    gates: Gates = field(default_factory=Gates)
    wideband: Wideband = "auto"


@dataclass(frozen=True)
class State:
    """A session at one moment.

    Attributes:
        path: of the session file, as text.
        history: all revisions, heads and approvals.
        drives: the logs, each tied to a revision.
        settings: targets, fuel and gates.
        sequence: number of changes recorded so far; tells whether another process wrote meanwhile.
        ecu_formats: table name -> how the ECU keeps it, where that was said.
    """

    path: str
    history: History
    drives: tuple[Drive, ...] = ()
    settings: Settings = field(default_factory=Settings)
    sequence: int = 0
    ecu_formats: Mapping[str, EcuFormat] = field(default_factory=dict)

    def table_name(self, name: str | None = None) -> str:
        """Give the name, or that of the session's first table.

        Raises:
            InputError: when the session has no table of that name.
        """
        names = self.history.table_names
        if name is None or name == "":
            return names[0]
        if name not in names:
            raise InputError(f"This session has no table {name!r}.", "It has: " + ", ".join(names) + ".")
        return name

    def head(self, name: str | None = None) -> Revision:
        """Give the head revision of a table (by default the first)."""
        return self.history.revision(self.history.heads[self.table_name(name)])

    def table(self, name: str | None = None) -> Table:
        """Give the table as it is at its head."""
        return self.head(name).table

    def ecu_format(self, name: str | None = None) -> EcuFormat:
        """Tell how the ECU keeps a table (by default the first)."""
        return self.ecu_formats.get(self.table_name(name), AS_IS)

    def drive(self, number: int) -> Drive:
        """Find a drive.

        Raises:
            InputError: when there is none of that number.
        """
        if not 1 <= number <= len(self.drives):
            known = f"It has 1 to {len(self.drives)}." if self.drives else "It has none yet: add one with add-log."
            raise InputError(f"There is no drive {number} in this session.", known)
        return self.drives[number - 1]


@dataclass(frozen=True)
class Applied:
    """A revision was made from the head of its table, or a new table was brought in, with how the ECU keeps it."""

    revision: Revision
    ecu_format: EcuFormat | None = None


@dataclass(frozen=True)
class HeadMoved:
    """Undo or redo moved the head of a table to another revision."""

    table: str
    to: int


@dataclass(frozen=True)
class Approved:
    """A revision was approved."""

    revision: int
    approval: Approval


@dataclass(frozen=True)
class ApprovalSigned:
    """The approval of a revision was signed."""

    revision: int
    signed: Signed


@dataclass(frozen=True)
class Exported:
    """A revision was handed over as a file."""

    export: Export


@dataclass(frozen=True)
class DriveAdded:
    """One or more logs were added."""

    drives: tuple[Drive, ...]


@dataclass(frozen=True)
class Reread:
    """How the values of a channel without unit become those of its new role: value * factor + offset.

    Attributes:
        unit: they are in it then.
        factor, offset: as above.
        note: what was assumed, as a sentence.
    """

    unit: str
    factor: float
    offset: float
    note: str = ""

    def channel(self, old: Channel) -> Channel:
        """Give the channel with its values understood so."""
        if (self.factor, self.offset) == (1.0, 0.0):
            return replace(old, unit=self.unit)
        return replace(old, unit=self.unit, column=Column(old.values * self.factor + self.offset))


@dataclass(frozen=True)
class DriveCorrected:
    """It was said otherwise which revision a drive was driven on, where its wideband sat, or who plays which role."""

    drive: int
    revision: int
    wideband: Wideband
    roles: Mapping[Role, str]
    reread: Mapping[str, Reread] = field(default_factory=dict)
    others: Mapping[str, int] = field(default_factory=dict)  # of other tables; those it does not name stay

    def applied(self, old: Drive) -> Drive:
        """Give the drive as it is then."""
        channels = tuple(
            self.reread[each.name].channel(each) if each.name in self.reread else each for each in old.log.channels
        )
        notes = tuple(each.note for each in self.reread.values() if each.note)
        log = replace(old.log, roles=dict(self.roles), channels=channels, notes=(*old.log.notes, *notes))
        others = {**old.others, **self.others}
        return replace(old, revision=self.revision, wideband=self.wideband, log=log, others=others)


@dataclass(frozen=True)
class SettingsSet:
    """Targets, fuel or gates were set."""

    settings: Settings


@dataclass(frozen=True)
class EcuFormatSet:
    """It was said how the ECU keeps a table."""

    table: str
    ecu_format: EcuFormat


Change = (
    Applied
    | HeadMoved
    | Approved
    | ApprovalSigned
    | Exported
    | DriveAdded
    | DriveCorrected
    | SettingsSet
    | EcuFormatSet
)


def step(state: State, change: Change) -> State:  # noqa: C901 - one case for each kind of change
    """Give the state after a change.

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
    return replace(after, sequence=state.sequence + 1)


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
        raise StaleError(f"Revision {number} was approved anew meanwhile.", "Look at it again, then sign that.")
    return replace(history, signatures={**history.signatures, number: (*history.signatures[number], signed)})


def _with_drives(state: State, drives: tuple[Drive, ...]) -> State:
    numbers = [drive.id for drive in drives]
    if numbers != list(range(len(state.drives) + 1, len(state.drives) + 1 + len(drives))):
        raise StaleError("Other logs were added meanwhile.", "Add these again.")
    for number in {number for drive in drives for number in (drive.revision, *drive.others.values())}:
        state.history.revision(number)
    return replace(state, drives=state.drives + drives)


def _with_corrected(state: State, change: DriveCorrected) -> State:
    for number in (change.revision, *change.others.values()):
        state.history.revision(number)
    old = state.drive(change.drive)
    new = change.applied(old)
    return replace(state, drives=tuple(new if drive is old else drive for drive in state.drives))


def _with_ecu_format(state: State, table: str, ecu_format: EcuFormat) -> State:
    ecu_format.check(state.table(table))
    return replace(state, ecu_formats={**state.ecu_formats, table: ecu_format})


def _with_revision(history: History, revision: Revision) -> History:
    name = revision.table.name
    if revision.id != history.next_id or history.heads.get(name) != revision.parent:
        raise StaleError("The table was changed meanwhile.", "Check the current table, then run the command again.")
    return replace(history, revisions=(*history.revisions, revision), heads={**history.heads, name: revision.id})


def _with_head(history: History, table: str, to: int) -> History:
    here = history.heads[table]
    target = history.revision(to)
    if target.table.name != table:
        raise InputError(
            f"Revision {to} is one of the table {target.table.name!r}, not of {table!r}.", "Name its table."
        )
    left = dict(history.left)
    if history.revision(here).parent == to:
        left[to] = here
    elif target.parent != here:
        raise StaleError("The current revision was changed meanwhile.", "Look at the history, then undo or redo again.")
    return replace(history, heads={**history.heads, table: to}, left=left)
