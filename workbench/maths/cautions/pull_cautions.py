"""Cautions about the mixture under load: lean pulls, lean spikes and lifts in a pull, lean at part throttle."""

import numpy as np

from workbench.maths.cautions.spans import changes, stretches, worst_moment
from workbench.maths.signals.gating import follows
from workbench.maths.signals.ratio import Signals
from workbench.maths.signals.series import carried, filled, recent_largest, row_step, runs
from workbench.maths.verdict.pulls import LATE_S, answers, is_left_out, over_command, stretches_of_pulls
from workbench.model.arrays import BoolArray, FloatArray, IntArray
from workbench.model.evidence import Caution
from workbench.model.gate import Limits
from workbench.phrases import join_phrases, phrase

LEANEST = 1.5  # of the command; gasoline does not burn beyond
TOO_LEAN = 1.2  # of the command; a changed intake seldom makes a table as wrong as that. Common practice, no source.
SPIKE_WINDOW_S = 2.0  # to either side, within which a spike comes and goes
SPIKE_S = 0.4  # that a spike lasts as a rule; readings farther apart show part of it (common practice, no source),
LEAST_SHOWN = 0.5  # of which no less than this is believed
SHORTEST_SPIKE_S = 0.25  # and readings closer than this must show it for as long
OF_HEIGHT = 0.5  # from which on a reading belongs to a spike
WEIGHS_NOTHING = 0.01  # of a reading
CARRIED_S = 1.5  # a reading says nothing of what comes later: common practice, no source
LOADED, LIGHT = 0.75, 0.5  # of the air per revolution at full throttle, or of the barometer: from, and below
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
    worst_at = worst_moment(ratio, lean, seen.time)
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
            at=worst_at,
        )
        seldom = "So much is seldom the table alone: look at fuel pressure, pump, filter and injectors first."
        then = "Do not repeat it before the table is corrected there."
        sentence = join_phrases(" ", (ran, *((seldom,) if worst > TOO_LEAN else ()), then))
    return [
        Caution(
            "danger", sentence, spans[0][0], passes=worst <= LEANEST, until=spans[-1][1], value=worst - 1,
            limit=limits.lean, unit="of lambda", worst_at=worst_at,
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

    A table's error changes slowly along a pull. So a spike is as high as the lower of its two flanks within two
    seconds, both as it was read and over the command, which steps and falls in a pull, less what the trims took away
    for a moment just before: a long trim steps from one learning cell to the next. What begins before the wideband
    answers to the pull does not count, nor what lasts until its end.

    Returns:
        Each caution with its first row and the one after its last.
    """
    ratio, answered, found = over_command(seen), answers(seen), []
    taken = np.log(recent_largest(1 / filled(seen.fuel), seen.time, LATE_S))
    for first, after, lift in stretches_of_pulls(seen):
        rows = first + changes(seen.measured[first:after])
        rows = rows[(rows >= first + int(np.argmax(answered[first:after]))) & seen.full[rows]]
        if np.isfinite(lift):
            rows = rows[(seen.time[rows] < lift) | (seen.time[rows] > lift + 2 * LATE_S)]
        if rows.size <= 2 or not answered[first:after].any():
            continue
        apart = _apart(seen, rows)
        time, pair = seen.time[rows], (np.log(seen.measured[rows]), np.log(ratio[rows]))
        near_s = max(SPIKE_WINDOW_S, 1.1 * apart)
        height = np.maximum(_heights(time, pair, near_s) - _heights(time, (taken[rows],), near_s), 0.0)
        least = float(np.log1p(limits.spike)) * float(np.clip(SPIKE_S / apart, LEAST_SHOWN, 1.0))
        while (top := float(height.max())) > least:
            at = int(height.argmax())
            low, high = _belonging(height > OF_HEIGHT * top, at)
            lasted = float(time[high - 1] - time[low]) + apart
            if lasted >= SHORTEST_SPIKE_S and (high - low > 1 or apart >= SHORTEST_SPIKE_S):
                begin, end = int(rows[low]), int(rows[high - 1])
                found.append((_spike(seen, begin, end, float(np.expm1(top)), limits, lasted), (begin, end + 1)))
            height[np.abs(time - time[at]) <= SPIKE_WINDOW_S] = 0.0
    return sorted(found, key=lambda each: each[1])


def _apart(seen: Signals, rows: IntArray) -> float:
    """Return the usual time between readings of their own at some rows, s: held values were made to run straight."""
    held = row_step(seen.time) / max(float(np.mean(seen.weight[rows])), WEIGHS_NOTHING)
    return max(float(np.median(np.diff(seen.time[rows]))), held)


def _heights(time: FloatArray, every: tuple[FloatArray, ...], window_s: float) -> FloatArray:
    """Return by how much each reading stands above the lower of its flanks, in each of some series, shape of the time.

    Zero where it has readings to one side alone.
    """
    low, high = (np.searchsorted(time, time + side * window_s) for side in (-1, 1))
    height = np.zeros(time.size)
    for row, (begin, end) in enumerate(zip(low.tolist(), high.tolist(), strict=True)):
        over = np.min([series[row] - series[begin:end] for series in every], axis=0)
        before, after = over[: row - begin], over[row - begin + 1 :]
        if before.size and after.size:
            height[row] = max(min(before.max(), after.max()), 0.0)
    return height


def _belonging(marked: BoolArray, at: int) -> tuple[int, int]:
    """Return first row and the one after the last of the stretch of marked rows around one."""
    return next((first, after) for first, after in runs(marked) if first <= at < after)


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
    light = breath < LIGHT * most
    if pressure is not None:
        loaded, light = loaded | (pressure > LOADED * AIR_KPA), light | (pressure < LIGHT * AIR_KPA)
    lean = (
        loaded
        & running
        & ~seen.full
        & ~follows(seen.full | seen.cut, seen.time, 2 * LATE_S)
        & ~follows(
            light, seen.time, LATE_S
        )  # what is read then left the engine while the throttle was shut, as between gears
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
            worst_at=worst_moment(ratio, inside & lean, seen.time),
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
