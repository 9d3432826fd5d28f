"""The ECU of the demo: loop states, commanded lambda, and the closed loop with its short and long trims.

Thresholds and rates are invented for the demo, of a size that is common practice (no source).
"""

from dataclasses import dataclass

import numpy as np

from workbench.demo.driver import Trace
from workbench.demo.scenario import STEP_S, STOICHIOMETRIC_AFR, Scenario
from workbench.errors import InputError
from workbench.model.arrays import BoolArray, FloatArray

LONG_CELLS = (5.0, 10.0, 20.0, 40.0, 80.0)
"""Airflow in g/s at which one long-term trim gives way to the next: six cells, each with its own trim."""

TRIM_LIMIT = 25.0  # %, of short and long trim alike
LONG_SECONDS = 30.0  # the long trim takes over a steady short trim with this time constant
JUMP = 1.0  # %, at each turn of the narrow-band sensor
NARROW_FIXED_S, NARROW_VOLUME_G, NARROW_LAG_S = 0.18, 0.4, 0.05  # the first holds the ECU's own waiting time
NARROW_BAND = 0.002  # half-width of the sensor's switching hysteresis around lambda 1
LEANEST_COMMAND = 65535 * 2 / 65536  # the largest value of J1979 PID 44
LEANEST_GAS = 6.0  # lambda during a fuel cut, as far as it matters to any sensor


@dataclass(frozen=True, eq=False)
class Modes:
    """What the ECU decides without looking at the mixture; arrays have the shape (steps,).

    Attributes:
        closed: closed loop.
        cut: fuel cut on overrun.
        full: enriched at full throttle.
        commanded: lambda.
        status: J1979 PID 03: 1 open loop cold, 2 closed loop, 4 open loop by load or fuel cut.
        learning: long-term trims learn.
        purge: %, duty of the canister valve.
    """

    closed: BoolArray
    cut: BoolArray
    full: BoolArray
    commanded: FloatArray
    status: FloatArray
    learning: BoolArray
    purge: FloatArray


@dataclass(frozen=True, eq=False)
class Fuelling:
    """What reaches the cylinders of one bank; arrays have the shape (steps,).

    Attributes:
        mixture: lambda in the cylinders.
        fuel: g/s in the cylinders, vapour included.
        short: short-term trim, %.
        long: long-term trim of the cell the engine is in, %.
        learnt: long-term trims of all cells at the end, %.
    """

    mixture: FloatArray
    fuel: FloatArray
    short: FloatArray
    long: FloatArray
    learnt: tuple[float, ...]


def decide_modes(scenario: Scenario, trace: Trace, coolant: FloatArray, airflow: FloatArray) -> Modes:
    """Compute loop states and the commanded lambda from speed, throttle and temperature (all per step)."""
    full = trace.throttle > 75.0
    cut = _fuel_cut(trace)
    ready = (trace.time > 18.0) & (coolant >= 45.0)
    closed = ready & ~full & ~cut if scenario.closed_loop else np.zeros_like(full)
    status = np.where(closed, 2.0, np.where(full | cut | ready, 4.0, 1.0))
    purge = _purge(scenario, trace, coolant, airflow, closed)
    change = np.abs(np.gradient(airflow, STEP_S)) / airflow
    learning = closed & (coolant >= 70.0) & (purge == 0.0) & (change < 0.5) & scenario.learning
    return Modes(closed, cut, full, _commanded(trace, coolant, full, cut, ready), status, learning, purge)


def _commanded(trace: Trace, coolant: FloatArray, full: BoolArray, cut: BoolArray, ready: BoolArray) -> FloatArray:
    """Commanded lambda: rich after the start and while cold, 1, a ramp of 1 s to 0.89..0.85 at full throttle."""
    cold = 0.12 * np.clip((60.0 - coolant) / 60.0, 0.0, 1.0) + 0.06 * np.exp(-trace.time / 8.0)
    since = np.arange(full.size)
    began = np.maximum.accumulate(np.where(full, 0, since + 1))
    ramp = np.clip((since - began + 1) * STEP_S / 1.0, 0.0, 1.0)
    target = np.interp(trace.rpm, [2000.0, 4000.0, 6000.0], [0.89, 0.86, 0.85])
    command = np.where(ready, 1.0, 1.0 - cold)
    command = np.where(full, 1.0 + (target - 1.0) * ramp, command)
    return np.where(cut, LEANEST_COMMAND, command)


def _fuel_cut(trace: Trace) -> BoolArray:
    """Cut fuel when the throttle has been closed for 0.6 s above 1500 rpm; give it back under 1250 rpm."""
    closed = (trace.throttle < 13.5).tolist()
    cut, wait, cuts = False, 0.0, []
    for shut, rpm in zip(closed, trace.rpm.tolist(), strict=True):
        wait = wait + STEP_S if shut else 0.0
        cut = shut and rpm > 1250.0 and (cut or (wait > 0.6 and rpm > 1500.0))
        cuts.append(cut)
    return np.array(cuts, dtype=np.bool_)


def _purge(scenario: Scenario, trace: Trace, coolant: FloatArray, airflow: FloatArray, closed: BoolArray) -> FloatArray:
    """Open the valve for 30 s out of 75, when warm, in closed loop and above 6 g/s, the wider the more air flows."""
    if scenario.purge == "off":
        return np.zeros_like(airflow)
    on = closed & (coolant >= 75.0) & (airflow > 6.0) & ((trace.time + 11.0 * scenario.seed) % 75.0 < 30.0)
    return np.where(on, np.clip(airflow * 2.2, 0.0, 60.0), 0.0)


def run_loop(
    scenario: Scenario,
    modes: Modes,
    ecu_airflow: FloatArray,
    air: FloatArray,
    fuel_error: FloatArray,
    vapour: FloatArray,
    leaving: FloatArray,
    start: tuple[float, ...],
) -> Fuelling:
    """Run the closed loop of one bank: the only part where what comes out goes in again.

    In open loop the short trim is 0 and the long trim of the cell the engine is in stays applied.

    Args:
        scenario: for the fuel film.
        modes: decided beforehand.
        ecu_airflow: that the ECU works with, g/s, shape (steps,).
        air: true air of this bank as if it were the whole engine, g/s.
        fuel_error: fuel delivered over fuel wanted, 1 where the injectors are right.
        vapour: fuel vapour from the canister, g/s.
        leaving: from `exhaust.leaving_time` for the ECU's narrow-band sensor, steps.
        start: long trims per cell at the start, %.

    Raises:
        InputError: when `start` has not one trim per cell.
    """
    if start and len(start) != len(LONG_CELLS) + 1:
        raise InputError(f"The demo ECU has {len(LONG_CELLS) + 1} long trims, not {len(start)}.", "Give one a cell.")
    cell = np.searchsorted(np.array(LONG_CELLS), ecu_airflow, side="right").tolist()
    base = np.where(modes.cut, 0.0, ecu_airflow / (STOICHIOMETRIC_AFR * modes.commanded))
    rate = (2.0 + 0.025 * np.clip(ecu_airflow, 0.0, 100.0)) * STEP_S / 100.0
    before = np.minimum(np.floor(leaving).astype(np.int64), np.arange(leaving.size) - 2)
    part = np.clip(leaving - before, 0.0, 1.0)
    inputs = zip(
        modes.closed.tolist(), modes.learning.tolist(), cell, (base * fuel_error).tolist(),
        (air / STOICHIOMETRIC_AFR).tolist(), vapour.tolist(), rate.tolist(), (before + 2).tolist(),
        part.tolist(), strict=True,
    )  # fmt: skip
    learnt = [s / 100.0 for s in start] if start else [0.0] * (len(LONG_CELLS) + 1)
    rows = _loop(list(inputs), learnt, scenario.film_share, scenario.film_s)
    mixture, fuel, short, long = np.array(rows).T
    return Fuelling(mixture, fuel, 100.0 * short, 100.0 * long, tuple(100.0 * s for s in learnt))


_Inputs = list[tuple[bool, bool, int, float, float, float, float, int, float]]


def _loop(
    inputs: _Inputs, learnt: list[float], film_share: float, film_s: float
) -> list[tuple[float, float, float, float]]:
    """Step through the drive; `learnt` is changed in place. Rows: lambda, fuel, short trim, long trim."""
    keep, narrow_gain = float(np.exp(-STEP_S / film_s)), 1.0 - float(np.exp(-STEP_S / NARROW_LAG_S))
    take, learn, limit, jump = film_share * film_s * (1.0 - keep), STEP_S / LONG_SECONDS, TRIM_LIMIT / 100, JUMP / 100
    film = inputs[0][3] * film_share * film_s * (1.0 + learnt[inputs[0][2]])
    mixture, rows, narrow, rich, slope, short = [1.0, 1.0], [], 1.0, False, 0.0, 0.0
    for closed, learning, cell, base, air, vapour, rate, before, part in inputs:
        seen = mixture[before]
        narrow += narrow_gain * (seen + (mixture[before + 1] - seen) * part - narrow)
        if closed:
            if narrow < 1.0 - NARROW_BAND:
                rich = True
            elif narrow > 1.0 + NARROW_BAND:
                rich = False
            slope = max(slope - rate, -limit) if rich else min(slope + rate, limit)
            short = min(max(slope - jump if rich else slope + jump, -limit), limit)
            if learning:
                learnt[cell] = min(max(learnt[cell] + short * learn, -limit), limit)
        else:
            slope = short = 0.0
        long = learnt[cell]
        injected = base * (1.0 + short) * (1.0 + long)
        wetted = film * keep + injected * take
        fuel = injected + (film - wetted) / STEP_S + vapour
        film = wetted
        gas = air / fuel if fuel * LEANEST_GAS > air else LEANEST_GAS
        mixture.append(gas)
        rows.append((gas, fuel, short, long))
    return rows
