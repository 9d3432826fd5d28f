"""The whole of a session as a frozen value, and the changes that lead from one to the next."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

import numpy as np

from workbench.errors import InputError
from workbench.model.arrays import FloatArray
from workbench.model.deed import Acknowledgement, Deed, InCar
from workbench.model.derived import ComputedChannel, Inputs, derived
from workbench.model.ecu_format import AS_IS, EcuFormat
from workbench.model.evidence import Caution, Delay, KeptDelay
from workbench.model.gate import Gates, Limits
from workbench.model.history import Approval, Export, History, Revision, Signed
from workbench.model.log import (
    Alternative,
    AnalogueInput,
    CarsWideband,
    Channel,
    Drive,
    LeftOut,
    Question,
    Role,
    Wideband,
    renaming_note,
)
from workbench.model.packing import Column
from workbench.model.series import standing
from workbench.model.table import Table
from workbench.phrases import call, phrase


@dataclass(frozen=True)
class Settings:
    """What a session states about its car and its goal.

    Attributes:
        part_throttle_target: largest error wanted at part throttle, as a ratio (common practice, no source).
        full_throttle_target: the same at full throttle.
        stoichiometric_afr: air-fuel ratio at lambda 1 of the fuel, for channels logged as AFR.
        gates: limits of the gates.
        wideband: where the car's wideband sits, for the drives of which nothing else is said; "auto" leaves it to be
            recognised from all of them together, and so does "unknown", by which the user says that nobody can tell.
        limits: from where on something calls for caution.
        wideband_tolerance: half-width of the 95 % interval of the wideband's readings, as a ratio (common practice, no
            source).
        delays: of the wideband, as stated for the car and for single drives.
    """

    part_throttle_target: float = 0.05
    full_throttle_target: float = 0.01
    stoichiometric_afr: float = 14.7
    gates: Gates = field(default_factory=Gates)
    wideband: CarsWideband = "auto"
    limits: Limits = field(default_factory=Limits)
    wideband_tolerance: float = 0.01
    delays: tuple[KeptDelay, ...] = ()

    def place_of(self, drive: Drive) -> Wideband:
        """Return where the wideband of a drive sits, as stated for it or else for the car; "auto" where nobody said."""
        if drive.wideband != "auto":
            return drive.wideband
        return "auto" if self.wideband == "unknown" else self.wideband

    def delay_of(self, drive: int) -> Delay | None:
        """Return the delay that is stated for a drive, or else for the car; None where it is to be estimated."""
        for number in (drive, 0):
            for kept in self.delays:
                if kept.drive == number:
                    where = phrase("stated for drive {number}", number=number) if number else "stated for the car"
                    return Delay(kept.fixed_s, kept.volume_g, kept.lag_s, "stated", carried_by=where)
        return None


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
        removed: logs whose adding was taken back: they stay in the file and count for nothing.
        acknowledged: name of a caution -> why it may stand.
        branches: number of a revision -> name of the branch that begins with it.
        in_car: table name -> which revisions were put into the car, by time.
        done: what can be taken back, the latest last.
        undone: what was taken back and can be done again, the latest last.
        inputs: (channel, unit it is logged in) -> how it is scaled.
        computed: name -> channel computed from others.
    """

    path: str
    history: History
    drives: tuple[Drive, ...] = ()
    settings: Settings = field(default_factory=Settings)
    sequence: int = 0
    ecu_formats: Mapping[str, EcuFormat] = field(default_factory=dict)
    removed: tuple[Drive, ...] = ()
    acknowledged: Mapping[str, Acknowledgement] = field(default_factory=dict)
    branches: Mapping[int, str] = field(default_factory=dict)
    in_car: Mapping[str, tuple[InCar, ...]] = field(default_factory=dict)
    done: tuple[Deed, ...] = ()
    undone: tuple[Deed, ...] = ()
    inputs: Inputs = field(default_factory=dict)
    computed: Mapping[str, ComputedChannel] = field(default_factory=dict)

    def table_name(self, name: str | None = None) -> str:
        """Return the name, or that of the session's first table.

        Raises:
            InputError: when the session has no table of that name.
        """
        names = self.history.table_names
        if name is None or name == "":
            return names[0]
        if name not in names:
            raise InputError(
                phrase("This session has no table {name!r}.", name=name), "It has: " + ", ".join(names) + "."
            )
        return name

    def head(self, name: str | None = None) -> Revision:
        """Return the head revision of a table (by default the first)."""
        return self.history.revision(self.history.heads[self.table_name(name)])

    def table(self, name: str | None = None) -> Table:
        """Return the table as it is at its head."""
        return self.head(name).table

    def ecu_format(self, name: str | None = None) -> EcuFormat:
        """Return how the ECU keeps a table (by default the first)."""
        return self.ecu_formats.get(self.table_name(name), AS_IS)

    def branch_of(self, number: int) -> str:
        """Name the branch that a revision is on: that of the nearest named one on the way to it; else empty."""
        line = reversed(self.history.line(number)) if self.branches else ()
        return next((self.branches[each.id] for each in line if each.id in self.branches), "")

    def carried_at(self, table: str, moment: str) -> InCar | None:
        """Return what was put into the car last before a moment (ISO 8601, UTC); None where nobody said."""
        return next((each for each in reversed(self.in_car.get(table, ())) if each.since <= moment), None)

    def may_be_in_car(self, table: str) -> bool:
        """Tell whether what a table holds may be in a car: brought in, driven or exported, or else somebody said."""
        head, driven = self.head(table), (self.history.driven(drive, table) for drive in self.drives)
        known = head.parent is None or bool(self.in_car.get(table)) or any(each is head for each in driven)
        return known or any(each.revision == head.id for each in self.history.exports)

    @property
    def next_drive(self) -> int:
        """The number that the next log will have."""
        return len(self.drives) + len(self.removed) + 1

    def derived(self, drive: Drive) -> Drive:
        """Lay the inputs and computed channels that are stated over the log of a drive."""
        return derived(drive, self.inputs, self.computed)

    def acknowledgement(self, drive: int, caution: Caution) -> Acknowledgement | None:
        """Explain why a caution may stand; None where it is open, or says something else by now."""
        given = self.acknowledged.get(f"{drive}:{caution.name}")
        return given if given is not None and given.sentence == caution.sentence else None

    def drive(self, number: int) -> Drive:
        """Find a drive.

        Raises:
            InputError: when there is none of that number, or its log was taken out again.
        """
        found = next((each for each in self.drives if each.id == number), None)
        if found is None and any(each.id == number for each in self.removed):
            raise InputError(
                phrase("The log of drive {number} was removed from this session.", number=number),
                "Restore it with redo.",
            )
        if found is None:
            known = ", ".join(str(each.id) for each in self.drives)
            raise InputError(
                phrase("There is no drive {number} in this session.", number=number),
                phrase("It has {known}.", known=known)
                if known
                else phrase("It has none yet: add one with {add_log_command}.", add_log_command=call("add-log")),
            )
        return found


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
        inverse: whether they become one over that.
        held: whether a value stands for the rows without one that follow it.
    """

    unit: str
    factor: float
    offset: float
    note: str = ""
    inverse: bool = False
    held: bool = False

    @classmethod
    def as_answered(cls, chosen: Alternative) -> "Reread":
        """Give what the answer to a question makes of a channel."""
        return cls(chosen.unit, chosen.factor, chosen.offset, chosen.means, chosen.inverse, chosen.held)

    def channel(self, old: Channel) -> Channel:
        """Give the channel with its values understood so."""
        if (self.factor, self.offset, self.inverse, self.held) == (1.0, 0.0, False, False):
            return replace(old, unit=self.unit)
        unit = old.unit if self.held and not self.unit else self.unit
        return replace(old, unit=unit, column=Column(self.values(old.values)))

    def values(self, old: FloatArray) -> FloatArray:
        """Give what values become; nothing where they become infinite."""
        new = old * self.factor + self.offset
        if self.inverse:
            new = 1 / np.where(new == 0, np.nan, new)
        return standing(new) if self.held else new


@dataclass(frozen=True)
class DriveCorrected:
    """It was said otherwise which revision a drive was driven on, where its wideband sat, or who plays which role."""

    drive: int
    revision: int
    wideband: Wideband
    roles: Mapping[Role, str]
    reread: Mapping[str, Reread] = field(default_factory=dict)
    others: Mapping[str, int] = field(default_factory=dict)  # of other tables; those it does not name stay
    answered: tuple[str, ...] = ()  # questions, as they were asked
    left_out: tuple[LeftOut, ...] | None = None  # all of the drive's; None leaves them as they are
    renamed: Mapping[str, str] = field(default_factory=dict)  # channel -> its new name; the rest speaks of new ones
    asked: tuple[Question, ...] = ()  # that what was said raises

    def applied(self, old: Drive) -> Drive:
        """Return the drive as it is then, without scaled inputs and computed channels."""
        before = old.as_read.renamed(self.renamed)
        channels = tuple(
            self.reread[each.name].channel(each) if each.name in self.reread else each for each in before.channels
        )
        notes = tuple(each.note for each in self.reread.values() if each.note)
        notes += tuple(renaming_note(before, after) for before, after in self.renamed.items())
        questions = tuple(each for each in before.questions if each.question not in self.answered)
        log = replace(
            before,
            time=before.time if (clock := self.reread.get("")) is None else Column(clock.values(before.time.values)),
            roles=dict(self.roles),
            channels=channels,
            notes=(*before.notes, *notes),
            questions=(*questions, *self.asked),
        )
        others = {**old.others, **self.others}
        left_out = old.left_out if self.left_out is None else self.left_out
        return replace(
            old, bare=None, revision=self.revision, wideband=self.wideband, log=log, others=others, left_out=left_out
        )


@dataclass(frozen=True)
class SettingsSet:
    """Targets, fuel or gates were set."""

    settings: Settings


@dataclass(frozen=True)
class EcuFormatSet:
    """It was said how the ECU keeps a table."""

    table: str
    ecu_format: EcuFormat


@dataclass(frozen=True)
class InputStated:
    """It was said how an input is scaled, or that it is not any more."""

    channel: str
    unit_read: str
    scaling: AnalogueInput | None


@dataclass(frozen=True)
class ChannelComputed:
    """A channel was computed from others, or is not any more."""

    name: str
    computed: ComputedChannel | None


@dataclass(frozen=True)
class Acknowledged:
    """Somebody looked into a caution and said why it may stand."""

    acknowledgement: Acknowledgement


@dataclass(frozen=True)
class BranchNamed:
    """The branch that begins with a revision was given a name, or lost it where that is empty."""

    revision: int
    name: str


@dataclass(frozen=True)
class PutInCar:
    """A revision was put into the car."""

    mark: InCar


@dataclass(frozen=True)
class TakenBack:
    """What the change of that sequence number did no longer holds; the change stays in the file."""

    undone: int


@dataclass(frozen=True)
class DoneAgain:
    """What the change of that sequence number did, and what was taken back, holds again."""

    redone: int


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
    | InputStated
    | ChannelComputed
    | Acknowledged
    | BranchNamed
    | PutInCar
    | TakenBack
    | DoneAgain
)
