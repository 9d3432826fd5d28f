"""Units that a file does not give: each that a channel may be in is held against what is possible, and weighed."""

from collections.abc import Mapping, Sequence

import numpy as np

from workbench.files.channels.measured import Measured
from workbench.files.vocabulary.asking import Reading, ask
from workbench.files.vocabulary.recording import listed
from workbench.files.vocabulary.units import BASES, base_unit, find_unit, to_base
from workbench.files.vocabulary.vocabulary import RULES
from workbench.model.log import Alternative, Question, Role, typed_flag
from workbench.phrases import phrase

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
    "coolant_temperature": ((-40.0, 125.0), (35.0, 132.0)),
    "intake_temperature": ((-40.0, 85.0), (-30.0, 95.0)),
    "engine_speed": ((0.0, 4000.0), (700.0, 14000.0)),
}
# Role -> where the middle of a drive lies: an engine is throttled most of the time, and never charged for half of it.
_MIDDLES: Mapping[Role, tuple[float, float]] = {"manifold_pressure": (15.0, 105.0)}
# Pressures, where no unit fits a whole drive: unit -> (least, most) of the highest value that is reached in it.
_PRESSURES = (("bar", 0.5, 4.0), ("psi", 8.0, 19.0), ("inHg", 19.0, 45.0), ("kPa", 45.0, 450.0), ("hPa", 450.0, 4500.0))
_MATERIAL: tuple[Role, ...] = ("manifold_pressure", "airflow", "engine_speed", "coolant_temperature", "sensor_signal")
_OF_ONE: tuple[Role, ...] = ("throttle", "pedal", "load")
HIGHEST_PERCENT = 120.0  # of a throttle or a pedal: beyond it are thousandths
QUARTERS = "rpm/4"  # counts in which SAE J1979 sends the engine's speed (parameter 0C)
SHORTEST_GEARING = 14.0  # km/h at 1000 rpm in the highest gear; no car is geared so low (common practice, no source)
FEWEST_ROLLING = 200  # rows
WHOLE = 1.05  # a quantity in % goes further over a drive; a part of 1 does not
LITRES = (0.9, 7.0)  # of car engines
FILLING = 0.82  # of the displacement, by volume, over a usual drive; taken within a third of it
GAS = 0.287 * 300.0  # kJ/kg of air at 27 degC


def assume_unit(
    channel: Measured, role: Role, settled: Mapping[Role, Measured] | None = None
) -> tuple[Measured, str, Question | None]:
    """Give a channel without unit the likeliest unit of its role; say which, and ask where another is as possible.

    Args:
        channel: the channel.
        role: that it plays.
        settled: channels whose unit is known, against which it is held.
    """
    if role in _OF_ONE:
        made, said = _of_one(channel, role)
        return made, said, _ask_of_counts(channel, role) if _is_beyond_percent(channel, role) else None
    quantities = RULES[role].quantities
    if channel.unit is not None or not quantities:
        return channel, "", None
    quantity = quantities[0]
    if role == "sensor_signal":
        quantity = "voltage" if channel.there.size and float(channel.there.max()) < 6 else "frequency"
    if quantity == "percent":
        return (*_in(channel, quantity, BASES[quantity][0]), None)
    names = _possible(channel, role, quantity, settled or {}) or [_by_highest(channel, quantity)]
    turned, note = _in(channel, quantity, names[0])
    question = None
    if len(names) > 1 and role in _MATERIAL:
        question = _question(channel, role, quantity, names)
    return turned, note, question


def _in(channel: Measured, quantity: str, name: str) -> tuple[Measured, str]:
    unit = find_unit(name)
    values = channel.values if unit is None else to_base(channel.values, unit)
    return channel.becoming(quantity, values), f"{channel.name} in {name}"


def _of_one(channel: Measured, role: Role) -> tuple[Measured, str]:
    """Take what stays within 0 and 1 for a part of one, whatever its header says: in % a drive goes further."""
    low, high = channel.extent
    if _is_beyond_percent(channel, role):
        text = phrase("{channel} in thousandths", channel=channel.name)
        return channel.becoming("percent", channel.values / 10), text
    if channel.quantity not in ("", "percent") or not (low >= -0.05 and 0.1 < high <= WHOLE):
        return _in(channel, "percent", "%") if channel.unit is None else (channel, "")
    text = phrase("{channel} as a part of 1", channel=channel.name)
    return channel.becoming("percent", 100 * channel.values), text


def _is_beyond_percent(channel: Measured, role: Role) -> bool:
    """Tell whether a throttle or a pedal without unit goes further than any in %, and may be in thousandths."""
    low, high = channel.extent
    return role != "load" and channel.unit is None and low >= -50 and HIGHEST_PERCENT < high <= 10 * HIGHEST_PERCENT


def _ask_of_counts(channel: Measured, role: Role) -> Question:
    """Ask whether it is in thousandths, or in counts of a converter, whose ends nothing tells."""
    why = phrase(
        "{channel} has no unit and reads up to {high:g}: is it in thousandths, or are these counts of a converter?",
        channel=channel.name,
        high=channel.extent[1],
    )
    thousandths = phrase("It opens to {most:.3g} % at most.", most=channel.extent[1] / 10)
    return Question(
        channel.name,
        why,
        (
            Alternative("permille", typed_flag("unit", channel.name, "permille"), thousandths),
            Alternative("counts", typed_flag("role", role, ""), phrase("It is left out.")),
        ),
    )


def _possible(channel: Measured, role: Role, quantity: str, settled: Mapping[Role, Measured]) -> list[str]:
    """Give the units in which a channel reads what is possible, the likeliest first."""
    if role == "vehicle_speed":
        return ["m/s"] if _is_in_m_s(channel, settled) else []
    if channel.there.size < 2 or quantity not in _USUAL:
        return []
    low, middle, high = (float(value) for value in np.quantile(channel.there, [0.02, 0.5, 0.98]))
    if quantity == "mass flow":
        return [name for name in _USUAL[quantity] if _may_be_airflow(channel, name, settled)]
    if role not in _ENDS:
        return []
    (low_least, low_most), (high_least, high_most) = _ENDS[role]
    middle_least, middle_most = _MIDDLES.get(role, (-np.inf, np.inf))
    found = []
    for name in _USUAL[quantity]:
        unit = find_unit(name)
        if unit is None:
            continue
        first, usual, last = to_base(np.array([low, middle, high]), unit)
        inside = low_least <= first <= low_most and high_least <= last <= high_most
        if inside and middle_least <= usual <= middle_most:
            found.append(name)
    if not found and role == "engine_speed" and high_least <= high / 4 <= high_most:
        found = [QUARTERS]
    return found


def _is_in_m_s(channel: Measured, settled: Mapping[Role, Measured]) -> bool:
    """Tell whether a car's speed would be too slow in its highest gear, were it in km/h."""
    speed = settled.get("engine_speed")
    if speed is None:
        return False
    rolling = np.isfinite(channel.values) & (channel.values > 1) & (speed.values > 1200)
    if rolling.sum() < FEWEST_ROLLING:
        return False
    return float(np.quantile(1000 * channel.values[rolling] / speed.values[rolling], 0.95)) < SHORTEST_GEARING


def _may_be_airflow(channel: Measured, name: str, settled: Mapping[Role, Measured]) -> bool:
    """Tell whether air in a unit is what an engine of a car's size draws."""
    unit = find_unit(name)
    speed, pressure = settled.get("engine_speed"), settled.get("manifold_pressure")
    if unit is None or speed is None:
        return name == "g/s"
    density = 101.0 if pressure is None else pressure.values
    with np.errstate(all="ignore"):
        # Ideal gas, four-stroke: a cycle takes two turns (Heywood 1988, eq. 2.27, from memory).
        litres = 120 * to_base(channel.values, unit) * GAS / (FILLING * density * speed.values)
    running = np.isfinite(litres) & (speed.values > 500) & (channel.values > 0)
    if not running.any():
        return name == "g/s"
    # Without a pressure it is full only where the throttle opens: there the most is drawn a turn.
    size = float(np.quantile(litres[running], 0.5 if pressure is not None else 0.98))
    return LITRES[0] <= size <= LITRES[1]


def _by_highest(channel: Measured, quantity: str) -> str:
    name = BASES[quantity][0]
    if quantity == "pressure" and channel.there.size:
        highest = float(np.quantile(channel.there, 0.99))
        return next((unit for unit, least, most in _PRESSURES if least <= highest < most), name)
    if quantity == "temperature" and channel.there.size:
        return "degF" if float(np.median(channel.there)) > 135 else name
    return name


def _question(channel: Measured, role: Role, quantity: str, names: Sequence[str]) -> Question:
    low, high = (float(value) for value in np.quantile(channel.there, [0.02, 0.98]))
    readings, base = [], BASES[quantity][0]
    for name in names:
        unit = find_unit(name)
        if unit is None:
            continue
        (at_0, at_1), ends = to_base(np.array([0.0, 1.0]), unit), to_base(np.array([low, high]), unit)
        base = base_unit(unit)
        means = phrase("It ranges from {low:.4g} to {high:.4g} {base}.", low=ends[0], high=ends[1], base=base)
        readings.append(Reading(name, means, float(at_1 - at_0), float(at_0)))
    why = phrase(
        "{channel} has no unit and plays {replace}; in {list} its values fit several units. Which is it?",
        channel=channel.name,
        replace=role.replace("_", " "),
        list=listed(list(names), len(names)),
    )
    return ask(channel.name, why, readings, base)
