"""Pulls: stretches at full throttle, each with how far its mixture was from the commanded one."""

from dataclasses import dataclass

import numpy as np

from workbench.maths.signals.gating import follows
from workbench.maths.signals.ratio import LEFT_OUT, Signals
from workbench.maths.signals.resync import period_of
from workbench.maths.signals.series import recent_largest
from workbench.model.arrays import FloatArray
from workbench.model.evidence import Delay, Samples
from workbench.model.log import Log, Role
from workbench.phrases import phrase

SHORTEST_S = 1.0
LIFT_S = 1.5  # a foot that comes up for longer ends the pull: common practice, no source
SLOWED, SPED = 0.9, 1.15  # of the engine speed over a lift in one gear: common practice, no source
GAINED = 1.6  # of the rise of engine speed so far in the pull; a lower gear comes in at once
LAGS = 3.0  # first-order lags until a sensor shows 95 % of a step
LATE_S = 1.0  # no common exhaust takes longer at full throttle: common practice, no source


NAN = float("nan")
HALF = 0.5


@dataclass(frozen=True)
class Pull:
    """One run at full throttle in one gear.

    Attributes:
        start, end: s in the log.
        low_rpm, high_rpm: engine speed over it; NaN where not logged.
        error: mean airflow ratio less 1 over its kept samples; NaN where none was kept.
        leanest: largest measured over commanded lambda (the leanest of the last second), as a ratio, whatever the gates
            say but for the air of a fuel cut; NaN where none was measured.
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


def stretches_of_pulls(seen: Signals) -> list[tuple[int, int, float]]:
    """Return first row, row after the last, and moment of a lift (NaN: none) of every pull of at least a second.

    A foot that comes up for a moment while the engine keeps its speed does not end a pull: it is the same gear. Where
    the engine has slowed down, another gear was taken, and another pull begins.
    """
    edges = np.flatnonzero(np.diff(seen.full.astype(np.int8), prepend=0, append=0))
    found: list[tuple[int, int, float]] = []
    for first, after in zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True):
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
    if seen.time[first] - seen.time[last - 1] > LIFT_S:
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
    # The wideband is late: what it reads now answers to what was asked for within the last second.
    asked = recent_largest(seen.commanded, seen.time, LATE_S)
    lean = np.where(follows(seen.cut, seen.time, LATE_S), np.nan, seen.measured / asked)
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
