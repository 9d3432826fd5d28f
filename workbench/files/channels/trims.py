"""Trims: in percent, as parts of one, as factors, around 100, or as raw bytes around 128."""

import re
from collections.abc import Collection, Mapping, Sequence
from dataclasses import replace

import numpy as np

from workbench.files.channels.measured import Measured
from workbench.files.gaps.wrapped import unwrapped
from workbench.files.vocabulary.asking import Reading, ask
from workbench.files.vocabulary.roles import looks_cells_up
from workbench.files.vocabulary.spelling import plain_words
from workbench.model.log import Alternative, Question, Role, typed_flag
from workbench.phrases import phrase

NEARER_128 = 114  # whole numbers around 128 are raw bytes, those around 100 percent
STEP = 100 / 128  # %; SAE J1979, parameters 06 to 09: A * 100 / 128 - 100
STILLEST, FEW_LEVELS = 0.5, 4  # %; a loop that works moves further. Common practice, no source.
LARGEST_TRIM = 28.0  # %; loops end at 25 or earlier. Common practice, no source.
ON_STEP = 0.01  # of a step
FACTORS = (0.4, 1.7)  # between these lies a trim that is a factor
LARGEST_PART, SURELY_LEAN = 1.0, 45.0  # of an error as a part of 1; %, which only a fuel cut reaches
_TRIM_WORD = re.compile(r"trim\w*|corr\w*|korr\w*|learn\w*|adapt\w*|integrator|\b(st|lt|fr|fra|int|blm)\b")
WIDEST_TRIM, MOST_OFFERED = 60.0, 4  # %; channels
_PERCENT = Reading("%", "It is in percent: 1 is a trim of +1 %.")
_FRACTION = Reading("fraction", "It is a fraction of 1: 0.05 is a trim of +5 %.", 100.0)
_TENTHS = Reading("permille", "It is in tenths of a percent: 10 is a trim of +1 %.", 0.1)
_FACTOR = Reading("factor", "It is a factor: 1.05 is a trim of +5 %.", 100.0, -100.0)


def settle_trim(  # noqa: PLR0911 - one for each way of writing it
    channel: Measured, short: Measured | None = None
) -> tuple[Measured, str, Question | None]:
    """Turn a trim into percent; say what was assumed, and ask what cannot be.

    Args:
        channel: as it was read.
        short: of a long trim: the short one of its bank, as it was read; None where there is none.
    """
    if (
        channel.quantity == "percent" and channel.unit is not None and channel.unit.name
    ):  # a part, or a factor, by its unit
        return channel, "", None
    there = channel.there
    if channel.quantity == "percent" and (signed := unwrapped(channel.values)) is not None:
        note = phrase(
            "{channel} leaps by about {whole:.4g} from row to row and never reads what lies between: below 0 it was "
            "written as a count without a sign, {whole:.4g} too high; that was taken away.",
            channel=channel.name,
            whole=signed[1],
        )
        return replace(channel, values=signed[0]), note, None
    if there.size and channel.quantity in ("", "percent") and not _is_percent_like(channel, short):
        low, middle, high = float(there.min()), float(np.median(there)), float(there.max())
        if channel.quantity == "" and _is_factor(channel, low, middle, high):
            turned = channel.becoming("percent", 100 * (channel.values - 1))
            return (
                turned,
                phrase(
                    "{channel} is a factor around 1; it was read as percent: 100 * (factor - 1).", channel=channel.name
                ),
                None,
            )
        if low > 50 and high <= 255 and middle > NEARER_128 and bool(np.all(there == np.rint(there))):
            turned = channel.becoming("percent", (channel.values - 128) * STEP)
            note = phrase(
                "{channel} holds raw bytes around 128; 128 was read as a trim of 0 %, one step as 0.78 %.",
                channel=channel.name,
            )
            return turned, note, None
        if low > 50 and high < 170 and 70 < middle < 135:
            turned = channel.becoming("percent", channel.values - 100)
            return (
                turned,
                phrase("{channel} lies around 100; 100 was read as a trim of 0 %.", channel=channel.name),
                None,
            )
        if 0 < max(abs(low), abs(high)) < STILLEST and np.unique(there).size > FEW_LEVELS:
            return _small(channel)
        if channel.quantity == "percent" and _is_around_one(channel):
            return _around_one(channel)
        if float(np.quantile(np.abs(there), 0.95)) > LARGEST_TRIM:
            return _large(channel)
    return (channel.becoming("percent", channel.values) if channel.quantity == "" else channel), "", None


def _is_percent_like(channel: Measured, short: Measured | None) -> bool:
    """Tell whether a long trim is written as its short one, which moves as trims in percent do.

    A long trim may hardly move, or stay near 1, for a whole drive; the short one of a loop that works does not.
    """
    if short is None or not short.there.size or (short.unit, short.field.unit) != (channel.unit, channel.field.unit):
        return False
    low, high = short.extent
    as_parts = _on_steps(channel, STEP / 100) and np.unique(channel.there).size > FEW_LEVELS
    small = float(np.quantile(np.abs(channel.there), 0.95)) <= LARGEST_TRIM
    return small and low < -STILLEST and high > STILLEST and max(-low, high) < LARGEST_TRIM and not as_parts


def _is_factor(channel: Measured, low: float, middle: float, high: float) -> bool:
    named_factor = re.search(r"factor|faktor|facteur|multipl", plain_words(channel.name)) is not None
    return (
        FACTORS[0] < low
        and high < FACTORS[1]
        and (named_factor or (0.7 < middle < 1.35 and not _on_steps(channel, STEP)))
    )


def _is_around_one(channel: Measured) -> bool:
    """Tell whether a trim given in % lies where factors do, and on no step of the trims of SAE J1979."""
    low, high = channel.extent
    tenths = bool(np.all(np.abs(10 * channel.there - np.rint(10 * channel.there)) < 1e-6))
    near = 0.05 / STEP if tenths else ON_STEP  # written with one decimal, 0.78 is 0.8
    return FACTORS[0] < low and high < FACTORS[1] and not _on_steps(channel, STEP, near)


def _on_steps(channel: Measured, step: float, near: float = ON_STEP) -> bool:
    return bool(np.all(np.abs(channel.there / step - np.rint(channel.there / step)) <= near))


def _small(channel: Measured) -> tuple[Measured, str, Question | None]:
    """A trim that hardly moves in percent: a part of one, for certain where it lies on the steps of one."""
    turned = channel.becoming("percent", 100 * channel.values)
    if _on_steps(channel, STEP / 100) or channel.quantity == "":
        note = phrase(
            "{channel} stays within {extent_max:.2g}, less than any loop in percent: it was read as a ",
            channel=channel.name,
            extent_max=np.abs(channel.extent).max(),
        )
        return turned, note + "fraction of 1, where 0.05 is 5 %.", None
    why = phrase(
        "{channel} is marked %, but stays within {extent_max:.2g}: a working loop moves more "
        "than that. Is it a fraction of 1?",
        channel=channel.name,
        extent_max=np.abs(channel.extent).max(),
    )
    return turned, "", ask(channel.name, why, (_FRACTION, _PERCENT), "%")


def _around_one(channel: Measured) -> tuple[Measured, str, Question | None]:
    turned = channel.becoming("percent", 100 * (channel.values - 1))
    why = phrase("{channel} is marked %, but stays around 1, as a factor does. Is it one?", channel=channel.name)
    return turned, "", ask(channel.name, why, (_FACTOR, _PERCENT), "%")


def _large(channel: Measured) -> tuple[Measured, str, Question | None]:
    """A trim that goes further than loops do in percent, whatever it says: tenths, or an engine that is far off."""
    why = phrase(
        "{channel} goes beyond {largest:g}, further than most loops do in percent. Is it in tenths?",
        channel=channel.name,
        largest=LARGEST_TRIM,
    )
    return channel.becoming("percent", channel.values), "", ask(channel.name, why, (_PERCENT, _TENTHS), "%")


def settle_error(channel: Measured) -> tuple[Measured, str, Question | None]:
    """Turn an error of lambda into percent of the command, and ask which way it counts where its values do not tell.

    In a fuel cut the wideband reads twice the command and more: measured over commanded then lies far above 0, while
    commanded over measured never gets further down than -100 %.
    """
    if channel.quantity == "percent":
        made, note = channel, ""
    else:
        part = channel.there.size > 0 and float(np.quantile(np.abs(channel.there), 0.9)) < LARGEST_PART
        made = channel.becoming("percent", channel.values * (100.0 if part else 1.0))
        unit = "a part of 1" if part else "%"
        note = phrase("{channel} has no unit and was read as {unit}.", channel=channel.name, unit=unit)
    low, high = made.extent
    if high > SURELY_LEAN:
        return made, note, None
    why = phrase(
        "{channel} may be measured over commanded lambda or the other way round, and its values do not tell. Which?",
        channel=channel.name,
    )
    readings = [
        Reading("measured/commanded", "Above 0 the engine ran leaner than commanded."),
        Reading("commanded/measured", "Above 0 the engine ran richer than commanded.", -1.0),
    ]
    return made, note, ask(channel.name, why, readings if low > -SURELY_LEAN else readings[::-1], "%", same=readings[0])


def unlogged_trims(
    roles: Mapping[Role, str], stated: Collection[Role], measured: Sequence[Measured] = ()
) -> list[Question]:
    """Ask whether trims that a log does not hold were at work: what they corrected looks right in the log.

    Args:
        roles: role -> channel, as they play.
        stated: roles that the user stated, also those that nothing is to play.
        measured: all channels, of which some may be trims under names that are not known.
    """
    likely = _like_trims(measured, roles)
    measures = {"lambda_measured", "lambda_error", "stft_1", "stft_2"} & set(roles)
    if not (measures and looks_cells_up(roles)) or {"total_trim_1", "total_trim_2"} & {*roles, *stated}:
        return []
    short: tuple[Role, ...] = ("stft_1", "stft_2")
    long_of: Mapping[Role, Role] = {"stft_1": "ltft_1", "stft_2": "ltft_2"}
    for role in short:
        if role in roles and long_of[role] not in roles and long_of[role] not in stated:
            why = phrase(
                "{channel} is logged without the long trim beside it, whose size would be missing in every cell. "
                "Was one at work? If so, log it, or reset the trims and drive again.",
                channel=roles[role],
            )
            none = Alternative("no", typed_flag("role", long_of[role], ""), phrase("The long trim counts as 0."))
            return [Question(roles[role], why, (*_offered(long_of[role], likely), none))]
        if long_of[role] in roles and role not in roles and role not in stated and likely:
            why = phrase(
                "{channel} is logged without the short trim beside it, whose size would be missing in every cell. "
                "Which channel is it?",
                channel=roles[long_of[role]],
            )
            none = Alternative("none", typed_flag("role", role, ""), phrase("The short trim counts as 0."))
            return [Question(roles[long_of[role]], why, (*_offered(role, likely), none))]
    if not {*short, "ltft_1", "ltft_2"} & {*roles, *stated}:
        name = roles.get("lambda_measured") or roles["lambda_error"]
        why = phrase(
            "No trims are logged beside {channel}: what they corrected would be missing in every cell. Were any at "
            "work? If so, log them, or switch them off and drive again.",
            channel=name,
        )
        none = Alternative("no", typed_flag("role", "stft_1", ""), phrase("Trims count as 0."))
        return [Question(name, why, (*_offered("stft_1", likely), none))]
    return []


def _like_trims(measured: Sequence[Measured], roles: Mapping[Role, str]) -> list[str]:
    """Name channels without a role that bear a word for a trim, or lie around 0 in percent as trims do."""
    return [
        each.name
        for each in measured
        if each.name not in roles.values()
        and each.quantity in ("percent", "")
        and max(-each.extent[0], each.extent[1]) < WIDEST_TRIM
        and (
            (each.quantity == "percent" and each.extent[0] < 0 < each.extent[1])
            or _TRIM_WORD.search(plain_words(each.name))
        )
    ][:MOST_OFFERED]


def _offered(role: Role, names: Sequence[str]) -> list[Alternative]:
    """Offer channels for a role."""
    return [
        Alternative(name, typed_flag("role", role, name), phrase("{name} is used as {role}.", name=name, role=role))
        for name in names
    ]
