"""Time stamps made into a clock that does not fall: only what is certain is repaired, and all of it is told."""

from dataclasses import dataclass

import numpy as np

from workbench.model.arrays import BoolArray, FloatArray, IntArray
from workbench.model.counting import counted
from workbench.phrases import phrase

DAY = 86400.0
TURNS = (DAY, DAY / 2, 3600.0)  # s, after which clocks begin anew
LEAP = 366 * DAY  # s between two rows; no clock that runs passes as much while one file is written
PAUSE = 60.0  # s put between two trips whose true distance is not known
SMALL_STEP_BACK = 2.0  # s; a clock that was set back, not one that began anew
AT_ONCE = 10.0  # s; a clock that goes on behind a turn leaves out no more
COUNTER_BITS, COUNTER_STEPS = (8, 12, 15, 16, 24, 31, 32), (1e-6, 1e-5, 1e-4, 1e-3, 0.01, 0.1, 1.0)  # s of a count
FEWEST_COUNTED = 200  # usual steps until a counter is full; sooner, a drive may have begun anew
FULL_AT_ONCE = 3.0  # usual steps from the last count of a full counter to the first one after it
WINDOW = 12  # stamps on either side that tell the pace of the rows


@dataclass(frozen=True, eq=False)
class Clock:
    """Times of the rows that have one.

    Attributes:
        time: s, shape (kept,), not falling.
        kept: which rows have a time, shape (rows,).
        notes: what was repaired, as sentences.
    """

    time: FloatArray
    kept: BoolArray
    notes: tuple[str, ...]

    @property
    def seconds(self) -> float:
        """Give how long it runs, s."""
        return float(self.time[-1] - self.time[0]) if self.time.size else 0.0


def make_clock(stamps: FloatArray, *, of_day: bool = False) -> Clock:
    """Make a clock from stamps in seconds.

    Args:
        stamps: shape (rows,), NaN where a row has none.
        of_day: whether they count from midnight, and so begin again there.
    """
    kept = np.isfinite(stamps)
    time = stamps[kept].copy()
    notes = []
    if lost := int(stamps.size - time.size):
        notes.append(phrase("{rows} without a time stamp dropped.", rows=counted(lost, "row")))
    if of_day:
        time, note = _over_midnight(time)
        notes += note
    time, note = _over_the_count(time)
    notes += note
    if np.any(np.diff(time) <= 0):
        for repair in (_split_trips, _steps_back, _spread):
            time, note = repair(time)
            notes += note
    time, note = _set_while_logging(time)
    notes += note + _holes(time)
    return Clock(time, kept, tuple(notes))


def _over_midnight(time: FloatArray) -> tuple[FloatArray, list[str]]:
    """Add what a clock lost that begins anew after a day, twelve hours or, written without hours, sixty minutes."""
    steps, notes = np.diff(time), []
    added = np.zeros(time.size)
    for period, words in zip(TURNS, ("midnight", "twelve hours", "the hour"), strict=True):
        past = steps < -DAY / 2 if period == DAY else (steps < 0) & (steps + period >= 0) & (steps + period < AT_ONCE)
        if not past.any():
            continue
        steps = steps + period * past
        added[1:] += period * past
        more = "a day was" if period == DAY else phrase("{period:g} h were", period=period / 3600)
        notes.append(
            phrase(
                "The clock passes {words} at row {flatnonzero}; {more} added from there.",
                words=words,
                flatnonzero=np.flatnonzero(past)[0] + 2,
                more=more,
            )
        )
    return (time + np.cumsum(added) if notes else time), notes


def _over_the_count(time: FloatArray) -> tuple[FloatArray, list[str]]:
    """Add what a counter of so many bits lost where it was full and began anew at 0."""
    steps = np.diff(time)
    falls = np.flatnonzero(steps < -SMALL_STEP_BACK)
    forward = steps[steps > 0]
    if not falls.size or not forward.size:
        return time, []
    usual = float(np.median(forward))
    for period in sorted(2.0**bits * count for bits in COUNTER_BITS for count in COUNTER_STEPS):
        over = steps[falls] + period
        if (
            FEWEST_COUNTED * usual < period > time.max()
            and time.min() >= 0
            and np.all((over > 0) & (over < FULL_AT_ONCE * usual))
        ):
            whole = time.copy()
            whole[1:] += np.cumsum(np.where(steps < -SMALL_STEP_BACK, period, 0.0))
            note = phrase(
                "The clock's counter was full at {period:.6g} s and began anew at row {row}; that was added.",
                period=period,
                row=falls[0] + 2,
            )
            return whole, [note]
    return time, []


def _split_trips(time: FloatArray) -> tuple[FloatArray, list[str]]:
    """Put trips behind each other where the time begins anew."""
    starts = np.flatnonzero(np.diff(time) < -SMALL_STEP_BACK) + 1
    if not starts.size:
        return time, []
    shift = np.zeros(time.size)
    shift[starts] = time[starts - 1] + PAUSE - time[starts]
    where = ", ".join(str(start + 1) for start in starts[:5]) + (" …" if starts.size > 5 else "")
    note = phrase(
        "The time restarts at row {where}: {starts} drives, joined with a pause of {pause:g} "
        "s between them; the true pause is unknown.",
        where=where,
        starts=starts.size + 1,
        pause=PAUSE,
    )
    return time + np.cumsum(shift), [note]


def _set_while_logging(time: FloatArray) -> tuple[FloatArray, list[str]]:
    """Move what was logged before a clock was set to the right date up to what was logged afterwards."""
    steps = np.diff(time)
    leaps = np.flatnonzero(steps > LEAP)
    if not leaps.size:
        return time, []
    later = np.zeros(time.size)
    later[leaps] = steps[leaps] - PAUSE
    note = phrase(
        "The clock leaps by {days:.0f} days at row {row}, as when its date is set; what was logged before was put "
        "{pause:g} s before what follows.",
        days=float(steps[leaps].max()) / DAY,
        row=int(leaps[0]) + 2,
        pause=PAUSE,
    )
    return time + np.cumsum(later[::-1])[::-1], [note]


def _steps_back(time: FloatArray) -> tuple[FloatArray, list[str]]:
    steps = np.diff(time)
    back = np.flatnonzero(steps < 0)
    if not back.size:
        return time, []
    deepest = -float(steps[back].min())
    note = phrase(
        "The clock steps back {times}, by up to {deepest:.6g} s; the rows keep their order there.",
        times=_times(back.size),
        deepest=deepest,
    )
    return np.maximum.accumulate(time), [note]


def _times(count: int) -> str:
    return "once" if count == 1 else f"{count} times"


def _spread(time: FloatArray) -> tuple[FloatArray, list[str]]:
    """Spread rows that share a stamp evenly until the next stamp."""
    starts = np.concatenate([[0], np.flatnonzero(np.diff(time) > 0) + 1]).astype(np.int64)
    repeated = time.size - starts.size
    if repeated == 0 or starts.size < 2:
        return time, []
    counts = np.diff(np.append(starts, time.size))
    stamps = time[starts]
    coarse = repeated > 0.2 * time.size
    if coarse:
        stamps = _even_pace(stamps, starts)
    # Rows per stamp do not say how long the last stamp stood; the usual pace does.
    pace = float(np.median(np.diff(stamps) / counts[:-1]))
    ends = np.append(stamps[1:], stamps[-1] + pace * counts[-1])
    group = np.repeat(np.arange(starts.size), counts)
    place = np.arange(time.size) - starts[group]
    spread = stamps[group] + (ends - stamps)[group] * place / counts[group]
    what = "Time stamps stand still" if coarse else "Some time stamps repeat"
    note = phrase(
        "{what}: {starts} different ones in {time} rows; rows were spread evenly between "
        "stamps, about {pace:.2g} s apart.",
        what=what,
        starts=starts.size,
        time=time.size,
        pace=pace,
    )
    return np.maximum.accumulate(spread), [note]


def _even_pace(stamps: FloatArray, starts: IntArray) -> FloatArray:
    """Refine cut-off stamps by the even pace of the rows around them, each within the resolution of its stamp.

    A stamp of whole seconds says only that its moment lies within the second. Rows come at a nearly even pace, so a
    straight line of stamp over row number through the neighbours tells it better.
    """
    resolution = _resolution(stamps)
    if stamps.size < 2 * WINDOW or resolution <= 0:
        return stamps
    rows = starts.astype(np.float64)
    low = np.maximum(np.arange(stamps.size) - WINDOW, 0)
    high = np.minimum(np.arange(stamps.size) + WINDOW + 1, stamps.size)
    origin = stamps - stamps[0]
    sums = [
        np.concatenate([[0.0], np.cumsum(v)]) for v in (np.ones_like(rows), rows, origin, rows * rows, rows * origin)
    ]
    n, x, y, xx, xy = (s[high] - s[low] for s in sums)
    slope = (n * xy - x * y) / np.maximum(n * xx - x * x, 1e-12)
    fitted: FloatArray = stamps[0] + y / n + slope * (rows - x / n) + resolution / 2
    fitted[0] = stamps[0]
    within: FloatArray = np.clip(fitted, stamps, stamps + 0.999 * resolution)
    return within


def _resolution(stamps: FloatArray) -> float:
    """Return the step that all stamps are multiples of, or 0 where there is no clear one."""
    for step in (1.0, 0.5, 0.1, 0.01, 0.001):
        if np.all(np.abs(stamps / step - np.rint(stamps / step)) < 1e-6):
            return step
    return 0.0


def _holes(time: FloatArray) -> list[str]:
    steps = np.diff(time)
    if steps.size < 3:
        return []
    longest = max(5.0, 20 * float(np.median(steps)))
    holes = np.flatnonzero((steps > longest) & (np.abs(steps - PAUSE) > 1e-6))
    if not holes.size:
        return []
    at = int(holes[np.argmax(steps[holes])])
    where = phrase("the longest hole is {steps:.6g} s, after row {at}", steps=steps[at], at=at + 1)
    return [
        phrase(
            "Nothing was logged for more than {longest:.3g} s {times}; {where}.",
            longest=longest,
            times=_times(holes.size),
            where=where,
        )
    ]
