"""What a session states of channels, laid over its logs: inputs that are scaled, and channels computed from others.

A log stays as it was read. What is stated here holds for every log that has the channels it names, those added later
too, and is taken back by taking the statement back.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import partial
from typing import Literal

import numpy as np

from workbench.expressions import Expression, Numbers, read_expression
from workbench.model.arrays import FloatArray
from workbench.model.log import AnalogueInput, Channel, Drive, Log, Role
from workbench.model.packing import Column
from workbench.model.series import bridged, series_of, written_on_change
from workbench.phrases import phrase

Inputs = Mapping[tuple[str, str], AnalogueInput]  # by channel and the unit it is logged in


@dataclass(frozen=True)
class ComputedChannel:
    """A channel computed from others: what the expression gives, times the factor, plus the offset.

    Attributes:
        name: of the channel.
        expression: over channels, or roles.
        unit: base unit of its values then; empty for a mere number.
        factor, offset: as above.
        role: played in logs in which no other channel plays it; empty for none.
    """

    name: str
    expression: str
    unit: str
    factor: float = 1.0
    offset: float = 0.0
    role: Role | Literal[""] = ""


def derived(drive: Drive, inputs: Inputs, computed: Mapping[str, ComputedChannel]) -> Drive:
    """Lay inputs and computed channels over the log of a drive; the same drive where nothing changes."""
    bare = drive.as_read
    log = with_computed(with_inputs(bare, inputs), computed)
    if log is bare and drive.bare is None:
        return drive
    return replace(drive, log=log, bare=None if log is bare else bare)


def with_inputs(log: Log, inputs: Inputs) -> Log:
    """Scale the channels of a log for which an input is stated; what was asked about them is answered."""
    found = {each.name: known for each in log.channels if (known := inputs.get((each.name, each.unit))) is not None}
    if not found:
        return log
    channels = tuple(_scaled(each, found[each.name]) if each.name in found else each for each in log.channels)
    roles, guesses = dict(log.roles), dict(log.guesses)
    for name, known in found.items():
        _give_role(roles, guesses, known.role, name, "as stated for this input")
    return replace(
        log,
        channels=channels,
        roles=roles,
        guesses=guesses,
        notes=(*log.notes, *(input_note(known) for known in found.values() if known.points)),
        questions=tuple(each for each in log.questions if each.channel not in found),
    )


def with_computed(log: Log, computed: Mapping[str, ComputedChannel]) -> Log:
    """Add the channels that can be computed from those of a log, in whatever order they rest on one another."""
    left = {name: each for name, each in computed.items() if log.channel(name) is None}
    while ready := [each for each in left.values() if not missing(log, each)]:
        for each in ready:
            del left[each.name]
            log = _with_one(log, each)
    return log


def missing(log: Log, computed: ComputedChannel) -> tuple[str, ...]:
    """Name what an expression needs and a log has neither as a channel nor as a role."""
    return tuple(name for name in read_expression(computed.expression).names if meant(log, name) is None)


def meant(log: Log, name: str) -> Channel | None:
    """Find the channel that an expression means: of that name, or else playing the role of that name."""
    played = next((channel for role, channel in log.roles.items() if role == name), "")
    return log.channel(name) or log.channel(played)


def input_note(known: AnalogueInput) -> str:
    """Say how an input is scaled."""
    (first, low), (last, high) = known.points[0], known.points[-1]
    return phrase(
        "{channel}: {first:g} to {last:g} {unit_read} reads {low:g} to {high:g} {unit}, as stated.",
        channel=known.channel,
        first=first,
        last=last,
        unit_read=known.unit_read or "as logged",
        low=low,
        high=high,
        unit=known.unit,
    )


def _scaled(channel: Channel, known: AnalogueInput) -> Channel:
    column = channel.column
    if known.points:
        values = channel.column
        column = Column(rows=values.rows, make=lambda: known.scaled(values.values))
    return replace(channel, unit=known.unit, column=column, instrument=known)


def _with_one(log: Log, computed: ComputedChannel) -> Log:
    expression = read_expression(computed.expression)
    values = Column(rows=log.rows, make=partial(_values, log, computed, expression))
    roles, guesses = dict(log.roles), dict(log.guesses)
    _give_role(roles, guesses, computed.role, computed.name, "computed for it, as stated")
    note = phrase("{name} is computed: {expression}.", name=computed.name, expression=computed.expression)
    return replace(
        log,
        channels=(*log.channels, Channel(computed.name, computed.unit, values, computed=True)),
        roles=roles,
        guesses=guesses,
        notes=(*log.notes, note),
    )


def _give_role(roles: dict[Role, str], guesses: dict[Role, str], role: Role | Literal[""], name: str, why: str) -> None:
    if role and role not in roles:
        roles |= {role: name}
        guesses |= {role: why}


def _values(log: Log, computed: ComputedChannel, expression: Expression) -> FloatArray:
    """Work a computed channel out, shape (rows,); it has no more readings than the rarest channel that it rests on.

    Others are brought in from the rows beside, but those written on change, which hold.
    """
    time = log.time.values
    known: dict[str, FloatArray] = {}
    rarest = np.ones(time.size, dtype=np.bool_)
    for name in expression.names:
        channel = meant(log, name)
        if channel is None:  # its name was taken meanwhile
            return np.full(time.size, np.nan)
        role = next((role for role, player in log.roles.items() if player == channel.name), None)
        known[name] = bridged(channel.values, time, role, on_change=written_on_change(log))
        there = np.isfinite(channel.values)
        continuous = not there.all() and series_of(channel.values, time).kind == "continuous"
        if continuous and there.sum() < rarest.sum():
            rarest = there
    worked_out = expression.worked_out(Numbers(known, time)) * computed.factor + computed.offset
    return np.where(rarest, worked_out, np.nan)
