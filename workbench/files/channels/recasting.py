"""A channel that is given another role after its log was added: its values are understood anew for that role."""

import re
from collections.abc import Iterator, Mapping

import numpy as np

from workbench.errors import InputError
from workbench.files.channels.assumed_units import assume_unit
from workbench.files.channels.measured import Measured
from workbench.files.channels.mixture import settle_mixture
from workbench.files.channels.plausibility import TRIMS
from workbench.files.channels.states import settle_fuel_system, settle_purge
from workbench.files.channels.trims import settle_trim
from workbench.files.vocabulary.recording import Field
from workbench.files.vocabulary.roles import check_dimension
from workbench.files.vocabulary.scoring import MIXTURES
from workbench.files.vocabulary.units import base_unit, find_unit, to_base
from workbench.files.vocabulary.vocabulary import RULES
from workbench.model.log import Channel, Log, Role, names_as_logged
from workbench.model.state import Reread
from workbench.phrases import flag, phrase

_STATED = re.compile(r"Unit stated: '(.+)=([^=]*)'\.")


def reread(log: Log, roles: Mapping[Role, str], afr: float) -> dict[str, Reread]:
    """Return channel -> how its values become those of its new role, for the channels where anything changes.

    Args:
        log: as it is.
        roles: the roles that are stated now, with the channels that shall play them.
        afr: air-fuel ratio at lambda 1 of the session's fuel.

    Raises:
        InputError: when a channel was taken for another quantity, or the log must be read from its file again.
    """
    found = {}
    for role, name in roles.items():
        channel = log.channel(name)
        if channel is None or channel.computed or channel.instrument is not None:
            continue  # its unit is stated
        if (made := _reread(log, channel, role, afr)) is not None:
            found[name] = made
    return found


def restate(log: Log, name: str, text: str) -> Reread:
    """Tell how the values of a channel become those of another unit that is stated for it.

    Args:
        log: as it is.
        name: of the channel.
        text: the unit.

    Raises:
        InputError: when there is no such channel or unit, or what was read is not known any more.
    """
    channel = log.channel(name)
    if channel is None:
        raise InputError(
            phrase("{log} has no channel {name!r}.", log=log.name, name=name),
            phrase("It has: {channels}.", channels=", ".join(c.name for c in log.channels)),
        )
    counted_in = _stated(log, name) or channel.unit_read or _assumed(log, name) or channel.unit
    unit, before = find_unit(text), find_unit(counted_in)
    if unit is None or not unit.quantity:
        raise InputError(
            phrase("The unit {text!r} is not known.", text=text),
            "Give it as in degF, kPa, kg/h, lambda, fraction, factor.",
        )
    mixtures = ("lambda", "afr", "phi")
    if unit.quantity in mixtures or (before is not None and before.quantity in mixtures):
        raise InputError(
            phrase("{name} was read as a mixture.", name=name),
            phrase(
                "Add the log again with {unit_flag} '{channel}={unit}'.",
                unit_flag=flag("unit"),
                channel=name,
                unit=text,
            ),
        )
    role = next((role for role, played in log.roles.items() if played == name), None)
    wanted = () if role is None else _quantities(role)
    if wanted and unit.quantity not in wanted:
        raise InputError(
            phrase("{name} plays {role}, which cannot be in {text}.", name=name, role=role, text=text),
            phrase("Clear the role first: {role_flag} {role}=", role_flag=flag("role"), role=role),
        )
    ends = np.array([0.0, 1.0])
    if before is not None and before.quantity:  # what was read, from the base unit
        at_0, at_1 = to_base(ends, before)
        ends = (ends - at_0) / (at_1 - at_0)
    first, second = to_base(ends, unit)
    return Reread(
        base_unit(unit),
        float(second - first),
        float(first),
        phrase("{name} is in {text}, as stated.", name=name, text=text),
    )


def stated_units(log: Log) -> Iterator[tuple[str, str]]:
    """Yield channel and unit, or the word that answers in its place, in the order in which they were stated."""
    return ((match[1], match[2]) for note in log.notes if (match := _STATED.fullmatch(note)))


def _stated(log: Log, name: str) -> str:
    """Give the unit in which a channel counts since it was stated last; empty where none was."""
    names = (name, names_as_logged(log).get(name, name))
    units = [text for channel, text in stated_units(log) if channel in names]
    return next((text for text in reversed(units) if (unit := find_unit(text)) is not None and unit.quantity), "")


def _assumed(log: Log, name: str) -> str:
    """Give the unit that was assumed for a channel that has none, as the log's notes say; empty where none was."""
    words = re.compile(rf"(?:assumed: |, ){re.escape(name)} in ([^,]+?)(?=\.$|, )")
    found = [
        match for note in log.notes if note.startswith(("No units are", "No unit is")) for match in words.finditer(note)
    ]
    return found[-1][1] if found else ""


def _reread(log: Log, channel: Channel, role: Role, afr: float) -> Reread | None:
    unit = find_unit(channel.unit) if channel.unit else None
    if channel.unit_read:
        check_dimension(log.name, role, channel.name, unit, channel.unit_read)
    measured = Measured(Field(channel.name, channel.unit, channel.values), unit, channel.values)
    assumed = unit is not None and not channel.unit_read
    if assumed and unit is not None and unit.quantity not in _quantities(role):
        raise InputError(
            phrase(
                "{channel} has no unit and was read in {unit}, which does not fit {role}.",
                channel=channel.name,
                unit=channel.unit,
                role=role,
            ),
            phrase(
                "Undo adding the log, then add it again with {role_flag} {role}={channel}.",
                role_flag=flag("role"),
                role=role,
                channel=channel.name,
            ),
        )
    if role in MIXTURES:
        after, note = settle_mixture(measured, afr, {})
    elif role in TRIMS:
        after, note, _ = settle_trim(measured)
    elif role == "fuel_system":
        short = log.playing("stft_1")
        after, note, _ = settle_fuel_system(measured, short)
    else:
        turned, note = settle_purge(measured) if role == "purge" else (measured, "")
        after, assumption, _ = assume_unit(turned, role)
        note = phrase("No unit is given; assumed: {assumption}.", assumption=assumption) if assumption else note
    if after.unit_name == channel.unit and np.array_equal(after.values, channel.values, equal_nan=True):
        return None
    return _line_through(channel, role, after, note)


def _quantities(role: Role) -> tuple[str, ...]:
    if role in MIXTURES:
        return ("lambda",)
    return ("percent",) if role in TRIMS else tuple(RULES[role].quantities)


def _line_through(channel: Channel, role: Role, after: Measured, note: str) -> Reread:
    """Tell the new values from the old ones by a factor and an offset, which the session keeps.

    Raises:
        InputError: when they do not lie on a line.
    """
    there = np.flatnonzero(np.isfinite(channel.values) & np.isfinite(after.values))
    factor, offset = 1.0, 0.0
    if there.size:
        old, new = channel.values[there], after.values[there]
        low, high = int(np.argmin(old)), int(np.argmax(old))
        if old[high] > old[low]:
            factor = float((new[high] - new[low]) / (old[high] - old[low]))
        offset = float(new[low] - factor * old[low])
        offset = 0.0 if abs(offset) < 1e-9 * max(abs(float(new[low])), 1e-9) else offset
        if not np.allclose(old * factor + offset, new, rtol=1e-9, atol=1e-9):
            raise InputError(
                phrase("{channel} cannot be converted to {role} after reading.", channel=channel.name, role=role),
                phrase(
                    "Undo adding the log, then add it again with {role_flag} {role}={channel}.",
                    role_flag=flag("role"),
                    role=role,
                    channel=channel.name,
                ),
            )
    return Reread(after.unit_name, factor, offset, note)
