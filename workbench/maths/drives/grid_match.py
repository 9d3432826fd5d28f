"""Does the logged airflow tell that engine speed or pressure is off by a factor or a shift, in the look-up of a grid?

Where the airflow is the ECU's own, it is the grid's efficiency times speed and pressure over temperature, but for one
factor. A speed or a pressure of another scale looks another cell up: then that holds nowhere, and holds again, to a
thousandth, at the right scale. An airflow that was measured by a sensor fits at none and tells nothing.
"""

from collections.abc import Callable, Iterator
from dataclasses import replace

import numpy as np

from workbench.maths.signals.axes import axis_role, axis_unit
from workbench.maths.signals.series import change_rate
from workbench.maths.table.interpolation import look_up, nearest
from workbench.model.arrays import FloatArray
from workbench.model.history import History
from workbench.model.log import Drive, Role
from workbench.model.table import Table
from workbench.phrases import call, flag, phrase

# Set on two outsiders' cars: sound grids lie within 0.0013, those off by a factor or a shift beyond 0.003, and within
# 0.001 once it is right.
FITS, FITS_NOT, TIMES = 0.0015, 0.003, 3.0
FACTORS = (1 / 3, 0.5, 2 / 3, 1.5, 2.0, 3.0)  # of a tachometer that counts sparks of other cylinders
SHIFTS = tuple(float(each) for each in range(-20, 21) if each)  # kPa
KNOWN_SCALES = (5 / 6, 6 / 5)  # of a pressure
SCALES = tuple(
    each / 100 for each in range(80, 126) if each not in (100, 120)
)  # of a pressure or a speed: sensors, gears
# Those, of which any may be meant, only where they fit as nothing else does; sound grids lie within 0.0008.
SCALE_FITS, SCALE_FITS_NOT, SCALE_TIMES = 0.0006, 0.002, 5.0
MOST, FEWEST, FEWEST_CELLS, INSIDE = 4000, 200, 8, 0.5  # rows; cells; of the rows that lie inside as they are logged
CALM, RUNS, BREATHES = 0.1, 500.0, 1.0  # 1/s, rpm, g/s
FREEZING = 273.15


def scale_of_grid(history: History, drive: Drive, name: str) -> str:
    """Say by which factor or shift of speed or pressure the logged airflow is the table's; empty where it tells none.

    Args:
        history: all revisions.
        drive: the drive.
        name: of the table, a grid of efficiency over engine speed and manifold pressure.
    """
    table = history.taken_as_driven(drive, name).table
    log = drive.log
    read = {role: log.playing(role) for role in _ROLES}
    turns, pressure, airflow = (read[role] for role in _ROLES)
    speaks = {axis_role(axis) for axis in table.axes} == set(_ROLES[:2]) and table.unit.strip() == "%"
    if not speaks or turns is None or pressure is None or airflow is None:
        return ""
    air = log.playing("intake_temperature")
    warmths = [np.ones(turns.size)] + ([] if air is None else [air + FREEZING])
    with np.errstate(invalid="ignore"):
        known = (turns > RUNS) & (pressure > 0) & (airflow > BREATHES) & np.isfinite(sum(warmths))
        known &= change_rate(np.maximum(np.nan_to_num(pressure), 1.0), log.time.values) < CALM
    rows = np.flatnonzero(known)
    rows = rows[:: max(1, rows.size // MOST)]
    if rows.size < FEWEST:
        return ""

    def spread(factor: float, scale: float, shift: float, of: Table = table) -> float:
        moved = turns[rows] * factor, pressure[rows] * scale + shift
        return min(_spread(of, *moved, airflow[rows], warmth[rows]) for warmth in warmths)

    now = spread(1.0, 1.0, 0.0)
    if not now > SCALE_FITS_NOT:
        return ""
    for turned, way in _turned(table):
        if (fits := spread(1.0, 1.0, 0.0, turned)) < FITS and now > TIMES * fits:
            return _of_turned(drive, way, fits, now)
    best = _best(spread, now)
    return "" if best is None else _sentence(drive, best, now)


def _best(spread: Callable[[float, float, float], float], now: float) -> tuple[float, Role, float, float] | None:
    """Give what is left, of what, by which factor and shift, where one of them makes all fit; None where none does."""
    usual: list[tuple[float, Role, float, float]] = []
    usual += [(spread(each, 1.0, 0.0), "engine_speed", each, 0.0) for each in FACTORS]
    usual += [(spread(1.0, each, 0.0), "manifold_pressure", each, 0.0) for each in KNOWN_SCALES]
    usual += [(spread(1.0, 1.0, each), "manifold_pressure", 1.0, each) for each in SHIFTS]
    tried: list[tuple[float, Role, float, float]] = []
    tried += [(spread(each, 1.0, 0.0), "engine_speed", each, 0.0) for each in SCALES]
    tried += [(spread(1.0, each, 0.0), "manifold_pressure", each, 0.0) for each in SCALES]
    best, other = (min(each, key=lambda way: way[0]) for each in (usual, tried))
    if best[0] < FITS and now > max(FITS_NOT, TIMES * best[0]) and best[0] < TIMES * other[0]:
        return best
    return other if other[0] < SCALE_FITS and now > SCALE_TIMES * other[0] else None


def _turned(table: Table) -> Iterator[tuple[Table, str]]:
    """Give the table with its values read from the other end along either axis, and which, in words."""
    for at, axis in enumerate(table.axes):
        yield replace(table, values=np.flip(table.values, at)), axis.name


_ROLES: tuple[Role, Role, Role] = ("engine_speed", "manifold_pressure", "airflow")


def _spread(table: Table, turns: FloatArray, pressure: FloatArray, airflow: FloatArray, warmth: FloatArray) -> float:
    """Give how far cells lie apart in what the airflow is of the table's, as a part; infinite where too few tell it."""
    told = {"engine_speed": turns, "manifold_pressure": pressure}
    columns = [told[str(axis_role(axis))] / axis_unit(axis)[1] for axis in table.axes]
    inside = np.ones(turns.size, dtype=np.bool_)
    for axis, column in zip(table.axes, columns, strict=True):
        inside &= (column >= axis.breakpoints[0]) & (column <= axis.breakpoints[-1])
    if np.count_nonzero(inside) < max(FEWEST, INSIDE * turns.size):
        return float("inf")
    position = np.column_stack(columns)[inside]
    whole = look_up(table, position) * turns[inside] * pressure[inside] / warmth[inside]
    ratio = np.log(airflow[inside] / whole)
    _, cell = np.unique(nearest(table.axes, position), return_inverse=True)
    if cell.max() + 1 < FEWEST_CELLS:
        return float("inf")
    parts = np.split(ratio[np.argsort(cell, kind="stable")], np.cumsum(np.bincount(cell))[:-1])
    middles = np.array([float(np.median(part)) for part in parts])[cell]
    return 1.4826 * float(np.median(np.abs(middles - np.median(middles))))


def _of_turned(drive: Drive, axis: str, fits: float, now: float) -> str:
    return phrase(
        "{log}: the logged airflow is the table's, to {fits:.2f} %, once its values are read from the other end of "
        "{axis}, and as it stands only to {now:.1f} %: its file holds it upside down. The log is left out. Begin again "
        "with the file mended; to use the log as it is, choose it with {from_flag}.",
        log=drive.log.name,
        fits=100 * fits,
        now=100 * now,
        axis=axis,
        from_flag=flag("from"),
    )


def _sentence(drive: Drive, best: tuple[float, Role, float, float], now: float) -> str:
    fits, role, factor, shift = best
    channel = drive.log.roles[role]
    way = phrase("times {factor:.3g}", factor=factor) if shift == 0 else phrase("{shift:+g} kPa", shift=shift)
    right = f"{factor:.4g} * '{channel}'" if shift == 0 else f"'{channel}' {'+' if shift > 0 else '-'} {abs(shift):g}"
    return phrase(
        "{log}: the logged airflow is the table's with {channel} {way}, to {fits:.2f} %, and as it is logged only to "
        "{now:.1f} %: {channel} is off by that. It is left out. Compute the right one with {compute} and give it the "
        "role with {amend}; to use the log as it is, choose it with {from_flag}.",
        log=drive.log.name,
        channel=channel,
        way=way,
        fits=100 * fits,
        now=100 * now,
        compute=call("compute", "SESSION", '"right"', f'"{right}"'),
        amend=call("amend-log", "SESSION", f"{drive.id}", flag("role", f"{role}=right")),
        from_flag=flag("from"),
    )
