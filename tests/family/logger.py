"""The logger: what of a drive a file holds, at which moments, in which steps and under which names."""

from collections.abc import Mapping

import numpy as np

from family.air import STEP_S, Array
from family.parts import Car

Columns = dict[str, Array]

# Steps of SAE J1979 by the first word of a channel's name.
STEPS = {
    "Engine": 0.25, "Coolant": 1.0, "Throttle": 100 / 255, "MAF (g/s)": 0.01, "MAP": 1.0, "Vehicle": 1.0, "IAT": 1.0,
    "Commanded": 2 / 65536, "EVAP": 100 / 255, "STFT": 100 / 128, "LTFT": 100 / 128, "Fuel Pressure": 3.0,
}  # fmt: skip
# What a good logger stores of each.
FINE = {
    "Engine": 1.0, "Coolant": 1.0, "Throttle": 0.1, "MAF (g/s)": 0.01, "MAF Frequency": 1.0, "MAF Voltage": 0.001,
    "MAP": 0.1, "Vehicle": 0.1, "IAT": 1.0, "Commanded": 0.001, "EVAP": 0.1, "Fuel Pressure": 1.0,
}  # fmt: skip


def record(car: Car, time: Array, channels: Mapping[str, Array], rng: np.random.Generator) -> Columns:
    """Record channels (per model step) as rows; missing cells are NaN.

    Raises:
        ValueError: when the car's logger is of no known kind.
    """
    logger = car.logger
    stored = {name: stepped(car, name, values) for name, values in channels.items()}
    if logger.kind == "at once":
        at = _moments(time, 1 / logger.rate, logger.jitter, rng)
        skew = {name: rng.uniform(0, 0.3 / logger.rate) for name in stored}
        rows = {name: _at(values, at - skew[name]) for name, values in stored.items()}
        return {"Time (s)": np.round(at, 3), **rows}
    if logger.kind == "1 Hz":
        at = _moments(time, 1.0, 0.01, rng)
        turn = {name: place / (len(stored) + 1) for place, name in enumerate(stored)}
        rows = {name: _at(values, at - 1 + turn[name]) for name, values in stored.items()}
        return {"Time (s)": np.round(at, 2), **rows}
    if logger.kind in ("polled held", "polled blanks"):
        return _polled(stored, time, logger.rate, logger.jitter, rng, held=logger.kind == "polled held")
    raise ValueError(logger.kind)


def _polled(
    stored: Mapping[str, Array], time: Array, rate: float, jitter: float, rng: np.random.Generator, *, held: bool
) -> Columns:
    """One channel after the other: each answer makes a row; the others keep their value, or stay blank."""
    at = _moments(time, 1 / rate, jitter, rng)
    columns: Columns = {"Time (s)": np.round(at, 3)}
    index = np.arange(len(at))
    for turn, (name, values) in enumerate(stored.items()):
        renewed = index % len(stored) == turn
        fresh = _at(values, at)
        if held:
            last = np.maximum.accumulate(np.where(renewed, index, -1))
            columns[name] = np.where(last >= 0, fresh[np.maximum(last, 0)], np.nan)
        else:
            columns[name] = np.where(renewed, fresh, np.nan)
    if not held:
        return columns
    return {name: values[len(stored) :] for name, values in columns.items()}


def _moments(time: Array, step: float, jitter: float, rng: np.random.Generator) -> Array:
    count = int((time[-1] - time[0]) / step) - 2
    steps = step * np.clip(1 + jitter * rng.standard_normal(count), 0.3, 1.7)
    passed = np.cumsum(steps)
    return np.asarray(time[0] + step + passed[passed < time[-1] - time[0] - step])


def _at(values: Array, moments: Array) -> Array:
    index = np.floor(moments / STEP_S + 1e-6).astype(int)
    return np.asarray(values[np.clip(index, 0, len(values) - 1)])


def stepped(car: Car, name: str, values: Array) -> Array:
    """Round a channel to what is stored of it."""
    if name.startswith(("STFT", "LTFT")) and not car.logger.obd:
        size = car.loop.trim_step
    else:
        steps = {**FINE, **STEPS} if car.logger.obd else FINE
        size = next((step for word, step in steps.items() if name.startswith(word)), 0.0)
    return np.round(values / size) * size if size else values
