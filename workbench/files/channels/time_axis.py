"""Which column of a recording tells the time, and in which unit."""

import re
from dataclasses import dataclass, replace

import numpy as np

from workbench.errors import InputError
from workbench.files.channels.stamps import DAY, Clock, make_clock
from workbench.files.channels.summary_rows import summary_lines
from workbench.files.text.timestamps import read_stamps
from workbench.files.vocabulary.recording import Field, Recording
from workbench.files.vocabulary.spelling import plain_words
from workbench.files.vocabulary.units import find_unit, to_base
from workbench.model.arrays import FloatArray
from workbench.phrases import flag, phrase

_TIME = re.compile(
    r"\b(time\w*|zeit\w*|temps|tiempo|tempo|timestamp|seconds?|secs?|sekunden?|clock|uhrzeit|hora|heure|elapsed|"
    r"(engine )?run ti[mn]e|msec|millis\w*|epoch\w*|date ?time|t)\b"
)
_NOT_TIME = re.compile(
    r"since|mil\b|inject\w*|dwell|timing|delay|react\w*|codes?|pulse|duty|burn|spark|lag|remain\w*|to \w+|zone|vor"
)
NEWEST_FIRST = "it falls from row to row, the newest first"
SLOWEST_MS = 15_000  # between two rows; no logger is as slow as that. Common practice, no source.
_RUN_TIME = re.compile(r"run ti[mn]e|laufzeit|runtime|since start")
_EPOCHS = (
    (1e17, 1e-9, "nanoseconds"),
    (1e14, 1e-6, "microseconds"),
    (1e11, 1e-3, "milliseconds"),
    (1e8, 1.0, "seconds"),
)


@dataclass(frozen=True, eq=False)
class Moments:
    """The clock of a recording.

    Attributes:
        clock: times of the rows that are kept.
        field: the column it comes from; None where rows were counted.
        notes: what was assumed.
    """

    clock: Clock
    field: Field | None
    notes: tuple[str, ...]


@dataclass(frozen=True, eq=False)
class _Candidate:
    field: Field
    stamps: FloatArray
    note: str
    of_day: bool = False
    rank: int = 0
    last_resort: bool = False


def find_moments(recording: Recording, rate_hz: float | None) -> Moments:
    """Find the time of every row.

    Args:
        recording: what was read.
        rate_hz: rows a second as the user states them; then rows are counted and no column is asked.

    Raises:
        InputError: when there is no time column and no rate.
    """
    if rate_hz is not None:
        if not (np.isfinite(rate_hz) and rate_hz > 0):
            raise InputError(
                phrase("The rate {rate_hz:g} Hz is not above 0.", rate_hz=rate_hz), "Give rows per second, as in 10."
            )
        time = np.arange(recording.rows) / rate_hz
        note = phrase(
            "Time was computed from the stated rate of {rate_hz:g} Hz; no time column was used.", rate_hz=rate_hz
        )
        clock = _clock(time, recording, None)
        return Moments(clock, None, (note, *clock.notes))
    if recording.time is not None:
        clock = make_clock(recording.time)
        return Moments(clock, None, clock.notes)
    found, refused = _candidates(recording)
    if not found:
        raise InputError(
            phrase("{source} has no column usable as time", source=recording.source)
            + (f" ({'; '.join(refused)})" if refused else "")
            + ".",
            "Sort the rows by time, the oldest first."
            if any(NEWEST_FIRST in why for why in refused)
            else phrase("Give the rows per second with {rate_flag}, as in {rate_flag} 10.", rate_flag=flag("rate")),
        )
    found = [
        candidate for candidate in found if not candidate.last_resort
    ] or found  # a first column without a name may count rows
    best = found[0] if len(found) == 1 else max(found, key=_fineness)
    clock = _clock(best.stamps, recording, best.field, of_day=best.of_day)
    return Moments(clock, best.field, (best.note,) * bool(best.note) + tuple(refused) + clock.notes)


def _clock(stamps: FloatArray, recording: Recording, field: Field | None, *, of_day: bool = False) -> Clock:
    """Make a clock without the lines at the end that are no moments of the drive."""
    lines, reason = summary_lines(stamps, [other for other in recording.fields if other is not field], of_day=of_day)
    clock = make_clock(stamps[: stamps.size - lines], of_day=of_day)
    if not lines:
        return clock
    return Clock(clock.time, np.append(clock.kept, np.zeros(lines, dtype=np.bool_)), (reason, *clock.notes))


def _fineness(candidate: _Candidate) -> tuple[int, int]:
    """Rate a candidate: the most different stamps win, then the likelier name."""
    return np.unique(candidate.stamps[np.isfinite(candidate.stamps)]).size, candidate.rank


def _candidates(recording: Recording) -> tuple[list[_Candidate], list[str]]:
    found, refused = [], []
    for place, field in enumerate(recording.fields):
        words = plain_words(field.name)
        unit = find_unit(field.unit)
        timed = unit is not None and unit.quantity == "time"
        named = _TIME.search(words) is not None and _NOT_TIME.search(words) is None
        unnamed_first = place == 0 and words == "column 1"
        if field.texts is not None:
            candidate = _textual(field, named or place == 0)
        elif named or unnamed_first or (timed and place == 0):
            candidate = replace(_numeric(field, words), last_resort=not named and not timed)
        else:
            continue
        if candidate is None:
            continue
        complaint = _complaint(candidate.stamps)
        if not complaint:
            found.append(candidate)
        elif named:
            refused.append(phrase("{field} cannot be the time: {complaint}", field=field.name, complaint=complaint))
    return found, refused


def _textual(field: Field, expected: bool) -> _Candidate | None:
    if not expected or field.texts is None:
        return None
    stamps = read_stamps([str(cell) for cell in field.texts], field.name)
    if stamps is None:
        return None
    return _Candidate(field, stamps.seconds, stamps.note, of_day=stamps.of_day, rank=2)


def _numeric(field: Field, words: str) -> _Candidate:
    unit = find_unit(field.unit)
    if unit is not None and unit.quantity == "time":
        return _Candidate(field, to_base(field.values, unit), "", rank=2)
    there = field.values[np.isfinite(field.values)]
    if there.size:
        typical = float(np.median(np.abs(there)))
        for least, factor, word in _EPOCHS:
            if typical > least and _step(there) * factor < SLOWEST_MS / 1000:
                note = phrase("{field} was read as {word} since 1970.", field=field.name, word=word)
                return _Candidate(field, field.values * factor, note, rank=3)
    if _RUN_TIME.search(words):
        return _Candidate(
            field, field.values, phrase("The run time {field} is used as time, in seconds.", field=field.name), rank=1
        )
    factor, note = _scale(words, there)
    return _Candidate(field, field.values * factor, f"{field.name} {note}" if note else "", rank=2)


def _step(there: FloatArray) -> float:
    """Return the usual step forward; 0 where there is none."""
    steps = np.diff(there)
    steps = steps[steps > 0]
    return float(np.median(steps)) if steps.size else 0.0


def _scale(words: str, there: FloatArray) -> tuple[float, str]:
    """Return how many seconds one count of a time without unit is, and what was assumed."""
    step = _step(there)
    if there.size and 30_000 < float(np.median(there)) < 60_000 and 0 < step < 2e-4:
        return DAY, "looks like a spreadsheet date and was read as days."
    if re.search(r"\b(s|secs?|seconds?|sekunden?|segundos?|secondes?)\b", words):
        return 1.0, ""
    if re.search(r"\b(ms|msecs?|millis\w*)\b", words):
        return 0.001, "was read as milliseconds."
    if re.search(r"\bmin(ute)?[snr]?\b", words):
        return 60.0, "was read as minutes."
    if step >= 5 and bool(np.all(there == np.rint(there))):
        factor, unit = (1e-6, "micro") if step >= SLOWEST_MS else (1e-3, "milli")
        return factor, phrase("has no unit; its steps were read as {unit}seconds.", unit=unit)
    return 1.0, "has no unit; it was read as seconds."


def _complaint(stamps: FloatArray) -> str:
    """Explain why stamps are no clock; empty where they are one."""
    there = stamps[np.isfinite(stamps)]
    if there.size < 0.5 * stamps.size or not there.size:
        return "most of its cells are not times"
    if stamps.size > 1 and np.all(there == there[0]):
        return phrase("it reads {there:g} in every row", there=there[0])
    steps = np.diff(there)
    if steps.size and np.all(steps <= 0):
        return NEWEST_FIRST
    if steps.size > 20 and np.mean(steps < 0) > 0.05:
        return "it keeps falling"
    return ""
