"""From a drive's channels to what the evidence needs: position in the table, fuel factor, lambdas, regimes."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import partial

import numpy as np

from workbench.maths.signals.air import airflow_of
from workbench.maths.signals.axes import axis_role, axis_signal
from workbench.maths.signals.bridging import reading_share
from workbench.maths.signals.resync import continuous, level, played, reading_weight
from workbench.maths.signals.sample_hold import lost
from workbench.maths.signals.series import filled
from workbench.maths.signals.sharing import shared_by
from workbench.maths.signals.trims import (
    beside_mean,
    held_by_loop,
    imbalance,
    logged_trims,
    loop_action,
    read_at,
    trims_of,
)
from workbench.maths.table.interpolation import look_up
from workbench.model.arrays import BoolArray, FloatArray
from workbench.model.derived import meant
from workbench.model.gate import Gates
from workbench.model.log import Drive, Log, Role
from workbench.model.series import bridged, written_on_change
from workbench.model.table import Table
from workbench.phrases import phrase

CLOSED_LOOP = (2, 16)  # SAE J1979 PID 03: closed loop; closed loop with a sensor fault
OPEN_BY_STATE = 4  # the same: open loop by load or by a fuel cut
_ASKED: tuple[Role, ...] = ("fuel_system", "engine_speed", "airflow", "purge")  # beside throttle and coolant
SURELY_WIDE = 78.0  # % of throttle: stops stand from here on, so that it needs no other witness (no source)
WHOLE = 0.9  # share of rows that are readings of their own, from which a log is one of rows: common practice, no source
SURELY_OPEN = 0.03  # a command further from 1 is no closed loop of a common narrow-band sensor
HARD = 0.9  # of the barometer, or of load: common practice, no source
JUMP = 0.01  # of the fuel; more than a long trim learns from one row to the next
LEFT_OUT = "left out by name"


@dataclass(frozen=True, eq=False)
class Signals:
    """A drive as the evidence sees it; all arrays have shape (rows,) unless said otherwise.

    Attributes:
        time: s.
        position: where the ECU looked the table up, shape (rows, axes), axis units.
        table_value: what the driven revision gives there, in the table's unit.
        airflow: g/s, logged, or else the curve's own reading, or an estimate for a grid.
        fuel: fuel factor, mean over banks; 1 where no trim is logged.
        has_trims: whether short-term trims are logged and alive, so that closed loop hides nothing.
        measured: wideband lambda, NaN where there is none.
        commanded: lambda the ECU asked for, NaN where unknown.
        closed: whether the ECU was in closed loop.
        loop_logged: whether that is logged, not only worked out.
        full: whether the throttle was wide open.
        cut: whether fuel was cut.
        coolant, speed, purge: degC, rpm, %; NaN where not logged.
        short_trim: the short-term trim with the largest size over the banks, %, NaN where not logged.
        long_trim: the long-term trim of bank 1 as logged, %, NaN where not logged.
        loop_action: log of the factor by which the loop itself acts, the short trim, mean over banks; of all trims
            where none is logged by itself.
        open_trims: log of the factors on the fuel that short and long trim stand for in open loop, mean over banks,
            shape (rows, 2); 0 in closed loop and where none is logged.
        trim_read: rows that bring a short-term trim of their own, and not one brought in from rows beside them.
        blind: rows at which something that the gates look at is logged, but not known.
        weight: how much of an independent reading each row is: less than 1 where values were held.
        imbalance: mean difference of the banks' fuel factors in closed loop, as a ratio; NaN with one bank.
        notes: what had to be assumed, as sentences.
        outside: gate of the user's own -> rows at which its channel is outside its range, or not known; what was left
            out by name; and what speaks of another table.
        loop_holds: lambda that closed loop holds; 1 in open loop.
        share: the table's own look-up over the airflow that the ECU used, where that is known to differ; else 1.
        bank: the fuel that a wideband in one bank sees over the mean of the banks; 1 where it sees both, or may.
        bank_doubt: how far its reading may be off since its bank is not known, as a ratio.
    """

    time: FloatArray
    position: FloatArray
    table_value: FloatArray
    airflow: FloatArray
    fuel: FloatArray
    has_trims: bool
    measured: FloatArray
    commanded: FloatArray
    closed: BoolArray
    loop_logged: bool
    full: BoolArray
    cut: BoolArray
    coolant: FloatArray
    speed: FloatArray
    purge: FloatArray
    short_trim: FloatArray
    long_trim: FloatArray
    loop_action: FloatArray
    open_trims: FloatArray
    trim_read: BoolArray
    blind: BoolArray
    weight: FloatArray
    imbalance: float
    notes: tuple[str, ...]
    outside: Mapping[str, BoolArray] = field(default_factory=dict)
    share: FloatArray | float = 1.0
    loop_holds: FloatArray | float = 1.0
    bank: FloatArray | float = 1.0
    bank_doubt: FloatArray | float = 0.0

    @property
    def held(self) -> bool:
        """Whether values were held, so that many rows are no readings of their own; a few blank cells are not that."""
        return float(np.mean(self.weight)) < WHOLE

    @property
    def banks_apart(self) -> Mapping[str, float]:
        """Which bank takes more fuel than which other, and how much more, %: as a sentence has them."""
        richer, other = (2, 1) if self.imbalance > 0 else (1, 2)
        return {"richer": richer, "other": other, "more": 100 * abs(self.imbalance)}

    @property
    def jumps(self) -> BoolArray:
        """Rows at which the long trim jumps to what it learned at another speed and load, shape (rows,)."""
        learned = np.log(filled(self.fuel)) - self.loop_action
        return np.abs(np.diff(learned, prepend=learned[:1])) > JUMP


def signals(drive: Drive, table: Table, gates: Gates, beside: tuple[Table, ...] = ()) -> Signals:
    """Prepare a drive for the evidence.

    Args:
        drive: the log and its roles.
        table: as it was in the car when the drive was driven.
        gates: for what counts as full throttle, warm and running.
        beside: other tables of the session, as they were in the car: the ECU may share the work among them.

    Raises:
        InputError: when the log has no channel for an axis.
    """
    log, time = drive.log, drive.log.time.values
    notes: list[str] = []
    get = partial(_played, log)
    raw_axes = [axis_signal(axis, log) for axis in table.axes]
    position = _placed(log, raw_axes, [axis_role(axis) for axis in table.axes])
    speed, coolant, throttle = get("engine_speed"), get("coolant_temperature"), get("throttle")
    measured = _measured(log, notes)
    (fuel, banks, short_trim, raw_trims), each_trim = trims_of(log), logged_trims(log)
    trim_read = read_at(raw_trims, log.rows)
    full = _full_throttle(log, throttle, get("lambda_commanded"), gates, coolant)
    cut = _fuel_cut(log, throttle, speed, full, notes)
    closed = _closed_loop(log, short_trim, full | cut, coolant, gates, notes)
    has_trims, closed = _believable(log, short_trim, closed, notes)
    commanded = _commanded(log, closed, notes)
    share, of_others = shared_by(log, table, beside, notes)
    bank, bank_doubt = beside_mean(log, banks, closed & ~cut)
    table_value = look_up(table, position)
    return Signals(
        time=time,
        position=position,
        table_value=table_value,
        airflow=airflow_of(table, table_value, get, notes),
        fuel=fuel,
        has_trims=has_trims,
        measured=measured,
        commanded=commanded,
        closed=closed,
        loop_logged=log.playing("fuel_system") is not None,
        full=full,
        cut=cut,
        coolant=coolant,
        speed=speed,
        purge=get("purge"),
        short_trim=short_trim,
        long_trim=get("ltft_1"),
        loop_action=loop_action(each_trim, fuel),
        open_trims=np.where(closed[:, None], 0.0, each_trim),
        trim_read=trim_read,
        blind=_blind(log, throttle, coolant),
        weight=_weight(log, [*raw_axes, *raw_trims], measured, trim_read),
        imbalance=imbalance(banks, closed),
        outside=_outside(log, gates, notes) | _left_out(drive) | of_others,
        share=share,
        notes=tuple(notes),
        loop_holds=held_by_loop(commanded, measured, closed & ~cut),
        bank=bank,
        bank_doubt=bank_doubt,
    )


def _played(log: Log, role: Role) -> FloatArray:
    """Return what plays a role at every row, NaN throughout where nothing does, shape (rows,)."""
    values = played(log, role)
    return np.full(log.rows, np.nan) if values is None else values


def _placed(log: Log, raw: list[FloatArray], roles: Sequence[Role | None]) -> FloatArray:
    """Give where in the table each row was looked up, shape (rows, axes)."""
    time, held = log.time.values, written_on_change(log)
    return np.stack([level(each, time, role, on_change=held) for each, role in zip(raw, roles, strict=True)], axis=1)


def _left_out(drive: Drive) -> dict[str, BoolArray]:
    """Mark the rows that were left out by name."""
    if not drive.left_out:
        return {}
    time, rows = drive.log.time.values, np.zeros(drive.log.rows, dtype=np.bool_)
    for each in drive.left_out:
        rows |= (time >= each.start) & (time <= each.end)
    return {LEFT_OUT: rows}


def _outside(log: Log, gates: Gates, notes: list[str]) -> dict[str, BoolArray]:
    """Mark, for each gate of the user's own, the rows at which its channel is outside its range or not known."""
    found: dict[str, BoolArray] = {}
    for gate in gates.channels:
        channel = meant(log, gate.channel)
        if channel is None:
            notes.append(
                phrase("{log} has no channel {channel!r}: that gate rejects nothing of it.", log=log.name,
                       channel=gate.channel)
            )  # fmt: skip
            continue
        role = next((role for role, player in log.roles.items() if player == channel.name), None)
        values = bridged(channel.values, log.time.values, role, on_change=written_on_change(log))
        within = np.isfinite(values)
        within &= True if gate.low is None else values >= gate.low
        within &= True if gate.high is None else values <= gate.high
        found[gate.name] = ~within
    return found


def _measured(log: Log, notes: list[str]) -> FloatArray:
    """Return the wideband's own readings: only held values are put straight, none is brought in from other rows."""
    values = log.playing("lambda_measured")
    if values is None:
        return np.full(log.rows, np.nan)
    return _alive(continuous(values, log.time.values), values, log.time.values, notes)


def _weight(log: Log, needed: list[FloatArray], measured: FloatArray, trim_read: BoolArray) -> FloatArray:
    """Return how much of an independent reading each row is, by the slowest channel that it rests on."""
    speaks = np.isfinite(measured)
    readings = speaks if speaks.any() else trim_read
    return reading_weight(needed, log.time.values) * reading_share(log, needed, readings)


def _blind(log: Log, throttle: FloatArray, coolant: FloatArray) -> BoolArray:
    """Mark the rows at which a channel that the gates look at is not known, though it is logged."""
    asked = [throttle, coolant, *(played(log, role) for role in _ASKED)]
    blind = np.zeros(log.rows, dtype=np.bool_)
    for values in asked:
        if values is not None and np.isfinite(values).any():
            blind |= np.isnan(values)
    return blind


def _full_throttle(
    log: Log, throttle: FloatArray, commanded: FloatArray, gates: Gates, coolant: FloatArray
) -> BoolArray:
    full = np.zeros(throttle.size, dtype=np.bool_)
    widest = float(np.nanmax(throttle)) if np.isfinite(throttle).any() else 0.0
    if widest >= 60:  # common practice, no source: a drive that never opened further had no full throttle
        full |= throttle >= gates.full_throttle_percent / 100 * widest
        if widest < SURELY_WIDE:
            full &= _works_hard(log, commanded, gates)
    elif not np.isfinite(throttle).any():
        warm = ~(coolant < gates.warm_c)
        full |= (commanded > 0.5) & (commanded < gates.rich_command) & warm
    return full


def _works_hard(log: Log, commanded: FloatArray, gates: Gates) -> BoolArray:
    """Mark rows at which the command says full throttle; where none is logged, pressure or load.

    A town drive has a widest throttle as well, and a charged engine meets the barometer's pressure in it.
    """
    hard = (commanded > 0.5) & (commanded < gates.rich_command)
    if np.isfinite(commanded).any():
        return hard
    pressure, load = played(log, "manifold_pressure"), played(log, "load")
    if pressure is not None:
        barometer = played(log, "barometer")
        air = float(np.nanmedian(barometer)) if barometer is not None else 100.0
        hard |= pressure >= HARD * air
    if load is not None:
        hard |= load >= 100 * HARD
    return hard


def _fuel_cut(log: Log, throttle: FloatArray, speed: FloatArray, full: BoolArray, notes: list[str]) -> BoolArray:
    status, commanded = played(log, "fuel_system"), played(log, "lambda_commanded")
    only_loops = status is not None and not np.any(status == OPEN_BY_STATE)
    if status is not None and not only_loops:
        # A command of 0 is one that the ECU does not report, not a rich one.
        lean = np.ones(log.rows, dtype=np.bool_) if commanded is None else ~((commanded > 0.1) & (commanded < 0.99))
        cut: BoolArray = (status == OPEN_BY_STATE) & ~full & lean
        return cut
    if not np.isfinite(throttle).any():
        return np.zeros(log.rows, dtype=np.bool_)
    turning = throttle[speed > 400]
    turning = turning if np.isfinite(turning).any() else throttle
    closed = float(np.nanpercentile(turning, 2)) + 2.0
    overrun = (throttle <= closed) & (speed > 1300)
    if status is not None:  # a flag, or texts, that tell open from closed loop and nothing else
        return np.asarray(overrun & ~np.isin(status, CLOSED_LOOP))
    notes.append(
        "No fuel system status is logged: overrun (throttle closed above 1300 rpm) counts as fuel cut, everything "
        "else that is warm, below full throttle and commanded to lambda 1 as closed loop."
    )
    return np.asarray(overrun)


def _closed_loop(
    log: Log, short_trim: FloatArray, away: BoolArray, coolant: FloatArray, gates: Gates, notes: list[str]
) -> BoolArray:
    status = played(log, "fuel_system")
    if status is not None:
        return np.isin(status, CLOSED_LOOP)
    if not np.isfinite(short_trim).any():
        return np.zeros(log.rows, dtype=np.bool_)
    if not np.isfinite(coolant).any():
        notes.append("No coolant temperature is logged: the engine is assumed warm.")
    commanded = played(log, "lambda_commanded")
    # A sensor that only tells rich from lean holds 1 and nothing else. A command of 0 is one that is not reported.
    elsewhere = np.zeros(log.rows, dtype=np.bool_) if commanded is None else np.abs(commanded - 1) > SURELY_OPEN
    elsewhere &= True if commanded is None else commanded > 0.1
    return ~away & ~elsewhere & ~(coolant < gates.warm_c) & np.isfinite(short_trim)


def _alive(measured: FloatArray, logged: FloatArray, time: FloatArray, notes: list[str]) -> FloatArray:
    """Return the wideband's readings, without those where it stands: a dead sensor would pass for a good table."""
    there = measured[np.isfinite(measured)]
    if there.size < 2:
        return measured
    if float(np.ptp(there)) == 0:
        notes.append(
            phrase("Measured lambda is constant at {there:g}: the channel is dead and is left out.", there=there[0])
        )
        return np.full_like(measured, np.nan)
    alive, stands = measured.copy(), lost(logged, time)
    for first, after in stands:
        alive[first + 1 : after] = np.nan
    notes += [_stood(logged, time, stands)] if stands else []
    return alive


def _stood(logged: FloatArray, time: FloatArray, stands: list[tuple[int, int]]) -> str:
    """Say in one sentence how often a wideband stood, and where the longest: one note each would be read by nobody."""
    first, after = max(stands, key=lambda each: time[each[1] - 1] - time[each[0]])
    longest = {"value": logged[first], "start": time[first] - time[0], "end": time[after - 1] - time[0]}
    if len(stands) == 1:
        return phrase(
            "Measured lambda stood at {value:g} from {start:.0f} s to {end:.0f} s: the sensor or the link to it "
            "stopped, and it is left out there.",
            **longest,
        )
    return phrase(
        "Measured lambda stood still {many} times, {total:.0f} s in all, the longest at {value:g} from {start:.0f} s "
        "to {end:.0f} s: the sensor or the link to it stopped, and it is left out there.",
        many=len(stands),
        total=sum(float(time[end - 1] - time[begin]) for begin, end in stands),
        **longest,
    )


def _believable(log: Log, short_trim: FloatArray, closed: BoolArray, notes: list[str]) -> tuple[bool, BoolArray]:
    """Return whether the trims show what closed loop does, and where the ECU is taken to be in closed loop."""
    there = short_trim[np.isfinite(short_trim)]
    if not there.size:
        notes.append(
            "No short-term trims are logged: closed loop would hide every error, so only certain open loop is used. "
            "Long-term trims applied there stay hidden too and make the table look better than it is: reset them first."
        )
        return False, closed
    if float(np.ptp(there)) > 0:
        if log.playing("ltft_1") is None and log.playing("ltft_2") is None:
            notes.append(
                "No long-term trim is logged: what the ECU has learnt stays hidden and makes the table look better "
                "than it is. Log it, or reset the trims before driving."
            )
        return True, closed
    if log.playing("fuel_system") is not None and closed.any():
        notes.append(
            "The short-term trim never moves although the ECU reports closed loop: the channel or the sensor is "
            "dead, so only certain open loop is used."
        )
        return False, closed
    notes.append("The short-term trim never moves: open loop is assumed throughout.")
    return True, np.zeros_like(closed)


def _commanded(log: Log, closed: BoolArray, notes: list[str]) -> FloatArray:
    commanded = played(log, "lambda_commanded")
    if commanded is None or not np.any(commanded > 0.1):
        notes.append("Commanded lambda is not logged: assumed 1 in closed loop, unknown in open loop.")
        return np.where(closed, 1.0, np.nan)
    # Loggers round 2/65536 to 0.0000305, so a command of 1 may be written as 0.999 (SAE J1979 PID 44 scaling).
    return np.where(closed & (np.abs(commanded - 1) <= 1.1e-3), 1.0, np.where(commanded > 0.1, commanded, np.nan))
