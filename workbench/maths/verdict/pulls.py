"""Pulls: stretches at full throttle, each with how far its mixture was from the commanded one."""

from dataclasses import dataclass

import numpy as np

from workbench.maths.signals.ratio import LEFT_OUT, Signals
from workbench.maths.signals.resync import period_of
from workbench.maths.signals.series import recent_largest, row_step, runs
from workbench.model.arrays import BoolArray, FloatArray
from workbench.model.evidence import Delay, Samples
from workbench.model.log import Log, Role
from workbench.phrases import phrase

SHORTEST_S = 1.0
LIFT_S = 1.5  # a foot that comes up for longer ends the pull: common practice, no source
SLOWED, SPED = 0.9, 1.15  # of the engine speed over a lift in one gear: common practice, no source
GAINED = 1.6  # of the rise of engine speed so far in the pull; a lower gear comes in at once
LAGS = 3.0  # first-order lags until a sensor shows 95 % of a step
LATE_S = 1.0  # no common exhaust takes longer at full throttle: common practice, no source
CHANGED = 0.03  # by so much a command was leaner a second ago that has changed since
FALLS, FALLS_S, READINGS = 0.02, 1.0, 2.2  # a reading on its way comes down by so much in so long, or in two readings
STORED = 0.02  # so near 1 a reading behind a catalyst stays while its store of oxygen empties
PASSES_S = 3.0  # as long as either can last


NAN = float("nan")
HALF = 0.5


@dataclass(frozen=True)
class Pull:
    """One run at full throttle in one gear.

    Attributes:
        start, end: s in the log.
        low_rpm, high_rpm: engine speed over it; NaN where not logged.
        error: mean airflow ratio less 1 over its kept samples; NaN where none was kept.
        leanest: largest measured over commanded lambda (the leanest of the last second), as a ratio, of the readings
            that answer to it, whatever the gates say; NaN where there is none.
        samples: how many were kept.
        slope: mean rise of the engine speed, rpm/s: the gear shows in it.
        settled_from: s in the log from which the wideband answers to this pull alone: change of loop, delay and lag.
        worst: kept sample farthest off in the settled part, airflow ratio less 1.
        leanest_at, leanest_rpm, leanest_flow: moment, engine speed and airflow (g/s) of the leanest reading.
        lifted_at: s in the log at which the foot came up in it; NaN where it did not.
        left_out: whether it was left out of the evidence by name.
    """

    start: float
    end: float
    low_rpm: float
    high_rpm: float
    error: float
    leanest: float
    samples: int
    slope: float = NAN
    settled_from: float = NAN
    worst: float = NAN
    leanest_at: float = NAN
    leanest_rpm: float = NAN
    leanest_flow: float = NAN
    lifted_at: float = NAN
    left_out: bool = False

    @property
    def lifted(self) -> bool:
        """Whether the throttle was eased in the middle of it: its samples around that are no full throttle."""
        return bool(np.isfinite(self.lifted_at))


def too_slow(log: Log) -> str:
    """Warn where throttle or mixture are renewed too seldom to show a pull; empty where they are not."""
    slow = {}
    roles: tuple[Role, ...] = ("throttle", "lambda_measured")
    for role in roles:
        values = log.playing(role)
        period = period_of(values, log.time.values) if values is not None else float("nan")
        if period > LATE_S:
            slow[role.replace("_", " ")] = period
    if not slow:
        return ""
    listed = " and ".join(
        phrase("{name} every {period:.2g} s", name=name, period=period) for name, period in slow.items()
    )
    return phrase(
        "The logger repeats values between readings: {listed}. Pulls cannot be judged at "
        "that rate: log fewer channels, and treat full-throttle results with care.",
        listed=listed,
    )


def over_command(seen: Signals) -> FloatArray:
    """Return measured over commanded lambda, shape (rows,).

    A wideband is late, so that the leanest that was asked for within the last second counts.
    """
    return np.asarray(seen.measured / recent_largest(seen.commanded, seen.time, LATE_S))


def answers(seen: Signals) -> BoolArray:
    """Mark the rows at full throttle whose reading answers to it, and not to what went before, shape (rows,).

    Gas of an overrun stands in the exhaust until the pull drives it to the wideband, which then needs its lag to come
    down from air; a catalyst holds a reading at 1 until its store is empty. So nothing counts in the first second or
    the one after the command changed, and then no reading at 1 and none that still falls, as long as that can last.
    """
    asked = recent_largest(seen.commanded, seen.time, LATE_S)
    late = np.zeros(seen.time.size, dtype=np.bool_)
    for first, after in runs(seen.full):
        late[first:after] = seen.time[first:after] > seen.time[first] + LATE_S
    settled = late & ~(asked > seen.commanded * (1 + CHANGED))
    held, ratio = np.abs(seen.measured - 1) < STORED, over_command(seen)
    period = period_of(seen.measured, seen.time)
    ahead = max(FALLS_S, READINGS * period if np.isfinite(period) else 0.0)
    marked = np.zeros(seen.time.size, dtype=np.bool_)
    for first, after in runs(settled):
        last = min(int(np.searchsorted(seen.time, seen.time[first] + PASSES_S)), after)
        low = _lowest_within(ratio[:after], seen.time[:after], (first, last), ahead)
        passing = held[first:last] | ~(ratio[first:last] - low < FALLS)
        marked[first + int(np.argmin(np.append(passing, False))) : after] = True
    return marked


def _lowest_within(values: FloatArray, time: FloatArray, rows: tuple[int, int], seconds: float) -> FloatArray:
    """Return the lowest value from each of some rows on within a time, shape of those rows."""
    whole = np.where(np.isfinite(values), values, np.inf)
    ends = np.searchsorted(time, time[slice(*rows)] + seconds, side="right")
    return np.array([whole[row:end].min() for row, end in zip(range(*rows), ends.tolist(), strict=True)])


def stretches_of_pulls(seen: Signals) -> list[tuple[int, int, float]]:
    """Return first row, row after the last, and moment of a lift (NaN: none) of every pull of at least a second.

    A foot that comes up for a moment while the engine keeps its speed does not end a pull: it is the same gear. Where
    the engine has slowed down, another gear was taken, and another pull begins.
    """
    found: list[tuple[int, int, float]] = []
    for first, after in runs(seen.full):
        if found and _same_gear(seen, found[-1][0], found[-1][1], first):
            begin, last, lift = found[-1]
            found[-1] = (begin, after, lift if np.isfinite(lift) else float(seen.time[last]))
        else:
            found.append((first, after, NAN))
    return [each for each in found if seen.time[each[1] - 1] - seen.time[each[0]] >= SHORTEST_S]


def is_left_out(seen: Signals, first: int, after: int) -> bool:
    """Tell whether most of a stretch of rows was left out of the evidence by name."""
    return LEFT_OUT in seen.outside and bool(seen.outside[LEFT_OUT][first:after].mean() > HALF)


def _same_gear(seen: Signals, begin: int, last: int, first: int) -> bool:
    """Tell whether a pull that paused goes on in its gear: no slower, and no faster than it was accelerating.

    A polled channel repeats what it read, so both throttle and engine speed may be older than their rows.
    """
    if seen.time[first] - seen.time[last - 1] > LIFT_S + row_step(seen.time):
        return False
    before, now = seen.speed[last - 1], seen.speed[first]
    if not (np.isfinite(before) and np.isfinite(now)):
        return True
    read = int(np.flatnonzero(seen.speed[begin:last] == before)[0]) + begin  # when that speed was first read
    rose, lasted = before - seen.speed[begin], seen.time[read] - seen.time[begin]
    gained = GAINED * rose / lasted * (seen.time[first] - seen.time[read]) if lasted > 0 and rose > 0 else 0.0
    return bool(SLOWED * before <= now <= max(SPED * before, before + gained))


def find_pulls(seen: Signals, samples: Samples, delay: Delay | None = None) -> tuple[Pull, ...]:
    """Find the pulls of a drive of at least a second, in order of time.

    Args:
        seen: the drive.
        samples: that were kept of it.
        delay: of its wideband, where that is known.
    """
    lean = np.where(answers(seen), over_command(seen), np.nan)
    return tuple(_pull(seen, samples, delay, lean, *each) for each in stretches_of_pulls(seen))


def _pull(
    seen: Signals, samples: Samples, delay: Delay | None, lean: FloatArray, first: int, after: int, lifted: float
) -> Pull:
    start, end = float(seen.time[first]), float(seen.time[after - 1])
    flow = seen.airflow[first:after]
    usual = float(np.nanmedian(flow)) if np.isfinite(flow).any() else NAN
    late = LATE_S if delay is None or not usual > 0 else delay.fixed_s + delay.volume_g / usual + LAGS * delay.lag_s
    inside = (samples.rows >= first) & (samples.rows < after)
    ratio, when = samples.ratio[inside], seen.time[samples.rows[inside]]
    settled = ratio[when >= start + late]
    speed, within = seen.speed[first:after], lean[first:after]
    logged = bool(np.isfinite(speed).any())
    leanest = int(np.nanargmax(within)) if np.isfinite(within).any() else -1
    return Pull(
        start=start,
        end=end,
        low_rpm=float(np.nanmin(speed)) if logged else NAN,
        high_rpm=float(np.nanmax(speed)) if logged else NAN,
        error=float(np.mean(ratio) - 1) if ratio.size else NAN,
        leanest=float(within[leanest]) if leanest >= 0 else NAN,
        samples=int(ratio.size),
        slope=float(np.nanmax(speed) - np.nanmin(speed)) / (end - start) if logged and end > start else NAN,
        settled_from=start + late,
        worst=float(settled[np.argmax(np.abs(settled - 1))] - 1) if settled.size else NAN,
        leanest_at=float(seen.time[first + leanest]) if leanest >= 0 else NAN,
        leanest_rpm=float(speed[leanest]) if leanest >= 0 else NAN,
        leanest_flow=float(flow[leanest]) if leanest >= 0 else NAN,
        lifted_at=lifted,
        left_out=is_left_out(seen, first, after),
    )
