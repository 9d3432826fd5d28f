"""Channels that hold their value between renewals, put back on one clock."""

import numpy as np

from workbench.maths.signals.sample_hold import renewal_period, renewals
from workbench.maths.signals.series import row_step
from workbench.model.arrays import FloatArray
from workbench.model.log import Log, Role
from workbench.model.series import bridged, series_of, written_on_change


def level(values: FloatArray, time: FloatArray, role: Role | None = None, *, on_change: bool = False) -> FloatArray:
    """Return a channel at every row at which it is known, whether it holds its values or has rows without one.

    Args:
        values: shape (rows,), NaN where missing.
        time: s, shape (rows,), not falling.
        role: what it is used for.
        on_change: whether the whole log is written only where something changed.
    """
    if np.isfinite(values).all():
        return continuous(values, time)
    if on_change:
        return bridged(values, time, role, on_change=True)
    read = renewals(values, time)
    return bridged(np.where(read, values, np.nan), time, role, on_change=on_change)


def played(log: Log, role: Role) -> FloatArray | None:
    """Return the channel that plays a role at every row at which it is known, shape (rows,); None where none does."""
    values = log.playing(role)
    return None if values is None else level(values, log.time.values, role, on_change=written_on_change(log))


def period_of(values: FloatArray, time: FloatArray) -> float:
    """Return the usual time between two readings, s, of a channel that is not read at every row; NaN of one that is."""
    period = renewal_period(values, time)
    if np.isfinite(period) or np.isfinite(values).all() or not np.isfinite(values).any():
        return period
    own, rows = series_of(values, time).period, row_step(time)
    return own if own > 1.5 * rows else float("nan")


def continuous(values: FloatArray, time: FloatArray) -> FloatArray:
    """Undo the holding of a channel that is renewed more slowly than rows are written.

    Between two renewals the quantity moved; the old value was last true one renewal period before the new one was
    read. So the value runs straight from there to the renewal, and stays where it was before that.

    Args:
        values: shape (rows,), NaN where missing.
        time: s, shape (rows,), not falling.

    Returns:
        Values, shape (rows,); the same array where the channel is not held.
    """
    period = renewal_period(values, time)
    if not np.isfinite(period):
        return values
    changed = np.flatnonzero(renewals(values, time))
    if changed.size < 2:
        return values
    new_time, new_value = time[changed], values[changed]
    old_time = np.maximum(new_time[1:] - period, new_time[:-1])
    times = np.empty(2 * changed.size - 1)
    points = np.empty_like(times)
    times[0], points[0] = new_time[0], new_value[0]
    times[1::2], points[1::2] = old_time, new_value[:-1]
    times[2::2], points[2::2] = new_time[1:], new_value[1:]
    whole = np.isfinite(points)
    filled = np.interp(time, times[whole], points[whole])
    filled[np.isnan(values)] = np.nan
    return filled


def reading_weight(channels: list[FloatArray], time: FloatArray) -> FloatArray:
    """Return how much of an independent reading each row is: its duration over the slowest renewal, at most 1.

    Args:
        channels: those a sample is made of, each of shape (rows,).
        time: s, shape (rows,).
    """
    periods = [period for period in (renewal_period(values, time) for values in channels) if np.isfinite(period)]
    if not periods or time.size < 2:
        return np.ones(time.size)
    duration = np.diff(time, append=time[-1])
    return np.clip(duration / max(periods), 0.0, 1.0)
