"""Air: density, what a cylinder takes in, volumetric efficiency, and the factors that standards correct power with.

Pressures in kPa, temperatures in degC, volumes in litres, airflow in g/s. Four-stroke engines.
"""

from dataclasses import dataclass

import numpy as np

from workbench.errors import InputError
from workbench.model.arrays import FloatArray

DRY_AIR = 287.05287  # J/(kg K), ISO 2533
WATER_VAPOUR = 461.523  # J/(kg K)
KELVIN = 273.15
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
