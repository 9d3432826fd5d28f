"""Drives of the demo: driver, engine, ECU, exhaust and recorder put together."""

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from workbench.demo import ecu, engine, exhaust, recorder
from workbench.demo.driver import Trace, plan_drive
from workbench.demo.scenario import STEP_S, Scenario
from workbench.errors import InputError
from workbench.maths.table.interpolation import look_up
from workbench.model.arrays import BoolArray, FloatArray
from workbench.model.log import Log, Role
from workbench.model.table import Table

VAPOUR_AT_FULL_DUTY = 0.15  # g/s of fuel vapour from a laden canister (invented for the demo: some % of the fuel)
UNLOADING_S = 900.0  # open-valve seconds after which the canister has a third left (invented for the demo)
LEAK_G_S = 0.45  # air through the leak while the manifold is well under the surroundings (invented for the demo)


@dataclass(frozen=True, eq=False)
class DriveRecord:
    """A drive as it was logged, and what only the demo knows; arrays have the shape (rows,) of the log.

    Attributes:
        log: what the recorder wrote.
        truth: the table that would be right.
        table: the table that was in the ECU.
        ratio: true airflow through the sensor over the ECU's airflow, without sensor noise.
        airflow: true airflow through the sensor, g/s.
        mixture: true lambda in the cylinders, over both banks.
        fuel_factor: (1 + short trim) * (1 + long trim), mean over banks, before rounding.
        commanded: commanded lambda before rounding.
        closed: closed loop.
        cut: fuel cut.
        full: enriched at full throttle.
        vapour_share: purge vapour over all fuel in the cylinders.
        delay_s: how long ago the gas at the wideband had left the engine, s; lag not counted.
        pulls: start and end of each pull, s.
        long_trims: long trims per airflow cell at the end, %, bank 1.
    """

    log: Log
    truth: Table
    table: Table
    ratio: FloatArray
    airflow: FloatArray
    mixture: FloatArray
    fuel_factor: FloatArray
    commanded: FloatArray
    closed: BoolArray
    cut: BoolArray
    full: BoolArray
    vapour_share: FloatArray
    delay_s: FloatArray
    pulls: tuple[tuple[float, float], ...]
    long_trims: tuple[float, ...]


class _Air(NamedTuple):
    """Air per inner step, shape (steps,).

    Attributes:
        true: through the sensor, g/s.
        signal: of the sensor with its noise, Hz; zeros for a grid.
        pressure: in the manifold, kPa; with its sensor's noise for a grid.
        ecu: what the ECU works with, g/s.
        believed: the same without noise.
    """

    true: FloatArray
    signal: FloatArray
    pressure: FloatArray
    ecu: FloatArray
    believed: FloatArray


class _Surroundings(NamedTuple):
    coolant: FloatArray
    intake: FloatArray
    voltage: FloatArray
    barometer: float


def drive(scenario: Scenario, table: Table | None = None, *, number: int = 1) -> DriveRecord:
    """Drive once and log it.

    Args:
        scenario: car, route and fittings.
        table: in the ECU; by default the stale one.
        number: varies the driver, the weather and the noise, not the car.

    Raises:
        InputError: when the table has other axes than the car's.
    """
    truth = engine.true_table(scenario)
    held = engine.stale_table(scenario) if table is None else table
    if not held.same_axes(truth):
        raise InputError(f"The table {held.name!r} has other axes than the demo car's.", "Keep its breakpoints.")
    random = np.random.Generator(np.random.PCG64([scenario.seed, number, 20]))
    trace = plan_drive(scenario, number)
    around = _surroundings(scenario, trace, random)
    air = _breathe(scenario, held, trace, around, random)
    modes = ecu.decide_modes(scenario, trace, around.coolant, air.ecu)
    vapour = _vapour(modes.purge)
    leaving = exhaust.leaving_time(
        air.true, trace.rpm, ecu.NARROW_FIXED_S, scenario.delay_cycles, ecu.NARROW_VOLUME_G, plug=True
    )
    banks = _run_banks(scenario, modes, trace, around, air, vapour, leaving)
    return _record(scenario, number, trace, around, air, modes, vapour, banks, held, random)


def _surroundings(scenario: Scenario, trace: Trace, random: np.random.Generator) -> _Surroundings:
    """Return temperatures, voltage and air pressure: the fuel warms the engine, standing still the intake.

    Invented for the demo.
    """
    heat = np.cumsum(trace.airflow) * STEP_S / 1500.0
    coolant = 88.0 - (88.0 - scenario.start_coolant_c) * np.exp(-heat) + 0.8 * np.sin(trace.time / 37.0)
    outside = random.uniform(12.0, 26.0)
    soak = outside + 4.0 + 22.0 / (1.0 + (trace.speed_kmh / 25.0) ** 2)
    intake = exhaust.lagged(soak, 60.0)
    voltage = 14.1 - 0.25 * (trace.rpm < 850.0) + random.normal(0.0, 0.02, trace.time.size)
    return _Surroundings(coolant, intake, voltage, random.uniform(97.0, 101.5))


def _breathe(scenario: Scenario, held: Table, trace: Trace, around: _Surroundings, random: np.random.Generator) -> _Air:
    noise = random.normal(0.0, 1.0, trace.time.size)
    pressure = engine.pressure_for(trace.airflow, trace.rpm)
    if scenario.kind == "curve":
        hertz, airflow = engine.true_curve(scenario)
        signal = np.interp(trace.airflow, airflow, hertz)
        noisy = signal + scenario.sensor_noise_hz * noise
        ecu_air, believed = (look_up(held, x[:, None]) for x in (noisy, signal))
        return _Air(trace.airflow, noisy, pressure, ecu_air, believed)
    kelvin = around.intake + 273.15
    pressure = np.clip(pressure, engine.GRID_KPA[0], engine.GRID_KPA[-1])
    true = engine.true_airflow_of_grid(scenario, trace.rpm, pressure, kelvin)
    noisy = pressure + 0.15 * noise
    breathing = 0.01 * engine.breathing(trace.rpm, noisy, kelvin)
    ecu_air = look_up(held, np.stack([trace.rpm, noisy], axis=1)) * breathing
    believed = 0.01 * look_up(held, np.stack([trace.rpm, pressure], axis=1))
    believed = believed * engine.breathing(trace.rpm, pressure, kelvin)
    return _Air(true, np.zeros_like(true), noisy, ecu_air, believed)


def _vapour(purge: FloatArray) -> FloatArray:
    """Fuel vapour in g/s; the canister empties while its valve is open."""
    laden = np.exp(-np.cumsum(purge / 100.0) * STEP_S / UNLOADING_S)
    return VAPOUR_AT_FULL_DUTY * purge / 100.0 * laden


def _run_banks(
    scenario: Scenario, modes: ecu.Modes, trace: Trace, around: _Surroundings, air: _Air, vapour: FloatArray,
    leaving: FloatArray,
) -> list[ecu.Fuelling]:  # fmt: skip
    delivered, extra = _faults(scenario, trace, around, air)
    start = scenario.start_long_trims
    if scenario.fault == "wrong_cell" and not start:
        start = (10.0, -6.0, 9.0, -7.0, 8.0, -5.0)
    surplus = (scenario.imbalance, -scenario.imbalance)[: scenario.banks] if scenario.banks == 2 else (0.0,)
    return [
        ecu.run_loop(scenario, modes, air.ecu, (air.true + extra) * (1.0 + more), delivered, vapour, leaving, start)
        for more in surplus
    ]


def _faults(scenario: Scenario, trace: Trace, around: _Surroundings, air: _Air) -> tuple[FloatArray, FloatArray]:
    """Return fuel delivered over fuel wanted, and air that enters behind the sensor (g/s). Invented for the demo."""
    delivered, extra = np.ones_like(air.true), np.zeros_like(air.true)
    if scenario.fault == "injector":
        delivered = 1.0 - 0.10 * np.clip(air.true / 190.0, 0.0, 1.0)
    elif scenario.fault == "intake_temperature":
        delivered = 1.0 - 0.003 * (around.intake - 25.0)
    elif scenario.fault == "engine_speed":
        delivered = 1.0 - 0.04 * (trace.rpm - 2500.0) / 2500.0
    elif scenario.fault == "vacuum_leak":
        share = np.clip(air.pressure / around.barometer, 0.0, 1.0)
        # Flow through a hole is choked under about half the outer pressure, then falls to nothing.
        extra = LEAK_G_S * np.sqrt(np.clip(1.0 - ((share - 0.53) / 0.47) ** 2, 0.0, 1.0) ** (share > 0.53))
    return delivered, extra


def _record(
    scenario: Scenario, number: int, trace: Trace, around: _Surroundings, air: _Air, modes: ecu.Modes,
    vapour: FloatArray, banks: list[ecu.Fuelling], held: Table, random: np.random.Generator,
) -> DriveRecord:  # fmt: skip
    every = round(1.0 / (scenario.rate_hz * STEP_S))
    mixture = 1.0 / np.mean([1.0 / bank.mixture for bank in banks], axis=0)
    seen = banks[scenario.wideband_bank - 1].mixture if scenario.wideband_bank else mixture
    measured, delay = _wideband(scenario, trace, air, seen)
    measured = measured * (1.0 + scenario.noise * random.normal(0.0, 1.0, measured.size))
    rows: dict[Role, FloatArray] = {
        "engine_speed": trace.rpm,
        "airflow": air.ecu,
        "manifold_pressure": air.pressure,
        "throttle": trace.throttle,
        "vehicle_speed": trace.speed_kmh,
        "coolant_temperature": around.coolant,
        "intake_temperature": around.intake,
        "barometer": np.full_like(air.ecu, around.barometer),
        "battery_voltage": around.voltage,
        "fuel_system": modes.status,
        "lambda_commanded": modes.commanded,
        "stft_1": banks[0].short,
        "ltft_1": banks[0].long,
    }
    if scenario.kind == "curve":
        rows["sensor_signal"] = air.signal
    if scenario.wideband != "none":
        rows["lambda_measured"] = np.clip(measured, 0.6, 1.999)
    if scenario.banks == 2:
        rows["stft_2"], rows["ltft_2"] = banks[1].short, banks[1].long
    if scenario.purge == "logged":
        rows["purge"] = modes.purge
    name = f"demo_{scenario.kind}_{scenario.seed}_{number}.csv"
    factor = np.mean([(1.0 + b.short / 100.0) * (1.0 + b.long / 100.0) for b in banks], axis=0)
    fuel = np.mean([b.fuel for b in banks], axis=0)
    return DriveRecord(
        log=recorder.record(name, trace.time[::every], {k: v[::every] for k, v in rows.items()}, scenario.lambda_step),
        truth=engine.true_table(scenario),
        table=held,
        ratio=(air.true / air.believed)[::every],
        airflow=air.true[::every],
        mixture=mixture[::every],
        fuel_factor=factor[::every],
        commanded=modes.commanded[::every],
        closed=modes.closed[::every],
        cut=modes.cut[::every],
        full=modes.full[::every],
        vapour_share=(vapour / np.maximum(fuel, 1e-9))[::every],
        delay_s=delay[::every],
        pulls=trace.pulls,
        long_trims=banks[0].learnt,
    )


def _wideband(scenario: Scenario, trace: Trace, air: _Air, mixture: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return what the wideband reads, without noise, and how late the gas is, s."""
    leaving = exhaust.leaving_time(
        air.true, trace.rpm, scenario.wideband_fixed_s, scenario.delay_cycles, scenario.wideband_volume_g,
        plug=scenario.transport == "integral",
    )  # fmt: skip
    gas = exhaust.transported(mixture, leaving)
    if scenario.wideband == "after":
        gas = exhaust.after_catalyst(gas, air.true, scenario.oxygen_storage_g)
    return exhaust.lagged(gas, scenario.lag_s), (np.arange(gas.size) - leaving) * STEP_S
