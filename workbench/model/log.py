"""A log as it was read: channels over time, in base units, with all that was assumed on the way."""

import re
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Literal, cast, get_args

import numpy as np

from workbench.model.arrays import FloatArray
from workbench.model.packing import Column
from workbench.phrases import phrase

Role = Literal[
    "sensor_signal",  # airflow sensor, Hz or V
    "airflow",  # airflow the ECU worked with, g/s
    "engine_speed",  # rpm
    "manifold_pressure",  # kPa absolute
    "load",  # %
    "stft_1",  # short-term fuel trim, bank 1, %
    "ltft_1",
    "stft_2",
    "ltft_2",
    "total_trim_1",  # short and long trim together, where a log has no others
    "total_trim_2",
    "lambda_measured",  # wideband
    "lambda_error",  # measured over commanded lambda, less 1, in %: where a log has no measured lambda
    "lambda_commanded",
    "fuel_system",  # J1979 PID 03: 1 open loop cold, 2 closed, 4 open loop by load or fuel cut, 8, 16
    "coolant_temperature",  # degC
    "intake_temperature",  # degC
    "throttle",  # %
    "pedal",  # %
    "purge",  # %
    "battery_voltage",  # V
    "vehicle_speed",  # km/h
    "barometer",  # kPa
]
ROLES: tuple[Role, ...] = get_args(Role)

PAST_ENDS = 0.02  # of the width of a calibration curve, beyond which it says nothing
ENOUGH_STEPS = 100_000  # more do not tell the rate of a log better

Wideband = Literal["auto", "before", "after"]
CarsWideband = Literal["auto", "before", "after", "unknown"]  # unknown: recognised as with auto, and not asked about


_FLAGS = re.compile(r"--[a-z-]+ '.*?'(?= --[a-z-]+ '|$)", re.DOTALL)
SCALING = "analogue-input"  # the command that states how an input is scaled


def typed_flag(option: str, name: str, value: str) -> str:
    """Write a flag as it is typed, as in --unit 'Coolant=degF'."""
    return f"--{option} '{name}={value}'"


@dataclass(frozen=True)
class Alternative:
    """One answer to a question.

    Attributes:
        answer: in a word.
        flag: of add-log, inspect and amend-log that gives it, with its value; several are parted by blanks.
        means: what it would mean, as a sentence.
        unit: of the channel's values then; empty where they stay as they are.
        factor, offset: the values then are the ones as read, times the factor, plus the offset.
        inverse: and of that one over it.
        held: and a value stands for the rows without one that follow it.
    """

    answer: str
    flag: str
    means: str
    unit: str = ""
    factor: float = 1.0
    offset: float = 0.0
    inverse: bool = False
    held: bool = False

    @property
    def flags(self) -> tuple[str, ...]:
        """The flag, or each of those that give the answer together."""
        return tuple(_FLAGS.findall(self.flag)) or (self.flag,)

    @property
    def channel(self) -> str:
        """Name of the channel that it states the unit of; empty where it states none, or the question's own."""
        option, _, stated = self.flags[0].partition(" ")
        return stated.strip("'").rpartition("=")[0] if option.lstrip("-") == "unit" else ""

    @property
    def changes_values(self) -> bool:
        """Whether the channel's values are others then."""
        return bool(self.unit or self.factor != 1 or self.offset or self.inverse or self.held)


@dataclass(frozen=True)
class Question:
    """What is to be answered about a channel.

    Attributes:
        channel: its name; empty for the time.
        question: as a sentence.
        alternatives: one at least; the log was read by the first one.
    """

    channel: str
    question: str
    alternatives: tuple[Alternative, ...]

    @property
    def is_of_scaling(self) -> bool:
        """Whether it asks how an input is scaled: then it is open though the channel plays no role."""
        return any(each.flag.startswith(SCALING) for each in self.alternatives)

    def renamed(self, names: Mapping[str, str]) -> "Question":
        """Return the question with the flags that answer it under the new names of channels."""
        alternatives = []
        for each in self.alternatives:
            flags = []
            for word in each.flags:
                option, _, stated = word.partition(" ")
                name, equals, value = stated.strip("'").rpartition("=")
                flags.append(f"{option} '{names.get(name, name)}={names.get(value, value)}'" if equals else word)
            alternatives.append(replace(each, flag=" ".join(flags)))
        return replace(self, channel=names.get(self.channel, self.channel), alternatives=tuple(alternatives))

    def answered_by(self, *flags: str) -> Alternative | None:
        """Give the alternative that flags stand for, None where they are none of them."""
        return next((each for each in self.alternatives if set(each.flags) <= set(flags)), None)

    def asks_role(self, role: Role) -> bool:
        """Tell whether some answer says which channel plays a role."""
        begin = typed_flag("role", role, "")[:-1]
        return any(word.startswith(begin) for each in self.alternatives for word in each.flags)


@dataclass(frozen=True)
class AnalogueInput:
    """How the output of an instrument becomes what it measures, in every log that has a channel of that name and unit.

    Attributes:
        channel: its name.
        unit_read: base unit in which logs hold it, as V; empty where it has none, as for counts.
        unit: base unit of what it measures.
        points: (as logged, measured), at least two, rising as logged; none where the channel needs no scaling.
        role: played in logs in which no other channel plays it; empty for none.
        tolerance: how far the instrument may be off at any reading, in its unit.
        tolerance_share: and by which part of the reading besides.
    """

    channel: str
    unit_read: str
    unit: str
    points: tuple[tuple[float, float], ...] = ()
    role: Role | Literal[""] = ""
    tolerance: float = 0.0
    tolerance_share: float = 0.0

    def scaled(self, values: FloatArray) -> FloatArray:
        """Return what the instrument measured, shape (rows,): straight between the points.

        Two points are a line and go on beyond their ends; a curve of more says nothing there, but for `PAST_ENDS` of
        its width.
        """
        if not self.points:
            return values
        read, measured = (np.array(side) for side in zip(*self.points, strict=True))
        span = read[-1] - read[0]
        low, high = (
            (measured[1] - measured[0]) / (read[1] - read[0]),
            (measured[-1] - measured[-2]) / (read[-1] - read[-2]),
        )
        found = np.interp(values, read, measured)
        found = np.where(values < read[0], measured[0] + (values - read[0]) * low, found)
        found = np.where(values > read[-1], measured[-1] + (values - read[-1]) * high, found)
        if len(self.points) > 2:
            known = (values >= read[0] - PAST_ENDS * span) & (values <= read[-1] + PAST_ENDS * span)
            found = np.where(known, found, np.nan)
        return np.where(np.isfinite(values), found, np.nan)

    def tolerance_at(self, measured: FloatArray) -> FloatArray:
        """Return how far the instrument may be off at each of its readings, in its unit, same shape."""
        return self.tolerance + self.tolerance_share * np.abs(measured)


@dataclass(frozen=True, eq=False)
class Channel:
    """One measured quantity.

    Attributes:
        name: as the file spells it, stripped.
        unit: base unit of the values (s, rpm, kPa, Hz, V, g/s, %, lambda, degC, km/h), or as read where unknown.
        column: the values, NaN where missing.
        unit_read: the unit the file gave, empty where none.
        instrument: by which the values were scaled, where the session states one.
        computed: whether it was computed from other channels.
    """

    name: str
    unit: str
    column: Column
    unit_read: str = ""
    instrument: AnalogueInput | None = None
    computed: bool = False

    @property
    def values(self) -> FloatArray:
        """The values, shape (rows,), NaN where missing."""
        return self.column.values


@dataclass(frozen=True)
class Recorded:
    """When a log was recorded, by the clock of the logger.

    Attributes:
        first, last: s since 1970, of the first row and the last.
        zoned: whether the log says its time zone; else they are what the clock showed, read as if it were UTC.
    """

    first: float
    last: float
    zoned: bool


@dataclass(frozen=True, eq=False)
class Log:
    """Channels on one time base.

    Attributes:
        name: file name without its folder.
        sha256: digest of the file's bytes, hexadecimal.
        time: seconds, shape (rows,), not falling; starts where the file says.
        channels: in the order of the file.
        roles: role -> name of the channel that plays it.
        guesses: role -> why that channel was taken.
        notes: every assumption made in reading, as sentences.
        questions: what could not be decided; the log is no evidence before all are answered.
        recorded: when it was recorded, where it bears a date; a session does not keep that.
    """

    name: str
    sha256: str
    time: Column
    channels: tuple[Channel, ...]
    roles: Mapping[Role, str] = field(default_factory=dict)
    guesses: Mapping[Role, str] = field(default_factory=dict)
    notes: tuple[str, ...] = ()
    questions: tuple[Question, ...] = ()
    recorded: Recorded | None = None

    @property
    def rows(self) -> int:
        """Count the rows."""
        return self.time.rows

    def renamed(self, names: Mapping[str, str]) -> "Log":
        """Return the log with channels under other names; what is asked of them is answered by the new ones.

        Args:
            names: name -> new name; those of no channel say nothing.
        """
        names = {old: new for old, new in names.items() if self.channel(old) is not None}
        if not names:
            return self
        return replace(
            self,
            channels=tuple(replace(each, name=names.get(each.name, each.name)) for each in self.channels),
            roles={role: names.get(name, name) for role, name in self.roles.items()},
            questions=tuple(each.renamed(names) for each in self.questions),
        )

    def channel(self, name: str) -> Channel | None:
        """Find a channel by its name."""
        return next((channel for channel in self.channels if channel.name == name), None)

    def playing(self, role: Role) -> FloatArray | None:
        """Return the values of the channel that plays a role, or of others that tell them, shape (rows,), or None."""
        name = self.roles.get(role)
        channel = self.channel(name) if name is not None else None
        return self._computed(role) if channel is None else channel.values

    def _computed(self, role: Role) -> FloatArray | None:
        """Return what a role's channel would read by those of others, shape (rows,); None where they do not tell it."""
        if role == "lambda_measured" and {"lambda_error", "lambda_commanded"} <= set(self.roles):
            return self._measured_by_error()
        for bank in ("1", "2"):
            short, long, total = (
                self.channel(self.roles.get(cast("Role", f"{each}_{bank}"), ""))
                for each in ("stft", "ltft", "total_trim")
            )
            if total is None or role not in (f"stft_{bank}", f"ltft_{bank}"):
                continue
            if (other := long or short) is not None:  # the rest of the total
                return np.asarray(100 * ((1 + total.values / 100) / (1 + _held(other.values) / 100) - 1))
            # The long trim is part of the total.
            return total.values if role[0] == "s" else np.where(np.isfinite(total.values), 0.0, np.nan)
        return None

    def _measured_by_error(self) -> FloatArray | None:
        error, commanded = self.channel(self.roles["lambda_error"]), self.channel(self.roles["lambda_commanded"])
        if error is None or commanded is None:
            return None
        return np.asarray(_held(commanded.values) * (1 + error.values / 100))  # a command holds until the next one

    def tolerance(self, role: Role) -> FloatArray | None:
        """Return how far the instrument that plays a role may be off at each row, in its channel's unit, shape (rows,).

        None where nothing is stated of it. What it says holds for all its readings alike: it is no noise.
        """
        channel = self.channel(self.roles.get(role, ""))
        if channel is None or channel.instrument is None:
            return None
        known = channel.instrument
        return known.tolerance_at(channel.values) if known.tolerance or known.tolerance_share else None

    @property
    def rate_hz(self) -> float:
        """Median number of rows a second, of very many an even choice; NaN for fewer than two rows."""
        if self.rows < 2:
            return float("nan")
        step = max(1, (self.rows - 1) // ENOUGH_STEPS)
        time = self.time.values
        steps = time[1::step] - time[:-1:step]
        steps = steps[steps > 0]
        return float(1 / np.median(steps)) if steps.size else float("nan")


@dataclass(frozen=True)
class LeftOut:
    """A stretch of a drive that is left out of the evidence by name.

    Attributes:
        start, end: s in the log, both inside.
        reason: in the words of who left it out.
    """

    start: float
    end: float
    reason: str


@dataclass(frozen=True, eq=False)
class Drive:
    """A log tied to the revision that was in the car when it was driven.

    Attributes:
        id: 1, 2, … in the order they were added.
        log: what was logged.
        revision: id of the revision in the car.
        wideband: where the wideband sits: "auto" leaves it to be recognised from the log.
        added: ISO 8601 time, UTC.
        others: name of each other table of the session -> id of its revision in the car; of tables it does not name,
            what they were when `revision` was made.
        left_out: stretches that do not count as evidence.
        bare: the log before scaled inputs and computed channels were laid over it; None where there are none.
    """

    id: int
    log: Log
    revision: int
    wideband: Wideband = "auto"
    added: str = ""
    others: Mapping[str, int] = field(default_factory=dict)
    bare: Log | None = None
    left_out: tuple[LeftOut, ...] = ()

    def let_go(self) -> None:
        """Keep the samples packed only: of many long drives they would not fit into memory at once."""
        for log in {id(each): each for each in (self.log, self.as_read)}.values():
            for column in (log.time, *(channel.column for channel in log.channels)):
                column.let_go()

    @property
    def as_read(self) -> Log:
        """The log without scaled inputs and computed channels."""
        return self.log if self.bare is None else self.bare


_RENAMED = re.compile(r"The channel '(.+)' is called '(.+)', as stated\.")


def renaming_note(before: str, after: str) -> str:
    """Give the note by which a new name of a channel is known again for the next log of the same shape."""
    return phrase("The channel {before!r} is called {after!r}, as stated.", before=before, after=after)


def names_as_logged(log: Log) -> dict[str, str]:
    """Give channel -> the name that its file gives it, for the channels that were renamed."""
    found: dict[str, str] = {}
    for match in (match for note in log.notes if (match := _RENAMED.fullmatch(note))):
        found[match[2]] = found.pop(match[1], match[1])
    return found


def _held(values: FloatArray) -> FloatArray:
    """Give what was read last, at each row."""
    last = np.maximum.accumulate(np.where(np.isfinite(values), np.arange(values.size), -1))
    return np.where(last >= 0, values[np.maximum(last, 0)], np.nan)
