"""How fast a log may run: an engine revs, and a car gathers speed, within known bounds."""

from collections.abc import Sequence
from typing import Literal

import numpy as np

from workbench.files.gaps.codes import blank_codes_of
from workbench.files.vocabulary.asking import Reading, ask
from workbench.files.vocabulary.clock_scale import STATED
from workbench.files.vocabulary.recording import Field
from workbench.files.vocabulary.roles import role_by_name
from workbench.files.vocabulary.units import find_unit, to_base, unit_in_name
from workbench.model.arrays import FloatArray
from workbench.model.log import Question
from workbench.phrases import phrase

# Change over half a second or more, of the quickest one in a hundred: what every drive reaches, and what no car passes.
# Common practice, no source: rpm/s, and km/h per s.
REVS, GATHERS = (120.0, 5000.0), (1.2, 45.0)
USUAL_REVS, USUAL_GATHERING = 700.0, 8.0
OVER_S = 0.5
FEWEST_STEPS, QUICKEST_S = 100, 4e-4  # between two rows (common practice, no source)
FEWEST = 50


Pace = Literal["unknown", "possible", "too fast", "too slow"]


def pace_of(time: FloatArray, fields: Sequence[Field]) -> Pace:
    """Tell whether engine and car move as they can by a clock; unknown where neither is logged.

    Args:
        time: s, shape (rows,).
        fields: columns as they were read.
    """
    pace: Pace = "unknown"
    for each in fields:
        role = role_by_name(each.name, each.unit)
        if each.texts is not None or role not in ("engine_speed", "vehicle_speed"):
            continue
        values, quickest = _moving(time, each)
        if quickest is None or (role == "engine_speed" and not 300 < np.nanmax(values) < 15_000):
            continue
        low, high = REVS if role == "engine_speed" else GATHERS
        if not low <= quickest <= high:
            return "too slow" if quickest < low else "too fast"
        pace = "possible"
    return pace


def oddity(time: FloatArray, fields: Sequence[Field]) -> float:
    """Tell by how much engine and car are quicker or slower than usual by a clock: the mean size of the logarithm."""
    found = []
    for each in fields:
        role = None if each.texts is not None else role_by_name(each.name, each.unit)
        if role in ("engine_speed", "vehicle_speed") and (quickest := _moving(time, each)[1]) is not None:
            found.append(abs(np.log(max(quickest, 1e-9) / (USUAL_REVS if role == "engine_speed" else USUAL_GATHERING))))
    return float(np.mean(found)) if found else float("inf")


def _moving(time: FloatArray, field: Field) -> tuple[FloatArray, float | None]:
    """Give a speed in its base unit and how quickly it moves; jumps to a number for no value are no move."""
    values = _in_base(field)
    quickest = _quickest(time, values)
    if quickest is not None and (codes := blank_codes_of(field))[1]:
        values = _in_base(codes[0])
        quickest = _quickest(time, values)
    return values, quickest


def _in_base(field: Field) -> FloatArray:
    """Return the speed of an engine in rpm, or that of a car in km/h, where a unit says what it is in."""
    unit = find_unit(field.unit or unit_in_name(field.name))
    if unit is None:
        return field.values
    if unit.quantity == "frequency":
        return field.values * 60.0  # turns a second
    return to_base(field.values, unit) if unit.quantity in ("turning", "speed") else field.values


def _quickest(time: FloatArray, values: FloatArray) -> float | None:
    """Give the size of the change a second that a channel passes in one of a hundred stretches; None for too few."""
    known = np.isfinite(values) & np.isfinite(time)
    clock, level = time[known], values[known]
    if clock.size < FEWEST or not np.all(np.diff(clock) >= 0):
        return None
    step = float(np.median(np.diff(clock)))
    apart = max(int(np.ceil(OVER_S / step)), 1) if step > 0 else 1
    if clock.size < 3 * apart or apart > 5000:
        return None
    gone = clock[apart:] - clock[:-apart]
    rate = np.abs(level[apart:] - level[:-apart]) / np.maximum(gone, 1e-9)
    rate = rate[(gone > 0) & (gone < 4 * max(OVER_S, step))]
    return float(np.quantile(rate, 0.99)) if rate.size >= FEWEST else None


def is_too_quick(stamps: FloatArray) -> bool:
    """Tell whether rows follow each other sooner than any logger of engine channels writes them."""
    steps = np.diff(stamps[np.isfinite(stamps)])
    steps = steps[steps > 0]
    return steps.size >= FEWEST_STEPS and float(np.median(steps)) < QUICKEST_S


def ask_pace(name: str, why: str, first: float, choices: Sequence[float]) -> Question:
    """Ask what one count of a clock is.

    Args:
        name: of the clock.
        why: it is asked, as a sentence.
        first: by which the log was read, s.
        choices: all of them, s.
    """
    readings = [
        Reading(STATED.get(each, f"{each:.6g} s"), phrase("One count is {count:g} s.", count=each), each)
        for each in sorted(choices, key=lambda each: each != first)
    ]
    return ask(name, why, readings, "s")
