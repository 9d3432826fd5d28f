"""Values that cannot be: codes that stand for nothing, dead channels, impossible jumps, units that contradict them."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from workbench.files.channels.measured import Measured, median_of
from workbench.files.course.even import stretches
from workbench.files.gaps.spikes import counted_twice, jumps_back
from workbench.files.unnamed.other_units import pressures
from workbench.files.vocabulary.scoring import MIXTURES, stands_still
from workbench.model.arrays import BoolArray, FloatArray
from workbench.model.counting import counted
from workbench.model.log import Role
from workbench.phrases import phrase

TRIMS: tuple[Role, ...] = ("stft_1", "ltft_1", "stft_2", "ltft_2", "total_trim_1", "total_trim_2")
# Role -> (largest change, within s) between two readings; past it no car follows. Common practice, no source.
FASTEST: Mapping[Role, tuple[float, float]] = {
    "engine_speed": (5000, 0.6),
    "vehicle_speed": (60, 1.0),
    "coolant_temperature": (25, 2.0),
    "intake_temperature": (40, 1.0),
    "battery_voltage": (15, 1.0),
}
IMPOSSIBLE_SHARE = 0.1
FASTEST_ENGINE = 14000  # rpm
COLD, WARM, MANY = 55.0, (68.0, 115.0), 1000  # degC, degC, readings: an engine that never warms; one that has; a drive
HOTTEST = 130.0  # degC, of coolant or intake air over a drive
VOLTS = (
    6.0  # a throttle sensor's supply is 5 V; a drive opens the throttle further than 6 %: common practice, no source
)
RICHEST, TOO_RICH_SHARE = 0.5, 0.1  # lambda, and of the rows; no engine burns below it. Common practice, no source.
SLOWEST_ENGINE = 100  # rpm
EMPTY_SHARE = 0.05  # of the rows
EMPTY = 3.0  # kPa; lower than any engine draws its manifold: common practice, no source
PSI = 6.894757293168  # kPa; NIST SP 811
# A reading at which a wideband ends: so many rows at the one value, with hardly any just short of it.
ENDS_WITHIN = (0.7, 1.3)  # lambda: what an engine is run at; further out readings end without harm
FEWEST_AT_END, NEAR_END, FEW_NEAR_END, FINE = 20, 0.01, 0.25, 0.0051  # rows, lambda, of those rows, lambda


@dataclass(frozen=True)
class Code:
    """A value that stands for nothing: all at or above `low` (or exactly `low`), and what it means."""

    low: float
    exactly: bool
    meaning: str


# SAE J1979: what the largest raw number of a parameter reads as.
CODES: Mapping[Role, tuple[Code, ...]] = {
    **dict.fromkeys(TRIMS, (Code(99.0, exactly=False, meaning="raw FF, 'not used'"),)),
    **dict.fromkeys(MIXTURES, (Code(0.0, exactly=True, meaning="not supported"),)),
    "manifold_pressure": (Code(255.0, exactly=True, meaning="a saturated byte"),),
    "barometer": (Code(255.0, exactly=True, meaning="a saturated byte"), Code(0.0, exactly=True, meaning="no reading")),
    "engine_speed": (Code(16383.0, exactly=False, meaning="raw FFFF"),),
    "airflow": (Code(655.35, exactly=True, meaning="raw FFFF"),),
    "vehicle_speed": (Code(255.0, exactly=True, meaning="a saturated byte"),),
    "coolant_temperature": (
        Code(215.0, exactly=True, meaning="a saturated byte"),
        Code(-40.0, exactly=True, meaning="raw 0"),
    ),
    "intake_temperature": (
        Code(215.0, exactly=True, meaning="a saturated byte"),
        Code(-40.0, exactly=True, meaning="raw 0"),
    ),
}


def blank_codes(channel: Measured, role: Role) -> tuple[Measured, list[str]]:
    """Take out values that stand for nothing, and say how many and what they were."""
    notes = []
    for code in CODES.get(role, ()):
        low, high = channel.extent
        if not (low - 1e-9 <= code.low <= high + 1e-9 if code.exactly else high >= code.low):
            continue
        near = np.abs(channel.values - code.low) < 1e-9 if code.exactly else channel.values >= code.low
        count = int(np.sum(near))
        if not count:
            continue
        if count == np.count_nonzero(np.isfinite(channel.values)):
            level = (
                f"{code.low:g}"
                if code.exactly or channel.extent == (code.low, code.low)
                else phrase("{low:g} or more", low=code.low)
            )
            note = phrase(
                "{channel} reads {level} throughout ({meaning}): it counts as missing and is left out.",
                channel=channel.name,
                level=level,
                meaning=code.meaning,
            )
        else:
            rows = counted(count, "row")
            note = (
                phrase("{channel} reads {low:g} or more", channel=channel.name, low=code.low)
                if not code.exactly
                else f"{channel.name} reads {code.low:g}"
            )
            note += phrase(" in {rows} ({meaning}); that counts as missing.", rows=rows, meaning=code.meaning)
        notes.append(note)
        channel = channel.without(near)
    if role == "lambda_measured" and channel.extent[1] >= 1.999:
        at_top = int(np.sum(channel.values >= 1.999))
        rows = counted(at_top, "row")
        notes.append(
            phrase(
                "{channel} is at the top of its range in {rows} (air, or a saturated reading).",
                channel=channel.name,
                rows=rows,
            )
        )
    if role == "lambda_measured":
        channel, clipped = _without_ends(channel)
        notes += clipped
    return channel, notes


def _without_ends(channel: Measured) -> tuple[Measured, list[str]]:
    """Take out readings at which a wideband ends near the mixtures of a drive: what it measured lies beyond them.

    Where a fine reading stands at its lowest or highest value in many rows and next to it in hardly any, it is cut
    off there: the true mixture would be read wrong by as much as it goes on.
    """
    there, notes = channel.there, []
    inner = there[(there > ENDS_WITHIN[0]) & (there < ENDS_WITHIN[1])]
    levels = np.unique(inner)
    if inner.size < 10 * FEWEST_AT_END or levels.size < FEWEST_AT_END or float(np.median(np.diff(levels))) > FINE:
        return channel, []
    for end, sign in zip(channel.extent, (1, -1), strict=True):
        if not ENDS_WITHIN[0] < end < ENDS_WITHIN[1]:
            continue
        at_end = np.abs(channel.values - end) < 1e-9
        beyond = sign * (channel.values - end)
        near = int(np.count_nonzero((beyond > 1e-9) & (beyond <= NEAR_END)))
        count = int(np.count_nonzero(at_end))
        if count < FEWEST_AT_END or near > FEW_NEAR_END * count:
            continue
        channel = channel.without(at_end)
        notes.append(
            phrase(
                "{channel} stands at {end:.4g} in {rows} and goes no further: its range ends there, so these count as "
                "missing.",
                channel=channel.name,
                end=end,
                rows=counted(count, "row"),
            )
        )
    return channel, notes


# Role -> what its values can be at all, in base units. Common practice, no source.
POSSIBLE: Mapping[Role, tuple[float, float]] = {
    "sensor_signal": (0.0, 50_000.0),
    "airflow": (-30.0, 3000.0),
    "engine_speed": (0.0, 16_000.0),
    "manifold_pressure": (1.0, 600.0),
    "load": (-5.0, 500.0),
    "stft_1": (-99.9, 99.0),
    "ltft_1": (-99.9, 99.0),
    "stft_2": (-99.9, 99.0),
    "ltft_2": (-99.9, 99.0),
    "lambda_measured": (0.05, 60.0),
    "lambda_commanded": (0.05, 60.0),
    "coolant_temperature": (-50.0, 180.0),
    "intake_temperature": (-50.0, 180.0),
    "throttle": (-12.0, 115.0),
    "pedal": (-12.0, 130.0),
    "battery_voltage": (0.0, 80.0),
    "vehicle_speed": (-1.0, 450.0),
    "barometer": (40.0, 120.0),
}
FEW_IMPOSSIBLE = 0.3  # of the readings; where more are, the unit or the role is wrong


def blank_impossible(channel: Measured, role: Role) -> tuple[Measured, list[str]]:
    """Take out values that no car gives, where they are few, and say how many and which."""
    low, high = POSSIBLE.get(role, (-np.inf, np.inf))
    least, most = channel.extent
    if not (least < low or most > high):
        return channel, []
    bad = (channel.values < low) | (channel.values > high)
    count, known = int(np.count_nonzero(bad)), int(np.count_nonzero(np.isfinite(channel.values)))
    if not count or count > FEW_IMPOSSIBLE * known:
        return channel, []
    if role == "manifold_pressure" and pressures(channel.name, channel.values, channel.unit):
        return channel, []  # all of it is possible in another unit, which is asked
    shown = least if least < low else most
    unit = f" {channel.unit_name}" if channel.unit_name else ""
    note = phrase(
        "{channel} reads impossible values in {rows}, such as {shown:.6g}{unit}; these count as missing.",
        channel=channel.name,
        rows=counted(count, "row"),
        shown=shown,
        unit=unit,
    )
    return channel.without(bad), [note]


def is_dead(channel: Measured, role: Role) -> bool:
    """Tell whether a channel that must move reads the same in every row."""
    return stands_still(role, channel.there) and bool(
        np.all((channel.values == channel.there[0]) | np.isnan(channel.values))
    )


def is_no_mixture(channel: Measured, role: Role) -> bool:
    """Tell whether a channel that should be lambda reads so low, so often, that it is something else: a voltage."""
    return role in MIXTURES and channel.there.size > 0 and float(np.mean(channel.there < RICHEST)) > TOO_RICH_SHARE


def contradictions(by_role: Mapping[Role, Measured]) -> list[tuple[Role, str]]:
    """Describe where values contradict their unit: the role of the channel, and what is to be said of it."""
    found: list[tuple[Role, str]] = []
    pressure, speed = by_role.get("manifold_pressure"), by_role.get("engine_speed")
    if pressure is not None and pressure.there.size and (note := _pressure(pressure, speed)):
        found.append(("manifold_pressure", note))
    temperatures: tuple[Role, ...] = ("coolant_temperature", "intake_temperature")
    for role in temperatures:
        channel = by_role.get(role)
        if channel is not None and (middle := median_of(channel.values)) > HOTTEST:
            note = phrase(
                "{channel} reads {median_of:.4g} degC; is it in degF?", channel=channel.name, median_of=middle
            )
            found.append((role, note))
    if (coolant := by_role.get("coolant_temperature")) is not None and (note := _cold_in_degf(coolant)):
        found.append(("coolant_temperature", note))
    if speed is not None and 0 < speed.extent[1] < SLOWEST_ENGINE:
        note = phrase(
            "{name} stays under {slowest} rpm; is it in thousands, or in turns a second?",
            name=speed.name,
            slowest=SLOWEST_ENGINE,
        )
        found.append(("engine_speed", note))
    throttle = by_role.get("throttle")
    if throttle is not None and not throttle.field.unit and 0 < throttle.extent[1] < VOLTS:
        note = phrase("{name} stays under {low:g} %; is it a voltage or a fraction?", name=throttle.name, low=VOLTS)
        found.append(("throttle", note))
    voltage = by_role.get("battery_voltage")
    if voltage is not None and voltage.there.size and not 6 < (middle := median_of(voltage.values)) < 32:
        note = phrase(
            "{voltage} reads {median:.3g} V, which is impossible for a battery.", voltage=voltage.name, median=middle
        )
        found.append(("battery_voltage", note))
    return found


def _cold_in_degf(coolant: Measured) -> str:
    """Say of a coolant in degF that it would never get warm, though its numbers are those of a warm one in degC."""
    if coolant.unit is None or coolant.unit.name != "degF" or coolant.there.size < MANY or coolant.extent[1] > COLD:
        return ""
    late = coolant.there[-coolant.there.size // 3 :] * 9 / 5 + 32
    if not WARM[0] < float(np.median(late)) < WARM[1]:
        return ""
    return phrase(
        "{channel} never gets warmer than {most:.3g} degC, read in degF as its unit says; is it in degC?",
        channel=coolant.name,
        most=coolant.extent[1],
    )


def _pressure(pressure: Measured, speed: Measured | None) -> str:
    """Say what of a manifold pressure is impossible; nothing where all may be."""
    if pressure.extent[1] > 115:
        idle = _idling(speed, pressure.values)
        level, where = (
            (median_of(pressure.values[idle]), " at idle") if idle.any() else (float(pressure.there.min()), "")
        )
        if level > 115:
            twice = phrase(
                "; {level:.5g} / {psi:.4g} = {level_2:.3g} kPa would be plausible, as if converted from psi twice",
                level=level,
                psi=PSI,
                level_2=level / PSI,
            )
            known = twice if 15 < level / PSI < 110 else ""
            return phrase(
                "{pressure} reads {level:.5g} kPa{where}: impossible in an intake manifold{known}.",
                pressure=pressure.name,
                level=level,
                where=where,
                known=known,
            )
    if (empty := float(np.mean(pressure.there < EMPTY))) >= EMPTY_SHARE:
        note = phrase(
            "{pressure} reads under {empty:g} kPa in {empty_2:.0%} of its rows, which is impossible in an intake "
            "manifold",
            pressure=pressure.name,
            empty=EMPTY,
            empty_2=empty,
        )
        return phrase("{note}: it is gauge pressure without the vacuum part, or its unit is wrong.", note=note)
    if float(pressure.there.max()) < 20:
        return phrase(
            "{pressure} stays under 20 kPa; is its unit {unit}?",
            pressure=pressure.name,
            unit=pressure.field.unit or "kPa",
        )
    return ""


def _idling(speed: Measured | None, values: FloatArray) -> BoolArray:
    if speed is None:
        return np.zeros(values.shape, dtype=np.bool_)
    idle: BoolArray = (speed.values > 400) & (speed.values < 1100) & np.isfinite(values)
    return idle if int(idle.sum()) >= 5 else np.zeros(values.shape, dtype=np.bool_)


def impossible_jumps(by_role: Mapping[Role, Measured], time: FloatArray) -> list[str]:
    """Name which channels jump as no car can, in a tenth or more of their changes."""
    objections = []
    for role, (largest, within) in FASTEST.items():
        channel = by_role.get(role)
        if channel is None or not channel.extent[1] - channel.extent[0] > largest:
            continue
        known = np.isfinite(channel.values)
        values, clock = (channel.values, time) if known.all() else (channel.values[known], time[known])
        if not np.any(np.abs(np.diff(values)) > largest):
            continue
        changed = np.flatnonzero(np.diff(values) != 0) + 1
        if changed.size < 8:
            continue
        readings = np.concatenate([[0], changed])
        jumps, gaps = np.diff(values[readings]), np.diff(clock[readings])
        bad = (np.abs(jumps) > largest) & (gaps <= within)
        if np.mean(bad) >= IMPOSSIBLE_SHARE:
            at = int(np.argmax(np.where(bad, np.abs(jumps), 0)))
            start, end = values[readings[at]], values[readings[at + 1]]
            objections.append(
                phrase(
                    "{channel} jumps from {start:g} to {end:g} within {gaps:.2g} s, and likewise in "
                    "{bad} of {bad_2} changes",
                    channel=channel.name,
                    start=start,
                    end=end,
                    gaps=gaps[at],
                    bad=int(bad.sum()),
                    bad_2=bad.size,
                )
            )
    return objections


def blank_spikes(by_role: Mapping[Role, Measured], time: FloatArray) -> tuple[dict[Role, Measured], list[str]]:
    """Take out single readings that no car can jump to and back from, and say how many there were."""
    cleaned = dict(by_role)
    notes = []
    for role, (largest, within) in FASTEST.items():
        channel = by_role.get(role)
        if channel is None:
            continue
        bad = jumps_back(channel.values, time, largest, within)
        if role == "engine_speed":
            bad |= counted_twice(channel.values, time)
        if not bad.any():
            continue
        cleaned[role] = channel.without(bad)
        first = int(np.flatnonzero(bad)[0])
        notes.append(
            phrase(
                "{channel} jumps and returns faster than a car can, {spike} times, as to "
                "{channel_2:g} at {time:.6g} s; these readings count as missing.",
                channel=channel.name,
                spike=stretches(bad),
                channel_2=channel.values[first],
                time=time[first],
            )
        )
    return cleaned, notes


def out_of_range(by_role: Mapping[Role, Measured]) -> list[str]:
    """Say so where the engine speed lies where no engine turns, in a tenth or more of the rows."""
    channel = by_role.get("engine_speed")
    if channel is None or not channel.there.size or np.mean(channel.there > FASTEST_ENGINE) < IMPOSSIBLE_SHARE:
        return []
    return [
        phrase(
            "{channel} is above {fastest_engine} rpm in {share:.0%} of its rows",
            channel=channel.name,
            fastest_engine=FASTEST_ENGINE,
            share=np.mean(channel.there > FASTEST_ENGINE),
        )
    ]
