"""The exhaust of the demo: gas on its way to a mixture sensor, a catalyst that stores oxygen, and a slow sensor."""

import numpy as np

from workbench.demo.scenario import STEP_S
from workbench.model.arrays import FloatArray

OXYGEN_SHARE = 0.2314  # mass share of oxygen in dry air (O2 20.95 % by volume, 31.998 / 28.965)


def leaving_time(
    airflow: FloatArray, rpm: FloatArray, fixed_s: float, cycles: float, volume_g: float, plug: bool
) -> FloatArray:
    """Describe when the gas that a sensor sees at each step left the engine, in steps, shape (steps,).

    In plug flow a parcel reaches the sensor when `volume_g` of gas has left the engine after it (tau = V rho / mdot
    while the flow is steady). Then the constant part passes. Gas that left before the log began counts as step 0.

    Args:
        airflow: g/s, shape (steps,); stands for the exhaust mass flow.
        rpm: engine speed, shape (steps,).
        fixed_s: constant part, s.
        cycles: engine cycles added to it, each 120 / rpm seconds.
        volume_g: gas between engine and sensor, g.
        plug: plug flow; otherwise each parcel takes volume over the flow at the moment it leaves.
    """
    steps = np.arange(airflow.size, dtype=np.float64)
    constant = (fixed_s + cycles * 120.0 / rpm) / STEP_S
    if plug:
        left = np.concatenate([[0.0], np.cumsum(0.5 * (airflow[1:] + airflow[:-1]) * STEP_S)])
        at_sensor = np.interp(left - volume_g, left, steps, left=0.0)
        return np.asarray(np.clip(np.interp(steps - constant, steps, at_sensor), 0.0, steps))
    arrives = np.maximum.accumulate(steps + volume_g / airflow / STEP_S + constant)
    return np.asarray(np.clip(np.interp(steps, arrives, steps, left=0.0), 0.0, steps))


def transported(values: FloatArray, leaving: FloatArray) -> FloatArray:
    """Return what arrives at the sensor: values (steps,) of the engine as they were when the gas left."""
    return np.interp(leaving, np.arange(values.size), values)


def after_catalyst(mixture: FloatArray, airflow: FloatArray, capacity_g: float) -> FloatArray:
    """Pass lambda through a store of oxygen that starts half full.

    level' = 0.2314 * airflow * (1 - 1/lambda), kept within 0..capacity; while the level moves freely 1 comes out, and
    what the store cannot take or give comes out as it is.

    Args:
        mixture: lambda entering, shape (steps,).
        airflow: g/s, shape (steps,).
        capacity_g: g of oxygen.
    """
    flow = OXYGEN_SHARE * airflow * STEP_S
    surplus = (flow * (1.0 - 1.0 / mixture)).tolist()
    level, passed = 0.5 * capacity_g, []
    for oxygen in surplus:
        wanted = level + oxygen
        level = min(max(wanted, 0.0), capacity_g)
        passed.append(wanted - level)
    return np.asarray(1.0 / (1.0 - np.array(passed) / flow))


def lagged(values: FloatArray, seconds: float) -> FloatArray:
    """Follow the values (steps,) with a first-order time constant, exactly for values that run straight between steps.

    Values held through each step would be the simpler choice, but the sensor would then be half a step early.
    """
    if seconds <= 0:
        return values
    from scipy import signal

    keep = float(np.exp(-STEP_S / seconds))
    now = 1.0 - seconds / STEP_S * (1.0 - keep)
    gains = [now, 1.0 - keep - now]
    followed, _ = signal.lfilter(gains, [1.0, -keep], values, zi=[values[0] * (1.0 - now)])
    return np.asarray(followed)
