"""Which channel of a log feeds an axis of a table, and in which unit."""

import re

import numpy as np

from workbench.errors import InputError
from workbench.model.arrays import FloatArray
from workbench.model.log import Log, Role
from workbench.model.table import Axis
from workbench.phrases import call, flag, phrase

_TURNS = (
    "rpm", "r/min", "rev/min", "revs/min", "revolutions/minute", "1/min", "/min", "min-1", "min^-1", "u/min", "upm",
    "tr/min", "tr/mn", "giri/min", "obr/min", "ot/min", "varv/min", "omw/min", "toeren/min", "v/min", "tpm",
)  # fmt: skip
# Base unit of a log -> {spelling, lower case: how many of the base unit one is}. NIST SP 811, appendix B.
_UNITS: dict[str, dict[str, float]] = {
    "Hz": {"hz": 1, "hertz": 1, "1/s": 1, "khz": 1000},
    "V": {"v": 1, "volt": 1, "volts": 1, "mv": 0.001},
    "rpm": dict.fromkeys(_TURNS, 1.0)
    | {"rps": 60, "rev/s": 60}
    | dict.fromkeys(("krpm", "rpm/1000", "x1000rpm", "1000rpm", "1000 rpm", "x1000", "rpm x1000", "x1000 rpm"), 1000.0),
    "kPa": dict.fromkeys(("kpa", "kpaa", "kpa(a)", "kpag", "kpa(g)"), 1.0)
    | dict.fromkeys(("bar", "bara", "barg"), 100.0)
    | dict.fromkeys(("hpa", "mbar", "millibar"), 0.1)
    | dict.fromkeys(("psi", "psia", "psig"), 6.894757)
    | {"pa": 0.001, "mpa": 1000, "inhg": 3.386389, "mmhg": 0.1333224, "torr": 0.1333224, "atm": 101.325}
    | dict.fromkeys(("kg/cm2", "kgf/cm2", "kg/cm²", "kp/cm²"), 98.0665),
    "g/s": {"g/s": 1, "kg/h": 1 / 3.6, "kg/hr": 1 / 3.6, "kg/s": 1000, "lb/min": 7.559873, "lbs/min": 7.559873},
    "%": {"%": 1, "percent": 1, "pct": 1, "prozent": 1},
    "degC": {"°c": 1, "degc": 1, "deg c": 1, "c": 1, "celsius": 1},
}
_KNOWN = {spelling: (base, factor) for base, spellings in _UNITS.items() for spelling, factor in spellings.items()}
# What an axis' unit says about the channel that feeds it, where its name says nothing.
_ROLE_OF_BASE: dict[str, Role] = {
    "Hz": "sensor_signal",
    "V": "sensor_signal",
    "rpm": "engine_speed",
    "kPa": "manifold_pressure",
    "g/s": "airflow",
    "%": "load",
    "degC": "intake_temperature",
}
# Checked in this order: "sensor voltage" is a sensor's, "engine load" a load's.
_ROLE_OF_WORD: dict[str, Role] = {
    "throttle": "throttle",
    "pedal": "pedal",
    "load": "load",
    "speed": "engine_speed",
    "revolution": "engine_speed",
    "rpm": "engine_speed",
    r"\bmap\b": "manifold_pressure",
    "boost": "manifold_pressure",
    "manifold": "manifold_pressure",
    "pressure": "manifold_pressure",
    "frequency": "sensor_signal",
    "voltage": "sensor_signal",
    "sensor": "sensor_signal",
}
_BASE_OF_ROLE: dict[Role, str] = {"engine_speed": "rpm", "manifold_pressure": "kPa", "airflow": "g/s"}
_GAUGE = re.compile(r"\bboost\b|\bgauge\b|\brelative\b")
SLOWEST_END, HIGHEST_KPA = 400.0, 1000.0  # rpm and kPa; engines idle faster and are charged less
SHOWN = 12  # channels in a refusal
NAMING = (
    "Name the axes in the header of the table's file, as in 'Airflow sensor (Hz)', 'Engine speed (rpm)' or "
    "'Manifold pressure (kPa)'"
)


def axis_role(axis: Axis) -> Role | None:
    """Find the role that feeds an axis: by a word in its name, else by its unit, which may stand as its name.

    Load is measured in many things, so there the unit decides.
    """
    name = axis.name.lower()
    by_word = next((role for word, role in _ROLE_OF_WORD.items() if re.search(word, name)), None)
    base, _ = axis_unit(axis)
    by_unit = _ROLE_OF_BASE.get(base)
    return by_unit if by_unit and by_word in (None, "load") else by_word


def check_not_swapped(axes: tuple[Axis, ...]) -> None:
    """Refuse a grid whose axes bear each other's names: each holds what only the other can.

    Raises:
        InputError: when engine speed ends where no engine idles, and manifold pressure where no engine is charged.
    """
    named = {axis_role(axis): axis for axis in axes}
    speed, pressure = named.get("engine_speed"), named.get("manifold_pressure")
    if speed is None or pressure is None:
        return
    ends = [axis.breakpoints[-1] * axis_unit(axis)[1] for axis in (speed, pressure)]
    if ends[0] < SLOWEST_END and ends[1] > HIGHEST_KPA:
        raise InputError(
            phrase(
                "{speed} ends at {rpm:g} and {pressure} at {kpa:g}: each would fit the other.",
                speed=speed.label,
                rpm=speed.breakpoints[-1],
                pressure=pressure.label,
                kpa=pressure.breakpoints[-1],
            ),
            "The corner cell names the rows first, then the columns: exchange the two names in it.",
        )


def feeding(axis: Axis) -> str:
    """Tell, as a sentence, what will feed an axis."""
    role = axis_role(axis)
    if role is None:
        return phrase(
            "The quantity of the axis {axis} is unknown: only a channel of that name can feed it. {naming}.",
            axis=axis.label,
            naming=NAMING,
        )
    if role == "manifold_pressure" and _counts_from_ambient(axis):
        return phrase(
            "The axis {axis} is fed by the {in_words} of a log, less its barometer, which must be logged too.",
            axis=axis.label,
            in_words=_in_words(role),
        )
    if not axis_unit(axis)[0] and not axis.unit and role in _BASE_OF_ROLE:
        base = _BASE_OF_ROLE[role]
        return phrase(
            "The axis {axis} names no unit: the {in_words} of a log feeds it in {base}.",
            axis=axis.label,
            in_words=_in_words(role),
            base=base,
        )
    return phrase("The axis {axis} is fed by the {in_words} of a log.", axis=axis.label, in_words=_in_words(role))


def _in_words(role: Role) -> str:
    return role.replace("_", " ")


def axis_signal(axis: Axis, log: Log) -> FloatArray:
    """Return the channel that feeds an axis, in the axis' unit, shape (rows,).

    Raises:
        InputError: when the log has none, or it cannot be turned into what the axis counts.
    """
    role = axis_role(axis)
    values = log.playing(role) if role is not None else None
    if role is not None and values is not None:
        return _turned(values, axis, log, role)
    same = next((c for c in log.channels if c.name.strip().lower() == axis.name.strip().lower()), None)
    cleared = role is not None and role in log.guesses and role not in log.roles  # what it played, nothing is to play
    if same is not None and not cleared:
        return same.values
    more = len(log.channels) - SHOWN
    shown = ", ".join(channel.name for channel in log.channels[:SHOWN]) + (
        phrase(" and {more} more", more=more) if more > 0 else ""
    )
    raise InputError(
        phrase("{log} has no channel for the axis {axis}.", log=log.name, axis=axis.label),
        phrase(
            "Say which one it is with {amend} {role_flag} {role}=CHANNEL. Its channels: {shown}.",
            amend=call("amend-log", "SESSION", "LOG"),
            role_flag=flag("role"),
            role=role,
            shown=shown,
        )
        if role is not None
        else phrase(
            "The quantity of this axis is unknown. {naming}, then make the session again; or "
            "name the axis like the log's channel. The log's channels: {shown}.",
            naming=NAMING,
            shown=shown,
        ),
    )


def axis_unit(axis: Axis) -> tuple[str, float]:
    """Return the base unit of an axis and how many of it one of its own is; empty where its unit is not known."""
    return _KNOWN.get((axis.unit or axis.name).strip().lower(), ("", 1.0))


def _counts_from_ambient(axis: Axis) -> bool:
    unit = axis.unit.strip().lower()
    return unit in ("kpag", "kpa(g)", "barg", "psig") or _GAUGE.search(axis.name.lower()) is not None


def _turned(values: FloatArray, axis: Axis, log: Log, role: Role) -> FloatArray:
    """Turn a channel in base units into what the axis counts in."""
    base, factor = axis_unit(axis)
    channel = log.channel(log.roles[role])
    logged = channel.unit if channel is not None else ""
    foreign = axis.unit.strip(" -") != "" and not base  # counts, or a part of a unit: readings would fall anywhere
    if (base and logged in _UNITS and base != logged) or (
        foreign and (role == "manifold_pressure" or logged in _UNITS)
    ):
        raise InputError(
            phrase(
                "The axis {axis} counts in {unit}, and {roles} of {log} in {logged}: these cannot be converted.",
                axis=axis.label,
                unit=axis.unit or axis.name,
                roles=log.roles[role],
                log=log.name,
                logged=logged or "no known unit",
            ),
            phrase(
                "State its unit with {rename}, give the table with this axis in {logged}, or log what it counts.",
                rename=call("rename-axis", "SESSION"),
                logged=logged,
            )
            if logged
            else "Name the unit of the axis in the header of the table's file, as in 'Manifold pressure (kPa)'.",
        )
    if role == "manifold_pressure" and _counts_from_ambient(axis):
        ambient = log.playing("barometer")
        if ambient is None or not np.isfinite(ambient).any():
            raise InputError(
                phrase(
                    "The axis {axis} is gauge pressure, and {log} has no barometer to subtract from {roles}.",
                    axis=axis.label,
                    log=log.name,
                    roles=log.roles[role],
                ),
                phrase(
                    "Log the barometer too ({role_flag} barometer=CHANNEL), or give the table with this "
                    "axis as absolute pressure.",
                    role_flag=flag("role"),
                ),
            )
        values = values - np.where(np.isfinite(ambient), ambient, np.nanmedian(ambient))
    return values if factor == 1 else values / factor
