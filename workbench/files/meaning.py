"""From columns as they were read to a log: units, roles and codes that stand for nothing."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

import numpy as np

from workbench.errors import InputError
from workbench.files.moments import find_moments
from workbench.files.recording import Field, Recording, listed
from workbench.files.roles import Candidate, Cast, cast_roles
from workbench.files.units import BASES, Unit, base_unit, find_unit, to_base
from workbench.files.vocabulary import RULES
from workbench.files.words import plain_words
from workbench.model.arrays import BoolArray, FloatArray
from workbench.model.log import Channel, Column, Log, Role


@dataclass(frozen=True, eq=False)
class _Measured:
    """A column with its unit understood, values in base units, only rows that have a time."""

    field: Field
    unit: Unit | None
    values: FloatArray


@dataclass(frozen=True)
class Choices:
    """What the user says about the channels.

    Attributes:
        roles: role -> channel.
        stoichiometric_afr: air-fuel ratio at lambda 1 of the fuel, for channels logged as AFR.
        stoichiometric_of: channel -> the same, where a channel was scaled with another one.
        rate_hz: rows a second, for a file without a time.
        must_be_plausible: whether to refuse values that cannot come from an engine.
    """

    roles: Mapping[Role, str] = field(default_factory=dict)
    stoichiometric_afr: float = 14.7
    stoichiometric_of: Mapping[str, float] = field(default_factory=dict)
    rate_hz: float | None = None
    must_be_plausible: bool = True


def make_log(recording: Recording, sha256: str, choices: Choices) -> Log:
    """Give a recording its meaning.

    Raises:
        InputError: when a stated channel is not there, there is no time, or the values cannot be true.
    """
    roles, stoichiometric_afr, rate_hz = choices.roles, choices.stoichiometric_afr, choices.rate_hz
    moments = find_moments(recording, rate_hz)
    measured = [
        _measure(field, moments.clock.kept, stoichiometric_afr)
        for field in recording.fields
        if field is not moments.field and field.texts is None
    ]
    if not measured:
        raise InputError(f"{recording.source} has a time but no channels.", "Log at least one quantity.")
    cast = cast_roles(
        [_candidate(one) for one in measured], {role: _named(name, measured) for role, name in roles.items()}
    )
    measured, notes = _settle_units(measured, cast)
    measured, more = _blank_codes(measured, cast)
    gone = {one.field.name for one in measured if not np.isfinite(one.values).any()}
    kept_roles = {role: name for role, name in cast.roles.items() if name not in gone or role in roles}
    channels = tuple(Channel(one.field.name, _unit_name(one), Column(one.values), one.field.unit) for one in measured)
    notes = [*recording.notes, *moments.notes, *notes, *more]
    return Log(
        name=recording.source,
        sha256=sha256,
        time=Column(moments.clock.time),
        channels=channels,
        roles=kept_roles,
        guesses={role: cast.reasons[role] for role in kept_roles},
        notes=tuple(notes),
    )


def _measure(field: Field, kept: BoolArray, stoichiometric_afr: float) -> _Measured:
    values = field.values if kept.all() else field.values[kept]
    unit = find_unit(field.unit)
    if unit is not None:
        values = to_base(values, unit, stoichiometric_afr=stoichiometric_afr)
    return _Measured(field, unit, values)


def _candidate(one: _Measured) -> Candidate:
    return Candidate(one.field.name, one.unit.quantity if one.unit else "", one.unit is not None, one.values)


def _unit_name(one: _Measured) -> str:
    return base_unit(one.unit) if one.unit is not None else one.field.unit


def _named(name: str, measured: list[_Measured]) -> str:
    """Find the channel a user means: as spelt, or in plain words; the name itself where there is none."""
    names = [one.field.name for one in measured]
    if name in names:
        return name
    alike = [known for known in names if plain_words(known) == plain_words(name)]
    return alike[0] if len(alike) == 1 else name


def _settle_units(measured: list[_Measured], cast: Cast) -> tuple[list[_Measured], list[str]]:
    """Give channels that play a role but have no unit the base unit of the role, and say so."""
    by_name = {name: role for role, name in cast.roles.items()}
    settled, assumed = [], []
    for one in measured:
        role = by_name.get(one.field.name)
        if role is None or one.unit is not None or not RULES[role].quantities:
            settled.append(one)
            continue
        quantity = RULES[role].quantities[0]
        unit = Unit(quantity, BASES[quantity][1])
        settled.append(replace(one, unit=unit))
        assumed.append(f"{one.field.name} in {BASES[quantity][0]}")
    if not assumed:
        return settled, []
    return settled, [f"No unit is given, so these were assumed: {listed(assumed, len(assumed))}."]


def _blank_codes(measured: list[_Measured], cast: Cast) -> tuple[list[_Measured], list[str]]:
    """Take out values that stand for nothing: a lambda of 0 (SAE J1979: not supported)."""
    notes = []
    mixture = {cast.roles.get("lambda_measured"), cast.roles.get("lambda_commanded")}
    cleaned = []
    for one in measured:
        zero = one.values == 0
        if one.field.name not in mixture or not zero.any():
            cleaned.append(one)
            continue
        cleaned.append(replace(one, values=np.where(zero, np.nan, one.values)))
        if zero[np.isfinite(one.values)].all():
            said = "reads 0 throughout: the car does not support it, so it is missing and plays no role."
        else:
            said = f"reads 0 in {int(zero.sum())} rows: lambda 0 is no reading, so it counts as missing."
        notes.append(f"{one.field.name} {said}")
    return cleaned, notes
