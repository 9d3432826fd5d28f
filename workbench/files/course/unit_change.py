"""A unit that changes within a file, as where a logger's settings were changed or two exports were put together.

A channel is held against another that tells what it should read: the airflow against the sensor's signal, the pressure
against the air of a stroke. From one moment on it reads so many times as much everywhere, and that is what one unit is
of another. Channels that stay near one level need no other.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from workbench.files.course.even import held_on
from workbench.model.arrays import BoolArray, FloatArray
from workbench.model.log import Role

MOST = 4000  # rows that are looked at, evenly chosen
PARTS, RANGES, FEWEST, FEWEST_RANGES = 40, 24, 8, 8  # of the time; of the other channel; rows in one; ranges that tell
# What a reading in one unit is of the same in another: kg/h, lb/min, lb/h, kg/s of g/s; psi, inHg, mmHg, mbar, bar, Pa
# of kPa; kHz, mV, fractions. NIST SP 811.
FACTORS = (3.6, 7.5599, 2.2046, 6.8948, 3.3864, 7.5006, 10.0, 100.0, 1000.0, 60.0, 9.5493, 14.7, 101.97, 51.715)
NEAR, ALIKE = 0.06, 0.12  # of a factor (as a logarithm), and how much ranges may differ by (the same, middle half)
# Times, for what stays near one level, for what ranges more widely, and for trims; and readings of a trim on a side.
FAR, FAR_PRESSURE, FAR_TURNS, FAR_TRIMS, FEWEST_TRIMS = 3.0, 5.0, 8.0, 20.0, 100
ONE_PULL_S = 60.0  # in so short a log a pull and the overrun after it are all there is
STEP, ON_STEP = 0.05, 0.02  # %: of a trim that is logged coarsely; of a step
AS_FAR = 0.7  # logarithm of how far two channels of the air change
TRIM_PART, TRIM_PERCENT = 0.5, 1.0  # a short trim as a part of 1 stays below the one, in percent goes past the other
AROUND_1 = (0.6, 1.5)  # between these lies a trim that is a factor
HOTTER, WITHIN_S, CONVERTED = 25.0, 5.0, 4.0  # degC within s; and how near to what a conversion gives, degC
_LEVEL: Mapping[Role, float] = {
    "lambda_measured": FAR,
    "lambda_commanded": FAR,
    "manifold_pressure": FAR_PRESSURE,
    "engine_speed": FAR_TURNS,
}
_AIR: tuple[Role, ...] = ("airflow", "sensor_signal", "manifold_pressure", "load")


@dataclass(frozen=True)
class Change:
    """Where a channel's unit seems to change.

    Attributes:
        role: what the channel plays.
        moment: s, to a part of the drive.
        times: as much it reads from then on; NaN for another scale of temperature.
    """

    role: Role
    moment: float
    times: float


def unit_changes(time: FloatArray, values: Mapping[Role, FloatArray]) -> list[Change]:
    """Find channels whose unit seems to change within the log.

    Args:
        time: s, shape (rows,).
        values: role -> values in base units, shape (rows,), NaN where nothing was read.
    """
    if time.size < 2 * FEWEST:
        return []
    chosen = _chosen(np.ones(time.size, dtype=np.bool_))
    clock = time[chosen]  # polled channels never stand in one row: each counts as read last
    here = {role: held_on(clock, time, each) for role, each in values.items()}
    found = [
        change
        for role in _AIR
        if role in here and (change := _against_others(role, clock, dict(_told_by(role, here)), here[role]))
    ]
    known = {each.role for each in found}
    found += [
        change
        for role, far in _LEVEL.items()
        if role in here
        and role not in known
        and (change := _of_level(role, clock, here[role], far))
        and not (role in _AIR and _goes_with(change, clock, here[role], dict(_told_by(role, here))))
    ]
    trims: tuple[Role, ...] = ("stft_1", "stft_2", "total_trim_1", "total_trim_2")
    found += [change for role in trims if role in here and (change := _of_trim(role, clock, here[role]))]
    if "coolant_temperature" in here and (warmth := _of_warmth(clock, here["coolant_temperature"])):
        found.append(warmth)
    return found


def _told_by(role: Role, values: Mapping[Role, FloatArray]) -> Iterator[tuple[str, FloatArray]]:
    """Give what tells a channel of the air: another way of measuring it, each shape (rows,)."""
    turns, flow = values.get("engine_speed"), values.get("airflow")
    filled: tuple[Role, ...] = ("manifold_pressure", "load")
    for other in _AIR:
        if other == role or other not in values:
            continue
        if (other in filled) == (role in filled):
            yield other, values[other]
        elif turns is not None and other in filled:
            yield other, values[other] * turns
        elif turns is not None and flow is not None and other == "airflow":
            with np.errstate(divide="ignore", invalid="ignore"):
                yield other, np.where(turns > 0, flow / turns, np.nan)


def _against_others(
    role: Role, time: FloatArray, others: Mapping[str, FloatArray], column: FloatArray
) -> Change | None:
    """Hold a channel against each that tells it; those that tell anything must say the same."""
    told = [each for other in others.values() if (each := _against(role, time, other, column)) is not None]
    return told[0] if len({each.times for each in told}) == 1 else None


def _against(role: Role, time: FloatArray, other: FloatArray, column: FloatArray) -> Change | None:
    rows = _chosen(np.isfinite(column) & np.isfinite(other) & (column > 0))
    if rows.size < 2 * FEWEST * FEWEST_RANGES:
        return None
    clock, level = time[rows], np.log(column[rows])
    place = np.digitize(other[rows], np.quantile(other[rows], np.arange(1, RANGES) / RANGES))
    if _is_narrow(level, place):
        return None
    best: Change | None = None
    narrowest = ALIKE
    for moment in np.quantile(clock, np.arange(2, PARTS - 1) / PARTS):
        after = clock >= moment
        steps = []
        for each in range(RANGES):
            before_here, after_here = level[~after & (place == each)], level[after & (place == each)]
            if min(before_here.size, after_here.size) >= FEWEST:
                steps.append(float(np.median(after_here) - np.median(before_here)))
        if len(steps) < FEWEST_RANGES:
            continue
        step, width = float(np.median(steps)), float(np.subtract(*np.quantile(steps, (0.75, 0.25))))
        known = min(FACTORS, key=lambda factor: abs(abs(step) - np.log(factor)))
        if abs(abs(step) - np.log(known)) < NEAR and width < narrowest:
            narrowest, best = width, Change(role, float(moment), known if step > 0 else 1 / known)
    return best


def _is_narrow(level: FloatArray, place: NDArray[np.intp]) -> bool:
    """Tell quickly whether a channel stays so near one level in nearly all ranges that no unit can change within."""
    spreads = [np.subtract(*np.quantile(level[place == each], (0.96, 0.04))) for each in np.unique(place)]
    return float(np.quantile(spreads, 0.75)) < float(np.log(min(FACTORS))) / 2


def _of_level(role: Role, time: FloatArray, column: FloatArray, far: float) -> Change | None:
    """Look at a channel that stays near one level, or at least within a few times of it."""
    rows = _chosen(np.isfinite(column) & (column > 0))
    if rows.size < 4 * FEWEST or time[rows[-1]] - time[rows[0]] < ONE_PULL_S:
        return None
    clock, level = time[rows], column[rows]
    best, widest = None, far
    for at in np.linspace(FEWEST, rows.size - FEWEST, PARTS).astype(int):
        times = float(np.median(level[at:]) / np.median(level[:at]))
        # Most of one side lies beyond most of the other, so that it is no pull and no idling.
        low, high = (level[:at], level[at:]) if times > 1 else (level[at:], level[:at])
        if max(times, 1 / times) > widest and np.quantile(low, 0.95) < np.quantile(high, 0.05):
            widest, best = max(times, 1 / times), Change(role, float(clock[at]), times)
    return best


def _goes_with(change: Change, time: FloatArray, column: FloatArray, others: Mapping[str, FloatArray]) -> bool:
    """Tell whether what tells the same air changed about as far, as after a pull on which overrun follows."""
    after = time >= change.moment
    for other in others.values():
        rows = np.isfinite(column) & np.isfinite(other) & (other > 0)
        if min(np.count_nonzero(rows & after), np.count_nonzero(rows & ~after)) < FEWEST:
            continue
        times = float(np.median(other[rows & after]) / np.median(other[rows & ~after]))
        if abs(float(np.log(times / change.times))) < AS_FAR:
            return True
    return False


def _of_trim(role: Role, time: FloatArray, column: FloatArray) -> Change | None:
    """Look whether a short trim is a part of 1 up to some moment, or from it on, and in percent else."""
    rows = _chosen(np.isfinite(column) & (column != 0))
    if rows.size < 2 * FEWEST_TRIMS:
        return None
    clock, size = time[rows], np.abs(column[rows])
    best, widest = None, FAR_TRIMS
    for at in np.linspace(FEWEST_TRIMS, rows.size - FEWEST_TRIMS, PARTS).astype(int):
        before, after = (float(np.quantile(each, 0.9)) for each in (size[:at], size[at:]))
        low, high = (size[:at], size[at:]) if after > before else (size[at:], size[:at])
        if _is_factor(column[rows][:at]) != _is_factor(column[rows][at:]):
            return Change(role, float(clock[at]), after / before)
        times = max(after / before, before / after)
        if (
            times > widest
            and low.max() < TRIM_PART
            and np.quantile(high, 0.9) > TRIM_PERCENT
            and not _in_steps(low, high)
        ):
            widest, best = times, Change(role, float(clock[at]), after / before)
    return best


def _in_steps(low: FloatArray, high: FloatArray) -> bool:
    """Tell whether small trims lie on the steps of the large ones: a loop that begins at 0, in one unit throughout."""
    levels = np.unique(high)
    step = float(np.min(np.diff(levels))) if levels.size > 1 else 0.0
    return step >= STEP and bool(np.all(np.abs(low / step - np.rint(low / step)) < ON_STEP))


def _is_factor(trims: FloatArray) -> bool:
    """Tell whether trims lie around 1, as factors do."""
    return bool(trims.min() > AROUND_1[0] and trims.max() < AROUND_1[1] and np.quantile(trims, 0.9) > 1)


def _of_warmth(time: FloatArray, column: FloatArray) -> Change | None:
    """Look for a leap of the coolant's temperature to what another scale would call the same, for good."""
    rows = np.flatnonzero(np.isfinite(column))
    if rows.size < 4 * FEWEST:
        return None
    clock, level = time[rows], column[rows]
    for at in np.flatnonzero((np.abs(np.diff(level)) > HOTTER) & (np.diff(clock) < WITHIN_S)) + 1:
        before, after = float(level[at - 1]), float(level[at])
        scales = (1.8 * before + 32, (before - 32) / 1.8, before + 273.15, before - 273.15)
        stays = abs(float(np.median(level[at : at + 4 * FEWEST])) - after) < HOTTER / 2
        if stays and min(abs(after - each) for each in scales) < CONVERTED:
            return Change("coolant_temperature", float(clock[at]), float("nan"))
    return None


def _chosen(known: BoolArray) -> NDArray[np.intp]:
    rows = np.flatnonzero(known)
    return rows if rows.size <= MOST else rows[np.linspace(0, rows.size - 1, MOST).astype(int)]
