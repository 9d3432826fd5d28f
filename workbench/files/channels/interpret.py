"""From columns as they were read to a log: units, roles, scales, and codes that stand for nothing."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from workbench.errors import InputError
from workbench.files.channels.assumed_units import absolute, assume_unit
from workbench.files.channels.measured import Measured, measure
from workbench.files.channels.merging import hold, is_sparse
from workbench.files.channels.mixture import (
    check_inverse,
    check_scales,
    is_afr,
    is_mixture_name,
    may_be_inverse,
    settle_mixture,
    settle_trim,
)
from workbench.files.channels.plausibility import (
    MIXTURES,
    RICHEST,
    TRIMS,
    blank_codes,
    blank_spikes,
    contradictions,
    impossible_jumps,
    is_dead,
    is_no_mixture,
    out_of_range,
    twins,
)
from workbench.files.channels.states import EXPECTED, settle_fuel_system, settle_purge, state_codes
from workbench.files.channels.time_axis import find_moments
from workbench.files.vocabulary.recording import Field, Recording, TextArray, listed
from workbench.files.vocabulary.roles import Candidate, cast_roles, check_dimension, doubtful_roles, unfit_for_roles
from workbench.files.vocabulary.spelling import plain_words
from workbench.files.vocabulary.units import find_unit
from workbench.model.arrays import FloatArray
from workbench.model.log import Channel, Column, Log, Role
from workbench.phrases import flag, phrase


@dataclass(frozen=True)
class Choices:
    """What the user says about the channels.

    Attributes:
        roles: role -> channel.
        stoichiometric_afr: air-fuel ratio at lambda 1 of the fuel, for channels logged as AFR.
        stoichiometric_of: channel -> the same, where a channel was scaled with another one.
        rate_hz: rows a second, for a file without a time.
        must_be_plausible: whether to refuse values that cannot come from an engine.
        window_s: longest time a value stands for, where channels have times of their own, s.
    """

    roles: Mapping[Role, str] = field(default_factory=dict)
    stoichiometric_afr: float = 14.7
    stoichiometric_of: Mapping[str, float] = field(default_factory=dict)
    rate_hz: float | None = None
    must_be_plausible: bool = True
    window_s: float = 1.0


@np.errstate(over="ignore", invalid="ignore")  # a damaged number may be as large as numbers get
def make_log(recording: Recording, sha256: str, choices: Choices) -> Log:
    """Return a recording its meaning.

    Raises:
        InputError: when a stated channel is not there, there is no time, or the values cannot be true.
    """
    moments = find_moments(recording, choices.rate_hz)
    fields, left_out = _numeric(recording.fields, moments.field, {name: role for role, name in choices.roles.items()})
    measured = [measure(channel, moments.clock.kept) for channel in fields]
    if recording.time is None:
        measured, assumed = _bridged(measured, moments.clock.time, choices.window_s)
        left_out += assumed
    if not measured:
        raise InputError(
            phrase("{source} has a time but no channels of numbers.", source=recording.source),
            "Log at least one channel.",
        )
    candidates = [
        Candidate(channel.name, channel.quantity, channel.unit is not None, channel.there) for channel in measured
    ]
    cast = cast_roles(candidates, {role: _named(name, measured) for role, name in choices.roles.items()})
    by_name = {channel.name: channel for channel in measured}
    mixtures = [cast.roles.get(role) for role in MIXTURES]
    _check_ratios(choices.stoichiometric_of, measured, mixtures, recording.source)
    doubts = _doubts(recording.source, {role: cast.roles[role] for role in choices.roles}, by_name, candidates)
    settled, notes = _settle({role: by_name[name] for role, name in cast.roles.items()}, measured, choices)
    notes += (
        doubts
        + unfit_for_roles(candidates, cast.roles)
        + _strangers(settled)
        + twins({role: by_name[name] for role, name in cast.roles.items()}, measured)
    )
    _check_inverse(settled)
    settled, dead, more = _suspect(settled, frozenset(choices.roles))
    objections = impossible_jumps(settled, moments.clock.time) + out_of_range(settled)
    more += _implausible(recording.source, objections, choices)
    settled, spikes = blank_spikes(settled, moments.clock.time)
    more += spikes
    by_name |= {channel.name: channel for channel in settled.values()}
    by_name = {name: _scaled(channel, choices) for name, channel in by_name.items()}
    for channel in by_name.values():
        channel.values.flags.writeable = False  # so that the log can keep them without a copy
    channels = tuple(
        Channel(channel.name, channel.unit_name, Column(channel.values), channel.field.unit)
        for channel in by_name.values()
    )
    roles = {
        role: name
        for role, name in cast.roles.items()
        if role in choices.roles or (role not in dead and settled[role].there.size)
    }
    reasons = {role: cast.reasons[role] for role in roles}
    notes = [*recording.notes, *moments.notes, *left_out, *notes, *more]
    time = Column(moments.clock.time)
    return Log(recording.source, sha256, time, channels, roles, reasons, tuple(dict.fromkeys(notes)))


def _implausible(source: str, objections: Sequence[str], choices: Choices) -> list[str]:
    """Caution against values that no car has, or refuse them where the log must be plausible."""
    if not objections:
        return []
    why = "; ".join(objections)
    if choices.must_be_plausible:
        raise InputError(
            phrase("{source} cannot be used for calibration: {why}.", source=source, why=why),
            "It looks like simulated or damaged data. Log the drive again.",
        )
    return [phrase("Caution: these values are impossible in a car: {why}.", why=why)]


def _check_ratios(
    ratios: Mapping[str, float], measured: Sequence[Measured], mixtures: Sequence[str | None], source: str
) -> None:
    """Refuse an air-fuel ratio that is stated for a channel which is none, or which is not there."""
    for name in ratios:
        channel = next((channel for channel in measured if channel.name == name), None)
        if channel is None:
            known = ", ".join(channel.name for channel in measured)
            raise InputError(
                phrase("{source} has no channel {name!r} to set an air-fuel ratio for.", source=source, name=name),
                phrase("It has: {known}.", known=known),
            )
        if channel.quantity == "afr" or name in mixtures or (channel.quantity == "" and is_mixture_name(name)):
            if is_afr(channel) or np.isnan(channel.middle):
                continue
            what = phrase("reads around {middle:.3g}, like lambda and unlike an air-fuel ratio", middle=channel.middle)
        else:
            what = (
                phrase("is in {unit_name}", unit_name=channel.unit_name) if channel.unit_name else "has no mixture role"
            )
        raise InputError(
            phrase(
                "{source}: the channel {name!r} {what}, so it cannot be scaled with {ratios:g}.",
                source=source,
                name=name,
                what=what,
                ratios=ratios[name],
            ),
            phrase(
                "Leave that {afr_of_flag} out, or name a channel that is logged as an air-fuel ratio.",
                afr_of_flag=flag("afr-of"),
            ),
        )


def _doubts(
    source: str, stated: Mapping[Role, str], measured: Mapping[str, Measured], candidates: Sequence[Candidate]
) -> list[str]:
    """Refuse stated roles whose channel is measured in something else, and doubt those whose values are strange."""
    for role, name in stated.items():
        check_dimension(source, role, name, measured[name].unit, measured[name].field.unit)
    by_name = {candidate.name: candidate for candidate in candidates}
    return doubtful_roles({role: by_name[name] for role, name in stated.items()})


def _bridged(measured: list[Measured], time: FloatArray, window_s: float) -> tuple[list[Measured], list[str]]:
    """Let the values of columns with many empty cells stand for the rows that follow."""
    sparse = [channel.name for channel in measured if is_sparse(channel.values)]
    if not sparse:
        return measured, []
    filled = [
        replace(channel, values=hold(channel.values, time, window_s)) if channel.name in sparse else channel
        for channel in measured
    ]
    note = phrase(
        "Most cells of {sparse} are empty; a value stands for the rows that follow it by at ",
        sparse=listed(sparse[:5], len(sparse)),
    )
    return filled, [note + phrase("most {window_s:g} s and counts as missing after that.", window_s=window_s)]


def _named(name: str, measured: Sequence[Measured]) -> str:
    """Find the channel a user means: as spelt, or in plain words; the name itself where there is none."""
    names = [channel.name for channel in measured]
    if name in names:
        return name
    alike = [known for known in names if plain_words(known) == plain_words(name)]
    return alike[0] if len(alike) == 1 else name


def _settle(
    playing: Mapping[Role, Measured], measured: Sequence[Measured], choices: Choices
) -> tuple[dict[Role, Measured], list[str]]:
    """Bring every channel that plays a role to the role's base unit."""
    afr, of = choices.stoichiometric_afr, choices.stoichiometric_of
    mixture: dict[str, str] = {role: playing[role].name for role in MIXTURES if role in playing}
    notes = check_scales(measured, mixture, afr, of)
    settled: dict[Role, Measured] = {}
    assumed = []
    for role, channel in playing.items():
        if role in MIXTURES:
            settled[role], note = settle_mixture(channel, afr, of)
        elif role in TRIMS:
            settled[role], note = settle_trim(channel)
            if not note and channel.unit is None:
                assumed.append(f"{channel.name} in %")
        elif role == "fuel_system":
            settled[role], note = settle_fuel_system(channel)
        else:
            turned, note = settle_purge(channel) if role == "purge" else (channel, "")
            settled[role], unit = assume_unit(turned, role)
            assumed += [unit] * bool(unit)
        notes += [note] * bool(note)
    if "manifold_pressure" in settled:
        barometer = settled["barometer"].values if "barometer" in settled else None
        settled["manifold_pressure"], note = absolute(settled["manifold_pressure"], "manifold_pressure", barometer)
        notes += [note] * bool(note)
    tails = [channel.name for channel in playing.values() if not channel.field.unit and channel.unit is not None]
    if tails:
        notes.append(
            phrase("Units were taken from the end of channel names: {tails}.", tails=listed(tails, len(tails)))
        )
    if assumed:
        notes.append(phrase("No units are given; assumed: {assumed}.", assumed=listed(assumed, len(assumed))))
    return settled, notes


_EFFORTS: tuple[Role, ...] = ("load", "manifold_pressure", "airflow", "throttle", "pedal")
_MEET: tuple[Role, ...] = ("engine_speed", "manifold_pressure", "airflow", "sensor_signal", "stft_1", "lambda_measured")


def _strangers(settled: Mapping[Role, Measured]) -> list[str]:
    """Name which channels that belong together are never there at the same moment."""
    here = [settled[role] for role in _MEET if role in settled and settled[role].there.size]
    apart = [
        f"{index.name} and {other.name}"
        for at, index in enumerate(here)
        for other in here[at + 1 :]
        if not (index.complete or other.complete or np.any(np.isfinite(index.values) & np.isfinite(other.values)))
    ]
    if not apart:
        return []
    return [
        phrase(
            "Caution: never logged at the same moment, so they cannot be used together: {apart}.",
            apart=listed(apart[:4], len(apart)),
        )
    ]


def _check_inverse(settled: Mapping[Role, Measured]) -> None:
    """Refuse fuel over air that would be taken for lambda."""
    commanded = settled.get("lambda_commanded")
    if commanded is None or not may_be_inverse(replace(commanded, unit=find_unit(commanded.field.unit))):
        return
    for role in _EFFORTS:
        if role in settled and settled[role].there.size:
            check_inverse(commanded, settled[role])
            return


def _scaled(channel: Measured, choices: Choices) -> Measured:
    """Turn mixture channels that play no role into lambda too."""
    if channel.quantity not in ("afr", "phi") and channel.name not in choices.stoichiometric_of:
        return channel
    return settle_mixture(channel, choices.stoichiometric_afr, choices.stoichiometric_of)[0]


def _suspect(
    settled: Mapping[Role, Measured], stated: frozenset[Role]
) -> tuple[dict[Role, Measured], set[Role], list[str]]:
    """Take out codes, find dead channels, and say what contradicts itself."""
    kept: dict[Role, Measured] = {}
    dead: set[Role] = set()
    notes = []
    for role, channel in settled.items():
        kept[role], note = blank_codes(channel, role)
        notes += note
        if is_dead(kept[role], role):
            dead.add(role)
            level = f"{kept[role].there[0]:g} {channel.unit_name}".strip()
            end = "" if role in stated else " and is left out"
            notes.append(
                phrase(
                    "{channel} reads {level} in every row: the channel is dead{end}.",
                    channel=channel.name,
                    level=level,
                    end=end,
                )
            )
        elif is_no_mixture(kept[role], role):
            dead.add(role)
            end = "" if role in stated else " It is left out."
            notes.append(
                phrase(
                    "Caution: {channel} often reads below lambda {richest:g}; is it a voltage?{end}",
                    channel=channel.name,
                    richest=RICHEST,
                    end=end,
                )
            )
    return kept, dead, notes + contradictions(kept)


def _numeric(fields: Sequence[Field], clock: Field | None, stated: Mapping[str, Role]) -> tuple[list[Field], list[str]]:
    """Return the columns of numbers, turning texts that stand for a state into numbers."""
    numeric: list[Field] = []
    left_out: list[str] = []
    empty: list[str] = []
    states: list[str] = []
    for candidate in fields:
        if candidate is clock:
            continue
        if candidate.texts is None:
            numeric.append(candidate)
            continue
        values, note = state_codes(candidate.name, candidate.texts, stated.get(candidate.name))
        if values is None and candidate.name in stated:
            _refuse_text(candidate.name, candidate.texts, stated[candidate.name])
        states += [note] * bool(note)
        if values is not None:
            numeric.append(replace(candidate, values=values, texts=None))
        elif not note:
            (left_out if any(text.strip() for text in candidate.texts) else empty).append(candidate.name)
    lists = [("Columns of text were left out", left_out), ("Empty columns were left out", empty)]
    return numeric, [f"{what}: {listed(names[:6], len(names))}." for what, names in lists if names] + states


def _refuse_text(name: str, texts: TextArray, role: Role) -> None:
    """Refuse a role that was stated for a channel of text which says nothing of it.

    Raises:
        InputError: naming the channel and what was expected.
    """
    shown = next((str(text)[:30] for text in texts if text.strip()), "")
    wanted = EXPECTED.get(role, "numbers")
    raise InputError(
        phrase(
            "The channel {name!r} holds text such as {shown!r}, so it cannot be {role}.",
            name=name,
            shown=shown,
            role=role,
        ),
        f"Expected: {wanted}.",
    )
