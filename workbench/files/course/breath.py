"""What an engine's speed, pressure and airflow are held against: idling, the ambient, and the table it looked up."""

from collections.abc import Collection

import numpy as np

from workbench.files.course.balance import multiplied_by_trims
from workbench.files.course.heard import Heard, use_or_leave
from workbench.files.vocabulary.asking import Reading, ask
from workbench.model.arrays import BoolArray, FloatArray
from workbench.model.log import Question, Role, typed_flag
from workbench.phrases import phrase

# rpm: no warm car engine idles more slowly; few reach the other one, none in so short a gear (km/h for each 1000 rpm;
# common practice, no source); the least that turns. km/h from which a car rolls.
SLOWEST_IDLE, FASTEST, SHORTEST, TURNS, ROLLING = 450.0, 9000.0, 22.0, 100.0, 20.0
STEADY = 1.05  # times the slowest: an engine that idles stays near it, one that stalls does not
WARM, FEWEST, MANY, FEW, AFTER_START = 65.0, 50, 500, 8, 30  # degC; rows: to tell, of a drive, slow, after a start
SHUT, OPEN, WIDE = 0.08, 0.95, 70.0  # of the throttle's range, of its highest, and %: a pull
# kPa: no throttled engine stays above the one with its throttle shut. Full throttle lies below the ambient, of charged
# engines far above it, and rising (common practice, no source).
LEAST_THROTTLED, ABOVE, CHARGED, LEVEL = 85.0, 2.5, 18.0, 5.0


_AS_LOGGED = Reading("as-logged", "It counts as it is logged.")


def asked_of_breath(heard: Heard) -> list[Question]:
    """Ask about a speed at which no engine idles, a pressure that no throttled one has, and an airflow times trims."""
    return [*_of_turns(heard), *_of_pressure(heard), *_of_airflow(heard)]


def _open(role: Role, heard: Heard, stated: Collection[Role]) -> bool:
    return role in heard.values and role not in stated and heard.names[role] not in heard.settled


def _of_turns(heard: Heard) -> list[Question]:
    """Ask about an engine speed lower than any warm engine idles at, or higher than engines reach in so short gears."""
    if not _open("engine_speed", heard, heard.stated):
        return []
    turns, coolant = heard.values["engine_speed"], heard.values.get("coolant_temperature")
    running = np.isfinite(turns) & (turns > TURNS)
    with np.errstate(invalid="ignore"):
        if coolant is not None:
            running &= ~(coolant < WARM)
    for lag in range(1, AFTER_START):  # a starter turns slowly, too
        running[lag:] &= ~(turns[:-lag] <= TURNS)
    if np.count_nonzero(running) < MANY:
        return []
    return _of_idling(heard, running) or _of_gears(heard, running)


def _of_idling(heard: Heard, running: BoolArray) -> list[Question]:
    turns, name = heard.values["engine_speed"], heard.names["engine_speed"]
    slow = turns[running & (turns < SLOWEST_IDLE)]
    if not slow.size or np.count_nonzero(slow < STEADY * float(slow.min())) < FEW:
        return []  # none, or one that stalls
    why = phrase(
        "{channel} reads around {slowest:.4g} rpm while the engine idles, where warm engines idle at 600 to 1200 rpm. "
        "Does it count a part of the turns, as a tachometer set for other cylinders does?",
        channel=name,
        slowest=float(slow.min()),
    )
    return [ask(name, why, [_AS_LOGGED, *(_turning(factor) for factor in (2.0, 3.0, 1.5))], "rpm")]


def _of_gears(heard: Heard, running: BoolArray) -> list[Question]:
    turns, speed = heard.values["engine_speed"], heard.values.get("vehicle_speed")
    fastest = float(np.quantile(turns[running], 0.999))
    if speed is None or fastest < FASTEST:
        return []
    rolling = running & (np.nan_to_num(speed) > ROLLING)
    if np.count_nonzero(rolling) < FEWEST:
        return []
    gearing = float(np.quantile(1000 * speed[rolling] / turns[rolling], 0.95))
    if gearing >= SHORTEST:
        return []
    why = phrase(
        "{channel} goes up to {fastest:.5g} rpm, and the car rolls at {gearing:.3g} km/h at most for each 1000 rpm, "
        "where cars reach 25 and more. Does it count turns twice, as a tachometer set for other cylinders does?",
        channel=heard.names["engine_speed"],
        fastest=fastest,
        gearing=gearing,
    )
    return [ask(heard.names["engine_speed"], why, [_AS_LOGGED, _turning(0.5)], "rpm")]


def _turning(factor: float) -> Reading:
    return Reading(f"times-{factor:g}", phrase("The engine turns {factor:g} times as fast.", factor=factor), factor)


def _shut(heard: Heard) -> BoolArray | None:
    """Mark the rows of a warm engine with its throttle shut, shape (rows,); None where that is not logged."""
    throttle, coolant = heard.values.get("throttle"), heard.values.get("coolant_temperature")
    if throttle is None or not np.isfinite(throttle).any():
        return None
    low, high = float(np.nanmin(throttle)), float(np.nanmax(throttle))
    with np.errstate(invalid="ignore"):
        shut = throttle <= low + SHUT * (high - low)
        if coolant is not None:
            shut &= ~(coolant < WARM)
    return np.asarray(shut) if high - low > 10 else None


def _of_pressure(heard: Heard) -> list[Question]:
    """Ask about a manifold pressure that never falls behind a shut throttle, or lies somewhat above the ambient."""
    if "manifold_pressure" not in heard.values or "manifold_pressure" in heard.stated:
        return []
    pressure, name = heard.values["manifold_pressure"], heard.names["manifold_pressure"]
    used, left = phrase("Its values count as they are."), phrase("It is not used as manifold_pressure.")
    shut, turns = _shut(heard), heard.values.get("engine_speed")
    if shut is not None and turns is not None:
        with np.errstate(invalid="ignore"):
            shut &= (turns > SLOWEST_IDLE) & np.isfinite(pressure)
        if np.count_nonzero(shut) >= FEWEST and float(np.median(pressure[shut])) > LEAST_THROTTLED:
            why = phrase(
                "{channel} reads {usual:.3g} kPa with the throttle shut, where an engine draws 20 to 60 kPa: is it in "
                "another unit, or a pressure from elsewhere? If so, add the log with its unit, as with {psi}, or "
                "{psig} where it counts from the ambient.",
                channel=name,
                psi=typed_flag("unit", name, "psi"),
                psig=typed_flag("unit", name, "psig"),
                usual=float(np.median(pressure[shut])),
            )
            return [use_or_leave(name, why, "manifold_pressure", name, used, left)]
    ambient = heard.values.get("barometer")
    if ambient is None or not np.isfinite(ambient).any() or name in heard.settled:
        return []
    wide = _wide_open(heard, pressure)
    if wide is None:
        return []
    highest, around = float(np.median(wide)), float(np.nanmedian(ambient))
    if not ABOVE < highest - around < CHARGED or float(np.subtract(*np.quantile(wide, (0.9, 0.1)))) > LEVEL:
        return []
    why = phrase(
        "{channel} goes up to {highest:.4g} kPa, {above:.2g} kPa above {barometer}: more than the ambient, and "
        "less than a charged engine makes. Is the engine charged? If not, one of the two sensors is off by that much.",
        channel=name,
        highest=highest,
        above=highest - around,
        barometer=heard.names["barometer"],
    )
    return [use_or_leave(name, why, "manifold_pressure", name, used, left, answer="yes")]


def _wide_open(heard: Heard, pressure: FloatArray) -> FloatArray | None:
    """Give the pressure at each row of a throttle that is wide open, kPa; None where there are too few."""
    throttle = heard.values.get("throttle")
    if throttle is None or not np.isfinite(throttle).any() or float(np.nanmax(throttle)) < WIDE:
        return None
    with np.errstate(invalid="ignore"):
        rows = (throttle > OPEN * float(np.nanmax(throttle))) & np.isfinite(pressure)
    return pressure[rows] if np.count_nonzero(rows) >= FEWEST else None


def _of_airflow(heard: Heard) -> list[Question]:
    """Ask about an airflow that moves with the trims at one and the same signal of the sensor."""
    if not _open("airflow", heard, heard.stated) or not {"sensor_signal", "stft_1"} <= set(heard.values):
        return []
    values = heard.values
    found = multiplied_by_trims(
        heard.time, values["airflow"], values["sensor_signal"], values["stft_1"], values.get("ltft_1")
    )
    if not found:
        return []
    name = heard.names["airflow"]
    why = phrase(
        "{channel} rises by 1 % with each % of the trims at one signal of {sensor}, as the fuel does and no air: does "
        "it hold the trims already? Then it is not what the ECU looked up.",
        channel=name,
        sensor=heard.names["sensor_signal"],
    )
    used, left = phrase("It counts as the airflow that was looked up."), phrase("It is not used as airflow.")
    return [use_or_leave(name, why, "airflow", name, used, left)]
