"""Mixture channels: lambda, air-fuel ratios on the scale of a fuel, and trims in percent or as factors."""

import re
from collections.abc import Mapping, Sequence

import numpy as np

from workbench.errors import InputError
from workbench.files.channels.measured import Measured
from workbench.files.vocabulary.spelling import plain_words
from workbench.files.vocabulary.vocabulary import RULES
from workbench.model.arrays import FloatArray
from workbench.phrases import flag, phrase

# Air-fuel ratios that fuels are scaled with: gasoline as usually rounded, with ethanol, ethanol, methanol, gases.
# Heywood (1988) eq. 3.6 gives 14.6 for CH1.87 and 9.0 for ethanol; the rounded figures are common practice, no source.
USUAL_SCALES = (14.7, 14.64, 14.6, 14.5, 14.1, 14.0, 13.8, 9.8, 9.75, 9.0, 6.47, 15.7, 15.5, 17.2)
TELLING = 0.0015  # a smaller difference between two scales is rounding
REFUSED = 0.01  # a larger one spoils a full-throttle correction, whose goal is 1 %
TELLING_STEP = 0.03  # from lambda 1; less is no enrichment
FEWEST_TELLING = 10  # rows
LEANEST = 3.0  # lambda; an air-fuel ratio of any fuel lies above
PLATEAU = 0.3  # of the rows; a commanded ratio stands at stoichiometric for most of a drive
_STATED_SCALE = re.compile(r"(?<![\d.,])(\d{1,2}[.,]\d{1,2})(?!\d)")


def settle_mixture(channel: Measured, afr: float, of: Mapping[str, float]) -> tuple[Measured, str]:
    """Turn a mixture channel into lambda, and say what was assumed.

    Args:
        channel: a channel with a mixture role.
        afr: air-fuel ratio at lambda 1 of the stated fuel.
        of: channel -> its own, where the user said so.
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
        with np.errstate(divide="ignore"):
            turned = np.where(channel.values == 0, 0.0, 1 / channel.values)
        return channel.becoming("lambda", turned), phrase(
            "{channel} is a fuel-air equivalence ratio: lambda is its inverse.", channel=channel.name
        )
    if channel.quantity == "percent" and 40 < middle < 220:
        return channel.becoming("lambda", channel.values / 100), phrase(
            "{channel} is given in %: 100 % was read as lambda 1.", channel=channel.name
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
    if unit_text and may_be_inverse(channel):
        unit_text += " If it is fuel over air, the inverse, give phi as its unit in the header."
    return channel.becoming("lambda", channel.values), unit_text


def may_be_inverse(channel: Measured) -> bool:
    """Return whether a name is also used for fuel over air; SAE J1979 calls lambda itself an equivalence ratio."""
    return (
        channel.unit is None
        and re.search(r"\b(equivalence|eq ratio|fuel air)\b", plain_words(channel.name)) is not None
    )


def check_inverse(commanded: Measured, effort: Measured) -> None:
    """Refuse a commanded equivalence ratio that rises where the engine works hard: read as lambda it would lean it.

    Args:
        commanded: the commanded mixture, as lambda.
        effort: load, pressure, throttle or airflow in the same rows. In a fuel cut, where lambda rises, it is low.

    Raises:
        InputError: when it must be fuel over air.
    """
    rich, high = commanded.values < 1 - TELLING_STEP, commanded.values > 1 + TELLING_STEP
    known = np.isfinite(commanded.values) & np.isfinite(effort.values)
    rows = int(np.sum(high & known))
    if rows < FEWEST_TELLING or np.sum(rich & known) > 0.2 * rows:
        return
    if np.median(effort.values[high & known]) > np.quantile(effort.values[known], 0.6):
        raise InputError(
            phrase(
                "{commanded} rises above 1 at high load ({effort}) and hardly ever falls below it. "
                "Engines run rich at high load, so it must be fuel over air, the inverse of lambda.",
                commanded=commanded.name,
                effort=effort.name,
            ),
            phrase(
                "Give phi as the unit in the header of this channel, and of the measured one if it "
                "is the same, as in '{commanded} (phi)'; if the ECU really commands lean there, "
                "write lambda.",
                commanded=commanded.name,
            ),
        )


def scale_of(channel: Measured, afr: float, of: Mapping[str, float]) -> float:
    """Return the air-fuel ratio at lambda 1 of a channel: as stated for it, as its label says, or the fuel's."""
    if channel.name in of:
        return of[channel.name]
    return label_scale(channel) or afr


def label_scale(channel: Measured) -> float:
    """Return the scale that name or unit of a channel state, as in `AFR (14.1)`; 0 where they state none."""
    for text in (channel.field.unit, channel.name):
        match = _STATED_SCALE.search(text)
        if match is not None:
            scale = float(match[1].replace(",", "."))
            if any(abs(scale / usual - 1) < 0.02 for usual in USUAL_SCALES):
                return scale
    return 0.0


def check_scales(
    measured: Sequence[Measured], mixture: Mapping[str, str], afr: float, of: Mapping[str, float]
) -> list[str]:
    """Compare every AFR channel with the stated fuel; give cautions about small differences.

    Args:
        measured: all channels, mixtures as read.
        mixture: role -> name, for the mixture roles.
        afr: air-fuel ratio at lambda 1 of the stated fuel.
        of: channel -> its own, where the user said so.

    Raises:
        InputError: when a channel was scaled with another fuel's ratio and nobody said which one holds.
    """
    notes = []
    for role, name in mixture.items():
        channel = next(candidate for candidate in measured if candidate.name == name)
        if not is_afr(channel) or name in of:
            continue
        for scale, reason in _clues(channel, role, measured):
            error = scale / afr - 1
            if abs(error) <= TELLING:
                continue
            if abs(error) > REFUSED:
                raise InputError(
                    phrase(
                        "{name} {reason}, but the stated fuel has {afr:g}: confusing the two is an error of "
                        "{error:+.2f} % in lambda.",
                        name=name,
                        reason=reason,
                        afr=afr,
                        error=100 * error,
                    ),
                    phrase(
                        "State the fuel's ratio ({scale:.4g}), or the ratio this channel is scaled with: "
                        "{afr_of_flag} '{name}={scale:.4g}', or ={afr:.4g} if the ECU really commands it.",
                        afr_of_flag=flag("afr-of"),
                        scale=scale,
                        name=name,
                        afr=afr,
                    ),
                )
            notes.append(
                phrase(
                    "Caution: {name} {reason}; the stated {afr:g} differs by {error:+.2f} % in lambda.",
                    name=name,
                    reason=reason,
                    afr=afr,
                    error=100 * error,
                )
            )
            break
    return notes


def is_mixture_name(name: str) -> bool:
    """Return whether a name is one by which mixtures are known."""
    return re.search(rf"\b(?:{RULES['lambda_measured'].name})", plain_words(name)) is not None


def is_afr(channel: Measured) -> bool:
    """Return whether a channel is given as an air-fuel ratio, by its unit and its values."""
    if channel.quantity == "afr":
        return not 0 < channel.middle < LEANEST
    return channel.quantity == "" and 5 < channel.middle < 25


def _clues(channel: Measured, role: str, measured: Sequence[Measured]) -> list[tuple[float, str]]:
    """Find what tells the scale of an AFR channel: its label, a lambda twin, the plateau of a commanded ratio."""
    clues = []
    if stated := label_scale(channel):
        clues.append((stated, phrase("says it is scaled with {stated:g}", stated=stated)))
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
                clues.append(
                    (
                        scale,
                        phrase("is {scale:g} times {other}, so it is scaled with that", scale=scale, other=other.name),
                    )
                )
    plateau = _plateau(channel.there) if role == "lambda_commanded" else 0.0
    if plateau and any(abs(plateau / usual - 1) < 0.005 for usual in USUAL_SCALES):
        clues.append((plateau, phrase("reads {plateau:g} most of the time, as at lambda 1", plateau=plateau)))
    return clues


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


NEARER_128 = 114  # whole numbers around 128 are raw bytes, those around 100 percent


def settle_trim(channel: Measured) -> tuple[Measured, str]:
    """Turn a trim into percent, and say what was assumed."""
    there = channel.there
    if there.size and channel.quantity in ("", "percent"):
        low, middle, high = float(there.min()), float(np.median(there)), float(there.max())
        on_raster = bool(np.all(np.abs(there / 0.78125 - np.rint(there / 0.78125)) < 1e-3))
        named_factor = re.search(r"factor|faktor|facteur|multipl", plain_words(channel.name)) is not None
        if (
            channel.quantity == ""
            and low > 0.4
            and high < 1.7
            and (named_factor or (0.7 < middle < 1.35 and not on_raster))
        ):
            turned = channel.becoming("percent", 100 * (channel.values - 1))
            return turned, phrase(
                "{channel} is a factor around 1; it was read as percent: 100 * (factor - 1).", channel=channel.name
            )
        if low > 50 and high <= 255 and middle > NEARER_128 and bool(np.all(there == np.rint(there))):
            # SAE J1979, parameters 06 to 09: A * 100 / 128 - 100.
            turned = channel.becoming("percent", (channel.values - 128) * 100 / 128)
            return (
                turned,
                phrase(
                    "{channel} holds raw bytes around 128; 128 was read as a trim of 0 %, one step as 0.78 %.",
                    channel=channel.name,
                ),
            )
        if low > 50 and high < 170 and 70 < middle < 135:
            return channel.becoming("percent", channel.values - 100), phrase(
                "{channel} lies around 100; 100 was read as a trim of 0 %.", channel=channel.name
            )
    if channel.quantity == "":
        return channel.becoming("percent", channel.values), ""
    return channel, ""
