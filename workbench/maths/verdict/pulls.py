"""Pulls: stretches at full throttle, each with how far its mixture was from the commanded one."""

from dataclasses import dataclass

import numpy as np

from workbench.maths.signals.gating import follows
from workbench.maths.signals.ratio import Signals
from workbench.maths.signals.resync import period_of
from workbench.maths.signals.series import recent_largest
from workbench.model.evidence import Samples
from workbench.model.log import Log, Role
from workbench.phrases import phrase

SHORTEST_S = 1.0
LATE_S = 1.0  # no common exhaust takes longer at full throttle: common practice, no source


@dataclass(frozen=True)
class Pull:
    """One run at full throttle.

    Attributes:
        start, end: s in the log.
        low_rpm, high_rpm: engine speed over it; NaN where not logged.
        error: mean airflow ratio less 1 over its kept samples; NaN where none was kept.
        leanest: largest measured over commanded lambda (the leanest of the last second), as a ratio, whatever the gates
            say but for the air of a fuel cut; NaN where none was measured.
        samples: how many were kept.
        leanest_at, leanest_rpm: when that was, s in the log, and at which engine speed; NaN where not known.
    """

    start: float
    end: float
    low_rpm: float
    high_rpm: float
    error: float
    leanest: float
    samples: int
    leanest_at: float = float("nan")
    leanest_rpm: float = float("nan")


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


def find_pulls(seen: Signals, samples: Samples) -> tuple[Pull, ...]:
    """Find the pulls of a drive of at least a second, in order of time."""
    edges = np.flatnonzero(np.diff(seen.full.astype(np.int8), prepend=0, append=0))
    # The wideband is late: what it reads now answers to what was asked for within the last second.
    asked = recent_largest(seen.commanded, seen.time, LATE_S)
    lean = np.where(follows(seen.cut, seen.time, LATE_S), np.nan, seen.measured / asked)
    pulls = []
    for first, after in zip(edges[::2], edges[1::2], strict=True):
        start, end = float(seen.time[first]), float(seen.time[after - 1])
        if end - start < SHORTEST_S:
            continue
        inside = (samples.rows >= first) & (samples.rows < after)
        ratio, speed, within = samples.ratio[inside], seen.speed[first:after], lean[first:after]
        worst = int(np.nanargmax(within)) if np.isfinite(within).any() else -1
        pulls.append(
            Pull(
                start=start,
                end=end,
                low_rpm=float(np.nanmin(speed)) if np.isfinite(speed).any() else float("nan"),
                high_rpm=float(np.nanmax(speed)) if np.isfinite(speed).any() else float("nan"),
                error=float(np.mean(ratio) - 1) if ratio.size else float("nan"),
                leanest=float(np.nanmax(within)) if np.isfinite(within).any() else float("nan"),
                samples=int(ratio.size),
                leanest_at=float(seen.time[first + worst]) if worst >= 0 else float("nan"),
                leanest_rpm=float(speed[worst]) if worst >= 0 else float("nan"),
            )
        )
    return tuple(pulls)
