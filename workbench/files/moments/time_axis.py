"""Which column of a recording tells the time, and in which unit."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from workbench.errors import InputError
from workbench.files.moments.begun_anew import gone_on
from workbench.files.moments.clock_parts import parted_clock
from workbench.files.moments.order import order_of, risen, told_twice, written_once
from workbench.files.moments.pace import ask_pace, is_too_quick, oddity, pace_of
from workbench.files.moments.second_parts import part_of_a_second
from workbench.files.moments.stamps import Clock, make_clock
from workbench.files.moments.summary_rows import summary_lines
from workbench.files.text.timestamps import read_stamps
from workbench.files.vocabulary.clock_scale import (
    DAY,
    SECONDS,
    SINCE_1601,
    Scale,
    find_scale,
    first_day,
    is_epoch,
    stated_seconds,
)
from workbench.files.vocabulary.file_words import CLOCK, COUNTS_DOWN, NO_CLOCK, RUN_TIME, TICKS
from workbench.files.vocabulary.packed_clock import packed_clock
from workbench.files.vocabulary.recording import Field, Recording
from workbench.files.vocabulary.roles import role_by_name
from workbench.files.vocabulary.spelling import label_parts, plain_words
from workbench.files.vocabulary.units import find_unit
from workbench.model.arrays import FloatArray, IntArray
from workbench.model.log import Question, Recorded
from workbench.phrases import join_phrases, phrase

NEWEST_FIRST = "it falls from row to row, the newest first"
TURNED = "The rows were logged newest first; they were reversed."
SORTED = "The rows were not in order of time; they were sorted."
FEWEST_FALLING = 3  # rows; from fewer an order is not told
LONG_ENOUGH = 20.0  # s, to tell one clock by another that may count whole seconds
SAME_CLOCK = 0.05  # two clocks of one drive; one that is rounded to seconds is off by no more over a minute
PLAINLY = 0.8  # of the logarithm: by a factor of two and more likelier
FIRST_DATE = 3.0e8  # s since 1970, the year 1979: before that nobody logged
LONGEST_MARK = 3  # letters in brackets that are a unit rather than a word
LARGEST_COUNT = 1e12  # of a clock that does not count since 1970
OTHER_TICKS = (1 / 32768, 1 / 1024, 1 / 62500, 4e-5)  # s: quartzes and dividers of clocks (common practice, no source)
PACES = (10.0, 60.0, 100.0, 1000.0)  # by which a header may be wrong about its unit


@dataclass(frozen=True, eq=False)
class Moments:
    """The clock of a recording.

    Attributes:
        clock: times of the rows that are kept.
        field: the column it comes from; None where rows were counted.
        notes: what was assumed.
        recording: the rows in the order of their times.
        questions: what is open about the clock.
        zoned: whether a date in it says its time zone.
    """

    clock: Clock
    field: Field | None
    notes: tuple[str, ...]
    recording: Recording
    questions: tuple[Question, ...] = ()
    zoned: bool = True

    @property
    def recorded(self) -> Recorded | None:
        """When the log was recorded, where it bears a date."""
        time = self.clock.time
        if not time.size:
            return None
        if np.isfinite(self.recording.began):
            began = self.recording.began
            return Recorded(began + float(time[0]), began + float(time[-1]), self.recording.zoned)
        return Recorded(float(time[0]), float(time[-1]), self.zoned) if time[0] >= FIRST_DATE else None


@dataclass(frozen=True, eq=False)
class _Candidate:
    field: Field
    stamps: FloatArray
    note: str
    of_day: bool = False
    rank: int = 0
    last_resort: bool = False
    scale: Scale = SECONDS
    certain: bool = True
    zoned: bool = True


def find_moments(recording: Recording, rate_hz: float | None, units: Mapping[str, str] = {}) -> Moments:
    """Find the time of every row.

    Args:
        recording: what was read.
        rate_hz: rows a second as the user states them; then rows are counted and no column is asked.
        units: column -> its unit, where the user says so.

    Raises:
        InputError: when there is no time column and no rate.
    """
    if rate_hz is not None:
        return _counted(recording, rate_hz)
    if recording.time is not None:
        return _given(recording, recording.time, units)
    found, refused = _candidates(recording, units)
    if (parts := _from_parts(recording.fields)) is not None and not any(each.field.name in units for each in found):
        found, refused = [parts], []
    notes: tuple[str, ...] = ()
    if not found and any(NEWEST_FIRST in why for why in refused):
        recording, notes = _turned(recording), (TURNED,)
        found, refused = _candidates(recording, units)
    told = np.arange(recording.rows) / recording.told_rate_hz
    if not found and np.isfinite(recording.told_rate_hz) and pace_of(told, recording.fields) in ("possible", "unknown"):
        return _counted(recording, recording.told_rate_hz, by_file=True)
    if not found:
        name, unit, note = risen(recording, units, refused)
        return replace(made := find_moments(recording, None, {**units, name: unit}), notes=(note, *made.notes))
    stated = [each for each in found if each.field.name in units]
    found = stated or [each for each in found if not each.last_resort] or found  # a first one without a name may count
    best = found[0] if len(found) == 1 else max(found, key=_fineness)
    best = _by_second_clock(best, found)
    if (finer := part_of_a_second(best.stamps, recording.fields)) is not None:
        best = replace(best, stamps=finer.stamps, note=join_phrases(" ", (best.note, finer.note)).strip())
        refused = [each for each in refused if not each.startswith(f"{finer.name} ")]
    for mend in (_in_order, _once):
        best, recording, mended_note = mend(best, recording)
        notes += mended_note
    best, questions = _paced(best, [each for each in recording.fields if each is not best.field])
    clock = _clock(best.stamps, recording, best.field, of_day=best.of_day)
    notes = (*notes, *((best.note,) * bool(best.note)), *refused, *clock.notes)
    return Moments(clock, best.field, notes, recording, questions, best.zoned)


def _counted(recording: Recording, rate_hz: float, *, by_file: bool = False) -> Moments:
    if not (np.isfinite(rate_hz) and rate_hz > 0):
        raise InputError(
            phrase("The rate {rate:g} Hz is not above 0.", rate=rate_hz), "Give rows per second, as in 10."
        )
    time = np.arange(recording.rows) / rate_hz
    note = phrase("Time was computed from the stated rate of {rate:g} Hz; no time column was used.", rate=rate_hz)
    if by_file:
        note = phrase(
            "No column tells the time: it was computed from the {rate:g} Hz that the file states.", rate=rate_hz
        )
    clock = _clock(time, recording, None)
    return Moments(clock, None, (note, *clock.notes), recording)


def _given(recording: Recording, time: FloatArray, units: Mapping[str, str]) -> Moments:
    """Take the time that the format itself gives, in seconds or in counts of its own."""
    scale = recording.scale
    field = Field(recording.clock_name or "Time", "", time)
    if recording.clock_name in units and (seconds := stated_seconds(units[recording.clock_name])) is not None:
        time, scale = time * (seconds / scale.seconds), Scale(seconds)
    candidate = _Candidate(field, time, "", scale=scale, certain=not scale.others)
    candidate, questions = _paced(candidate, recording.fields)
    clock = make_clock(candidate.stamps)
    note = (candidate.note,) * bool(candidate.note)
    return Moments(clock, None, (*note, *clock.notes), recording, questions)


def _turned(recording: Recording) -> Recording:
    fields = tuple(
        replace(each, values=each.values[::-1], texts=None if each.texts is None else each.texts[::-1])
        for each in recording.fields
    )
    return replace(recording, fields=fields)


def _in_order(best: _Candidate, recording: Recording) -> tuple[_Candidate, Recording, tuple[str, ...]]:
    """Let stamps go on that begin anew within one drive; sort rows whose stamps are those of one in another order."""
    if best.of_day:
        return best, recording, ()
    stamps, told = gone_on(best.stamps, [each for each in recording.fields if each is not best.field])
    if told:
        return replace(best, stamps=stamps), recording, told
    order = order_of(best.stamps)
    if order is None:
        return best, recording, ()
    return *_on_rows(best, recording, order), (SORTED,)


def _once(best: _Candidate, recording: Recording) -> tuple[_Candidate, Recording, tuple[str, ...]]:
    """Leave rows out that are written twice, and say how many."""
    kept, note = written_once(best.stamps, recording.fields)
    if kept is None:
        kept, note = told_twice(best.stamps, recording.fields)
    return (best, recording, ()) if kept is None else (*_on_rows(best, recording, np.flatnonzero(kept)), (note,))


def _on_rows(best: _Candidate, recording: Recording, rows: IntArray) -> tuple[_Candidate, Recording]:
    fields = {
        id(each): replace(each, values=each.values[rows], texts=None if each.texts is None else each.texts[rows])
        for each in recording.fields
    }
    best = replace(best, field=fields.get(id(best.field), best.field), stamps=best.stamps[rows])
    return best, replace(recording, fields=tuple(fields.values()))


def _by_second_clock(best: _Candidate, found: Sequence[_Candidate]) -> _Candidate:
    """Tell what the counts of a clock are by another clock of the same rows whose unit is known."""
    if not best.scale.others:
        return best
    for other in found:
        if other is best or other.scale.others or not other.certain:
            continue
        both = np.flatnonzero(np.isfinite(best.stamps) & np.isfinite(other.stamps))
        if both.size < FEWEST_FALLING:
            continue
        spans = [float(each.stamps[both[-1]] - each.stamps[both[0]]) for each in (best, other)]
        if min(spans) <= 0:
            continue
        seconds = best.scale.seconds * spans[1] / spans[0]
        near = min((best.scale.seconds, *best.scale.others), key=lambda each: abs(np.log(each / seconds)))
        near = near if abs(near / seconds - 1) < SAME_CLOCK else seconds
        if spans[1] > LONG_ENOUGH:
            note = phrase(
                "{name} counts {near:g} s by {other}.", name=best.field.name, near=near, other=other.field.name
            )
            stamps = best.stamps * (near / best.scale.seconds)
            return replace(best, stamps=stamps, note=note, scale=Scale(near))
    return best


def _paced(candidate: _Candidate, fields: Sequence[Field]) -> tuple[_Candidate, tuple[Question, ...]]:
    """Hold a clock against how fast engines rev and cars gather speed; ask what that leaves open."""
    choices = (candidate.scale.seconds, *candidate.scale.others)
    if len(choices) == 1:
        return candidate, _contradicted(candidate, fields)
    name, first = candidate.field.name, candidate.scale.seconds
    if pace_of(candidate.stamps, fields) == "unknown":
        why = phrase(
            "{name} has no unit, and nothing in the log shows what one count of it is. Which is it?", name=name
        )
        return candidate, (ask_pace(name, why, first, choices),)
    fitting = [each for each in choices if pace_of(candidate.stamps * (each / first), fields) == "possible"]
    ticks = TICKS.search(plain_words(name)) is not None
    if ticks and fitting:  # a tick may be any part of a second
        near = (each for each in OTHER_TICKS if pace_of(candidate.stamps * (each / first), fields) == "possible")
        fitting += [each for each in near if each not in fitting]
    if not fitting:
        return candidate, ()
    odd = {each: oddity(candidate.stamps * (each / first), fields) for each in fitting}
    chosen = min(fitting, key=lambda each: odd[each])
    sure = all(odd[each] > odd[chosen] + PLAINLY for each in fitting if each != chosen)
    fitting = [chosen] if sure and not ticks else fitting
    if fitting == [first]:
        return candidate, ()
    note = phrase(
        "{name} has no unit; engine and car move as they can where one count of it is {chosen:g} s.",
        name=name,
        chosen=chosen,
    )
    made = replace(candidate, stamps=candidate.stamps * (chosen / first), note=note, scale=Scale(chosen))
    why = phrase(
        "{name} has no unit, and the movement of engine and car fits several. Which is one count of it?", name=name
    )
    return made, ((ask_pace(name, why, chosen, fitting),) if len(fitting) > 1 else ())


def _contradicted(candidate: _Candidate, fields: Sequence[Field]) -> tuple[Question, ...]:
    """Ask about a clock that is sure by its unit, where engine or car would be quicker than any."""
    if candidate.of_day or not candidate.certain:
        return ()
    pace = pace_of(candidate.stamps, fields)
    if pace != "too fast" and not (pace == "unknown" and is_too_quick(candidate.stamps)):
        return ()
    first = candidate.scale.seconds
    slower = [first * each for each in PACES if pace_of(candidate.stamps * each, fields) == "possible"]
    why = phrase(
        "By {name}, engine or car would accelerate impossibly fast. What is one count of it?", name=candidate.field.name
    )
    return (ask_pace(candidate.field.name, why, first, (first, *slower)),) if slower else ()


def _clock(stamps: FloatArray, recording: Recording, field: Field | None, *, of_day: bool = False) -> Clock:
    """Make a clock without the lines at the end that are no moments of the drive."""
    others = [each for each in recording.fields if each is not field]
    lines, note = summary_lines(stamps, others, of_day=of_day)
    clock = make_clock(stamps[: stamps.size - lines], of_day=of_day)
    notes = (*((note,) * (lines > 0)), *clock.notes)
    return Clock(clock.time, np.append(clock.kept, np.zeros(lines, dtype=np.bool_)), notes)


def _fineness(candidate: _Candidate) -> tuple[int, int]:
    """Rate a candidate: the most different stamps win, then the likelier name."""
    return np.unique(candidate.stamps[np.isfinite(candidate.stamps)]).size, candidate.rank


def _candidates(recording: Recording, units: Mapping[str, str]) -> tuple[list[_Candidate], list[str]]:
    found, refused = [], []
    for place, field in enumerate(recording.fields):
        words = plain_words(field.name)
        unit = find_unit(field.unit)
        timed = unit is not None and unit.quantity == "time"
        named = CLOCK.search(words) is not None and NO_CLOCK.search(words) is None
        named = named or (COUNTS_DOWN.search(words) is not None and (timed or place == 0))
        unnamed_first = place == 0 and words == "column 1"
        if field.texts is not None:
            candidate = _textual(field, expected=named or place == 0)
        elif field.name in units and (seconds := stated_seconds(units[field.name])) is not None:
            candidate = _Candidate(field, field.values * seconds, "", rank=9, scale=Scale(seconds))
            named = True
        elif named or unnamed_first or (timed and place == 0):
            candidate = replace(_numeric(field, words), last_resort=not named and not timed)
        elif not timed and is_epoch(field.values) is not None and not _complaint(field.values):
            candidate, named = _numeric(field, words), True
        else:
            continue
        if candidate is None:
            continue
        if COUNTS_DOWN.search(words) and _complaint(candidate.stamps) == NEWEST_FIRST:
            note = phrase("{name} counts down; the time is what has gone by.", name=field.name)
            candidate = replace(candidate, stamps=np.nanmax(candidate.stamps) - candidate.stamps, note=note)
        complaint = _complaint(candidate.stamps) or _uncounted(field)
        if not complaint:
            found.append(candidate)
        elif named and role_by_name(field.name, field.unit) is None:  # else it only bears a word of a clock's as well
            refused.append(phrase("{field} cannot be the time: {complaint}", field=field.name, complaint=complaint))
    return found, refused


def _from_parts(fields: Sequence[Field]) -> _Candidate | None:
    """Take a clock for the time whose parts stand in columns side by side."""
    parted = parted_clock(fields)
    if parted is None or _complaint(parted.stamps):
        return None
    return _Candidate(parted.field, parted.stamps, parted.note, of_day=True, rank=9)


def _textual(field: Field, *, expected: bool) -> _Candidate | None:
    if not expected or field.texts is None:
        return None
    stamps = read_stamps([str(cell) for cell in field.texts], field.name)
    if stamps is None:
        return None
    return _Candidate(field, stamps.seconds, stamps.note, of_day=stamps.of_day, rank=2, zoned=stamps.zoned)


def _numeric(field: Field, words: str) -> _Candidate:
    if RUN_TIME.search(words) and not field.unit:
        return _Candidate(
            field, field.values, phrase("The run time {name} is used as time, in seconds.", name=field.name), rank=1
        )
    if not field.unit and (packed := packed_clock(field.values)) is not None:
        note = phrase("{name} is a clock in digits without signs; it was read as hours, minutes and seconds.",
                      name=field.name)  # fmt: skip
        dated = float(np.nanmin(packed)) > DAY
        return _Candidate(field, packed, note, of_day=not dated, rank=1)
    scale = find_scale(words, field.unit or _marked(field.name), field.values)
    note = f"{field.name} {scale.note}" if scale.note else ""
    known = bool(field.unit) or is_epoch(field.values) is not None
    of_day = scale.seconds == DAY and float(np.nanmax(field.values, initial=0.0)) < 1
    since = first_day(field.values) if scale.seconds == DAY and not of_day else None
    stamps = (field.values - (since or 0.0)) * scale.seconds
    if scale.seconds == SINCE_1601[0] and not field.unit:
        stamps = stamps - SINCE_1601[1]
    return _Candidate(field, stamps, note, of_day, rank=2 + known, scale=scale, certain=not scale.others)


def _marked(name: str) -> str:
    """Give what stands in brackets behind a clock's name, where it looks like a unit and not like a word."""
    text = label_parts(name)[1]
    return text if len(text) <= LONGEST_MARK or any(sign.isdigit() for sign in text) else ""


def _uncounted(field: Field) -> str:
    """Tell why numbers are no count of time; empty where they may be one."""
    if field.texts is not None or field.unit or is_epoch(field.values) is not None:
        return ""
    seen = np.abs(field.values[np.isfinite(field.values)])
    if packed_clock(field.values) is not None:
        return ""
    large = seen.size > 0 and float(np.median(seen)) > LARGEST_COUNT
    return "its numbers are too large for a count since any known moment" if large else ""


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
    if steps.size > 20 and np.mean(steps < 0) > 0.05 and order_of(stamps) is None:
        return "it keeps falling"
    return ""
