"""Mixture channels: lambda, and air-fuel ratios on the scale of a fuel."""

import re
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from workbench.files.channels.measured import Measured, late_part
from workbench.files.vocabulary.asking import TELLING, Reading, ask
from workbench.files.vocabulary.scoring import FUEL_OVER_AIR
from workbench.files.vocabulary.spelling import plain_words
from workbench.files.vocabulary.vocabulary import RULES
from workbench.model.arrays import FloatArray
from workbench.model.log import SCALING, Alternative, Question, typed_flag
from workbench.phrases import call, flag, phrase

# Air-fuel ratios that fuels are scaled with: gasoline as usually rounded, with ethanol, ethanol, methanol, gases.
# Heywood (1988) eq. 3.6 gives 14.6 for CH1.87 and 9.0 for ethanol; the rounded figures are common practice, no source.
USUAL_SCALES = (14.7, 14.64, 14.6, 14.5, 14.1, 14.0, 13.8, 9.8, 9.75, 9.0, 6.47, 15.7, 15.5, 17.2)
NEAR_USUAL = 0.005  # of a scale: rounding, and how a step of the channel falls
FEWEST_HELD, WIDEBAND_OFF = 100, 0.013  # rows; and how far a wideband may be off where a loop holds lambda
TELLING_STEP = 0.03  # from lambda 1; less is no enrichment
FEWEST_TELLING = 10  # rows
TENFOLD = (130.0, 170.0)  # the middle of air-fuel ratios of gasoline times ten; no drive is at 1.3 lambda on the whole
LEANEST_KEPT = 1.3  # lambda that an engine is held at; past it fuel is cut
LEANEST = 3.0  # lambda; an air-fuel ratio of any fuel lies above
PLATEAU = 0.3  # of the rows; a commanded ratio stands at stoichiometric for most of a drive
NARROW_V = 1.25  # volts; no narrow-band sensor of zirconia gives more (common practice, no source)
_MAY_BE_INVERSE = re.compile(
    r"\b(equivalence|eq ratio|fuel air|eqr|far|richesse|riqueza|ricchezza|richness|dosado|phi)\b"
)
_VOLTS = re.compile(r"\b(?:volt\w*|spannung|tension\w*|voltaje)\b")
_INPUT = re.compile(r"(?:ain|adc|aux|analog\w*|ext\w*|ai|a|an)(?: ?in\w*)? ?\d{0,2}")  # it says nothing more
_OUTPUT = re.compile(r"\b(?:volt\w*|spannung|tension\w*|voltaje|raw|adc|analog\w*|counts?|input)\b")
_STATED_SCALE = re.compile(r"(?<![\d.,])(\d{1,2}[.,]\d{1,2})(?!\d)")


def settle_mixture(  # noqa: PLR0911 - one for each way of writing it
    channel: Measured, afr: float, of: Mapping[str, float]
) -> tuple[Measured, str]:
    """Turn a mixture channel into lambda, and say what was assumed.

    Args:
        channel: a channel that plays a mixture role.
        afr: air-fuel ratio at lambda 1 of the stated fuel.
        of: channel -> its own, where the user said so or it was found out.
    """
    middle = channel.middle
    if is_afr(channel):
        scale = scale_of(channel, afr, of)
        unit_text = "" if channel.quantity == "afr" else " has no unit and"
        return channel.becoming("lambda", channel.values / scale), phrase(
            "{channel}{unit_text} is an air-fuel ratio: lambda = AFR / {scale:g}.",
            channel=channel.name,
            unit_text=unit_text,
            scale=scale,
        )
    if channel.quantity == "phi":
        return inverted(channel), phrase(
            "{channel} is a fuel-air equivalence ratio: lambda is its inverse.", channel=channel.name
        )
    if channel.quantity == "" and FUEL_OVER_AIR[0] < middle < FUEL_OVER_AIR[1]:
        return _by_mass(channel, scale_of(channel, afr, of))
    if channel.quantity in ("", "afr") and TENFOLD[0] < middle < TENFOLD[1]:
        scale = scale_of(channel, afr, of)
        unit_text = phrase(
            "{channel} is ten times an air-fuel ratio: lambda = it / {scale:g}.", channel=channel.name, scale=10 * scale
        )
        return channel.becoming("lambda", channel.values / (10 * scale)), unit_text
    if channel.quantity in ("percent", "") and 40 < middle < 220:
        mark = "is given in %" if channel.quantity else "has no unit and reads around 100"
        return channel.becoming("lambda", channel.values / 100), phrase(
            "{channel} {mark}: 100 % was read as lambda 1.", channel=channel.name, mark=mark
        )
    if channel.quantity in ("", "lambda") and 400 < middle < 2200:
        return channel.becoming("lambda", channel.values / 1000), phrase(
            "{channel} is in thousandths: 1000 was read as lambda 1.", channel=channel.name
        )
    if channel.quantity == "lambda" and 40 < middle < 220:
        return channel.becoming("lambda", channel.values / 100), phrase(
            "{channel} reads around 100: that was read as lambda 1.", channel=channel.name
        )
    if channel.quantity in ("percent", "afr"):
        mark = "%" if channel.quantity == "percent" else "AFR"
        return channel.becoming("lambda", channel.values), phrase(
            "{channel} is marked {mark}, but reads near 1: it was read as lambda.", channel=channel.name, mark=mark
        )
    if channel.quantity == "lambda":
        return channel, ""
    unit_text = (
        phrase("{channel} has no unit; it was read as lambda (1 = stoichiometric).", channel=channel.name)
        if middle > 0
        else ""
    )
    return channel.becoming("lambda", channel.values), unit_text


def _by_mass(channel: Measured, scale: float) -> tuple[Measured, str]:
    """Give fuel over air by mass as lambda, with what is to be said of it."""
    with np.errstate(divide="ignore"):
        values = np.where(channel.values > 0, 1 / (scale * channel.values), np.nan)
    return channel.becoming("lambda", values), phrase(
        "{channel} is fuel over air by mass: lambda = 1 / ({scale:g} x it).", channel=channel.name, scale=scale
    )


def inverted(channel: Measured) -> Measured:
    """Give fuel over air as lambda."""
    with np.errstate(divide="ignore"):
        return channel.becoming("lambda", np.where(channel.values == 0, 0.0, 1 / channel.values))


def may_be_inverse(channel: Measured) -> bool:
    """Tell whether a name is also used for fuel over air; SAE J1979 calls lambda itself an equivalence ratio."""
    words = plain_words(channel.name)
    return channel.unit is None and _MAY_BE_INVERSE.search(words) is not None


def is_inverse(mixture: FloatArray, effort: FloatArray) -> bool | None:
    """Tell whether a mixture channel is fuel over air: it rises where the engine works hard; None where it is not told.

    Args:
        mixture: as read, around 1.
        effort: load, pressure, throttle or airflow in the same rows. In a fuel cut, where lambda rises, it is low.
    """
    known = np.isfinite(mixture) & np.isfinite(effort) & (mixture != 0)
    if known.sum() < FEWEST_TELLING:
        return None
    hard, easy = np.quantile(effort[known], [0.6, 0.4])
    above, below = known & (mixture > 1 + TELLING_STEP), known & (mixture < 1 - TELLING_STEP)
    if max(int(above.sum()), int(below.sum())) < FEWEST_TELLING:
        return False  # what hardly leaves 1 reads nearly the same both ways
    size = np.abs(mixture - 1)
    for_inverse = float(size[(above & (effort > hard)) | (below & (effort < easy))].sum())
    for_lambda = float(size[(below & (effort > hard)) | (above & (effort < easy))].sum())
    if max(for_inverse, for_lambda) < FEWEST_TELLING * TELLING_STEP:
        return None
    if min(for_inverse, for_lambda) > 0.4 * max(for_inverse, for_lambda):
        return None
    return for_inverse > for_lambda


def follows_inverted(mixture: FloatArray, commanded: FloatArray) -> bool | None:
    """Tell whether what is measured follows the commanded lambda upside down; None where that is not told."""
    rows = (
        np.isfinite(mixture) & (np.abs(commanded - 1) > TELLING_STEP) & (commanded > 0.5) & (commanded < LEANEST_KEPT)
    )
    rows &= mixture > 0.3
    if rows.sum() < FEWEST_TELLING:
        return None
    straight = float(np.median(np.abs(mixture[rows] - commanded[rows])))
    inverted_too = float(np.median(np.abs(1 / mixture[rows] - commanded[rows])))
    return None if max(straight, inverted_too) < 2 * min(straight, inverted_too) else inverted_too < straight


def settle_inverse(
    channel: Measured, effort: FloatArray | None, commanded: FloatArray | None = None
) -> tuple[Measured, str, Question | None]:
    """Decide of a channel in lambda whose name may mean fuel over air; ask where its course does not tell.

    Args:
        channel: as lambda.
        effort: load, pressure, throttle or airflow in the same rows; None where there is none.
        commanded: lambda that the ECU asked for, where that is known and this is another channel.
    """
    found = None if commanded is None else follows_inverted(channel.values, commanded)
    if found is None and effort is not None:
        found = is_inverse(channel.values, effort)
    if found:
        note = phrase(
            "{channel} rises above 1 where the engine runs rich: it is fuel over air, and lambda is its inverse.",
            channel=channel.name,
        )
        return inverted(channel), note, None
    if found is False:
        return (
            channel,
            phrase(
                "{channel} may be lambda or its inverse by its name; by its values it is lambda.", channel=channel.name
            ),
            None,
        )
    why = phrase(
        "{channel} may be lambda or fuel over air, its inverse; its values do not decide. Which is it?",
        channel=channel.name,
    )
    readings = (
        Reading("lambda", "It is lambda: below 1 is rich."),
        Reading("phi", "It is fuel over air: above 1 is rich.", inverse=True),
    )
    return channel, "", ask(channel.name, why, readings, "lambda")


def scale_of(channel: Measured, afr: float, of: Mapping[str, float]) -> float:
    """Give the air-fuel ratio at lambda 1 of a channel: as stated for it, as its label says, or the fuel's."""
    if channel.name in of:
        return of[channel.name]
    return label_scale(channel) or afr


def label_scale(channel: Measured) -> float:
    """Give the scale that name or unit of a channel state, as in `AFR (14.1)`; 0 where they state none."""
    for text in (channel.field.unit, channel.name):
        match = _STATED_SCALE.search(text)
        if match is not None:
            scale = float(match[1].replace(",", "."))
            if any(abs(scale / usual - 1) < 0.02 for usual in USUAL_SCALES):
                return scale
    return 0.0


@dataclass(frozen=True)
class Scales:
    """With what air-fuel ratios at lambda 1 the channels of a log are scaled.

    Attributes:
        of: channel -> the ratio that was found out, besides those that were stated.
        notes: what was found, as sentences.
        questions: what is open, with the ratio taken meanwhile as the first answer.
    """

    of: Mapping[str, float]
    notes: tuple[str, ...]
    questions: tuple[Question, ...]


def find_scales(
    measured: Sequence[Measured], mixture: Mapping[str, str], afr: float, of: Mapping[str, float], held: FloatArray
) -> Scales:
    """Hold every AFR channel against the stated fuel, a lambda of the same name, and what closed loop holds.

    Args:
        measured: all channels, mixtures as read.
        mixture: role -> name, for the mixture roles.
        afr: air-fuel ratio at lambda 1 of the stated fuel.
        of: channel -> its own, where the user said so.
        held: lambda that the ECU holds in each row, shape (rows,); NaN where it holds none or that is not known.
    """
    found, notes, questions = dict(of), list[str](), list[Question]()
    for role, name in mixture.items():
        channel = next(candidate for candidate in measured if candidate.name == name)
        if not is_afr(channel) or name in of:
            continue
        stated = label_scale(channel)
        if stated:
            found[name] = stated
        elif twin := _twin(channel, measured):
            found[name], reason = twin
            notes.append(f"{name} {reason}.")
        else:
            scale, reason = _told_scale(channel, role, held, afr)
            if abs(scale / afr - 1) > TELLING:
                found[name] = scale
                questions.append(_which_scale(channel, reason, scale, afr, role))
    return Scales(found, tuple(notes), tuple(questions))


def _told_scale(channel: Measured, role: str, held: FloatArray, afr: float) -> tuple[float, str]:
    """Give the scale that a channel's course tells of, and how; that of the fuel where it tells of no other."""
    plateau = _plateau(channel.there) if role == "lambda_commanded" else 0.0
    if plateau and any(abs(plateau / usual - 1) < NEAR_USUAL for usual in USUAL_SCALES):
        return plateau, phrase("reads {plateau:g} most of the time, as at lambda 1", plateau=plateau)
    rows = late_part(np.isfinite(held)) & np.isfinite(channel.values) & (channel.values > 5)
    if role == "lambda_commanded" or rows.sum() < FEWEST_HELD:
        return afr, ""
    seen = float(np.median(channel.values[rows] / held[rows]))
    nearest = min(USUAL_SCALES, key=lambda usual: abs(seen / usual - 1))
    near = next((usual for usual in USUAL_SCALES if abs(seen / usual - 1) <= WIDEBAND_OFF), nearest)
    # What a sensor may be off by tells of no other scale: it stands in the uncertainty of every cell.
    if abs(seen / afr - 1) <= WIDEBAND_OFF or abs(seen / near - 1) > 2 * WIDEBAND_OFF:
        return afr, ""
    return near, phrase("reads {seen:.4g} where the ECU holds lambda 1", seen=seen)


def _which_scale(channel: Measured, reason: str, scale: float, afr: float, role: str) -> Question:
    """Ask which scale a channel has; of a sensor the commonest that its reading may stand for, and those near it."""
    why = phrase(
        "{channel} {reason}, but the stated fuel has {afr:g}: confusing the two is an error "
        "of {scale:+.2f} % in lambda. Which is it scaled with?",
        channel=channel.name,
        reason=reason,
        afr=afr,
        scale=100 * (scale / afr - 1),
    )
    near = [usual for usual in USUAL_SCALES if role != "lambda_commanded" and abs(usual / scale - 1) < NEAR_USUAL]
    readings = (
        *(
            Reading(f"{each:g}", phrase("Lambda is this channel over {scale:g}.", scale=each), 1 / each)
            for each in dict.fromkeys((scale, *near))
        ),
        Reading(f"{afr:g}", phrase("Lambda is this channel over {afr:g}, that of the stated fuel.", afr=afr), 1 / afr),
    )
    return ask(channel.name, why, readings, "lambda", option="afr-of")


def is_mixture_name(name: str) -> bool:
    """Return whether a name is one by which mixtures are known."""
    return re.search(rf"\b(?:{RULES['lambda_measured'].name})", plain_words(name)) is not None


def ask_for_scaling(measured: Sequence[Measured], playing: Collection[str]) -> list[Question]:
    """Ask what channels measure that look like a wideband's output in volts or counts, and play no role.

    Args:
        measured: all channels.
        playing: names of those that play a role.
    """
    return [_scaling_of(each) for each in measured if each.name not in playing and _is_output(each)]


def _is_output(channel: Measured) -> bool:
    """Tell whether a channel may be the output of a wideband that is not scaled yet."""
    rule, words = RULES["lambda_measured"], _VOLTS.sub(" ", plain_words(channel.name))
    if _is_bare_input(channel):
        return True
    if channel.stated or not re.search(rf"\b(?:{rule.name})", words) or re.search(rf"\b(?:{rule.but})", words):
        return False
    low, high = channel.extent
    if not high > low:
        return False
    if channel.quantity == "voltage":
        return high > NARROW_V or re.search(rule.better, words) is not None
    return not channel.field.unit and high > rule.high and _OUTPUT.search(plain_words(channel.name)) is not None


def _is_bare_input(channel: Measured) -> bool:
    """Tell an analogue input that moves and says nothing of what it measures."""
    words, (low, high) = _VOLTS.sub(" ", plain_words(channel.name)).strip(), channel.extent
    moves = channel.quantity == "voltage" and not channel.stated and high - low > NARROW_V
    return moves and _INPUT.fullmatch(words) is not None


def _scaling_of(channel: Measured) -> Question:
    volts, (low, high) = channel.quantity == "voltage", channel.extent
    shown = {"channel": channel.name, "low": low, "high": high, "unit": "V" if volts else "volts or counts"}
    why = phrase(
        "{channel} looks like the output of a wideband in {unit}, {low:.4g} to {high:.4g}: what does it measure?",
        **shown,
    )
    if _is_bare_input(channel):
        why = phrase("{channel} is an analogue input in V, {low:.4g} to {high:.4g}: what does it measure?", **shown)
    stated = call(SCALING, "SESSION", f"'{channel.name}'")
    left = typed_flag("unit", channel.name, "V") if volts else typed_flag("role", "lambda_measured", "")
    means = phrase(
        "State what it measures at two of its values: {point_flag} and again, {unit_flag}, {role_flag}.",
        point_flag=flag("point", "LOGGED=MEASURED"),
        unit_flag=flag("unit", "lambda"),
        role_flag=flag("plays", "lambda_measured"),
    )
    return Question(
        channel.name,
        why,
        (
            Alternative("state its scaling", stated, means),
            Alternative("leave it out", left, "It is not used as measured lambda."),
        ),
    )


def is_afr(channel: Measured) -> bool:
    """Tell whether a channel is given as an air-fuel ratio, by its unit and its values."""
    if channel.quantity == "afr":
        return not 0 < channel.middle < LEANEST
    return channel.quantity == "" and 5 < channel.middle < 25


def _twin(channel: Measured, measured: Sequence[Measured]) -> tuple[float, str] | None:
    """Find a lambda of the same name, and by what this channel is that times."""
    bare = _bare(channel.name)
    for other in measured:
        if other is channel or is_afr(other) or other.quantity not in ("lambda", "") or _bare(other.name) != bare:
            continue
        ratio = channel.values / np.where(other.values == 0, np.nan, other.values)
        ratio = ratio[np.isfinite(ratio)]
        if ratio.size > 10 and 5 < float(np.median(ratio)) < 25:
            low, middle, high = np.quantile(ratio, [0.1, 0.5, 0.9])
            if high - low < 0.01 * middle:
                scale = round(float(middle), 2)
                return scale, phrase(
                    "is {scale:g} times {other}, so it is scaled with that", scale=scale, other=other.name
                )
    return None


def _bare(name: str) -> str:
    """Return a channel's plain words without those for the kind of mixture number."""
    return " ".join(re.sub(r"\b(lambda|afr|air|fuel|ratio|equivalence|phi|[\d ]+)\b", " ", plain_words(name)).split())


def _plateau(values: FloatArray) -> float:
    if values.size < 20:
        return 0.0
    rounded = np.rint(values * 50) / 50
    levels, counts = np.unique(rounded, return_counts=True)
    best = int(np.argmax(counts))
    if counts[best] < PLATEAU * values.size:
        return 0.0
    return round(float(np.median(values[rounded == levels[best]])), 3)
