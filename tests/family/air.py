"""Air: what the engine swallows, the throttle, the manifold that fills and empties, the sensor, and the tables.

Ideal gas throughout (R = 0.287 kPa·m³/(kg·K)). Flow through the throttle follows the elliptic approximation of the
isentropic nozzle (textbook form, from memory), choked below a pressure ratio of 0.528. Flows g/s, pressures kPa.
"""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import numpy.typing as npt

from family.parts import Car, Engine, Staleness

Array = npt.NDArray[np.float64]
STEP_S = 0.01  # of the simulation
GAS = 0.287  # kJ/(kg K)
CHOKED = 0.528
NEAR_ONE = 0.985  # pressure ratio above which the nozzle is taken as linear: it would be infinitely steep at 1
WARMING = 18.0  # K that the manifold warms the air


@dataclass(frozen=True)
class Table:
    """A curve (axes: signal) or grid (axes: engine speed, manifold pressure) as an ECU holds it."""

    axes: tuple[Array, ...]
    values: Array

    def read(self, *at: Array) -> Array:
        """Interpolate as an ECU does: linearly, ends clamped."""
        if len(self.axes) == 1:
            return np.interp(at[0], self.axes[0], self.values)
        rows, columns = (hats(axis, x) for axis, x in zip(self.axes, at, strict=True))
        (i, a), (j, b) = rows, columns
        v = self.values
        low = v[i, j] * (1 - b) + v[i, j + 1] * b
        high = v[i + 1, j] * (1 - b) + v[i + 1, j + 1] * b
        return low * (1 - a) + high * a

    def weights(self, *at: Array) -> Array:
        """Sum the interpolation weights that points give each breakpoint; shape of the values."""
        total = np.zeros(self.values.shape)
        places = [hats(axis, x) for axis, x in zip(self.axes, at, strict=True)]
        if len(places) == 1:
            ((i, a),) = places
            np.add.at(total, i, 1 - a)
            np.add.at(total, i + 1, a)
            return total
        (i, a), (j, b) = places
        for di, wa in ((0, 1 - a), (1, a)):
            for dj, wb in ((0, 1 - b), (1, b)):
                np.add.at(total, (i + di, j + dj), wa * wb)
        return total


def hats(axis: Array, x: Array) -> tuple[npt.NDArray[np.intp], Array]:
    """Give the breakpoint below each x and the share of the one above, ends clamped."""
    x = np.clip(x, axis[0], axis[-1])
    i = np.clip(np.searchsorted(axis, x, side="right") - 1, 0, len(axis) - 2)
    return i, (x - axis[i]) / (axis[i + 1] - axis[i])


def efficiency(engine: Engine, rpm: Array) -> Array:
    """Volumetric efficiency at full charge, against the air's state in the manifold, without residual gas."""
    low, top = 0.5 * engine.idle, engine.redline
    place = (rpm - low) / (top - low)
    side = np.where(place < engine.peak, engine.peak + 0.25, 1.35 - engine.peak)
    return engine.efficiency * (1 - engine.fall * ((place - engine.peak) / side) ** 2)


def swallowing(engine: Engine, rpm: Array) -> Array:
    """Cylinder flow per kPa of manifold pressure above the residual gas: g/s/kPa."""
    kelvin = engine.ambient + WARMING + 273.15
    return efficiency(engine, rpm) * engine.displacement * rpm / 120 / (GAS * kelvin)


def largest_flow(engine: Engine) -> float:
    """Flow of the wide open engine at its best speed."""
    speeds = np.linspace(engine.idle, engine.redline, 200)
    return float(np.max(swallowing(engine, speeds)) * (0.97 * engine.barometer - engine.residual))


def nozzle(ratio: Array) -> Array:
    """Flow through a throttle as a share of choked flow, for pressure ratios 0 to 1."""
    u = np.clip((ratio - CHOKED) / (1 - CHOKED), 0, None)
    edge = (NEAR_ONE - CHOKED) / (1 - CHOKED)
    near = np.sqrt(1 - edge**2) * (1 - ratio) / (1 - NEAR_ONE)
    return np.where(ratio < NEAR_ONE, np.sqrt(np.clip(1 - u**2, 0, 1)), near)


def throttle_size(engine: Engine) -> float:
    """Choked flow of the wide open throttle, so that it costs 3 % of the pressure at the largest flow."""
    return largest_flow(engine) / float(nozzle(np.array([0.97]))[0])


def opening_for(engine: Engine, flow: Array, rpm: Array) -> Array:
    """Opening of the throttle (0..1) at which a steady engine takes a flow."""
    pressure = engine.residual + flow / swallowing(engine, rpm)
    ratio = np.clip(pressure / engine.barometer, 0.05, 0.97)
    return np.clip(flow / (throttle_size(engine) * nozzle(ratio)), 0.0005, 1)


def manifold(
    engine: Engine, rpm: Array, opening: Array, purge: Array, leak: float = 0.0
) -> tuple[Array, Array, Array, Array]:
    """Let the manifold fill and empty.

    Args:
        engine: the engine.
        rpm, opening: per step.
        purge: flow of the purge valve were it choked, per step.
        leak: choked flow of a hole in the manifold.

    Returns:
        Flow through the throttle, flow into the cylinders, purge flow, and pressure, per step. Air is conserved:
        throttle + purge - cylinders = what the manifold took up; what comes through the leak counts as the throttle's.
    """
    ambient, residual = engine.barometer, engine.residual
    kelvin = engine.ambient + WARMING + 273.15
    stiffness = GAS * kelvin / engine.manifold  # kPa per g
    size = throttle_size(engine)
    edge = (NEAR_ONE - CHOKED) / (1 - CHOKED)
    flat = (1 - edge * edge) ** 0.5 / (1 - NEAR_ONE)
    slopes = swallowing(engine, rpm).tolist()
    holes = (size * opening + leak + purge).tolist()
    pressure = np.empty(len(rpm) + 1)
    p = residual + float(opening[0]) * size / slopes[0]
    p = min(p, 0.95 * ambient)
    pressure[0] = p
    h, span = STEP_S * stiffness, 1 - CHOKED
    for i, slope in enumerate(slopes):
        ratio = p / ambient
        if ratio < CHOKED:
            share, bend = 1.0, 0.0
        elif ratio < NEAR_ONE:
            u = (ratio - CHOKED) / span
            share = (1 - u * u) ** 0.5
            bend = -u / (share * span * ambient)
        else:
            share, bend = flat * (1 - ratio), -flat / ambient
        hole = holes[i]
        p += h * (hole * share - slope * (p - residual)) / (1 - h * (hole * bend - slope))
        p = min(p, 0.9995 * ambient)
        pressure[i + 1] = p
    middle = 0.5 * (pressure[1:] + pressure[:-1])
    cylinders = np.asarray(slopes) * (middle - residual)
    vapour = purge * nozzle(middle / ambient)
    through = cylinders - vapour + np.diff(pressure) / (STEP_S * stiffness)
    return through, cylinders, vapour, middle


def error_shape(stale: Staleness, x: Array, y: Array | None = None) -> Array:
    """By how much the intake reads otherwise, as a ratio less 1; x and y 0..1 over the range driven."""
    x = np.clip(x, 0, 1)
    shape = stale.level + stale.tilt * (x - 0.5)
    for centre, width, height, other in stale.bumps:
        far = ((x - centre) / width) ** 2
        if y is not None:
            far = far + ((np.clip(y, 0, 1) - other) / (1.5 * width)) ** 2
        shape = shape + height * np.exp(-0.5 * far)
    return np.asarray(shape)


def error_of(stale: Staleness, x: Array, y: Array | None = None) -> Array:
    """The same, scaled to the largest error that was drawn."""
    line = np.linspace(0, 1, 201)
    whole = error_shape(stale, line) if y is None else error_shape(stale, line[:, None], line[None, :])
    return error_shape(stale, x, y) * stale.largest / float(np.max(np.abs(whole)))


@dataclass(frozen=True)
class Intake:
    """The airflow sensor of a car, as it was and as it is.

    Attributes:
        signal, flow: of the changed intake, finely.
        true, stale: table that reads the intake as it is best, and the one from before.
    """

    signal: Array
    flow: Array
    true: Table
    stale: Table

    def signal_at(self, flow: Array) -> Array:
        """Give the signal that a flow makes."""
        return np.interp(flow, self.flow, self.signal)


def best_line(axis: Array, x: Array, y: Array) -> Array:
    """Values at the breakpoints of the piecewise line nearest to y(x), least squares of the relative error."""
    basis = _basis(axis, x) / y[:, None]
    return np.asarray(np.linalg.solve(basis.T @ basis, basis.sum(axis=0)), float)


def _basis(axis: Array, x: Array) -> Array:
    i, a = hats(axis, x)
    basis = np.zeros((len(x), len(axis)))
    basis[np.arange(len(x)), i] = 1 - a
    basis[np.arange(len(x)), i + 1] += a
    return basis


@lru_cache(maxsize=4)
def intake_of(car: Car) -> Intake:
    """Make the airflow sensor and its tables.

    Breakpoints lie so that a straight line misses the bend of King's law by the same share between any two.
    """
    engine, meter = car.engine, car.meter
    top = 1.15 * largest_flow(engine)
    a, b, n = meter.king
    flow = top * np.geomspace(0.004, 1, 2000)
    volts = np.sqrt(a + b * (flow / top) ** n)
    scale = 1.0 if meter.unit == "V" else 2400.0  # a hot film that answers in Hz runs from about 2 to 12 kHz
    signal = scale * volts
    slope = np.gradient(np.gradient(flow, signal), signal) / flow
    crowding = np.cumsum(np.sqrt(np.clip(slope, 0, None)) * np.gradient(signal))
    axis = np.interp(np.linspace(crowding[0], crowding[-1], meter.breakpoints), crowding, signal)
    axis = np.unique(np.round(axis, 3 if meter.unit == "V" else 0))
    place = (np.log(flow) - np.log(0.02 * top)) / -np.log(0.02)
    now = flow * (1 + error_of(car.stale, place))
    now = np.maximum.accumulate(now + 1e-9 * np.arange(len(now)))
    return Intake(
        signal, now, Table((axis,), best_line(axis, signal, now)), Table((axis,), best_line(axis, signal, flow))
    )


def grids_of(car: Car) -> tuple[Table, Table]:
    """Make the true and the stale grid of volumetric efficiency (%), over engine speed and manifold pressure."""
    engine, meter = car.engine, car.meter
    rows = np.unique(np.round(np.geomspace(0.75 * engine.idle, engine.redline + 200, meter.rows) / 50) * 50)
    columns = np.round(np.linspace(18, 1.02 * engine.barometer, meter.columns))
    rpm, kpa = np.linspace(rows[0], rows[-1], 600), np.linspace(columns[0], columns[-1], 600)
    smooth = true_efficiency(engine, rpm[:, None], kpa[None, :])
    true = np.linalg.pinv(_basis(rows, rpm)) @ smooth @ np.linalg.pinv(_basis(columns, kpa)).T
    x = (rows - rows[0]) / (rows[-1] - rows[0])
    y = (columns - columns[0]) / (columns[-1] - columns[0])
    wrong = error_of(car.stale, x[:, None], y[None, :])
    return Table((rows, columns), true), Table((rows, columns), true / (1 + wrong))


def true_efficiency(engine: Engine, rpm: Array, kpa: Array) -> Array:
    """Volumetric efficiency in % against the air in the manifold."""
    return 100 * efficiency(engine, rpm) * (1 - engine.residual / kpa)


def charge_flow(engine: Engine, percent: Array, rpm: Array, kpa: Array) -> Array:
    """Airflow by speed and density: efficiency times what the manifold's air weighs."""
    kelvin = engine.ambient + WARMING + 273.15
    return percent / 100 * kpa * engine.displacement * rpm / 120 / (GAS * kelvin)
