"""A wideband that shows a mixture before it was commanded, later and later, or where none was: not of this drive."""

import numpy as np

from workbench.files.course.even import STATE_STANDS_S, even_clock, held_on, throughout
from workbench.files.course.heard import Heard, use_or_leave
from workbench.model.arrays import BoolArray, FloatArray
from workbench.model.log import Question
from workbench.phrases import phrase

# Lambda that tells: fuel cuts and enrichment beyond tell no more. s: looked at; sooner than a sensor can be; as late as
# one is; between parts of the drive. Correlation that tells, and how much less there is left where a sensor belongs.
RICHEST, LEANEST = 0.7, 1.02
FURTHEST_S, EARLY_S, LATEST_S, FAR_LATE_S, PARTS_APART_S, TELLS, TELLS_OF_PART, LESS = (
    20.0,
    0.8,
    2.5,
    4.0,
    1.5,
    0.75,
    0.88,
    0.05,
)
COARSEST_S, STEPS, FEWEST, PARTS = 0.5, 3.0, 300, 3
# Lambda of a command and of a reading that are rich, that are not, and as rich as trims never make it; s of it; of the
# rows; steps.
COMMANDED, NOT_RICH, TOO_RICH, LASTS_S, MOSTLY, OFTEN, MANY = 0.95, 0.98, 0.92, 2.0, 0.6, 0.15, 20


def asked_of_wideband(heard: Heard) -> list[Question]:
    """Ask about measured lambda that does not go with the command as any sensor's does."""
    names = heard.names
    if not {"lambda_measured", "lambda_commanded"} <= set(heard.values) or "lambda_measured" in heard.stated:
        return []
    measured, commanded = names["lambda_measured"], names["lambda_commanded"]
    if {measured, commanded} & set(heard.settled):
        return []
    clock = even_clock(heard.time)
    if clock.size < FEWEST or float(clock[1] - clock[0]) > COARSEST_S:
        return []
    seen = held_on(clock, heard.time, heard.values["lambda_measured"])
    asked = held_on(clock, heard.time, heard.values["lambda_commanded"], STATE_STANDS_S)
    why, closed = _by_moment(clock, seen, asked, measured, commanded), _closed(heard, clock)
    if not why and _is_foreign_command(clock, seen, asked, closed) and "lambda_commanded" not in heard.stated:
        return [_of_foreign_command(measured, commanded)]
    if not why and _is_foreign(clock, seen, asked, closed):
        why = phrase(
            "{measured} is rich where {commanded} is 1 in closed loop, and not where it is rich: does one of the two "
            "come from another drive, or run the other way round? If so, export the log anew.",
            measured=measured,
            commanded=commanded,
        )
    if not why:
        return []
    left = phrase("The cells rest on the trims alone.")
    used = phrase("It counts at the moments it bears.")
    return [use_or_leave(measured, why, "lambda_measured", measured, used, left)]


def _by_moment(clock: FloatArray, seen: FloatArray, asked: FloatArray, measured: str, commanded: str) -> str:
    """Say how early or late the wideband is, or how it falls behind; empty where it is as late as sensors are."""
    whole = _later(clock, seen, asked)
    least = max(EARLY_S, STEPS * float(clock[1] - clock[0]))
    if whole is not None and -whole >= least:
        return phrase(
            "{measured} shows what {commanded} asks for {seconds:.2g} s before it is asked, as no sensor can: was it "
            "put beside it from elsewhere? If so, export the log anew.",
            measured=measured,
            commanded=commanded,
            seconds=-whole,
        )
    cut = zip(np.array_split(clock, PARTS), np.array_split(seen, PARTS), np.array_split(asked, PARTS), strict=True)
    parts = [_later(moments, mine, theirs, TELLS_OF_PART) for moments, mine, theirs in cut]
    told = [each for each in parts if each is not None]
    # Clocks that run apart were together once: a first part that is far off and a last one that is not is a cold start.
    began_together = bool(told) and abs(told[0]) < LATEST_S
    if began_together and max(told) - min(told) >= PARTS_APART_S and max(map(abs, told)) >= LATEST_S:
        return phrase(
            "{measured} shows what {commanded} asks for {first:.2g} s later at first and {last:.2g} s later at the "
            "end: its clock runs at another rate. Export the log anew with one clock.",
            measured=measured,
            commanded=commanded,
            first=told[0],
            last=told[-1],
        )
    if whole is not None and whole >= FAR_LATE_S:
        return phrase(
            "{measured} shows what {commanded} asks for only {seconds:.2g} s later, and no exhaust is so long: was it "
            "put beside it from elsewhere? If so, export the log anew.",
            measured=measured,
            commanded=commanded,
            seconds=whole,
        )
    return ""


def _later(clock: FloatArray, seen: FloatArray, asked: FloatArray, tells: float = TELLS) -> float | None:
    """Give by how much later the wideband fits the command best, s; None where it tells nothing."""
    known = np.isfinite(seen) & np.isfinite(asked)
    if np.count_nonzero(known) < FEWEST or not np.any(asked[known] < COMMANDED):
        return None
    rows = np.arange(clock.size)
    levels = []
    for each in (seen, asked):
        level = np.log(np.clip(np.interp(rows, rows[known], each[known]), RICHEST, LEANEST))
        levels.append((level - level.mean()) / max(float(level.std()), 1e-9))
    size = 1 << int(np.ceil(np.log2(2 * clock.size)))
    match = np.fft.irfft(np.fft.rfft(levels[0], size) * np.conj(np.fft.rfft(levels[1], size)), size)
    step = float(clock[1] - clock[0])
    most = min(round(FURTHEST_S / step), clock.size // 2)
    lags = np.arange(-most, most + 1)
    found = match[lags] / clock.size
    best = int(np.argmax(found))
    late = float(lags[best] * step)
    if found[best] < tells:
        return None
    if late > LATEST_S and found[best] - float(found[(lags >= 0) & (lags * step <= LATEST_S)].max()) < LESS:
        return None
    return late


def _closed(heard: Heard, clock: FloatArray) -> BoolArray | None:
    state = heard.values.get("fuel_system")
    if state is None:
        return None
    return np.asarray(np.isin(held_on(clock, heard.time, state, STATE_STANDS_S), (2, 16)))  # SAE J1979, parameter 03


def _is_foreign(clock: FloatArray, seen: FloatArray, asked: FloatArray, closed: BoolArray | None) -> bool:
    """Tell whether readings are mostly not rich where rich was commanded for long, and are so elsewhere for as long."""
    if closed is None:
        return False
    steps = max(1, round(LASTS_S / float(clock[1] - clock[0])))
    rich = _lasting(asked < COMMANDED, steps) & np.isfinite(seen)
    if np.count_nonzero(rich) < MANY or float(np.mean(seen[rich] > NOT_RICH)) < MOSTLY:
        return False
    elsewhere = _lasting((seen < TOO_RICH) & (asked > NOT_RICH) & closed, steps)
    return int(np.count_nonzero(elsewhere)) >= MANY


def _is_foreign_command(clock: FloatArray, seen: FloatArray, asked: FloatArray, closed: BoolArray | None) -> bool:
    """Tell whether rich is commanded while the loop is closed and nothing is rich, and open loops are rich without."""
    if closed is None:
        return False
    steps = max(1, round(LASTS_S / float(clock[1] - clock[0])))
    rich = _lasting(asked < COMMANDED, steps)
    unmet = _lasting((asked < COMMANDED) & (seen > NOT_RICH) & closed, steps)
    if np.count_nonzero(unmet) < max(MANY, OFTEN * np.count_nonzero(rich)):
        return False
    elsewhere = _lasting((seen < TOO_RICH) & (asked > NOT_RICH) & ~closed, steps)
    return int(np.count_nonzero(elsewhere)) >= MANY


def _of_foreign_command(measured: str, commanded: str) -> Question:
    why = phrase(
        "{commanded} is rich while the loop is closed and {measured} reads 1, and not where the loop is open and "
        "{measured} reads rich: does it come from another drive? If so, export the log anew.",
        measured=measured,
        commanded=commanded,
    )
    left = phrase("It is left out: only closed loop counts.")
    used = phrase("It counts as what was commanded.")
    return use_or_leave(commanded, why, "lambda_commanded", commanded, used, left)


def _lasting(marked: BoolArray, steps: int) -> BoolArray:
    """Mark the steps up to which something has lasted for so many."""
    return np.concatenate((np.zeros(steps, dtype=np.bool_), throughout(marked, steps)))
