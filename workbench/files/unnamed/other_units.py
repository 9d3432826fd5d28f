"""In which other unit a channel's values would be possible, offered as answers where they are not in the one given."""

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np

from workbench.files.unnamed.by_physics import Unnamed
from workbench.files.vocabulary.asking import Reading, ask
from workbench.files.vocabulary.scoring import Candidate, blank, fits_values, scores
from workbench.files.vocabulary.units import Unit, find_unit, to_base
from workbench.model.arrays import FloatArray
from workbench.model.log import Alternative, Question, Role, typed_flag
from workbench.phrases import phrase

_PRESSURES = ("kPa", "hPa", "psi", "bar", "inHg", "mmHg")
# kPa: what manifolds read at their lowest, usually, and at their highest (common practice, no source).
LOWEST, USUAL, HIGHEST = (12.0, 75.0), (20.0, 160.0), (80.0, 330.0)
FEWEST = 100  # readings
MOST_VOLTS = 30.0  # of a sensor: twice what a car's battery gives
RATIOS, NEAR = (14.7, 14.1, 13.8, 9.8, 9.0, 6.47, 15.7, 17.2), 0.03  # air over fuel of usual fuels, from memory


def pressures(name: str, values: FloatArray, unit: Unit | None) -> tuple[Alternative, ...]:
    """Offer the units in which a manifold's pressure would be possible.

    Args:
        name: of the channel.
        values: as the log was read, kPa, shape (rows,).
        unit: by which it was read; None for kPa.
    """
    read = unit or find_unit("kPa")
    there = values[np.isfinite(values)]
    if read is None or read.gauge or there.size < FEWEST or _is_manifold(there):
        return ()
    first = Reading(read.name, "", _per(read))
    raw = there / first.factor
    readings = []
    for spelling in _PRESSURES:
        other = find_unit(spelling)
        if other is None or other.name == read.name or not _is_manifold(raw * _per(other)):
            continue
        means = phrase(
            "It reads {low:.3g} to {high:.3g} kPa then.",
            low=float(raw.min()) * _per(other),
            high=float(raw.max()) * _per(other),
        )
        readings.append(Reading(spelling, means, _per(other)))
    return ask(name, "", readings, "kPa", same=first).alternatives if readings else ()


def as_ratio(name: str, times: float) -> tuple[Alternative, ...]:
    """Offer that a channel given as lambda is an air-fuel ratio, where it reads so many times what the loop holds."""
    near = min(RATIOS, key=lambda each: abs(times / each - 1))
    if abs(times / near - 1) > NEAR:
        return ()
    means = phrase("It is an air-fuel ratio, {near:g} at stoichiometric.", near=near)
    return (Alternative("AFR", typed_flag("unit", name, "AFR"), means, "lambda", round(1 / near, 15)),)


def _per(unit: Unit) -> float:
    return float(to_base(np.array([1.0]), unit)[0])


def _is_manifold(values: FloatArray) -> bool:
    low, middle, high = np.quantile(values, [0.02, 0.5, 0.995])
    spans = zip((low, middle, high), (LOWEST, USUAL, HIGHEST), strict=True)
    return all(least < value < most for value, (least, most) in spans)


def _of_volts(name: str, low: float, high: float, values: FloatArray) -> list[Question]:
    if float(np.median(values)) <= MOST_VOLTS:
        return []
    why = phrase(
        "{channel} reads {low:.4g} to {high:.4g} V, and no sensor in a car gives so much. Is it in mV?",
        channel=name,
        low=low,
        high=high,
    )
    readings = (
        Reading("as-logged", phrase("It counts in V, as it is logged.")),
        Reading("mV", phrase("It reads {low:.3g} to {high:.3g} V then.", low=low / 1000, high=high / 1000), 1e-3),
    )
    return [ask(name, why, readings, "V")]


def asked_of_unfit_units(
    candidates: Sequence[Candidate], channels: Sequence[Unnamed], roles: Mapping[Role, str], stated: Mapping[Role, str]
) -> list[Question]:
    """Ask in which unit an airflow sensor or a manifold's pressure is that is impossible in its own.

    Args:
        candidates: all channels of the log.
        channels: the same, with all of their values.
        roles: role -> channel, as they play.
        stated: role -> channel, as stated.
    """
    sensor = next((each for each in candidates if each.name == roles.get("sensor_signal")), None)
    if sensor is not None and sensor.quantity == "voltage" and sensor.there.size >= FEWEST:
        return _of_volts(sensor.name, float(sensor.there.min()), float(sensor.there.max()), sensor.there)
    if {"manifold_pressure", "sensor_signal"} & {*roles, *stated}:
        return []
    by_name = {each.name: each for each in channels}
    for each in candidates:
        asked = next((role for role, _ in scores(blank(each))), None) if each.quantity == "pressure" else None
        if asked != "manifold_pressure" or fits_values("manifold_pressure", each) is not False:
            continue
        answers = pressures(each.name, by_name[each.name].values, by_name[each.name].unit)
        if not answers:
            continue
        plays = typed_flag("role", "manifold_pressure", each.name)
        why = phrase(
            "{channel} reads {low:.4g} to {high:.4g} kPa, which no manifold does. In which unit is it?",
            channel=each.name,
            low=float(each.there.min()),
            high=float(each.there.max()),
        )
        none = Alternative("leave it out", typed_flag("role", "manifold_pressure", ""), phrase("It is not used."))
        return [Question(each.name, why, (none, *(replace(a, flag=f"{a.flag} {plays}") for a in answers)))]
    return []
