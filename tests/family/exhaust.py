"""Exhaust: gas that moves as a plug and mixes, a catalyst that stores oxygen, and the instrument.

Everything travels by mass: what passes a place now left the ports when one gas volume less had passed. Mixtures are
carried as fuel-air equivalence (1/lambda), which mixes linearly in parts of air. 23.14 % of air's mass is oxygen.
"""

import numpy as np

from family.air import STEP_S, Array
from family.driver import smooth
from family.parts import Car, Wideband

OXYGEN = 0.2314
STROKES = 90.0  # from intake to exhaust about 540° of the crankshaft pass: 90/rpm s


def arrival(time: Array, air: Array, rpm: Array, gas: float) -> Array:
    """Give the time at which what now passes a place behind the ports was in the cylinder.

    Args:
        time: s, per step.
        air: g/s through the engine.
        rpm: of the engine.
        gas: g between port and that place.
    """
    passed = np.cumsum(air) * STEP_S
    left = np.interp(passed - gas, passed, time)
    return left - STROKES / np.interp(left, time, np.maximum(rpm, 400))


def mixed(phi: Array, air: Array, gas: float) -> Array:
    """Let a gas volume mix; phi and the result per step."""
    if gas <= 0:
        return phi
    keep = np.exp(-air * STEP_S / gas).tolist()
    state = float(phi[0])
    out = np.empty(len(phi))
    for i, (value, k) in enumerate(zip(phi.tolist(), keep, strict=True)):
        state = value + (state - value) * k
        out[i] = state
    return out


def behind_catalyst(phi: Array, air: Array, capacity: float, softness: float) -> Array:
    """Let a catalyst store and give oxygen; near full or empty it lets part of it pass."""
    brings = (OXYGEN * STEP_S * air * (1 - phi)).tolist()
    edge = softness * capacity
    level = 0.5 * capacity
    kept = np.empty(len(phi))
    for i, much in enumerate(brings):
        room = capacity - level if much > 0 else level
        share = min(1.0, room / edge) if edge > 0 else float(room > 0)
        if abs(much) * share > room:
            share = room / abs(much)
        level += share * much
        kept[i] = share
    return np.asarray(1 - (1 - kept) * (1 - phi))


def reading(
    car: Car, time: Array, air: Array, rpm: Array, phi: Array, rng: np.random.Generator, leak: Array | None = None
) -> Array:
    """Give lambda as the wideband's channel holds it, per step.

    Args:
        car: what was drawn.
        time, air, rpm: s, g/s, rpm.
        phi: 1/lambda in the cylinder, of gas that is in it now.
        rng: chance.
        leak: air that is drawn in before the sensor, as a share of the engine's.
    """
    band = car.wideband
    plug = np.interp(arrival(time, air, rpm, band.gas * (1 - band.mixing)), time, phi)
    gas = mixed(plug, air, band.gas * band.mixing)
    if band.place == "catalyst":
        gas = behind_catalyst(gas, air, band.oxygen, band.softness)
    if leak is not None:
        gas = gas / (1 + leak)
    return shown(band, gas, rng)


def shown(band: Wideband, phi: Array, rng: np.random.Generator) -> Array:
    """Give what the instrument shows of a gas: range, lags, gain, noise, latency, steps."""
    value = np.clip(1 / np.maximum(phi, 0.2), 0.6, band.highest)
    for lag in band.lags:
        value = smooth(value, lag)
    late = round(band.latency / STEP_S)
    value = np.concatenate((np.full(late, value[0]), value[: len(value) - late])) if late else value
    value = value * band.gain + band.noise * rng.standard_normal(len(value))
    return np.clip(np.round(value / band.step) * band.step, 0.6, band.highest)
