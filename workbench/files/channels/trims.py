"""Trims: in percent, as parts of one, as factors, around 100, or as raw bytes around 128."""

import re

import numpy as np

from workbench.files.channels.measured import Measured
from workbench.files.vocabulary.asking import Reading, ask
from workbench.files.vocabulary.spelling import plain_words
from workbench.model.log import Question

NEARER_128 = 114  # whole numbers around 128 are raw bytes, those around 100 percent
STEP = 100 / 128  # %; SAE J1979, parameters 06 to 09: A * 100 / 128 - 100
STILLEST, FEW_LEVELS = 0.5, 4  # %; a loop that works moves further. Common practice, no source.
FACTORS = (0.4, 1.7)  # between these lies a trim that is a factor
_PERCENT = Reading("%", "It is in percent: 1 is a trim of +1 %.")
_FRACTION = Reading("fraction", "It is a fraction of 1: 0.05 is a trim of +5 %.", 100.0)
_FACTOR = Reading("factor", "It is a factor: 1.05 is a trim of +5 %.", 100.0, -100.0)


def settle_trim(  # noqa: PLR0911 - one for each way of writing it
    one: Measured,
) -> tuple[Measured, str, Question | None]:
    """Turn a trim into percent; say what was assumed, and ask what cannot be."""
    if one.quantity == "percent" and one.unit is not None and one.unit.name:  # a part, or a factor, by its unit
        return one, "", None
    there = one.there
    if there.size and one.quantity in ("", "percent"):
        low, middle, high = float(there.min()), float(np.median(there)), float(there.max())
        if one.quantity == "" and _is_factor(one, low, middle, high):
            turned = one.becoming("percent", 100 * (one.values - 1))
            return turned, f"{one.name} is a factor around 1; it was read as percent: 100 * (factor - 1).", None
        if low > 50 and high <= 255 and middle > NEARER_128 and bool(np.all(there == np.rint(there))):
            turned = one.becoming("percent", (one.values - 128) * STEP)
            said = f"{one.name} holds raw bytes around 128; 128 was read as a trim of 0 %, one step as 0.78 %."
            return turned, said, None
        if low > 50 and high < 170 and 70 < middle < 135:
            turned = one.becoming("percent", one.values - 100)
            return turned, f"{one.name} lies around 100; 100 was read as a trim of 0 %.", None
        if 0 < max(abs(low), abs(high)) < STILLEST and np.unique(there).size > FEW_LEVELS:
            return _small(one)
        if one.quantity == "percent" and _is_around_one(one):
            return _around_one(one)
    return (one.becoming("percent", one.values) if one.quantity == "" else one), "", None


def _is_factor(one: Measured, low: float, middle: float, high: float) -> bool:
    told = re.search(r"factor|faktor|facteur|multipl", plain_words(one.name)) is not None
    return FACTORS[0] < low and high < FACTORS[1] and (told or (0.7 < middle < 1.35 and not _on_steps(one, STEP)))


def _is_around_one(one: Measured) -> bool:
    """Tell whether a trim given in % lies where factors do, and on no step of the trims of SAE J1979."""
    low, high = one.extent
    return FACTORS[0] < low and high < FACTORS[1] and not _on_steps(one, STEP)


def _on_steps(one: Measured, step: float) -> bool:
    return bool(np.all(np.abs(one.there / step - np.rint(one.there / step)) < 0.01))


def _small(one: Measured) -> tuple[Measured, str, Question | None]:
    """A trim that hardly moves in percent: a part of one, for certain where it lies on the steps of one."""
    turned = one.becoming("percent", 100 * one.values)
    if _on_steps(one, STEP / 100) or one.quantity == "":
        said = (
            f"{one.name} stays within {np.abs(one.extent).max():.2g}, less than any loop in percent: it was read as a "
        )
        return turned, said + "fraction of 1, where 0.05 is 5 %.", None
    why = (
        f"{one.name} is marked %, but stays within {np.abs(one.extent).max():.2g}: a working loop moves more than "
        "that. Is it a fraction of 1?"
    )
    return turned, "", ask(one.name, why, (_FRACTION, _PERCENT), "%")


def _around_one(one: Measured) -> tuple[Measured, str, Question | None]:
    turned = one.becoming("percent", 100 * (one.values - 1))
    why = f"{one.name} is marked %, but stays around 1, as a factor does. Is it one?"
    return turned, "", ask(one.name, why, (_FACTOR, _PERCENT), "%")
