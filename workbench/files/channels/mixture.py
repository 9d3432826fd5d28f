"""Mixture channels: lambda, and air-fuel ratios on the scale of a fuel."""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from workbench.files.channels.measured import Measured
from workbench.files.vocabulary.asking import TELLING, Reading, ask
from workbench.files.vocabulary.spelling import plain_words
from workbench.files.vocabulary.vocabulary import RULES
from workbench.model.arrays import FloatArray
from workbench.model.log import Question

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
_STATED_SCALE = re.compile(r"(?<![\d.,])(\d{1,2}[.,]\d{1,2})(?!\d)")


def settle_mixture(  # noqa: PLR0911 - one for each way of writing it
    one: Measured, afr: float, of: Mapping[str, float]
) -> tuple[Measured, str]:
    """Turn a mixture channel into lambda, and say what was assumed.

    Args:
        one: a channel that plays a mixture role.
        afr: air-fuel ratio at lambda 1 of the stated fuel.
        of: channel -> its own, where the user said so or it was found out.
    """
    middle = one.middle
    if is_afr(one):
        scale = scale_of(one, afr, of)
        said = "" if one.quantity == "afr" else " has no unit and"
        return one.becoming(
            "lambda", one.values / scale
        ), f"{one.name}{said} is an air-fuel ratio: lambda = AFR / {scale:g}."
    if one.quantity == "phi":
        return inverted(one), f"{one.name} is a fuel-air equivalence ratio: lambda is its inverse."
    if one.quantity in ("", "afr") and TENFOLD[0] < middle < TENFOLD[1]:
        scale = scale_of(one, afr, of)
        said = f"{one.name} is ten times an air-fuel ratio: lambda = it / {10 * scale:g}."
        return one.becoming("lambda", one.values / (10 * scale)), said
    if one.quantity in ("percent", "") and 40 < middle < 220:
        mark = "is given in %" if one.quantity else "has no unit and reads around 100"
        return one.becoming("lambda", one.values / 100), f"{one.name} {mark}: 100 % was read as lambda 1."
    if one.quantity in ("", "lambda") and 400 < middle < 2200:
        return one.becoming("lambda", one.values / 1000), f"{one.name} is in thousandths: 1000 was read as lambda 1."
    if one.quantity == "lambda" and 40 < middle < 220:
        return one.becoming("lambda", one.values / 100), f"{one.name} reads around 100: that was read as lambda 1."
    if one.quantity in ("percent", "afr"):
        mark = "%" if one.quantity == "percent" else "AFR"
        return one.becoming(
            "lambda", one.values
        ), f"{one.name} is marked {mark}, but reads near 1: it was read as lambda."
    if one.quantity == "lambda":
        return one, ""
    said = f"{one.name} has no unit; it was read as lambda (1 = stoichiometric)." if middle > 0 else ""
    return one.becoming("lambda", one.values), said


def inverted(one: Measured) -> Measured:
    """Give fuel over air as lambda."""
    with np.errstate(divide="ignore"):
        return one.becoming("lambda", np.where(one.values == 0, 0.0, 1 / one.values))


def may_be_inverse(one: Measured) -> bool:
    """Tell whether a name is also used for fuel over air; SAE J1979 calls lambda itself an equivalence ratio."""
    words = plain_words(one.name)
    return one.unit is None and re.search(r"\b(equivalence|eq ratio|fuel air|eqr|far)\b", words) is not None


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
    one: Measured, effort: FloatArray | None, commanded: FloatArray | None = None
) -> tuple[Measured, str, Question | None]:
    """Decide of a channel in lambda whose name may mean fuel over air; ask where its course does not tell.

    Args:
        one: as lambda.
        effort: load, pressure, throttle or airflow in the same rows; None where there is none.
        commanded: lambda that the ECU asked for, where that is known and this is another channel.
    """
    found = None if commanded is None else follows_inverted(one.values, commanded)
    if found is None and effort is not None:
        found = is_inverse(one.values, effort)
    if found:
        said = f"{one.name} rises above 1 where the engine runs rich: it is fuel over air, and lambda is its inverse."
        return inverted(one), said, None
    if found is False:
        return one, f"{one.name} may be lambda or its inverse by its name; by its values it is lambda.", None
    why = f"{one.name} may be lambda or fuel over air, its inverse; its values do not decide. Which is it?"
    readings = (
        Reading("lambda", "It is lambda: below 1 is rich."),
        Reading("phi", "It is fuel over air: above 1 is rich.", inverse=True),
    )
    return one, "", ask(one.name, why, readings, "lambda")


def scale_of(one: Measured, afr: float, of: Mapping[str, float]) -> float:
    """Give the air-fuel ratio at lambda 1 of a channel: as stated for it, as its label says, or the fuel's."""
    if one.name in of:
        return of[one.name]
    return label_scale(one) or afr


def label_scale(one: Measured) -> float:
    """Give the scale that name or unit of a channel state, as in `AFR (14.1)`; 0 where they state none."""
    for text in (one.field.unit, one.name):
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
        one = next(channel for channel in measured if channel.name == name)
        if not is_afr(one) or name in of:
            continue
        stated = label_scale(one)
        if stated:
            found[name] = stated
        elif twin := _twin(one, measured):
            found[name], reason = twin
            notes.append(f"{name} {reason}.")
        else:
            scale, reason = _told_scale(one, role, held, afr)
            if abs(scale / afr - 1) > TELLING:
                found[name] = scale
                questions.append(_which_scale(one, reason, scale, afr))
    return Scales(found, tuple(notes), tuple(questions))


def _told_scale(one: Measured, role: str, held: FloatArray, afr: float) -> tuple[float, str]:
    """Give the scale that a channel's course tells of, and how; that of the fuel where it tells of no other."""
    plateau = _plateau(one.there) if role == "lambda_commanded" else 0.0
    if plateau and any(abs(plateau / usual - 1) < NEAR_USUAL for usual in USUAL_SCALES):
        return plateau, f"reads {plateau:g} most of the time, as at lambda 1"
    rows = np.isfinite(held) & np.isfinite(one.values) & (one.values > 5)
    if role == "lambda_commanded" or rows.sum() < FEWEST_HELD:
        return afr, ""
    seen = float(np.median(one.values[rows] / held[rows]))
    near = min(USUAL_SCALES, key=lambda usual: abs(seen / usual - 1))
    if abs(seen / afr - 1) <= TELLING or abs(seen / near - 1) > 2 * WIDEBAND_OFF or abs(near / afr - 1) <= TELLING:
        return afr, ""
    return near, f"reads {seen:.4g} where the ECU holds lambda 1"


def _which_scale(one: Measured, reason: str, scale: float, afr: float) -> Question:
    why = (
        f"{one.name} {reason}, but the stated fuel has {afr:g}: confusing the two is an error of "
        f"{100 * (scale / afr - 1):+.2f} % in lambda. Which is it scaled with?"
    )
    readings = (
        Reading(f"{scale:g}", f"Lambda is this channel over {scale:g}.", 1 / scale),
        Reading(f"{afr:g}", f"Lambda is this channel over {afr:g}, that of the stated fuel.", 1 / afr),
    )
    return ask(one.name, why, readings, "lambda", option="afr-of")


def is_mixture_name(name: str) -> bool:
    """Return whether a name is one by which mixtures are known."""
    return re.search(rf"\b(?:{RULES['lambda_measured'].name})", plain_words(name)) is not None


def is_afr(one: Measured) -> bool:
    """Tell whether a channel is given as an air-fuel ratio, by its unit and its values."""
    if one.quantity == "afr":
        return not 0 < one.middle < LEANEST
    return one.quantity == "" and 5 < one.middle < 25


def _twin(one: Measured, measured: Sequence[Measured]) -> tuple[float, str] | None:
    """Find a lambda of the same name, and by what this channel is that times."""
    bare = _bare(one.name)
    for other in measured:
        if other is one or is_afr(other) or other.quantity not in ("lambda", "") or _bare(other.name) != bare:
            continue
        ratio = one.values / np.where(other.values == 0, np.nan, other.values)
        ratio = ratio[np.isfinite(ratio)]
        if ratio.size > 10 and 5 < float(np.median(ratio)) < 25:
            low, middle, high = np.quantile(ratio, [0.1, 0.5, 0.9])
            if high - low < 0.01 * middle:
                scale = round(float(middle), 2)
                return scale, f"is {scale:g} times {other.name}, so it is scaled with that"
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
