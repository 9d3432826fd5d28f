"""Cautions about the mixture under load: lean pulls, lean spikes and lifts in a pull, lean at part throttle."""

import numpy as np

from workbench.maths.cautions.spans import changes, stretches
from workbench.maths.signals.gating import follows
from workbench.maths.signals.ratio import Signals
from workbench.maths.signals.series import carried, recent_largest
from workbench.maths.verdict.pulls import LATE_S, answers, is_left_out, over_command, stretches_of_pulls
from workbench.model.arrays import BoolArray, FloatArray
from workbench.model.evidence import Caution
from workbench.model.gate import Limits
from workbench.phrases import join_phrases, phrase

LEANEST = 1.5  # of the command; gasoline does not burn beyond
TOO_LEAN = 1.2  # of the command; a changed intake seldom makes a table as wrong as that. Common practice, no source.
SPIKE_WINDOW_S = 1.5  # to either side, over which a pull's own mixture is taken
FEWEST_AROUND = 4  # readings
CARRIED_S = 1.5  # a reading says nothing of what comes later: common practice, no source
SHORTEST_SPIKE_S = 0.25
STALE = 2  # readings by which measured and commanded lambda may be apart where they are polled in turn
SINGLE = 2.0  # times the limit, from which one reading of a slowly polled sensor is enough
CLEARLY, OF_SCATTER = 1.5, 8.0  # or from so many, where it stands out of the others by so many times their usual size
ENRICHED, ENRICHED_S = 0.05, 2.0  # drop of the command, and how long after it a pull counts as settling
BACK = 0.4  # of its height, to which a spike must come back within the pull
LOADED = 0.75  # of the air per revolution at full throttle, or of the barometer
AIR_KPA = 100.0


def lean_pulls(seen: Signals, limits: Limits, spikes: BoolArray) -> list[Caution]:
    """Warn where full throttle ran leaner than commanded.

    Args:
        seen: the drive.
        limits: of the session.
        spikes: rows of which a caution of their own tells.
    """
    ratio = over_command(seen)
    lean = answers(seen) & ~spikes & (ratio > 1 + limits.lean)
    spans = _while_read(seen, lean, limits.lean_s)
    if not spans:
        return []
    worst = float(np.nanmax(np.where(lean, ratio, np.nan)))
    if worst > LEANEST:
        sentence = phrase(
            "At full throttle measured and commanded mixture differ by a factor of {worst:.3g}: the engine misfires "
            "there, or one of the two channels is wrong. Do not repeat it before the cause is known.",
            worst=worst,
        )
    else:
        ran = phrase(
            "Full throttle ran more than {limit:.0f} % leaner than commanded for {spans:.1f} s in all. The worst "
            "moment was {worst:.0f} % leaner, at {at:.1f} s.",
            limit=100 * limits.lean,
            worst=100 * (worst - 1),
            spans=sum(end - start for start, end in spans),
            at=float(seen.time[np.nanargmax(np.where(lean, ratio, np.nan))]),
        )
        seldom = "So much is seldom the table alone: look at fuel pressure, pump, filter and injectors first."
        then = "Do not repeat it before the table is corrected there."
        sentence = join_phrases(" ", (ran, *((seldom,) if worst > TOO_LEAN else ()), then))
    return [
        Caution(
            "danger", sentence, spans[0][0], passes=worst <= LEANEST, until=spans[-1][1], value=worst - 1,
            limit=limits.lean, unit="of lambda",
        )
    ]  # fmt: skip


def _while_read(seen: Signals, lean: BoolArray, shortest_s: float) -> list[tuple[float, float]]:
    """Return start and end, s, of what lasts long enough where a reading stands until the next; one is not enough."""
    read = np.isfinite(seen.measured)
    stands = carried(np.where(read, lean, np.nan), seen.time, CARRIED_S) > 0
    when = seen.time[read & lean]
    return [
        (start, end)
        for start, end in stretches(stands, seen.time, shortest_s)
        if np.searchsorted(when, end, side="right") - np.searchsorted(when, start) > 1
    ]


def lean_spikes(seen: Signals, limits: Limits) -> list[tuple[Caution, tuple[int, int]]]:
    """Find where the mixture of a pull jumps lean and comes back: that is no table.

    A table's error changes slowly along a pull, so each reading is held against the median of those within a second and
    a half around it. What begins before the wideband answers to the pull does not count, nor what lasts until its end.

    Returns:
        Each caution with its first row and the one after its last.
    """
    ratio, found = over_command(seen), []
    # Enrichment that begins late in a pull reaches the wideband later still.
    settled = recent_largest(seen.commanded, seen.time, ENRICHED_S) <= seen.commanded * (1 + ENRICHED)
    for first, after, lift in stretches_of_pulls(seen):
        rows = first + changes(ratio[first:after])
        apart = float(np.median(np.diff(seen.time[rows]))) if rows.size > 1 else 0.0
        rows = rows[(seen.time[rows] >= seen.time[first] + LATE_S + STALE * apart) & seen.full[rows] & settled[rows]]
        if np.isfinite(lift):
            rows = rows[(seen.time[rows] < lift) | (seen.time[rows] > lift + 2 * LATE_S)]
        if rows.size <= FEWEST_AROUND:
            continue
        time, beyond = seen.time[rows], _beyond(ratio[rows], seen.time[rows])
        high, usual = np.flatnonzero(beyond > limits.spike), float(np.median(np.abs(beyond)))
        for run in np.split(high, np.flatnonzero(np.diff(high) > 1) + 1) if high.size else ():
            top = float(beyond[run].max())
            back = np.flatnonzero(beyond[run[-1] + 1 :] < BACK * top)
            lasted = float(time[run[-1]] - time[run[0]]) + apart
            alone = top >= SINGLE * limits.spike or top >= max(CLEARLY * limits.spike, OF_SCATTER * usual)
            fewest = 1 if alone and apart >= SHORTEST_SPIKE_S else 2
            if run.size < fewest or lasted < SHORTEST_SPIKE_S or run[0] == 0 or not back.size:
                continue
            begin, end = int(rows[run[0]]), int(rows[run[-1]])
            found.append((_spike(seen, begin, end, top, limits, lasted), (begin, end + 1)))
    return found


def _beyond(ratio: FloatArray, time: FloatArray) -> FloatArray:
    """Return by how much each reading is leaner than the median around it, as a ratio, shape of the readings."""
    low, high = (np.searchsorted(time, time + side * SPIKE_WINDOW_S) for side in (-1, 1))
    usual = np.array(
        [np.median(ratio[a:b]) if b - a >= FEWEST_AROUND else np.inf for a, b in zip(low, high, strict=True)]
    )
    return np.asarray(ratio / usual - 1)


def _spike(seen: Signals, begin: int, end: int, top: float, limits: Limits, lasted: float) -> Caution:
    at = float(seen.time[begin])
    speed = phrase(" at {speed:.0f} rpm", speed=seen.speed[begin]) if np.isfinite(seen.speed[begin]) else ""
    return Caution(
        "danger",
        phrase(
            "The mixture jumped {top:.0f} % leaner for {lasted:.1f} s in a pull, at {at:.1f} s{speed}, and came back: "
            "fuel supply, injector or misfire, not the table. Find the cause before the next pull, and leave this "
            "one out.",
            top=100 * top,
            lasted=lasted,
            at=at,
            speed=speed,
        ),
        at,
        passes=True,
        until=float(seen.time[end]),
        value=top,
        limit=limits.spike,
        unit="of lambda",
    )  # fmt: skip


def lean_under_load(seen: Signals, running: BoolArray, pressure: FloatArray | None, limits: Limits) -> list[Caution]:
    """Warn where the engine worked hard at part throttle and ran leaner than commanded for more than a moment."""
    ratio = over_command(seen)
    with np.errstate(divide="ignore", invalid="ignore"):
        breath = seen.airflow / seen.speed
    most = float(np.nanmedian(breath[seen.full])) if np.isfinite(breath[seen.full]).any() else float("nan")
    loaded = breath > LOADED * most if np.isfinite(most) else np.zeros(ratio.size, dtype=np.bool_)
    if pressure is not None:
        loaded = loaded | (pressure > LOADED * AIR_KPA)
    lean = (
        loaded
        & running
        & ~seen.full
        & ~follows(seen.full | seen.cut, seen.time, 2 * LATE_S)
        & (ratio > 1 + limits.lean)
    )
    spans = _while_read(seen, lean, limits.load_lean_s)
    if not spans:
        return []
    inside = np.zeros(ratio.size, dtype=np.bool_)
    for start, end in spans:
        inside |= (seen.time >= start) & (seen.time <= end)
    worst = float(np.nanmax(ratio[inside & lean])) - 1
    return [
        Caution(
            "danger",
            phrase(
                "Under load at part throttle the mixture ran more than {limit:.0f} % leaner than commanded for up to "
                "{lasted:.1f} s at a time. The worst moment was {worst:.0f} % leaner. Go easy there before the table "
                "is corrected.",
                limit=100 * limits.lean,
                worst=100 * worst,
                lasted=max(end - start for start, end in spans),
            ),
            spans[0][0],
            passes=True,
            until=spans[-1][1],
            value=worst,
            limit=limits.lean,
            unit="of lambda",
        )
    ]


def lifted_pulls(seen: Signals) -> list[Caution]:
    """Warn where the foot came up in the middle of a pull that counts."""
    return [
        Caution(
            "doubt",
            phrase(
                "The throttle was lifted at {at:.1f} s in the pull from {start:.1f} to {end:.1f} s: the readings "
                "around that are not full throttle. Leave the pull out, and repeat it.",
                at=lift,
                start=float(seen.time[first]),
                end=float(seen.time[after - 1]),
            ),
            lift,
            passes=True,
        )
        for first, after, lift in stretches_of_pulls(seen)
        if np.isfinite(lift) and not is_left_out(seen, first, after)
    ]
