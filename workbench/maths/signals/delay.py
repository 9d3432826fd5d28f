"""When the wideband sees the mixture: plug flow through the exhaust, then a first-order sensor.

Transport: gas that left the engine at time s arrives at t when the mass that flowed in between fills the pipe:
M(t - fixed) - M(s) = volume_g, M being the integral of airflow (plug flow; for steady flow this is
fixed + volume / flow). The sensor then follows y' = (x - y) / lag. Both are applied to the model, never taken back
out of the measurement, so noise is not amplified and transients become information.
"""

import numpy as np

from workbench.model.arrays import FloatArray

UNEVEN, UNEVEN_SHARE = 0.3, 0.1  # of the usual step, and of the steps: more than clocks jitter
MOST_EVEN = 4  # even rows for one that was logged; past it the log is mostly holes


def source_times(time: FloatArray, airflow: FloatArray, fixed_s: float, volume_g: float) -> FloatArray:
    """Return for every row the moment at which the gas that the sensor meets had left the engine, s.

    Args:
        time: s, shape (rows,), not falling.
        airflow: g/s, positive, shape (rows,).
        fixed_s: part that does not depend on flow, s.
        volume_g: gas between engine and sensor, g.
    """
    steps = np.diff(time, prepend=time[0])
    # A hole in the log is no flow that anyone knows of; the delay never spans more than a second of it.
    mass = np.cumsum(np.clip(steps, 0.0, 1.0) * airflow)
    mass += np.arange(mass.size) * 1e-12  # strictly rising, for the inverse
    at = np.interp(time - fixed_s, time, mass) - volume_g
    before = np.interp(at, mass, time)
    # Before the first row the flow is taken as it was there.
    early = at < mass[0]
    before[early] = time[0] + (at[early] - mass[0]) / airflow[0]
    return before


def seen_by_sensor(values: FloatArray, time: FloatArray, source: FloatArray, lag_s: float, step_s: float) -> FloatArray:
    """Carry a signal at the engine to the sensor's output.

    Args:
        values: at the engine, shape (rows,), finite.
        time: s, shape (rows,).
        source: from `source_times`.
        lag_s: first-order time constant, s.
        step_s: typical time between rows, s.
    """
    from scipy import signal

    arrived = np.interp(source, time, values)
    if lag_s <= 0 or lag_s < 0.05 * step_s:
        return arrived
    if _is_uneven(time, step_s):
        even = np.arange(time[0], time[-1] + step_s, step_s)
        if even.size <= MOST_EVEN * time.size:
            return np.interp(time, even, seen_by_sensor(np.interp(even, time, arrived), even, even, lag_s, step_s))
    keep = float(np.exp(-step_s / lag_s))
    # Exact for an input that runs straight between rows (ramp-invariant first-order hold).
    gain_now = 1 - lag_s / step_s * (1 - keep)
    gain_before = lag_s / step_s * (1 - keep) - keep
    out, _ = signal.lfilter([gain_now, gain_before], [1.0, -keep], arrived, zi=[arrived[0] - gain_now * arrived[0]])
    lagged: FloatArray = out
    return lagged


def _is_uneven(time: FloatArray, step_s: float) -> bool:
    """Return whether rows come at no even pace, as where channels with times of their own share them."""
    steps = np.diff(time)
    return steps.size > 0 and float(np.mean(np.abs(steps - step_s) > UNEVEN * step_s)) > UNEVEN_SHARE
