"""How slow a wideband is, by what it cannot hide: its way back from air after fuel cuts, and into pulls.

A first-order sensor passes from 80 to 30 % of its way from air to mixture in lag * ln(0.8/0.3). How long readings lie
between the two is asked for, not when they pass them: its mean over many ways back is right however seldom a logger
reads. Gas that mixes in a long pipe takes its time too, the longer the less of it flows (its mass over the flow), and
a tip-in right after a cut moves the mixture itself: so lag and gas are fitted together, to the quicker ways back. A
slow sensor has none that are quick.

Where air was hardly met, pulls tell: the command steps, and at high flow gas takes no time. They also clear a sensor
that follows them quickly, behind however long a pipe.
"""

import numpy as np

from workbench.maths.signals.delay import seen_by_sensor
from workbench.maths.signals.ratio import Signals
from workbench.maths.signals.resync import period_of
from workbench.maths.signals.series import filled, row_step
from workbench.maths.verdict.pulls import stretches_of_pulls
from workbench.model.arrays import BoolArray, FloatArray
from workbench.model.evidence import Caution
from workbench.model.gate import Limits
from workbench.phrases import phrase

PURE_AIR = 1.25  # lambda that shows nothing but air: behind a catalyst its store of oxygen empties as slowly as a lag
UPPER, LOWER = 0.8, 0.3  # shares of the way back between which readings are counted
WAY_BACK_S, SHORTEST_S = 6.0, 2.5  # that a way back is followed, and must be
WAY = 0.1  # of lambda, that it must lead at least
FEWEST_READINGS = 4  # of one way back
FEWEST_RETURNS, COARSE_RETURNS = 2, 4  # ways back; more where readings are far apart
AT_ONCE_S, TOO_COARSE_S = 0.15, 1.5  # between readings: from here on they are far apart, and from there they are no use
SLOWER = 0.3  # what ways back that are slower than the fit count, beside those that are quicker
SLOWEST_GAS = 1.0  # g/s; a running engine breathes no less
MOST_GAS_G = 4.0  # that mixes before a sensor: half of what a long pipe holds (common practice, no source)
# Of the limit: from where on ways back are in doubt, from where pulls alone tell, up to where they clear a sensor.
IN_DOUBT, BY_PULLS, CLEARED = 0.6, 0.75, 0.4
PULL_S, BEFORE_S = 5.0, 0.5  # of a pull that is looked at, and before it
STEPPED = 0.06  # of the logarithm of lambda, that it must have moved in it
FEWEST_IN_PULL, FEWEST_PULLS = 6, 2
TRIED_LAGS_S = (0.05, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1.0, 1.2, 1.5, 1.8, 2.2)
TRIED_DELAYS_S = np.arange(0.0, 2.6, 0.1)
FINE_S = 0.02
FITS = 0.0125  # of the logarithm of lambda, root mean square, that a pull's fit may be off
# Times as far off on the other side: where pulls agree, where ways back are in doubt, and of a single pull.
TELLS = 1.08, 1.2, 1.3


def lazy_wideband(seen: Signals, limits: Limits) -> list[Caution]:
    """Warn where the wideband is slow."""
    lag, at = _too_long(seen, limits.wideband_lag_s)
    if np.isnan(lag):
        return []
    return [
        Caution(
            "doubt",
            phrase(
                "The wideband is slow: it follows fuel cuts and pulls with a lag of {lag:.1f} s (limit {limit:g} s). "
                "In a pull it shows the mixture of a lower engine speed; replace it before full throttle is corrected.",
                lag=lag,
                limit=limits.wideband_lag_s,
            ),
            at,
            value=lag,
            limit=limits.wideband_lag_s,
            unit="s",
        )
    ]


def _too_long(seen: Signals, limit: float) -> tuple[float, float]:
    """Return a lag beyond the limit, s, and the first moment that shows it; NaN where none is shown."""
    nothing, reading_s = (float("nan"), float("nan")), _between_readings(seen)
    if reading_s > TOO_COARSE_S:
        return nothing
    times, flows, first = _ways_back(seen)
    fine, back = reading_s <= AT_ONCE_S, _without_gas(times, flows)
    enough = times.size >= (FEWEST_RETURNS if fine else COARSE_RETURNS)
    if enough and back <= IN_DOUBT * limit:
        return nothing
    pulls, tells, many, begun = _in_pulls(seen, limit)
    if enough and back > limit:
        return nothing if fine and pulls < CLEARED * limit and tells > TELLS[1] else (back, first)
    if enough:
        both = (back + pulls) / 2
        return (both, first) if both > limit and tells > TELLS[1] else nothing
    seconded = many >= FEWEST_PULLS or (fine and back > limit)
    if seconded:
        return (pulls, begun) if pulls > BY_PULLS * limit and tells > TELLS[0] else nothing
    return (pulls, begun) if fine and pulls > limit and tells > TELLS[2] else nothing


def _between_readings(seen: Signals) -> float:
    """Return the usual time between two readings of the wideband, s; without end where there are none."""
    there = np.isfinite(seen.measured)
    if there.sum() < FEWEST_READINGS:
        return float("inf")
    period, held = period_of(seen.measured, seen.time), float(np.mean(seen.weight[there]))
    rows = row_step(seen.time[there])
    return period if np.isfinite(period) else rows / held if held > 0 else rows


def _ways_back(seen: Signals) -> tuple[FloatArray, FloatArray, float]:
    """Return what each way back from air shows as a lag, s, the airflow meanwhile, g/s, and when the first began."""
    there = np.isfinite(seen.measured)
    time, read, cut, flow = seen.time[there], seen.measured[there], seen.cut[there], filled(seen.airflow)[there]
    found = []
    for at in (np.flatnonzero(cut[:-1] & ~cut[1:]) + 1).tolist():
        end = int(np.searchsorted(time, time[at] + WAY_BACK_S))
        again = np.flatnonzero(cut[at:end])
        end = at + int(again[0]) if again.size else end
        if end - at < FEWEST_READINGS or time[end - 1] - time[at] < SHORTEST_S:
            continue
        begin = max(at - 2, 0)
        top = end - 1 - int(np.argmax((read[begin:end] >= read[begin:end].max() - 0.02)[::-1]))
        falling, when = read[top:end], time[top:end]
        low = float(np.median(falling[-max(3, falling.size // 4) :]))
        if read[begin:end].max() < PURE_AIR or not falling[0] > low + WAY:
            continue
        share = (falling - low) / (falling[0] - low)
        between: BoolArray = np.asarray((share < UPPER) & (share > LOWER))
        stood = np.diff(when, append=2 * when[-1] - when[-2]) if when.size > 1 else np.zeros(1)
        lag = float(stood[between].sum()) / float(np.log(UPPER / LOWER))
        found.append((lag, float(flow[top:end][between if between.any() else slice(3)].mean()), float(time[at])))
    if not found:
        return np.zeros(0), np.zeros(0), float("nan")
    lags, flows, moments = np.array(found).T
    return lags, flows, float(moments[0])


def _without_gas(times: FloatArray, flows: FloatArray) -> float:
    """Fit lag + gas / flow to ways back, neither less than nothing, and return the lag; NaN where there are none.

    Slow ones are weighed down: asymmetric least squares (Newey and Powell 1987, from memory).
    """
    if not times.size:
        return float("nan")
    slow_by = 1 / np.maximum(flows, SLOWEST_GAS)
    weight, lag = np.ones(times.size), 0.0
    for _ in range(30):
        total, by = weight.sum(), weight * slow_by
        spread = float((by * slow_by).sum() - by.sum() ** 2 / total)
        across = float((by * times).sum() - by.sum() * (weight * times).sum() / total)
        gas = float(np.clip(across / spread, 0.0, MOST_GAS_G)) if spread > 1e-9 else 0.0
        lag = float((weight * (times - gas * slow_by)).sum() / total)
        lag = max(lag, 0.0)
        weight = np.where(times > lag + gas * slow_by, SLOWER, 1 - SLOWER)
    return lag


def _in_pulls(seen: Signals, limit: float) -> tuple[float, float, int, float]:
    """Return the lag with which pulls are entered, s, how well they tell it, of how many, and the first, s.

    They tell it by how many times farther off a lag on the other side is: half the limit, for a small one the limit.

    NaN where no pull shows it, or none of the lags fits.
    """
    nothing = float("nan"), float("nan"), 0, float("nan")
    off, begun = [], []
    for first, after, lift in stretches_of_pulls(seen):
        if np.isnan(lift) and (fit := _entered(seen, first, after)) is not None:
            off.append(fit)
            begun.append(float(seen.time[first]))
    if not off:
        return nothing
    whole = np.sqrt(np.mean(np.square(off), axis=0))
    best = int(np.argmin(whole))
    if whole[best] > FITS:
        return nothing
    other_s = limit / 2 if TRIED_LAGS_S[best] > limit / 2 else limit
    return TRIED_LAGS_S[best], float(np.interp(other_s, TRIED_LAGS_S, whole) / whole[best]), len(off), begun[0]


def _entered(seen: Signals, first: int, after: int) -> FloatArray | None:
    """Return how far readings of a pull's beginning lie off what each lag makes of the command, shape (lags,).

    Delay, level before it, level in it and a slope are free. None where there are too few readings, or no step.
    """
    begin, end = float(seen.time[first]), min(float(seen.time[after - 1]), float(seen.time[first]) + PULL_S)
    rows = np.flatnonzero((seen.time >= begin - BEFORE_S) & (seen.time <= end) & (seen.measured > 0))
    if rows.size < FEWEST_IN_PULL:
        return None
    time, read = seen.time[rows], np.log(seen.measured[rows])
    if np.ptp(read) < STEPPED:
        return None
    fine = np.arange(begin - BEFORE_S - TRIED_DELAYS_S[-1] - 1.0, end, FINE_S)
    command = np.log(np.interp(fine, seen.time, np.maximum(filled(seen.commanded), 0.1)))
    return np.array([_off(lag, time - begin, read, fine - begin, command) for lag in TRIED_LAGS_S])


def _off(lag: float, time: FloatArray, read: FloatArray, fine: FloatArray, command: FloatArray) -> float:
    """Return the least distance of readings from a command that came with a lag, over all delays, root mean square."""
    lagged, best = seen_by_sensor(command, fine, fine, lag, FINE_S), np.inf
    for delay in TRIED_DELAYS_S:
        since = np.maximum(time - delay, 0.0)
        rise = 1 - np.exp(-since / lag)
        columns = np.stack([np.ones(time.size), rise, since - lag * rise], axis=1)
        wanted = read - np.interp(time - delay, fine, lagged)
        found, *_ = np.linalg.lstsq(columns, wanted, rcond=None)
        best = min(best, float(np.mean((wanted - columns @ found) ** 2)))
    return float(np.sqrt(best))
