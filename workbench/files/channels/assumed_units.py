"""Units that a file does not give: each that a channel may be in is held against what is possible, and weighed."""

from collections.abc import Mapping, Sequence

import numpy as np

from workbench.files.channels.measured import Measured
from workbench.files.vocabulary.asking import Reading, ask
from workbench.files.vocabulary.recording import listed
from workbench.files.vocabulary.units import BASES, base_unit, find_unit, to_base
from workbench.files.vocabulary.vocabulary import RULES
from workbench.model.arrays import FloatArray
from workbench.model.log import Question, Role

# Units that a quantity is logged in, the likeliest first.
_USUAL: Mapping[str, tuple[str, ...]] = {
    "pressure": ("kPa", "hPa", "psi", "inHg", "bar", "mmHg"),
    "temperature": ("degC", "degF", "K"),
    "mass flow": ("g/s", "kg/h", "lb/min"),
    "turning": ("rpm", "krpm", "rev/s"),
}
# Role -> (least, most) that the low end (2 %) and the high end (98 %) of a drive reach, in base units. Common practice,
# no source: an engine idles between 20 and 60 kPa and opens to the surroundings or is charged; warm coolant lies at its
# thermostat; an engine turns between idle and its limit.
_ENDS: Mapping[Role, tuple[tuple[float, float], tuple[float, float]]] = {
    "manifold_pressure": ((10.0, 58.0), (45.0, 330.0)),
    "barometer": ((55.0, 108.0), (55.0, 110.0)),
    "coolant_temperature": ((-40.0, 125.0), (35.0, 128.0)),
    "intake_temperature": ((-40.0, 85.0), (-30.0, 95.0)),
    "engine_speed": ((0.0, 4000.0), (700.0, 14000.0)),
}
# Pressures, where no unit fits a whole drive: unit -> (least, most) of the highest value that is reached in it.
_PRESSURES = (("bar", 0.5, 4.0), ("psi", 8.0, 19.0), ("inHg", 19.0, 45.0), ("kPa", 45.0, 450.0), ("hPa", 450.0, 4500.0))
_MATERIAL: tuple[Role, ...] = ("manifold_pressure", "airflow", "engine_speed", "coolant_temperature", "sensor_signal")
_OF_ONE: tuple[Role, ...] = ("throttle", "pedal", "load")
WHOLE = 1.05  # a quantity in % goes further over a drive; a part of 1 does not
LITRES = (0.9, 7.0)  # of car engines
FILLING = 0.82  # of the displacement, by volume, over a usual drive; taken within a third of it
GAS = 0.287 * 300.0  # kJ/kg of air at 27 degC


def assume_unit(
    one: Measured, role: Role, settled: Mapping[Role, Measured] | None = None
) -> tuple[Measured, str, Question | None]:
    """Give a channel without unit the likeliest unit of its role; say which, and ask where another is as possible.

    Args:
        one: the channel.
        role: that it plays.
        settled: channels whose unit is known, against which it is held.
    """
    quantities = RULES[role].quantities
    if one.unit is not None or not quantities:
        return (*_of_one(one), None) if role in _OF_ONE else (one, "", None)
    quantity = quantities[0]
    if role == "sensor_signal":
        quantity = "voltage" if one.there.size and float(one.there.max()) < 6 else "frequency"
    if quantity == "percent":
        return (*_of_one(one), None) if role in _OF_ONE else (*_in(one, quantity, BASES[quantity][0]), None)
    names = _possible(one, role, quantity, settled or {}) or [_by_highest(one, quantity)]
    turned, said = _in(one, quantity, names[0])
    question = None
    if len(names) > 1 and role in _MATERIAL:
        question = _question(one, role, quantity, names)
    return turned, said, question


def _in(one: Measured, quantity: str, name: str) -> tuple[Measured, str]:
    unit = find_unit(name)
    values = one.values if unit is None else to_base(one.values, unit)
    return one.becoming(quantity, values), f"{one.name} in {name}"


def _of_one(one: Measured) -> tuple[Measured, str]:
    """Take what stays within 0 and 1 for a part of one, whatever its header says: in % a drive goes further."""
    low, high = one.extent
    if one.quantity not in ("", "percent") or not (low >= -0.05 and 0.1 < high <= WHOLE):
        return _in(one, "percent", "%") if one.unit is None else (one, "")
    said = f"{one.name} as a part of 1"
    return one.becoming("percent", 100 * one.values), said


def _possible(one: Measured, role: Role, quantity: str, settled: Mapping[Role, Measured]) -> list[str]:
    """Give the units in which a channel reads what is possible, the likeliest first."""
    if one.there.size < 2 or quantity not in _USUAL:
        return []
    low, high = (float(value) for value in np.quantile(one.there, [0.02, 0.98]))
    if quantity == "mass flow":
        return [name for name in _USUAL[quantity] if _may_be_airflow(one, name, settled)]
    if role not in _ENDS:
        return []
    (low_least, low_most), (high_least, high_most) = _ENDS[role]
    found = []
    for name in _USUAL[quantity]:
        unit = find_unit(name)
        if unit is None:
            continue
        first, last = to_base(np.array([low, high]), unit)
        if low_least <= first <= low_most and high_least <= last <= high_most:
            found.append(name)
    return found


def _may_be_airflow(one: Measured, name: str, settled: Mapping[Role, Measured]) -> bool:
    """Tell whether air in a unit is what an engine of a car's size draws."""
    unit = find_unit(name)
    speed, pressure = settled.get("engine_speed"), settled.get("manifold_pressure")
    if unit is None or speed is None:
        return name == "g/s"
    density = 101.0 if pressure is None else pressure.values
    with np.errstate(all="ignore"):
        # Ideal gas, four-stroke: a cycle takes two turns (Heywood 1988, eq. 2.27, from memory).
        litres = 120 * to_base(one.values, unit) * GAS / (FILLING * density * speed.values)
    running = np.isfinite(litres) & (speed.values > 500) & (one.values > 0)
    if not running.any():
        return name == "g/s"
    # Without a pressure it is full only where the throttle opens: there the most is drawn a turn.
    size = float(np.quantile(litres[running], 0.5 if pressure is not None else 0.98))
    return LITRES[0] <= size <= LITRES[1]


def _by_highest(one: Measured, quantity: str) -> str:
    name = BASES[quantity][0]
    if quantity == "pressure" and one.there.size:
        highest = float(np.quantile(one.there, 0.99))
        return next((unit for unit, least, most in _PRESSURES if least <= highest < most), name)
    if quantity == "temperature" and one.there.size:
        return "degF" if float(np.median(one.there)) > 135 else name
    return name


def _question(one: Measured, role: Role, quantity: str, names: Sequence[str]) -> Question:
    low, high = (float(value) for value in np.quantile(one.there, [0.02, 0.98]))
    readings, base = [], BASES[quantity][0]
    for name in names:
        unit = find_unit(name)
        if unit is None:
            continue
        (at_0, at_1), ends = to_base(np.array([0.0, 1.0]), unit), to_base(np.array([low, high]), unit)
        base = base_unit(unit)
        means = f"It ranges from {ends[0]:.4g} to {ends[1]:.4g} {base}."
        readings.append(Reading(name, means, float(at_1 - at_0), float(at_0)))
    why = (
        f"{one.name} has no unit and plays {role.replace('_', ' ')}; in {listed(list(names), len(names))} its values "
        "fit several units. Which is it?"
    )
    return ask(one.name, why, readings, base)


def absolute(one: Measured, role: Role, barometer: FloatArray | None) -> tuple[Measured, str]:
    """Turn a gauge pressure into an absolute one."""
    gauge = one.unit is not None and one.unit.gauge
    boost = one.there.size and float(one.there.min()) < -5  # no absolute pressure is
    if role != "manifold_pressure" or not (gauge or boost):
        return one, ""
    ambient = 101.325 if barometer is None else np.where(np.isfinite(barometer), barometer, 101.325)
    what = "101.325 kPa was" if barometer is None else "the barometer was"
    return one.becoming("pressure", one.values + ambient), f"{one.name} counts from the ambient; {what} added."
