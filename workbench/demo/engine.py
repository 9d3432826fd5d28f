"""The engine of the demo: what air it breathes, and which table its ECU has of it.

Sizes are those of a plain 2.4-litre four with a light-pressure turbocharger; where no source is named they are
invented for the demo.
"""

from dataclasses import replace

import numpy as np

from workbench.demo.scenario import STOICHIOMETRIC_AFR, Scenario
from workbench.maths.table.interpolation import look_up
from workbench.model.arrays import FloatArray
from workbench.model.table import Axis, Table

DISPLACEMENT_L = 2.4
IDLE_RPM = 750.0
GAS_CONSTANT = 0.287053  # kJ/(kg K), dry air (ISO 2533)
HEATING_VALUE = 43.0  # kJ/g of petrol; 42 to 44 in handbooks, from memory
INDICATED_EFFICIENCY = 0.36  # typical of petrol engines at part load; from memory
CHARGE_KELVIN = 305.0
LOST_KPA = 8.0  # manifold pressure at which an engine breathes nothing: residual gas fills it (invented for the demo)

GRID_RPM = (700, 1000, 1300, 1600, 2000, 2400, 2800, 3200, 3700, 4200, 4700, 5200, 5800, 6400)
GRID_KPA = (20, 30, 40, 50, 60, 75, 90, 105, 125, 145)


def volumetric_efficiency(rpm: FloatArray) -> FloatArray:
    """Filling at full load against the manifold's density: a broad hump in the middle of the speed range."""
    return np.asarray(0.86 + 0.12 * np.exp(-(((rpm - 4300.0) / 2000.0) ** 2)))


def boost(rpm: FloatArray) -> FloatArray:
    """Manifold pressure at full load over 98 kPa: the turbocharger comes in between 1500 and 4200 rpm."""
    rise = np.clip((rpm - 1500.0) / 2700.0, 0.0, 1.0)
    return np.asarray(1.0 + 0.42 * rise * rise * (3.0 - 2.0 * rise))


def full_load_airflow(rpm: FloatArray) -> FloatArray:
    """Airflow at full throttle, g/s: volumetric efficiency * density * displacement * speed / 2 (four-stroke)."""
    density = 98.0 / (GAS_CONSTANT * CHARGE_KELVIN)  # kg/m3 = g/l
    return volumetric_efficiency(rpm) * boost(rpm) * 1.05 * density * DISPLACEMENT_L * rpm / 120.0


def friction_kw(rpm: FloatArray) -> FloatArray:
    """Friction power, kW, from the mean pressure 0.97 + 0.15 n + 0.05 n^2 bar, n in 1000 rpm.

    That is the fit for four-cylinder petrol engines in Heywood 1988, section 13.5 (from memory).
    """
    n = rpm / 1000.0
    return np.asarray((0.97 + 0.15 * n + 0.05 * n * n) * 100.0 * DISPLACEMENT_L / 1000.0 * rpm / 120.0)


def closed_throttle_airflow(rpm: FloatArray) -> FloatArray:
    """Air that passes the closed throttle, g/s."""
    return np.asarray(1.8 + 1.0 * rpm / 1000.0)


def airflow_for(brake_kw: FloatArray, rpm: FloatArray) -> FloatArray:
    """Air needed for a brake power at lambda 1, g/s; 1.5 kW more go into pumping and accessories."""
    indicated = brake_kw + friction_kw(rpm) + 1.5
    return np.maximum(indicated / (INDICATED_EFFICIENCY * HEATING_VALUE) * STOICHIOMETRIC_AFR, 0.0)


def brake_kw_at_full_load(rpm: FloatArray) -> FloatArray:
    """Brake power at full throttle, kW, a little down on efficiency for the rich mixture."""
    fuel_kw = full_load_airflow(rpm) / STOICHIOMETRIC_AFR * HEATING_VALUE
    return fuel_kw * 0.95 * INDICATED_EFFICIENCY - friction_kw(rpm)


def breathing(rpm: FloatArray, pressure_kpa: FloatArray, kelvin: FloatArray | float) -> FloatArray:
    """Airflow at a volumetric efficiency of 1, g/s: p V n / (2 R T) (ideal gas, four-stroke)."""
    return np.asarray(pressure_kpa * DISPLACEMENT_L * rpm / (120.0 * GAS_CONSTANT * kelvin))


def pressure_for(airflow: FloatArray, rpm: FloatArray) -> FloatArray:
    """Manifold pressure for an airflow, kPa: a straight line that starts at the pressure lost to residual gas."""
    per_kpa = breathing(rpm, np.ones_like(rpm), CHARGE_KELVIN) * volumetric_efficiency(rpm)
    return np.asarray(LOST_KPA + (1.0 - LOST_KPA / 100.0) * airflow / per_kpa)


def stale_table(scenario: Scenario) -> Table:
    """Return the table that the ECU came with: right for the old intake."""
    return _curve(scenario) if scenario.kind == "curve" else _grid(scenario)


def true_table(scenario: Scenario) -> Table:
    """Return the table that would be right, on the same breakpoints."""
    stale = stale_table(scenario)
    if scenario.kind == "curve":
        hertz = stale.axes[0].breakpoints
        position = np.arange(hertz.size, dtype=np.float64)
        return stale.with_values(_king_airflow(scenario, hertz) * _curve_error(scenario, position))
    return stale.with_values(stale.values * _grid_error(scenario))


def true_multipliers(scenario: Scenario, table: Table) -> FloatArray:
    """Return what the cells of a table must be multiplied by to be right, shape of the table."""
    return np.asarray(true_table(scenario).values / table.values)


def true_curve(scenario: Scenario) -> tuple[FloatArray, FloatArray]:
    """Return frequency (Hz) and true airflow (g/s) of a curve car, as finely as truth bends: 20 points a breakpoint."""
    table = true_table(scenario)
    points = table.axes[0].breakpoints
    if scenario.between == "linear":
        return points, table.values
    position = np.linspace(0.0, points.size - 1.0, 20 * (points.size - 1) + 1)
    hertz = np.interp(position, np.arange(points.size), points)
    return hertz, _king_airflow(scenario, hertz) * _curve_error(scenario, position)


def true_airflow_of_grid(scenario: Scenario, rpm: FloatArray, kpa: FloatArray, kelvin: FloatArray) -> FloatArray:
    """Return the true airflow of a grid car, g/s, shape (steps,)."""
    table = true_table(scenario)
    if scenario.between == "smooth":
        table = _refined(table, scenario)
    return 0.01 * look_up(table, np.stack([rpm, kpa], axis=1)) * breathing(rpm, kpa, kelvin)


def _random(scenario: Scenario, stream: int) -> np.random.Generator:
    return np.random.Generator(np.random.PCG64([scenario.seed, stream]))


def _axis_hertz(scenario: Scenario) -> FloatArray:
    share = np.linspace(0.0, 1.0, scenario.breakpoints) ** 1.15
    return np.round(1500.0 + 10000.0 * share)


def _king_airflow(scenario: Scenario, hertz: FloatArray) -> FloatArray:
    """Airflow of the hot film in its old housing, g/s.

    King's law (1914) E^2 = A + B m^n, n 0.45 in practice, A and B as in the project's checks, section 6, and a
    frequency that rises in a straight line with E: 0.6 g/s at 1500 Hz, about 200 g/s at 11500 Hz. Each car's film
    differs a little.
    """
    random = _random(scenario, 1)
    a, b, n = 1.40 * random.uniform(0.97, 1.03), 0.80 * random.uniform(0.97, 1.03), random.uniform(0.44, 0.46)
    ends = np.sqrt(a + b * np.array([0.6, 200.0]) ** n)
    voltage = np.interp(hertz, [1500.0, 11500.0], ends)
    return np.asarray(((voltage**2 - a) / b) ** (1.0 / n))


def _curve(scenario: Scenario) -> Table:
    hertz = _axis_hertz(scenario)
    values = np.round(_king_airflow(scenario, hertz), 3)
    return Table("airflow", "Airflow", "g/s", (Axis("Airflow sensor", "Hz", hertz),), values)


def _curve_error(scenario: Scenario, position: FloatArray) -> FloatArray:
    """True over stale airflow at places along the axis, counted in breakpoints.

    The old table reads 8 to 16 % low: the larger housing lets more air past the same film. Where the flow turns a
    corner there are bumps: one of 2 to 3.5 % two breakpoints wide, one flatter and wider. Invented for the demo.
    """
    random = _random(scenario, 2)
    points = scenario.breakpoints
    at_breakpoints = _king_airflow(scenario, _axis_hertz(scenario))
    airflow = _king_airflow(scenario, np.interp(position, np.arange(points), _axis_hertz(scenario)))
    along = np.log(airflow / 3.0) / np.log(190.0 / 3.0)
    low = random.uniform(0.10, 0.14) + random.uniform(-0.05, 0.05) * (along - 0.5)
    low = low + random.uniform(0.003, 0.012) * np.sin(2 * np.pi * (along + random.uniform()))
    scale = points / 48.0
    for flow, height, width in ((8.0, 0.0275, 1.0), (45.0, 0.0175, 2.5)):
        middle = np.interp(flow * random.uniform(1.0, 2.5), at_breakpoints, np.arange(points))
        size = height * random.uniform(0.73, 1.27) * random.choice([-1.0, 1.0])
        low = low + size * np.exp(-0.5 * ((position - middle) / (width * scale)) ** 2)
    return _error(scenario, low)


def _error(scenario: Scenario, low: FloatArray) -> FloatArray:
    """Turn a shortfall of the stale table into the multiplier that mends it."""
    error = (1.0 / (1.0 - low)) ** scenario.error_scale
    return np.asarray(error * 1.22 if scenario.fault == "clipped_trims" else error)


def _grid(scenario: Scenario) -> Table:
    rpm, kpa = np.array(GRID_RPM, dtype=np.float64), np.array(GRID_KPA, dtype=np.float64)
    random = _random(scenario, 3)
    tune = 1.0 + random.uniform(0.005, 0.02) * np.sin(rpm / random.uniform(500.0, 700.0) + random.uniform(0.0, 6.0))
    filling = (1.0 - LOST_KPA / kpa) / (1.0 - LOST_KPA / 100.0)
    values = np.round(100.0 * (volumetric_efficiency(rpm) * tune)[:, None] * filling[None, :], 1)
    axes = (Axis("Engine speed", "rpm", rpm), Axis("Manifold pressure", "kPa", kpa))
    return Table("efficiency", "Volumetric efficiency", "%", axes, values)


def _grid_error(scenario: Scenario) -> FloatArray:
    """True over stale efficiency per cell: 8 to 16 % low, tilted both ways, with one dent. Invented for the demo."""
    random = _random(scenario, 4)
    rpm, kpa = np.array(GRID_RPM) / 6400.0, np.array(GRID_KPA) / 145.0
    low = random.uniform(0.10, 0.14) + random.uniform(-0.04, 0.04) * (rpm[:, None] - 0.5)
    low = low + random.uniform(-0.03, 0.03) * (kpa[None, :] - 0.5)
    low = low + random.uniform(0.004, 0.012) * np.sin(random.uniform(4.0, 6.0) * (rpm[:, None] + 0.5 * kpa[None, :]))
    middle = random.uniform([0.28, 0.30], [0.5, 0.6])
    dent = ((rpm[:, None] - middle[0]) / 0.12) ** 2 + ((kpa[None, :] - middle[1]) / 0.15) ** 2
    return _error(scenario, low + 0.025 * random.choice([-1.0, 1.0]) * np.exp(-0.5 * dent))


def _refined(table: Table, scenario: Scenario) -> Table:
    """Return a finer grid that bends between the breakpoints as the filling does, and meets the table on them."""
    rpm, kpa = (axis.breakpoints for axis in table.axes)
    fine_rpm = np.interp(np.arange(0, rpm.size - 1 + 1e-9, 0.25), np.arange(rpm.size), rpm)
    fine_kpa = np.interp(np.arange(0, kpa.size - 1 + 1e-9, 0.25), np.arange(kpa.size), kpa)

    def filling(n: FloatArray, p: FloatArray) -> FloatArray:
        return np.asarray(volumetric_efficiency(n)[:, None] * (1.0 - LOST_KPA / p)[None, :])

    rest = table.with_values(table.values / filling(rpm, kpa))
    places = np.stack([a.ravel() for a in np.meshgrid(fine_rpm, fine_kpa, indexing="ij")], axis=1)
    values = look_up(rest, places).reshape(fine_rpm.size, fine_kpa.size) * filling(fine_rpm, fine_kpa)
    axes = (replace(table.axes[0], breakpoints=fine_rpm), replace(table.axes[1], breakpoints=fine_kpa))
    return Table(scenario.kind, table.value_name, table.unit, axes, values)
