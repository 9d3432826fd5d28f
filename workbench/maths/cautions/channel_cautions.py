"""Cautions about channels that stand still, stop at their upper end, or leave the table."""

from collections.abc import Mapping

import numpy as np

from workbench.maths.cautions.spans import changes, stretches, worst_moment
from workbench.maths.signals.ratio import Signals
from workbench.maths.signals.resync import level
from workbench.maths.signals.sample_hold import lost
from workbench.maths.signals.series import without_holes
from workbench.model.arrays import BoolArray, FloatArray, IntArray
from workbench.model.evidence import Caution
from workbench.model.gate import Limits
from workbench.model.log import Channel, Log, Role
from workbench.model.series import written_on_change
from workbench.model.table import Table
from workbench.phrases import phrase

# What moves with the engine, and can therefore not stand still while that moves. A throttle can.
MOVES: tuple[Role, ...] = (
    "sensor_signal",
    "airflow",
    "engine_speed",
    "manifold_pressure",
    "lambda_measured",
    "throttle",
)
# %: above its stop; of the largest airflow, the most that goes past a shut throttle. Common practice, no source.
AT_STOP, PAST_STOP = 1.0, 0.25
ENDS: tuple[Role, ...] = ("sensor_signal", "airflow")  # the pressure of an uncharged engine ends at the barometer
# A pressure in steps of 1 kPa stands for half a minute where a throttle is opened as the engine speed rises, so that it
# is asked for so many times as long: common practice, no source.
PATIENCE: Mapping[Role, float] = {"manifold_pressure": 2.0, "throttle": 2.0}
MOSTLY = 0.5  # of a stretch, that the engine must burn fuel
STANDS = 0.005  # of its value, by which a channel that stands may yet move
MOVED = 0.15  # of the engine speed or the airflow, from lowest to highest: common practice, no source
# A foot may rest on a pedal, or a throttle stand wide open, for as long as a road lasts; but what flows through one
# opening hardly changes with engine speed unless it is wide open, where flow follows speed. An idling engine may be
# held at one speed as well, while a load that comes and goes changes its airflow. No source.
FLOWS_APART = 2.5  # largest airflow over smallest, but for a twentieth of the rows at either end
# Largest air at each turn over smallest, but for a twentieth of the rows at either end, from which a manifold's
# pressure cannot have stood: under an open throttle it does, while the engine breathes better or worse. No source.
LOADS_APART = 1.5
NEAR_ONE = 0.02  # of lambda: behind a catalyst a coarse channel may read 1 for minutes
AT_THE_END_S = 0.3
FEWEST_AT_END = 4  # rows


def frozen_channels(log: Log, seen: Signals, running: BoolArray, limits: Limits) -> list[Caution]:
    """Warn where a channel keeps one value while engine speed or airflow show that the engine does not."""
    found = []
    # Where airflow is not logged it is worked out from the very pressure that may stand.
    breathes = log.playing("airflow") is not None or log.playing("sensor_signal") is not None
    for role in MOVES:
        channel = _playing(log, role)
        stood = None if channel is None else _stood(channel, role, seen, running, limits, breathes=breathes)
        if channel is None or stood is None:
            continue
        first, last = stood
        span = float(seen.time[last] - seen.time[first])
        # Readings of a wideband that is lost are left out without anybody's doing (`signals/ratio`).
        dropped = role == "lambda_measured" and any(
            start <= first and last <= after for start, after in lost(channel.values, seen.time)
        )
        found.append(
            Caution(
                "doubt",
                phrase(
                    "{channel} stood at {value:g} {unit} for {span:.0f} s while the engine changed its speed or load: "
                    "the sensor, its plug or the logger stopped. {then}",
                    channel=channel.name,
                    value=float(channel.values[first]),
                    unit=channel.unit,
                    span=span,
                    then=phrase("It is left out there: mend it before the next drive.")
                    if dropped
                    else phrase("Leave that stretch out."),
                ),
                float(seen.time[first]),
                until=float(seen.time[last]),
                value=span,
                limit=limits.frozen_s,
                unit="s",
            )
        )
    return found


def _stood(
    channel: Channel, role: Role, seen: Signals, running: BoolArray, limits: Limits, *, breathes: bool
) -> tuple[int, int] | None:
    """Find the first stretch in which a channel stands still and the engine does not: its first and last row.

    `breathes` tells that airflow is known apart from the manifold's pressure.
    """
    values, moving = channel.values, seen.airflow if role == "engine_speed" else seen.speed
    rows: IntArray = changes(values)
    if not rows.size:
        return None
    ends = np.append(rows[1:], np.flatnonzero(np.isfinite(values))[-1])
    gone = [(start, min(after, int(ends[-1]))) for start, after in lost(values, seen.time)]
    clock = without_holes(seen.time)
    for number in np.flatnonzero(clock[ends] - clock[rows] >= limits.frozen_s * PATIENCE.get(role, 1.0)):
        first, last = int(rows[number]), int(ends[number])
        working = np.arange(first, last)[running[first:last] & ~seen.cut[first:last]]
        steady = role == "lambda_measured" and abs(values[first] - 1) < NEAR_ONE and (first, last) not in gone
        # Beyond its ends a table gives one value: so does the airflow that an ECU reads off it.
        steady |= role == "airflow" and _stands(seen.table_value[working])
        steady |= role == "manifold_pressure" and breathes and _one_load(seen.airflow[working], seen.speed[working])
        if role in ("throttle", "engine_speed"):
            steady |= not _flows_apart(seen.airflow[working])
        steady |= role == "throttle" and _shut(values, float(values[first]), seen.airflow, working)
        if not steady and working.size > MOSTLY * (last - first) and _moves(moving[working]):
            return first, last
    return None


def _stands(values: FloatArray) -> bool:
    """Tell whether a channel hardly moves but for a few rows."""
    there = values[np.isfinite(values)]
    return bool(there.size) and float(np.mean(np.abs(there / np.median(there) - 1) < STANDS)) > MOSTLY


def _shut(throttle: FloatArray, stands: float, airflow: FloatArray, working: IntArray) -> bool:
    """Tell whether a throttle stands at its stop and no more flows than past a shut one, as where a car coasts."""
    stop, widest, most = float(np.nanmin(throttle)), float(np.nanmax(throttle)), float(np.nanmax(airflow))
    there = airflow[working][np.isfinite(airflow[working])]
    return stands <= stop + AT_STOP < widest and bool(there.size) and float(np.quantile(there, 0.95)) < PAST_STOP * most


def _moves(values: FloatArray) -> bool:
    there = values[np.isfinite(values)]
    return bool(there.size and there.max() > (1 + MOVED) * there.min())


def _one_load(airflow: FloatArray, speed: FloatArray) -> bool:
    """Tell whether the engine takes about as much at each turn throughout: then its manifold's pressure may stand."""
    with np.errstate(divide="ignore", invalid="ignore"):
        breath = airflow / speed
    there = breath[np.isfinite(breath)]
    if not there.size:
        return False
    low, high = np.quantile(there, (0.05, 0.95))
    return bool(high < LOADS_APART * low)


def _flows_apart(airflow: FloatArray) -> bool:
    """Tell whether more and less flows than goes through one opening of a throttle, or into an idling engine."""
    there = airflow[np.isfinite(airflow)]
    if not there.size:
        return False
    low, high = np.quantile(there, (0.05, 0.95))
    return bool(high > FLOWS_APART * low)


def at_their_end(log: Log, seen: Signals, limits: Limits) -> list[Caution]:
    """Warn where a channel stands at its highest value while the engine turns faster: it reads no more than that."""
    found = []
    for role in ENDS:
        channel = _playing(log, role)
        if channel is None or not np.isfinite(channel.values).any():
            continue
        values = level(channel.values, log.time.values, on_change=written_on_change(log))
        most = float(np.nanmax(values))
        top = (values == most) & seen.full
        for start, end in stretches(top, seen.time, limits.clipped_s):
            speed = seen.speed[(seen.time >= start) & (seen.time <= end)]
            if not _moves(speed):
                continue
            found.append(
                Caution(
                    "danger",
                    phrase(
                        "{channel} stood at {most:g} {unit}, its highest, for {lasted:.1f} s of a pull while the "
                        "engine turned faster: the sensor or its input reads no more than that, and the ECU does not "
                        "see the air beyond. No table can mend it.",
                        channel=channel.name,
                        most=most,
                        unit=channel.unit,
                        lasted=end - start,
                    ),
                    start,
                    until=end,
                    value=most,
                    limit=limits.clipped_s,
                    unit=channel.unit,
                )
            )
            break
    return found


def beyond_the_table(table: Table, seen: Signals, running: BoolArray) -> list[Caution]:
    """Warn where the engine ran beyond the last breakpoint of an axis: the ECU keeps the last value there."""
    found = []
    for number, axis in enumerate(table.axes):
        last, where = float(axis.breakpoints[-1]), seen.position[:, number]
        beyond = running & (where > last)
        spans = stretches(beyond, seen.time, AT_THE_END_S)
        if not spans or int(beyond.sum()) < FEWEST_AT_END:
            continue
        found.append(
            Caution(
                "danger",
                phrase(
                    "{axis} went to {most:.4g} {unit}, beyond the table's last breakpoint {last:g}, for {lasted:.1f} "
                    "s: the ECU keeps the last value there, so the mixture is a guess. Stay below, or give the table a "
                    "breakpoint there.",
                    axis=axis.name,
                    most=float(np.nanmax(where[beyond])),
                    unit=axis.unit,
                    last=last,
                    lasted=sum(end - start for start, end in spans),
                ),
                spans[0][0],
                until=spans[-1][1],
                value=float(np.nanmax(where[beyond])),
                limit=last,
                unit=axis.unit,
                source="the table itself",
                worst_at=worst_moment(where, beyond, seen.time),
            )
        )
    return found


def _playing(log: Log, role: Role) -> Channel | None:
    name = log.roles.get(role)
    return None if name is None else log.channel(name)
