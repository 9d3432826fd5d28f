"""Air: density, what a cylinder takes in, volumetric efficiency, and the factors that standards correct power with.

Pressures in kPa, temperatures in degC, volumes in litres, airflow in g/s. Four-stroke engines.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from workbench.errors import InputError
from workbench.maths.signals.series import filled
from workbench.model.arrays import FloatArray
from workbench.model.log import Role
from workbench.model.table import Table
from workbench.phrases import phrase

DRY_AIR = 287.05287  # J/(kg K), ISO 2533
WATER_VAPOUR = 461.523  # J/(kg K)
KELVIN = 273.15
NOMINAL_LITRES = 2.0  # for the gas transport of a grid without a logged airflow: invented, only its shape matters
ISO_LOW, ISO_HIGH = 0.93, 1.07  # within which ISO 1585 allows its factor for spark ignition; from memory


@dataclass(frozen=True)
class Factor:
    """What a standard multiplies measured power with.

    Attributes:
        standard: its name.
        value: the factor.
        valid: whether it lies within the range that the standard allows.
        range: that range, in words.
    """

    standard: str
    value: float
    valid: bool
    range: str


def density(pressure_kpa: FloatArray | float, temperature_c: FloatArray | float, vapour_kpa: float = 0.0) -> FloatArray:
    """Return the density of air, kg/m³ (g/l), as a mixture of ideal gases of dry air and water vapour.

    Args:
        pressure_kpa: of the air with its vapour.
        temperature_c: of it.
        vapour_kpa: part of the pressure that is water vapour; leaving it out overstates the density by up to 1.6 % on a
            hot humid day (30 degC, saturated).

    Raises:
        InputError: where a temperature is at or under absolute zero or a pressure not above zero.
    """
    pressure, kelvin = np.asarray(pressure_kpa, dtype=np.float64), np.asarray(temperature_c, dtype=np.float64) + KELVIN
    if np.any(kelvin <= 0) or np.any(pressure <= vapour_kpa):
        raise InputError("Air of that pressure and temperature is not possible.", "Give kPa and °C.")
    return np.asarray(1000 * ((pressure - vapour_kpa) / DRY_AIR + vapour_kpa / WATER_VAPOUR) / kelvin)


def vapour_pressure(temperature_c: float, relative_humidity: float) -> float:
    """Return the pressure of water vapour, kPa, over water (Goff and Gratch as in 40 CFR 1065.645).

    Args:
        temperature_c: of the air, 0..100 degC.
        relative_humidity: 0..1.
    """
    kelvin = temperature_c + KELVIN
    triple = 273.16
    exponent = (
        10.79574 * (1 - triple / kelvin)
        - 5.02800 * np.log10(kelvin / triple)
        + 1.50475e-4 * (1 - 10 ** (-8.2969 * (kelvin / triple - 1)))
        + 0.42873e-3 * (10 ** (4.76955 * (1 - triple / kelvin)) - 1)
        - 0.2138602
    )
    return float(relative_humidity * 10**exponent)


def air_per_cylinder(airflow: FloatArray | float, speed_rpm: FloatArray | float, cylinders: int) -> FloatArray:
    """Return the air that a cylinder takes in per cycle, g: airflow * 120 / (speed * cylinders)."""
    return np.asarray(np.asarray(airflow) * 120 / (np.asarray(speed_rpm) * cylinders))


def volumetric_efficiency(
    airflow: FloatArray | float, speed_rpm: FloatArray | float, displacement_l: float, air_density: FloatArray | float
) -> FloatArray:
    """Return air taken in over what the displacement holds at a density (Heywood 1988, eq. 2.27, from memory)."""
    return np.asarray(np.asarray(airflow) * 120 / (np.asarray(speed_rpm) * displacement_l * np.asarray(air_density)))


def sae_j1349(dry_pressure_kpa: float, temperature_c: float) -> Factor:
    """Return the factor of SAE J1349 (June 1990, as widely quoted; the standard itself was not read).

    1.180 * (99 / dry pressure) * sqrt((t + 273) / 298) - 0.18, which assumes 85 % mechanical efficiency. It is meant
    for 15 to 35 degC and 90 to 105 kPa (from memory).
    """
    value = 1.180 * (99 / dry_pressure_kpa) * np.sqrt((temperature_c + 273) / 298) - 0.18
    valid = 15 <= temperature_c <= 35 and 90 <= dry_pressure_kpa <= 105
    return Factor("SAE J1349", float(value), valid, "15 to 35 °C, 90 to 105 kPa")


def iso_1585(dry_pressure_kpa: float, temperature_c: float) -> Factor:
    """Return the factor of ISO 1585 for spark ignition: (99 / dry pressure)^1.2 * (T / 298)^0.6 (from memory)."""
    value = float((99 / dry_pressure_kpa) ** 1.2 * ((temperature_c + 273) / 298) ** 0.6)
    return Factor("ISO 1585", value, ISO_LOW <= value <= ISO_HIGH, "factor 0.93 to 1.07")


def airflow_of(
    table: Table, table_value: FloatArray, get: Callable[[Role], FloatArray], notes: list[str]
) -> FloatArray:
    """Return the airflow at every row, g/s: as logged, the curve's own reading, or an estimate for a grid.

    Args:
        table: as it was in the car.
        table_value: what it gives at every row, in its unit.
        get: gives the channel that plays a role.
        notes: takes what had to be assumed.
    """
    logged = get("airflow")
    if np.isfinite(logged).any() and float(np.nanmax(logged) - np.nanmin(logged)) > 0:
        # Where it is not known the rows say nothing, but what follows them still has to get to the sensor.
        return np.maximum(filled(logged), 0.1)
    unit = table.unit.strip().lower()
    if table.kind == "curve" and unit in ("g/s", "kg/h"):
        return np.maximum(filled(table_value) / (3.6 if unit == "kg/h" else 1.0), 0.1)
    speed, pressure, intake = get("engine_speed"), get("manifold_pressure"), get("intake_temperature")
    kelvin = np.where(np.isfinite(intake), intake, 25.0) + 273.15
    filling = table_value / (100.0 if np.median(table.values) > 5 else 1.0)
    # Ideal gas, four-stroke: m = VE * p * V / (R T) a cycle, one cycle in two turns (Heywood 1988, eq. 2.27, memory).
    flow = filling * pressure * NOMINAL_LITRES * speed / (120 * 0.287 * kelvin)
    notes.append(
        phrase(
            "Airflow is not logged: exhaust transport is computed for a displacement of {nominal_litres:g} l.",
            nominal_litres=NOMINAL_LITRES,
        )
    )
    return np.maximum(np.where(np.isfinite(flow), flow, 0.1), 0.1)
