"""A car driven: from what was drawn to log files, and to what is true of it."""

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from family import air, exhaust, faults, fuel, loop, purge
from family.air import STEP_S, Array, Table
from family.driver import Drive, Flags, drive, gap_flows, smooth
from family.logger import Columns, record
from family.lottery import table_reset
from family.parts import Car

BEFORE_PULL_S, AFTER_PULL_S = 8.0, 6.0


@dataclass(frozen=True)
class Run:
    """One drive.

    Attributes:
        files: rows of each log file by its name.
        true: table that is right for this car.
        driven: table that was in it.
        full: cells that the drive met at full throttle more than otherwise, shape of the table.
        met: seconds near each cell, shape of the table.
        gap: cells that nobody drove on purpose.
        inner: what no log holds, per step: for tests of the physics.
    """

    files: Mapping[str, Columns]
    true: Table
    driven: Table
    full: Flags
    met: Array
    gap: Flags
    inner: Mapping[str, Array]


@dataclass(frozen=True)
class _Flow:
    """Air per step: metered, into the cylinders, purge, pressure, what the ECU makes of it, and where in its table."""

    metered: Array
    cylinders: Array
    purge: Array
    pressure: Array
    believed: Array
    at: tuple[Array, ...]


def tables_of(car: Car) -> tuple[Table, Table]:
    """Give the true and the stale table of a car."""
    if car.kind == "grid":
        return air.grids_of(car)
    intake = air.intake_of(car)
    return intake.true, intake.stale


def run(car: Car, table: Table | None = None, *, number: int = 1, fault: str | None = None) -> Run:
    """Drive a car.

    Args:
        car: what was drawn.
        table: that is in it; the stale one if not given.
        number: of the drive: each has its own route; from the second on the trims were reset at the flash.
        fault: name of a fault to put in.
    """
    car = faults.prepared(car if number == 1 else table_reset(car), fault)
    true, stale = tables_of(car)
    driven = stale if table is None else table
    rng = np.random.default_rng([car.seed, 300, number])
    path = drive(car, number, lift=fault == "lifted pull")
    wrong = faults.fault_of(car, fault, path)
    regime = loop.regime_of(car, path)
    may = regime.closed & (regime.coolant > loop.LEARNS - 5) & (path.speed > 1)
    duty = purge.duty_of(car, rng, may)
    flow = _breathe(car, path, driven, duty, wrong, rng)
    vapour = flow.purge * purge.vapour_share(car, rng, duty, flow.purge)
    swallowed = flow.cylinders - vapour
    mixture = _burn(car, path, regime, flow, vapour, swallowed, duty, wrong)
    leak = wrong.exhaust
    seen = exhaust.reading(car, path.time, swallowed, path.rpm, mixture["phi"], rng, leak)
    if wrong.free_air:
        seen = np.full(len(seen), car.wideband.highest)
    channels = _channels(car, path, regime, flow, mixture, seen, duty, wrong)
    rows = record(car, path.time, channels, rng)
    part = regime.closed
    full = driven.weights(*(a[regime.full] for a in flow.at))
    held = driven.weights(*(a[part] for a in flow.at))
    gap = _gap(car, driven)
    inner = {
        "time": path.time, "rpm": path.rpm, "metered": flow.metered, "cylinders": flow.cylinders, "purge": flow.purge,
        "pressure": flow.pressure, "believed": flow.believed, "vapour": vapour, "swallowed": swallowed, "seen": seen,
        "commanded": regime.commanded, "closed": regime.closed.astype(float), "full": regime.full.astype(float),
        "cut": regime.cut.astype(float), "duty": duty, "coolant": regime.coolant, "speed": path.speed,
        **{f"at{k}": each for k, each in enumerate(flow.at)}, **mixture,
    }  # fmt: skip
    return Run(
        _split(car, path, _without_gap(car, rows)), true, driven, full > held, STEP_S * (full + held), gap, inner
    )


def _breathe(car: Car, path: Drive, driven: Table, duty: Array, wrong: faults.Fault, rng: np.random.Generator) -> _Flow:
    engine, meter = car.engine, car.meter
    choked = purge.choked_flow(car, duty)
    through, cylinders, drawn, pressure = air.manifold(engine, path.rpm, path.opening, choked, wrong.leak)
    metered = through - wrong.leak * air.nozzle(pressure / engine.barometer)
    noise = meter.turbulence * rng.standard_normal(len(metered))
    if car.kind == "grid":
        felt = smooth(pressure, meter.lag * 0.4) * (1 + 0.3 * noise)
        believed = air.charge_flow(engine, driven.read(path.rpm, felt), path.rpm, felt)
        return _Flow(metered, cylinders, drawn, pressure, believed, (path.rpm, felt))
    stream = smooth(np.maximum(metered, 0.05), meter.lag) * (1 + noise)
    if wrong.noise is not None:
        stream = stream * (1 + wrong.noise)
    signal = air.intake_of(car).signal_at(stream)
    return _Flow(metered, cylinders, drawn, pressure, driven.read(signal), (signal,))


def _burn(
    car: Car,
    path: Drive,
    regime: loop.Regime,
    flow: _Flow,
    vapour: Array,
    swallowed: Array,
    duty: Array,
    wrong: faults.Fault,
) -> dict[str, Array]:
    """Meter the fuel step by step, with the loop closed around it: the one part that cannot be done at once.

    Returns:
        phi (1/lambda in the cylinder), short and long trims as shares, and the fuel that the ECU means to inject, that
        leaves the injectors and that burns, in g/s, per step.
    """
    count = len(path.time)
    low, high, share, zones = loop.zones(car, path.rpm, flow.believed)
    error = swallowed / np.maximum(flow.believed, 0.1) - 1
    learnt = loop.learnt_before(car, low, high, zones, error, regime.closed)
    arrived = exhaust.arrival(path.time, swallowed, path.rpm, car.loop.gas)
    comes = np.minimum((arrived / STEP_S).astype(int), np.arange(count) - 1).clip(0).tolist()
    own_share = 1 - np.exp(-STEP_S / car.loop.lag)
    lag = 1 / (air.swallowing(car.engine, path.rpm) * air.GAS * (car.engine.ambient + 291) / car.engine.manifold)
    follow = STEP_S / (STEP_S + car.fuel.filling * lag) if car.kind == "curve" else np.ones(count)
    may_learn = regime.closed & (regime.coolant >= loop.LEARNS) & ((duty == 0) | car.long.under_purge)
    idling = float(flow.believed[0] / fuel.STOICHIOMETRIC)
    short_step, give = loop.short_trim(car), fuel.injected(car, idling)
    deliver, wet = fuel.delivered(car, path.rpm, wrong.fuel), fuel.wall(car, regime.coolant, idling)
    per_s, at_full = STEP_S / car.long.time, car.long.at_full
    phi, short, long = [1.0] * count, [0.0] * count, [0.0] * count
    meant, left, burnt = [0.0] * count, [0.0] * count, [0.0] * count
    own, charge, trim, was_closed = 1.0, float(flow.believed[0] / path.rpm[0]), 0.0, False
    inputs = zip(
        (flow.believed / path.rpm).tolist(), path.rpm.tolist(), swallowed.tolist(), vapour.tolist(), follow.tolist(),
        comes, low, high, share, regime.closed.tolist(), regime.cut.tolist(), regime.full.tolist(),
        may_learn.tolist(), (1 / (fuel.STOICHIOMETRIC * regime.commanded)).tolist(), strict=True,
    )  # fmt: skip
    for i, (stroke, rpm, breath, vap, quick, j, a, b, w, closed, cut, full, learns, ratio) in enumerate(inputs):
        own += own_share * (phi[j] - own)
        if closed:
            if not was_closed:
                short_step = loop.short_trim(car)
            trim = short_step(1 / own if own > 0.3 else 3.0)
        else:
            trim = 0.0
        was_closed = closed
        kept = learnt[a] * (1 - w) + learnt[b] * w
        if learns:
            learnt[a] = min(loop.LONG_LIMIT, max(-loop.LONG_LIMIT, learnt[a] + per_s * trim * (1 - w)))
            learnt[b] = min(loop.LONG_LIMIT, max(-loop.LONG_LIMIT, learnt[b] + per_s * trim * w))
        if full and (at_full == "dropped" or (at_full == "held if positive" and kept < 0)):
            kept = 0.0
        charge += quick * (stroke - charge)  # what fills the manifold is air per stroke: it stands still in a pull
        wanted = 0.0 if cut else charge * rpm * (1 + trim) * (1 + kept) * ratio
        meant[i] = give(wanted)
        given = deliver(i, meant[i])
        reaches = wet(i, given) + vap
        phi[i] = fuel.STOICHIOMETRIC * reaches / breath if breath > 0 else 1.0
        short[i], long[i], left[i], burnt[i] = trim, kept, given, reaches
    out = {"phi": phi, "short": short, "long": long, "meant": meant, "injected": left, "burnt": burnt}
    return {name: np.asarray(values) for name, values in out.items()}


def _channels(
    car: Car,
    path: Drive,
    regime: loop.Regime,
    flow: _Flow,
    mixture: Mapping[str, Array],
    seen: Array,
    duty: Array,
    wrong: faults.Fault,
) -> Columns:
    """Name what a log holds, with the trade's usual names and units."""
    engine = car.engine
    named: Columns = {"Engine Speed (rpm)": path.rpm}
    if car.kind == "grid":
        named["MAP (kPa)"] = flow.at[1]
    else:
        named["MAF Frequency (Hz)" if car.meter.unit == "Hz" else "MAF Voltage (V)"] = flow.at[0]
        named["MAF (g/s)"] = flow.believed
    named["STFT Bank 1 (%)"] = 100 * mixture["short"]
    named["LTFT Bank 1 (%)"] = 100 * mixture["long"]
    named["Commanded Lambda"] = regime.commanded
    named["Fuel System Status"] = regime.status
    if car.wideband.place != "none":
        afr = car.wideband.afr
        named["Wideband AFR" if afr else "Wideband Lambda"] = np.round(seen * fuel.STOICHIOMETRIC, 2) if afr else seen
    named["Throttle (%)"] = engine.throttle_top * np.clip(path.opening, 0, 1) ** 0.6
    named["Coolant Temp (°C)"] = regime.coolant
    named["IAT (°C)"] = np.full(len(path.time), engine.ambient + 6)
    named["Vehicle Speed (km/h)"] = path.speed
    if (canister := purge.logged(car, duty)) is not None:
        named[canister[0]] = canister[1]
    if car.pressure_logged:
        share = fuel.pump_share(mixture["meant"] / fuel.largest_fuel_flow(car), wrong.fuel.pump)
        named["Fuel Pressure (kPa)"] = 380 * share**2  # flow follows the root of the pressure
    return named


def _gap(car: Car, table: Table) -> Flags:
    """Five breakpoints that nobody drove."""
    gap = np.zeros(table.values.shape, bool)
    if not car.route.gap or car.kind != "curve":
        return gap
    low, high = gap_flows(car.engine)
    middle = int(np.argmin(np.abs(np.log(table.values / (low * high) ** 0.5))))
    gap[middle - 2 : middle + 3] = True
    return gap


def _without_gap(car: Car, rows: Columns) -> Columns:
    """Drop the rows in which the engine passed through the gap, as if the recording stood still then."""
    if not car.route.gap or car.kind != "curve":
        return rows
    _, stale = tables_of(car)
    gap = np.flatnonzero(_gap(car, stale))
    axis = stale.axes[0]
    signal = rows["MAF Frequency (Hz)" if car.meter.unit == "Hz" else "MAF Voltage (V)"]
    keep = ~((signal > axis[gap[0] - 1]) & (signal < axis[gap[-1] + 1]))
    return {name: values[keep] for name, values in rows.items()}


def _split(car: Car, path: Drive, rows: Columns) -> dict[str, Columns]:
    """Put the rows into files: all in one, or the drive first and then each pull in its own."""
    time = rows["Time (s)"]
    if not car.route.apart or not path.pulls:
        return {"drive.csv": rows}
    before = time < path.pulls[0][0] * STEP_S - BEFORE_PULL_S
    files = {"drive.csv": {name: values[before] for name, values in rows.items()}}
    for k, (start, end) in enumerate(path.pulls, 1):
        inside = (time > start * STEP_S - BEFORE_PULL_S) & (time < end * STEP_S + AFTER_PULL_S)
        files[f"pull_{k}.csv"] = _from_zero({name: values[inside] for name, values in rows.items()})
    return files


def _from_zero(rows: Columns) -> Columns:
    time = rows["Time (s)"]
    return {**rows, "Time (s)": np.round(time - time[0], 3) if len(time) else time}


def write(folder: Path, result: Run, kind: str, unit: str, prefix: str = "") -> tuple[Path, list[Path]]:
    """Write the table that was driven and the log files as CSV.

    Returns:
        The table's file and the logs' files.
    """
    table = folder / f"{prefix}table.csv"
    driven = result.driven
    if kind == "grid":
        head = "Engine speed (rpm) / Manifold pressure (kPa) / Volumetric efficiency (%)"
        lines = [",".join([head, *(repr(float(x)) for x in driven.axes[1])])]
        lines += [
            ",".join(repr(float(x)) for x in (rpm, *row))
            for rpm, row in zip(driven.axes[0], driven.values, strict=True)
        ]
    else:
        lines = [f"MAF {'frequency' if unit == 'Hz' else 'voltage'} ({unit}),Airflow (g/s)"]
        lines += [f"{float(x)!r},{float(y)!r}" for x, y in zip(driven.axes[0], driven.values, strict=True)]
    table.write_text("\n".join(lines) + "\n", encoding="utf-8")
    logs = []
    for name, rows in result.files.items():
        path = folder / f"{prefix}{name}"
        columns = [values.tolist() for values in rows.values()]
        body = [",".join("" if v != v else f"{v:.10g}" for v in row) for row in zip(*columns, strict=True)]  # noqa: PLR0124
        path.write_text("\n".join([",".join(rows), *body]) + "\n", encoding="utf-8")
        logs.append(path)
    return table, logs
