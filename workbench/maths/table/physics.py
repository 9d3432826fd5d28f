"""Sensor and engine tables held against the laws behind them, so that a mistyped cell stands out.

- Hot film: King's law with a free exponent, E^2 = A + B m^n (King, Philosophical Transactions A 214, 1914).
- Thermistor: 1/T = A + B ln R + C (ln R)^3 (Steinhart and Hart, Deep-Sea Research 15, 1968).
- Charge: the ideal gas law; at one speed the trapped mass rises in a straight line with manifold pressure, less what
  the last cycle left behind (common practice, no source for how straight).
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from workbench.errors import InputError
from workbench.model.arrays import FloatArray
from workbench.phrases import flag, phrase

GAS_CONSTANT = 287.05287  # J/(kg K), dry air, ISO 2533
ZERO_CELSIUS = 273.15
_FEWEST_KING, _FEWEST_THERMISTOR = 4, 4


@dataclass(frozen=True, eq=False)
class LawFit:
    """A law laid through a table.

    Attributes:
        parameters: name -> value.
        expected: what the law says for each cell, shape of the table; NaN where it says nothing.
        residual: how far each cell lies from it: relative for flows and efficiencies, in kelvin for temperatures.
        course: what runs smoothly over the table where no cell is wrong, shape of the table.
        unit: what a whole residual (100 %, or 1 K) is in the measure of the course, shape of the table.
    """

    parameters: Mapping[str, float]
    expected: FloatArray
    residual: FloatArray
    course: FloatArray
    unit: FloatArray


def king(signal: FloatArray, flow: FloatArray) -> LawFit:
    """Fit King's law to a hot-film curve.

    Args:
        signal: V (or any measure that rises with it), shape (n,), rising, not negative.
        flow: shape (n,); cells that are not above 0 are left out.

    Raises:
        InputError: when fewer than four cells are above 0, or the curve does not rise as such a sensor's does.
    """
    from scipy.optimize import minimize_scalar

    usable = (flow > 0) & (signal > 0)
    if usable.sum() < _FEWEST_KING:
        raise InputError("King's law needs four cells above zero.", "Choose another law.")
    square, mass = signal[usable] ** 2, flow[usable]

    def line(exponent: float) -> tuple[FloatArray, FloatArray]:
        # An error in E^2 is one of dE^2 / (n B m^n) in the flow's logarithm: rows are weighed to count that.
        powers = mass**exponent
        rows = np.stack([1 / powers, np.ones_like(powers)], axis=1)
        found = _robust_line(rows, square / powers)
        return found, (square / powers - rows @ found) / (exponent * found[1])

    def misfit(exponent: float) -> float:
        residual = line(exponent)[1]
        return float(np.mean(np.minimum(np.abs(residual), 3 * np.median(np.abs(residual)) + 1e-12) ** 2))

    best = minimize_scalar(misfit, bounds=(0.15, 1.2), method="bounded", options={"xatol": 1e-10})
    exponent = float(best.x)
    (a, b), _ = line(exponent)
    if b <= 0:
        raise InputError("The flow does not rise with the signal like a hot film's.", "Choose another law.")
    cooled = (signal**2 - a) / b
    expected = np.where(cooled > 0, np.abs(cooled) ** (1 / exponent), np.nan)
    with np.errstate(divide="ignore", invalid="ignore"):
        residual = np.where(usable & (expected > 0), np.log(np.where(usable, flow, 1.0) / expected), np.nan)
    return LawFit({"A": float(a), "B": float(b), "n": exponent}, expected, residual, residual, np.ones_like(residual))


def king_flow(signal: FloatArray, a: float, b: float, exponent: float) -> FloatArray:
    """Return the flow that a hot film of these constants tells, shape of the signal."""
    return np.asarray(((signal**2 - a) / b) ** (1 / exponent))


def thermistor(ohm: FloatArray, kelvin: FloatArray) -> LawFit:
    """Fit the equation of Steinhart and Hart.

    Args:
        ohm: shape (n,), above 0.
        kelvin: shape (n,), above 0.

    Raises:
        InputError: when there are fewer than four cells, or one is not above 0.
    """
    if ohm.size < _FEWEST_THERMISTOR or not ((ohm > 0) & (kelvin > 0)).all():
        raise InputError("A thermistor's law needs four cells, with resistances and temperatures above zero.", "")
    logs = np.log(ohm)
    # An error in 1/T is one of T^2 d(1/T) in T: rows are weighed to count that.
    rows = np.stack([np.ones_like(logs), logs, logs**3], axis=1) * kelvin[:, None] ** 2
    found = _robust_line(rows, kelvin)
    expected = 1 / (np.stack([np.ones_like(logs), logs, logs**3], axis=1) @ found)
    parameters = dict(zip("ABC", found.tolist(), strict=True))
    residual = kelvin - expected
    return LawFit(parameters, expected, residual, residual, np.ones_like(residual))


def divider_ohm(volt: FloatArray, pull_up: float, supply: float = 5.0) -> FloatArray:
    """Return the resistance to ground of a divider with a pull-up to the supply, ohm, shape of the voltages.

    Raises:
        InputError: when a voltage is not between 0 and the supply.
    """
    if not ((volt > 0) & (volt < supply)).all():
        raise InputError(
            phrase("A divider on {supply:g} V gives voltages between 0 and that.", supply=supply),
            phrase("Give {supply_flag} in volts.", supply_flag=flag("supply")),
        )
    return np.asarray(pull_up * volt / (supply - volt))


def charge(efficiency: FloatArray, kilopascal: FloatArray) -> LawFit:
    """Fit a straight line of trapped mass over manifold pressure at each speed.

    Args:
        efficiency: volumetric efficiency, shape (speeds, pressures), above 0.
        kilopascal: manifold pressure, shape (pressures,), above 0.

    Raises:
        InputError: when there are fewer than three pressures, or a value is not above 0.
    """
    if kilopascal.size < 3 or not ((efficiency > 0).all() and (kilopascal > 0).all()):
        raise InputError("The charge needs three pressures, with efficiencies and pressures above zero.", "")
    rows = np.stack([1 / kilopascal, np.ones_like(kilopascal)], axis=1)
    expected = np.stack([rows @ _robust_line(rows, line) for line in efficiency])
    mass = efficiency * kilopascal
    return LawFit({}, expected, efficiency / expected - 1, mass, mass)


def plain(values: FloatArray) -> LawFit:
    """Take no law at all: cells are then held against their neighbours alone.

    Args:
        values: shape of a table; logarithms are taken where all are above 0.
    """
    nothing, ones = np.full(values.shape, np.nan), np.ones(values.shape)
    course = np.log(values) if (values > 0).all() else values / (np.ptp(values) or 1.0)
    return LawFit({}, nothing, nothing, course, ones)


def air_density(kilopascal: float, celsius: float) -> float:
    """Density of dry air, kg/m3 (which is g/L), by the ideal gas law."""
    return kilopascal * 1000 / (GAS_CONSTANT * (celsius + ZERO_CELSIUS))


def volumetric_efficiency(
    airflow: FloatArray | float, rpm: FloatArray | float, litres: float, density: FloatArray | float
) -> FloatArray:
    """Return the share of its displacement that a four-stroke engine fills with air of that density, as a ratio.

    Args:
        airflow: g/s.
        rpm: 1/min.
        litres: displacement.
        density: kg/m3.
    """
    return np.asarray(np.asarray(airflow) * 120 / (np.asarray(rpm) * litres * np.asarray(density)))


def engine_airflow(
    efficiency: FloatArray | float, rpm: FloatArray | float, litres: float, density: FloatArray | float
) -> FloatArray:
    """Return the airflow of a four-stroke engine, g/s, from its volumetric efficiency (a ratio)."""
    return np.asarray(np.asarray(efficiency) * np.asarray(rpm) * litres * np.asarray(density) / 120)


def _robust_line(rows: FloatArray, wanted: FloatArray) -> FloatArray:
    """Least squares with Huber's weights, so that one wrong cell does not bend the law."""
    weight = np.ones_like(wanted)
    found = np.zeros(rows.shape[1])
    for _ in range(20):
        root = np.sqrt(weight)
        before = found
        scale = np.abs(rows).max(axis=0)
        found = np.linalg.lstsq(rows / scale * root[:, None], wanted * root, rcond=None)[0] / scale
        if np.allclose(found, before, rtol=1e-13, atol=0):
            break
        residual = np.abs(wanted - rows @ found)
        usual = 1.4826 * np.median(residual) * 1.345 + 1e-15
        weight = np.minimum(1.0, usual / np.maximum(residual, 1e-300))
    return np.asarray(found)
