"""From columns as they were read to a log: units, roles, scales, and codes that stand for nothing."""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from workbench.errors import InputError
from workbench.files.channels.crosschecks import Checked, cross_check
from workbench.files.channels.doubts import (
    asked_of_unknown_units,
    still_long_trim,
    swapped_mixtures,
    untold_cuts,
)
from workbench.files.channels.measured import Measured, measure
from workbench.files.channels.merging import hold, is_sparse
from workbench.files.channels.mixture import ask_for_scaling, is_afr, is_mixture_name, settle_mixture
from workbench.files.channels.pairs import asked_of_texts, with_pairs_apart
from workbench.files.channels.per_stroke import as_flow, stated_cylinders
from workbench.files.channels.settling import settle
from workbench.files.channels.stated_answers import answered, no_units
from workbench.files.channels.states import as_numbers, cast_state
from workbench.files.channels.trims import unlogged_trims
from workbench.files.course.command_by_course import as_they_move, command_by_course
from workbench.files.course.heard import Heard
from workbench.files.course.mixtures import exchanged_pressures
from workbench.files.course.questions import asked_of_courses
from workbench.files.course.rival_trims import asked_of_additive_trims, asked_of_rival_trims
from workbench.files.gaps.codes import without_codes
from workbench.files.gaps.holding import let_stand
from workbench.files.gaps.on_change import AS_READ, Held
from workbench.files.gaps.spoilt import spoilt_by_a_spreadsheet
from workbench.files.moments.time_axis import Moments, find_moments
from workbench.files.text.late_numbers import shown_text
from workbench.files.unnamed.by_physics import Unnamed
from workbench.files.unnamed.offers import Offer, offered, reasons
from workbench.files.unnamed.other_units import asked_of_unfit_units
from workbench.files.vocabulary.file_words import CLOCK
from workbench.files.vocabulary.recording import Field, Recording, listed
from workbench.files.vocabulary.roles import (
    STATED,
    Cast,
    cast_roles,
    check_dimension,
    doubtful_roles,
    unfit_for_roles,
)
from workbench.files.vocabulary.scoring import MIXTURES, Candidate
from workbench.files.vocabulary.spelling import plain_words
from workbench.files.vocabulary.units import find_unit
from workbench.model.arrays import FloatArray
from workbench.model.log import Channel, Log, Question, Role
from workbench.model.packing import Column
from workbench.phrases import flag, join_phrases, phrase


@dataclass(frozen=True)
class Choices:
    """What the user says about the channels.

    Attributes:
        roles: role -> channel.
        stoichiometric_afr: air-fuel ratio at lambda 1 of the fuel, for channels logged as AFR.
        stoichiometric_of: channel -> the same, where a channel was scaled with another one.
        units: channel -> its unit; the time is known by its column too.
        rate_hz: rows a second, for a file without a time.
        must_be_plausible: whether to refuse values that cannot come from an engine.
        window_s: hold values for so long, s; None leaves each value at the moment at which it was read.
    """

    roles: Mapping[Role, str] = field(default_factory=dict)
    stoichiometric_afr: float = 14.7
    stoichiometric_of: Mapping[str, float] = field(default_factory=dict)
    units: Mapping[str, str] = field(default_factory=dict)
    rate_hz: float | None = None
    must_be_plausible: bool = True
    window_s: float | None = None


@np.errstate(over="ignore", invalid="ignore")  # a damaged number may be as large as numbers get
def make_log(recording: Recording, sha256: str, choices: Choices, *, offering: bool = True) -> Log:
    """Return a recording its meaning.

    Args:
        recording: what was read.
        sha256: of its file.
        choices: what the user says.
        offering: whether roles are offered to channels of unknown names, by their units and courses.

    Raises:
        InputError: when a stated channel is not there, there is no time, or the values cannot be true.
    """
    moments = find_moments(recording, choices.rate_hz, choices.units)
    recording = moments.recording
    held, notes = _on_rows(recording, moments, choices)
    fields, codes_noted = without_codes(held.fields)
    counted = {name: count for name, text in choices.units.items() if (count := stated_cylinders(text))}
    measured = _measured(recording, fields, moments, choices, notes)
    measured, per_stroke, open_strokes = as_flow(measured, counted)
    candidates = [Candidate(each.name, each.quantity, each.unit is not None, each.there) for each in measured]
    by_name = {channel.name: channel for channel in measured}
    stated = {role: _named(name, measured) for role, name in choices.roles.items()}
    cast, offer = _cast(measured, candidates, stated, offering=offering)
    _check_ratios(choices.stoichiometric_of, measured, [cast.roles.get(role) for role in MIXTURES], recording.source)
    doubts = _doubts(recording.source, {role: name for role, name in stated.items() if name}, by_name, candidates)
    found = settle(
        {role: by_name[name] for role, name in cast.roles.items()},
        measured,
        choices.stoichiometric_afr,
        choices.stoichiometric_of,
    )
    all_notes = [*notes, *offer.notes, *held.notes, *per_stroke, *codes_noted, *found.notes, *doubts]
    all_notes += unfit_for_roles(candidates, cast.roles)
    checked = cross_check(found, cast, measured, moments.clock.time, choices.roles)
    all_notes += checked.notes
    if offer.roles and checked.objections:
        return make_log(recording, sha256, choices, offering=False)  # what no car does was offered wrongly
    _check_plausible(checked, recording.source, choices)
    by_name |= {channel.name: channel for channel in checked.by_role.values()}
    by_name = {name: _scaled(channel, choices, found.scales) for name, channel in by_name.items()}
    for channel in by_name.values():
        channel.values.flags.writeable = False  # so that the log can keep them without a copy
    roles = _playing(cast, checked, choices)
    spoilt, one_sided = spoilt_by_a_spreadsheet(recording.spoilt, moments.clock.time.size, roles, choices.roles)
    unknown = _unknown_ways(recording, measured, cast, roles, choices, moments.clock.seconds)
    rivals = _of_rivals(cast, roles, checked, measured, choices.roles)
    courses = [*rivals, *_of_courses(checked, roles, [*checked.questions, *unknown, *rivals], moments, choices)]
    asked = (*one_sided, *_about(held.questions, roles), *checked.questions, *unknown, *courses)
    log = Log(
        recording.source,
        sha256,
        Column(moments.clock.time),
        tuple(Channel(each.name, each.unit_name, Column(each.values), each.field.unit) for each in by_name.values()),
        roles,
        {**{role: cast.reasons[role] for role in roles}, **{role: STATED for role, name in stated.items() if not name}},
        tuple(dict.fromkeys([*spoilt, *recording.notes, *moments.notes, *all_notes])),
        (*moments.questions, *offer.questions, *open_strokes, *asked, *_unscaled(measured, roles, choices)),
        moments.recorded,
    )
    return answered(log, no_units(choices.units))


def _cast(
    measured: Sequence[Measured], candidates: Sequence[Candidate], stated: Mapping[Role, str], *, offering: bool
) -> tuple[Cast, Offer]:
    """Give each role its channel: as stated, by name, and where names say nothing by what is offered."""
    cast = cast_roles(candidates, {role: name for role, name in stated.items() if name})
    cast = cast_state(command_by_course(cast, candidates, stated), measured, stated)
    cast, swapped = as_they_move(cast.without([role for role, name in stated.items() if not name]), candidates, stated)
    if not offering:
        return cast, Offer(questions=swapped)
    channels = [Unnamed(each.name, each.quantity, each.unit is not None, each.values, each.unit) for each in measured]
    offer = offered(channels, cast.roles, stated)
    cast = replace(cast, roles={**cast.roles, **offer.roles}, reasons={**cast.reasons, **reasons(offer)})
    asked = (*swapped, *offer.questions, *asked_of_unfit_units(candidates, channels, cast.roles, stated))
    return cast, replace(offer, questions=asked)


def _check_plausible(checked: Checked, source: str, choices: Choices) -> None:
    """Refuse values that cannot come from a car, where the user does not say otherwise."""
    if (why := join_phrases("; ", checked.objections)) and choices.must_be_plausible:
        raise InputError(
            phrase("{source} cannot be used for calibration: {why}.", source=source, why=why),
            "It looks like simulated or damaged data. Log the drive again.",
        )


def _on_rows(recording: Recording, moments: Moments, choices: Choices) -> tuple[Held, list[str]]:
    """Return the columns of numbers on the rows that have a time, those written on change held."""
    kept = [each.on_rows(moments.clock.kept) for each in recording.fields if each is not moments.field]
    fields, notes = as_numbers(with_pairs_apart(kept), {name: role for role, name in choices.roles.items()})
    if choices.window_s is not None:  # the user says how long a value stands
        return Held(fields), notes
    words = {**choices.units, **dict.fromkeys(recording.spoilt, AS_READ)}
    return let_stand(fields, moments.clock.time, choices.roles, words), notes


def _about(questions: Sequence[Question], roles: Mapping[Role, str]) -> list[Question]:
    """Leave out questions about channels that play no role, so that nothing rests on the answer."""
    return [each for each in questions if each.channel in roles.values()]


def _unknown_ways(
    recording: Recording,
    measured: Sequence[Measured],
    cast: Cast,
    roles: Mapping[Role, str],
    choices: Choices,
    seconds: float,
) -> list[Question]:
    """Ask about channels that cells rest on and that hold text, or are given in a unit that nobody knows."""
    playing = {role: next(each for each in measured if each.name == name) for role, name in cast.roles.items()}
    units = asked_of_unknown_units(playing, set(playing) - set(roles), choices.roles)
    texts = asked_of_texts(recording, choices.roles)
    if texts or units:
        return [*texts, *units]
    heard = {role: playing[role] for role in roles if role in playing}
    return asked_of_names(heard, roles, measured, choices.roles, seconds, playing)


def asked_of_names(
    heard: Mapping[Role, Measured],
    roles: Mapping[Role, str],
    measured: Sequence[Measured],
    stated: Mapping[Role, str],
    seconds: float,
    playing: Mapping[Role, Measured],
) -> list[Question]:
    """Ask about trims that lack or stand, and about names that are exchanged.

    Args:
        heard: role -> channel, of those that play.
        roles: role -> channel's name.
        measured: all channels.
        stated: roles that the user stated.
        seconds: how long the log is.
        playing: role -> channel, with those that say nothing.
    """
    trims = unlogged_trims(roles, stated, measured) or still_long_trim(heard, stated, seconds)
    units_given = {each.name: each.field.unit for each in measured}
    pressures = exchanged_pressures({each.name: each.values for each in measured}, units_given, stated)
    return [*pressures, *swapped_mixtures(playing, stated), *trims, *untold_cuts(heard, stated)]


def _of_courses(
    checked: Checked, roles: Mapping[Role, str], open_: Sequence[Question], moments: Moments, choices: Choices
) -> list[Question]:
    """Hold channels against their course, unless something is asked of them already."""
    heard = {role: channel for role, channel in checked.by_role.items() if role in roles}
    settled = {each.channel for each in open_} | {each.name for each in heard.values() if each.stated}
    return asked_of_course(heard, settled, moments.clock.time, choices.roles)


def asked_of_course(
    heard: Mapping[Role, Measured], settled: Collection[str], time: FloatArray, stated: Mapping[Role, str]
) -> list[Question]:
    """Hold channels that play roles against their course.

    Args:
        heard: role -> channel, in base units.
        settled: names of channels about which something is asked already, or whose unit the user stated.
        time: s, shape (rows,).
        stated: roles that the user stated.
    """
    values = {role: each.values for role, each in heard.items()}
    names = {role: each.name for role, each in heard.items()}
    return asked_of_courses(Heard(values, names, time, stated, settled))


def _of_rivals(
    cast: Cast, roles: Mapping[Role, str], checked: Checked, measured: Sequence[Measured], stated: Mapping[Role, str]
) -> list[Question]:
    """Ask which of several channels is a trim; those that play none count in % where they name no other unit."""
    values = {each.name: each.values for each in measured if each.quantity in ("percent", "")}
    values |= {each.name: each.values for each in checked.by_role.values()}
    others = {each.name: (each.quantity, each.values) for each in measured if each.name not in roles.values()}
    found = asked_of_rival_trims(roles, cast.rivals, values, stated)
    return found or asked_of_additive_trims(roles, others, stated)


def _playing(cast: Cast, checked: Checked, choices: Choices) -> dict[Role, str]:
    """Leave out the roles of channels that hold nothing, unless they were stated."""
    return {
        role: name
        for role, name in cast.roles.items()
        if role in choices.roles or (role not in checked.dead and checked.by_role[role].there.size)
    }


def _unscaled(measured: Sequence[Measured], roles: Mapping[Role, str], choices: Choices) -> list[Question]:
    """Ask for the scaling of what may be the wideband, where no channel is."""
    if any(role in roles or role in choices.roles for role in ("lambda_measured", "lambda_error")):
        return []
    return ask_for_scaling(measured, roles.values())


def _measured(
    recording: Recording, fields: Sequence[Field], moments: Moments, choices: Choices, notes: list[str]
) -> list[Measured]:
    """Understand the units of all columns.

    Raises:
        InputError: when there is no column, or a unit is stated for none of them.
    """
    clock = "" if moments.field is None else moments.field.name
    for name in choices.units:
        if name != clock and all(name != each.name for each in fields):
            known = ", ".join(each.name for each in fields)
            raise InputError(
                phrase("{source} has no channel {name!r} to set a unit for.", source=recording.source, name=name),
                phrase("It has: {known}.", known=known),
            )
    units = {name: text for name, text in choices.units.items() if find_unit(text) is not None}
    measured = [measure(each, units.get(each.name, "")) for each in fields]
    if recording.time is None and choices.window_s is not None:
        measured, assumed = _bridged(measured, moments.clock.time, choices.window_s)
        notes += assumed
    if not measured:
        raise _no_numbers(recording)
    return measured


def _no_numbers(recording: Recording) -> InputError:
    """Refuse a log whose columns, but for the time, are all text, showing what stands there."""
    texts = [
        each for each in recording.fields if each.texts is not None and CLOCK.search(plain_words(each.name)) is None
    ]
    text = max(texts, key=lambda each: len(shown_text(each)), default=None)
    if text is None or not shown_text(text):
        return InputError(
            phrase("{source} has a time but no channels of numbers.", source=recording.source),
            "Log at least one channel.",
        )
    return InputError(
        phrase(
            "{source} has a time but no channels of numbers: {name} holds text such as {shown!r}.",
            source=recording.source,
            name=text.name,
            shown=shown_text(text),
        ),
        "Export each channel as a column of its own, a number in each cell.",
    )


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


def _scaled(channel: Measured, choices: Choices, scales: Mapping[str, float]) -> Measured:
    """Turn mixture channels that play no role into lambda too."""
    if channel.quantity not in ("afr", "phi") and channel.name not in choices.stoichiometric_of:
        return channel
    return settle_mixture(channel, choices.stoichiometric_afr, scales)[0]
