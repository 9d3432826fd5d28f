"""Several files of one drive, as of an ECU and of a wideband of its own, brought onto one clock and read as one log.

By how much a clock began later than the first is told by a channel that both files hold, such as engine speed; where
none is, by clocks that both count from the same day; else it is asked for.
"""

import hashlib
from collections.abc import Generator, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from workbench.errors import InputError
from workbench.files.channels.interpret import Choices, make_log
from workbench.files.logs import Options, check_length, read_recording
from workbench.files.moments.time_axis import find_moments
from workbench.files.vocabulary.recording import Field, Recording, TextArray
from workbench.files.vocabulary.roles import role_by_name
from workbench.files.vocabulary.spelling import unique_names
from workbench.model.arrays import FloatArray
from workbench.model.log import Log, Role
from workbench.phrases import flag, phrase
from workbench.work import Progress

# Channels that move enough to tell one moment from another, the surest first.
_TELLING: tuple[Role, ...] = ("engine_speed", "manifold_pressure", "airflow", "throttle", "vehicle_speed")
STEP_S, FINE_S = 0.05, 0.005  # in which a shift is looked for, and then told
ALIKE = 0.9  # correlation of two readings of one quantity, once they lie upon each other
LEAST_COMMON = 0.5  # of the shorter file
DAY_START = 600.0  # s: a time of day, or another count that goes on while nothing is logged, reads more
FEWEST = 50
# Two logs of one drive: s they have in common at least, how far apart engine speed is in the middle (as a part), over
# how many seconds, and how alike, what evidence rests on runs. Common practice, no source.
SHORTEST_S, SAME_TURNS, OVER_S, SAME_COURSE = 60.0, 0.004, 2.0, 0.9
_EVIDENCE: tuple[Role, ...] = ("stft_1", "ltft_1", "stft_2", "lambda_measured", "total_trim_1")


@dataclass(frozen=True, eq=False)
class _Part:
    """One file: its channels on its own clock."""

    name: str
    time: FloatArray
    fields: tuple[Field, ...]
    notes: tuple[str, ...]
    sha256: str


def read_together(
    paths: Sequence[Path],
    *,
    roles: Mapping[Role, str] = {},
    stoichiometric_afr: float = 14.7,
    stoichiometric_of: Mapping[str, float] = {},
    units: Mapping[str, str] = {},
    part: str = "",
    dbc: Path | None = None,
    later_s: float | None = None,
) -> Generator[Progress, None, Log]:
    """Read files of one drive as one log; a job.

    Args:
        paths: the files; the first one's clock is kept.
        roles: as of `read_log`, as is what follows.
        stoichiometric_afr: air-fuel ratio at lambda 1 of the fuel.
        stoichiometric_of: channel -> air-fuel ratio at lambda 1 of its own.
        units: channel -> its unit.
        part: the sheet, or the file in a zip.
        dbc: description of CAN messages.
        later_s: how much later than the first clock the others began, s; None where the files tell it.

    Raises:
        FileError: when one of them cannot be read as a log, or all of them have too many rows.
        InputError: when it is not known how their clocks lie to each other, or they are of different times.
    """
    choices = Choices(roles, stoichiometric_afr, stoichiometric_of, units)
    files = []
    for path in paths:
        recording, sha256 = yield from read_recording(path, Options(choices, part, dbc))
        moments = find_moments(recording, None, units)
        kept = moments.clock.kept
        fields = tuple(field.on_rows(kept) for field in moments.recording.fields if field is not moments.field)
        files.append(_Part(recording.source, moments.clock.time, fields, (*recording.notes, *moments.notes), sha256))
    notes = [note for each in files for note in each.notes]
    placed = [files[0]]
    for each in files[1:]:
        moved, note = _placed(files[0], each, later_s)
        placed.append(moved)
        notes.append(note)
    digest = hashlib.sha256("\n".join(each.sha256 for each in files).encode()).hexdigest()
    log = make_log(_joined(placed, tuple(dict.fromkeys(notes))), digest, choices)
    check_length(log)
    return log


def _placed(first: _Part, part: _Part, later_s: float | None) -> tuple[_Part, str]:
    """Put a file onto the first one's clock, and say how.

    Raises:
        InputError: when that is not known, or they are of different times.
    """
    if later_s is not None:
        moved = replace(part, time=part.time - part.time[0] + first.time[0] + later_s)
        return _overlapping(first, moved), phrase(
            "{part} begins {later:.6g} s after {first}, as stated.", part=part.name, later=later_s, first=first.name
        )
    if (told := _by_common_channel(first, part)) is not None:
        shift, names = told
        return replace(part, time=part.time + shift), phrase(
            "{part} was put onto the clock of {first} by {names}: {shift:+.4g} s.",
            part=part.name,
            first=first.name,
            names=names,
            shift=shift,
        )
    if min(first.time[0], part.time[0]) < DAY_START:
        raise InputError(
            phrase(
                "{first} and {part} count from their own starts and hold no channel in common, so it is not known when "
                "{part} began.",
                first=first.name,
                part=part.name,
            ),
            phrase(
                "State how much later it began with {later_flag}, as in {later_flag} 0 where both were started at "
                "once; or log engine speed in both.",
                later_flag=flag("later"),
            ),
        )
    return _overlapping(first, part), phrase(
        "{part} and {first} were put together by their clocks, which count from the same day.",
        part=part.name,
        first=first.name,
    )


def _overlapping(first: _Part, part: _Part) -> _Part:
    """Return a file that was logged while the first one was.

    Raises:
        InputError: when it was not.
    """
    if overlap(first.time, part.time) < LEAST_COMMON:
        raise InputError(
            phrase(
                "{part} ({low:.6g} to {high:.6g} s) was not logged at the same time as {first} ({low_2:.6g} to "
                "{high_2:.6g} s).",
                part=part.name,
                low=part.time[0],
                high=part.time[-1],
                first=first.name,
                low_2=first.time[0],
                high_2=first.time[-1],
            ),
            phrase("Leave {together_flag} out: they are logs of their own.", together_flag=flag("together")),
        )
    return part


def overlap(first: FloatArray, other: FloatArray) -> float:
    """Give the part of the shorter of two clocks over which both run, 0 to 1."""
    common = min(first[-1], other[-1]) - max(first[0], other[0])
    shorter = min(first[-1] - first[0], other[-1] - other[0])
    return float(max(common, 0.0) / shorter) if shorter > 0 else 0.0


def _by_common_channel(first: _Part, part: _Part) -> tuple[float, str] | None:
    """Give by how much a file's clock is to be moved so that a channel in both files lies upon itself."""
    mine, theirs = _roles(first), _roles(part)
    for role in _TELLING:
        if role in mine and role in theirs:
            shift = shift_between(first.time, mine[role].values, part.time, theirs[role].values)
            if shift is not None:
                return shift, role.replace("_", " ")
    return None


def _roles(part: _Part) -> Mapping[Role, Field]:
    found: dict[Role, Field] = {}
    for each in part.fields:
        role = None if each.texts is not None else role_by_name(each.name, each.unit)
        if role is not None and np.isfinite(each.values).sum() >= FEWEST:
            found.setdefault(role, each)
    return found


def shift_between(time: FloatArray, values: FloatArray, other_time: FloatArray, other: FloatArray) -> float | None:
    """Tell by how much the clock of another reading of a quantity is to be moved onto the first; None if unclear.

    Args:
        time: s, shape (rows,).
        values: the quantity, shape (rows,).
        other_time: s, shape (other rows,).
        other: the quantity, shape (other rows,), in any unit that is a line of the first.
    """
    grids = []
    for clock, column in ((time, values), (other_time, other)):
        known = np.isfinite(column)
        if known.sum() < FEWEST:
            return None
        at = np.arange(clock[0], clock[-1], STEP_S)
        level = np.interp(at, clock[known], column[known])
        spread = float(level.std())
        if at.size < FEWEST or spread == 0:
            return None
        grids.append((at, (level - level.mean()) / spread))
    (first_at, a), (other_at, b) = grids
    size = 1 << int(np.ceil(np.log2(a.size + b.size)))
    match = np.fft.irfft(np.fft.rfft(a, size) * np.conj(np.fft.rfft(b, size)), size)
    lag = int(np.argmax(match))
    lag = lag - size if lag > size // 2 else lag
    coarse = float(first_at[0] - other_at[0] + lag * STEP_S)
    fine = coarse + np.arange(-2 * STEP_S, 2.01 * STEP_S, FINE_S)
    rated = [_likeness(first_at, a, other_at + shift, b) for shift in fine]
    best = int(np.argmax(rated))
    return float(fine[best]) if rated[best] >= ALIKE else None


def _likeness(time: FloatArray, values: FloatArray, other_time: FloatArray, other: FloatArray) -> float:
    """Give the correlation of two channels where both are known, 0 where that is too short."""
    inside = (time >= other_time[0]) & (time <= other_time[-1])
    if inside.sum() < LEAST_COMMON * min(time.size, other_time.size):
        return 0.0
    beside = np.interp(time[inside], other_time, other)
    if beside.std() == 0 or values[inside].std() == 0:
        return 0.0
    return float(np.corrcoef(values[inside], beside)[0, 1])


def _joined(parts: Sequence[_Part], notes: tuple[str, ...]) -> Recording:
    """Bring channels to the union of their moments, each value at the one at which it was read."""
    time = np.unique(np.concatenate([part.time for part in parts]))
    names = unique_names([each.name for part in parts for each in part.fields])
    fields: list[Field] = []
    for part in parts:
        last = np.append(np.diff(part.time) > 0, True)
        at = np.searchsorted(time, part.time[last])
        for each in part.fields:
            values = np.full(time.size, np.nan)
            values[at] = each.values[last]
            texts: TextArray | None = None
            if each.texts is not None:
                texts = np.full(time.size, "", dtype=object)
                texts[at] = each.texts[last]
            fields.append(Field(names[len(fields)], each.unit, values, texts))
    return Recording(" + ".join(part.name for part in parts), tuple(fields), notes, time)


def is_same_drive(first: Log, other: Log) -> bool:
    """Tell whether two logs are of one drive, exported at another rate or in another format: it would count twice.

    Engine speed runs the same in both to a fraction of a percent, and so does what evidence is taken from. Two drives
    of one road never do.
    """
    mine, theirs = first.playing("engine_speed"), other.playing("engine_speed")
    if mine is None or theirs is None:
        return False
    shift = shift_between(first.time.values, mine, other.time.values, theirs)
    if shift is None:
        return False
    clocks = first.time.values, other.time.values + shift
    start, end = max(clocks[0][0], clocks[1][0]), min(clocks[0][-1], clocks[1][-1])
    if end - start < SHORTEST_S:
        return False
    at = np.arange(start, end, STEP_S)
    mine, theirs = _between(at, clocks[0], mine), _between(at, clocks[1], theirs)
    apart = np.abs(theirs / np.where(mine > 0, mine, np.nan) - 1)
    if not np.isfinite(apart).any() or float(np.nanmedian(apart)) > SAME_TURNS:
        return False
    return any(_runs_the_same(at, clocks, (first.playing(role), other.playing(role))) for role in _EVIDENCE)


def _runs_the_same(
    at: FloatArray, clocks: tuple[FloatArray, FloatArray], columns: tuple[FloatArray | None, FloatArray | None]
) -> bool:
    """Tell whether a channel runs the same in both logs, over seconds: rates differ."""
    steps = round(OVER_S / STEP_S)
    smooth = []
    for clock, column in zip(clocks, columns, strict=True):
        if column is None or np.isfinite(column).sum() < FEWEST:
            return False
        level = _between(at, clock, column)
        summed = np.concatenate(([0.0], np.cumsum(level)))
        smooth.append((summed[steps:] - summed[:-steps]) / steps)
    first, other = smooth
    if first.size < FEWEST or first.std() == 0 or other.std() == 0:
        return False
    return float(np.corrcoef(first, other)[0, 1]) >= SAME_COURSE


def _between(at: FloatArray, clock: FloatArray, column: FloatArray) -> FloatArray:
    known = np.isfinite(column)
    return np.interp(at, clock[known], column[known])
