"""Does the logged airflow tell that it, or the sensor's channel, is off by a moment, a factor or a shift?

Where the airflow is the ECU's own, it is what the curve gives at the sensor's signal, row by row. Put beside it at
another moment it is so still where the flow stands, and off wherever it moves; and one factor or one shift that makes
the curve repeat it everywhere is no other table, which would differ from place to place.
"""

from collections.abc import Iterator

import numpy as np

from workbench.errors import InputError
from workbench.maths.signals.axes import axis_signal, axis_unit
from workbench.maths.signals.series import change_rate
from workbench.maths.table.interpolation import look_up, nearest
from workbench.model.arrays import FloatArray
from workbench.model.history import History
from workbench.model.log import Drive, typed_flag
from workbench.model.table import Table
from workbench.phrases import call, flag, phrase

MOVES, FEWEST, MOST = 0.3, 100, 6000  # 1/s; rows
FURTHEST_S, LEAST_S, STEPS = 10.0, 0.5, 2.0  # s that are looked at, and that tell; rows of it at least
FITS, TIMES = 0.02, 4.0  # of the airflow while it moves: what is left at the right moment; and how much more is now
SLOWEST_S = 0.5  # between rows: in slower logs channels are read too far apart
EXACT, KNOWN = 0.003, 0.008  # what the right factor or shift leaves; and one that is known from elsewhere
SENSOR_FACTORS = (2.0, 0.5, 1 / 20, 20.0)  # of a divider, and of percent of 5 V
PER_G_S = {"g/s": 1.0, "kg/h": 3.6, "kg/min": 0.06, "lb/min": 0.1322774, "lb/h": 7.936641}  # NIST SP 811, appendix B
# Of a value that is not the one in the car: 1/s; rows; how far off it is, how near the others; how many are with those
# beside it, how many are not, as a part of all, and how far off those are of it that are named.
STEADY, FEWEST_OF_VALUE, FAR_OFF, NEAR_ON, MOST_OFF, MOSTLY_ON, BESIDE = 0.1, 20, 0.06, 0.02, 4, 0.5, 0.5
INSIDE = 0.5  # of the rows, that lie on the curve's axis


def moment_of_airflow(history: History, drive: Drive, name: str) -> str:
    """Say by how much later the airflow fits the curve than the sensor does; empty where it fits now, or never.

    Args:
        history: all revisions.
        drive: the drive.
        name: of the table.
    """
    table, time = history.taken_as_driven(drive, name).table, drive.log.time.values
    read = _signal_and_airflow(table, drive)
    if read is None:
        return ""
    signal, used, unit = read
    both = np.isfinite(signal) & np.isfinite(used)
    step = float(np.median(np.diff(time)))
    if np.count_nonzero(both) < FEWEST or not 0 < step < SLOWEST_S:
        return ""
    looked_up = np.log(np.maximum(unit * look_up(table, signal[both][:, None]), 0.01))
    flow, moments = np.log(np.maximum(used[both], 0.01)), time[both]
    rows = np.flatnonzero((change_rate(np.exp(flow), moments) > MOVES) & (np.exp(flow) > 1.0))
    rows = rows[:: max(1, rows.size // MOST)]
    if rows.size < FEWEST:
        return ""

    def left(late: float) -> float:
        apart = np.interp(moments[rows] - late, moments, looked_up) - flow[rows]
        return float(np.median(np.abs(apart)))

    lags = np.arange(-FURTHEST_S, FURTHEST_S + step / 2, step)
    found = np.array([left(float(lag)) for lag in lags])
    best = int(np.argmin(found))
    late, least = float(lags[best]), max(LEAST_S, STEPS * step)
    now = float(found[np.abs(lags) < least].min())
    if abs(late) < least or found[best] > FITS or now < TIMES * found[best]:
        return ""
    airflow, sensor = drive.log.roles["airflow"], table.axes[0].label
    return phrase(
        "{log}: {airflow} is what the table gives at {sensor}, but {seconds:.2g} s {way}: one of the two columns was "
        "put beside the other at another moment. It is left out. Export it anew; where it is {airflow} that is off, "
        "{amend} leaves that out and uses the log; to use it as it is, choose it with {from_flag}.",
        log=drive.log.name,
        airflow=airflow,
        sensor=sensor,
        seconds=abs(late),
        way=phrase("later") if late > 0 else phrase("earlier"),
        amend=call("amend-log", "SESSION", f"{drive.id}", typed_flag("role", "airflow", "")),
        from_flag=flag("from"),
    )


def values_off(history: History, drive: Drive, name: str) -> str:
    """Say where single values of a curve are not those that the ECU looked up; empty where that is not told.

    The airflow is the curve's on both sides of them, so neither a unit nor another table's blend accounts for it.

    Args:
        history: all revisions.
        drive: the drive.
        name: of the table.
    """
    taken = history.taken_as_driven(drive, name)
    table, time = taken.table, drive.log.time.values
    read = _signal_and_airflow(table, drive)
    if read is None:
        return ""
    signal, used, unit = read
    rows = np.flatnonzero(np.isfinite(signal) & (used > 1.0))
    rows = rows[change_rate(used[rows], time[rows]) < STEADY] if rows.size else rows
    if rows.size < FEWEST:
        return ""
    position = signal[rows][:, None]
    apart = np.log(np.maximum(unit * look_up(table, position), 0.01) / used[rows])
    cell = nearest(table.axes, position)
    middles = np.full(table.values.size, np.nan)
    for each in np.unique(cell):
        mine = apart[cell == each]
        if mine.size >= FEWEST_OF_VALUE:
            middles[each] = float(np.median(mine))
    told = np.flatnonzero(np.isfinite(middles))
    off = np.abs(middles[told]) > FAR_OFF
    near = np.abs(middles[told]) < NEAR_ON
    between = told.size > MOST_OFF and bool(near[0] and near[-1])
    if not between or not 1 <= np.count_nonzero(off) <= MOST_OFF or np.mean(near) < MOSTLY_ON:
        return ""
    off = np.abs(middles[told]) > BESIDE * np.max(np.abs(middles[told]))
    worst = int(told[np.argmax(np.abs(middles[told]))])
    return phrase(
        "{log}: at {cells} the table holds {worst:+.0f} % against the logged airflow at most, and hardly anything "
        "elsewhere: values were exchanged or mistyped, or another table was in the car. It is left out. Begin again "
        "with the table's file mended; to use the log as it is, choose it with {from_flag}.",
        log=drive.log.name,
        cells=", ".join(table.cell_name((int(each),)) for each in told[off]),
        worst=100 * (np.exp(middles[worst]) - 1),
        from_flag=flag("from"),
    )


def scale_of_curve(drive: Drive, table: Table, position: FloatArray, logged: FloatArray) -> str:
    """Say which unit, factor or shift makes the curve repeat the airflow; empty where none does.

    Args:
        drive: whose airflow fits no revision.
        table: that it is said to have been driven with.
        position: on the axis, shape (rows,), of steady rows.
        logged: airflow in the table's unit, shape (rows,).
    """
    if unit := _unit_of_airflow(drive, table, position, logged):
        return unit
    named = drive.log.channel(table.axes[0].name)
    sensor = drive.log.roles.get("sensor_signal", "" if named is None else named.name)  # as `axis_signal` takes it
    for way, right, moved, most in _ways(drive, table, sensor, position, logged) if sensor else ():
        if _left(table, moved, logged) < most:
            return _sentence(drive, table, sensor, way, right)
    return ""


def _unit_of_airflow(drive: Drive, table: Table, position: FloatArray, logged: FloatArray) -> str:
    """Say in which unit the airflow is the table's; empty where it is in none."""
    airflow = drive.log.roles.get("airflow", "")
    channel = drive.log.channel(airflow)
    read = PER_G_S.get("" if channel is None else channel.unit_read or channel.unit, 1.0)
    for unit, per in PER_G_S.items():
        if per == read or _left(table, position, logged * (read / per)) >= KNOWN:
            continue
        return phrase(
            "{log}: {channel} is {times:.3g} times what revision {stated} gives, as {unit} is to its unit. State it "
            "with {amend}; where the table's unit is wrong, begin again with its file mended.",
            log=drive.log.name,
            channel=airflow,
            times=per / read,
            stated=drive.revision,
            unit=unit,
            amend=call("amend-log", "SESSION", f"{drive.id}", typed_flag("unit", airflow, unit)),
        )
    return ""


def _ways(
    drive: Drive, table: Table, sensor: str, position: FloatArray, logged: FloatArray
) -> Iterator[tuple[str, str, FloatArray, float]]:
    """Give ways in which a sensor may be meant: in words, as an expression, its values then, and what may be left."""
    channel = drive.log.channel(sensor)
    if channel is not None and channel.unit == "V":
        yield phrase("in mV"), f"'{sensor}' / 1000", position / 1000, KNOWN
    for times in SENSOR_FACTORS:
        yield phrase("times {times:g}", times=times), f"{times:g} * '{sensor}'", position * times, KNOWN
    at = _looked_back(table, logged)
    known = np.isfinite(at) & (position > 0)
    if np.count_nonzero(known) < FEWEST:
        return
    factor, shift = float(np.median(at[known] / position[known])), float(np.median(at[known] - position[known]))
    sign = "+" if shift > 0 else "-"
    yield phrase("{shift:+.3g}", shift=shift), f"'{sensor}' {sign} {abs(shift):.4g}", position + shift, EXACT
    yield phrase("times {factor:.4g}", factor=factor), f"{factor:.4g} * '{sensor}'", position * factor, EXACT


def _signal_and_airflow(table: Table, drive: Drive) -> tuple[FloatArray, FloatArray, float] | None:
    """Give what a curve is looked up by, the airflow of the ECU in g/s, and g/s in its unit; None where one lacks."""
    used = drive.log.playing("airflow")
    unit = {"g/s": 1.0, "kg/h": 1 / 3.6}.get(table.unit.strip().lower())
    if used is None or unit is None or table.kind != "curve" or drive.log.time.values.size < FEWEST:
        return None
    try:
        return axis_signal(table.axes[0], drive.log), used, unit
    except InputError:  # told where the drive itself is asked
        return None


def _left(table: Table, position: FloatArray, logged: FloatArray) -> float:
    """Give how far the middle row lies from what the curve gives, as a part."""
    inside = (position >= table.axes[0].breakpoints[0]) & (position <= table.axes[0].breakpoints[-1])
    if np.mean(inside) < INSIDE or np.ptp(position) <= 0:
        return float("inf")
    apart = np.abs(np.log(look_up(table, position[:, None]) / logged))
    return float(np.median(apart))


def _looked_back(table: Table, logged: FloatArray) -> FloatArray:
    """Give where on the axis of a rising curve an airflow stands, NaN beyond its ends; shape (rows,)."""
    values, breakpoints = table.values.ravel(), table.axes[0].breakpoints
    if np.any(np.diff(values) <= 0):
        return np.full(logged.size, np.nan)
    return np.interp(logged, values, breakpoints, left=np.nan, right=np.nan)


def _sentence(drive: Drive, table: Table, channel: str, way: str, right: str) -> str:
    base = axis_unit(table.axes[0])[0]
    unit = (flag("unit", base),) if base else ()
    return phrase(
        "{log}: the logged airflow is the table's with {channel} {way}: {channel} is off by that. Compute the right "
        "one with {compute} and give it the role with {amend}.",
        log=drive.log.name,
        channel=channel,
        way=way,
        compute=call("compute", "SESSION", '"right"', f'"{right}"', *unit),
        amend=call("amend-log", "SESSION", f"{drive.id}", flag("role", "sensor_signal=right")),
    )
