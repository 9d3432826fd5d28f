"""Rows that are not in order of time, and what to say where no column tells the time."""

from collections.abc import Mapping, Sequence
from itertools import pairwise

import numpy as np

from workbench.errors import InputError
from workbench.files.moments.pace import pace_of
from workbench.files.moments.summary_rows import MOST_LINES
from workbench.files.vocabulary.clock_scale import stated_seconds
from workbench.files.vocabulary.file_words import CLOCK
from workbench.files.vocabulary.recording import Field, Recording
from workbench.files.vocabulary.roles import role_by_name
from workbench.files.vocabulary.spelling import plain_words
from workbench.files.vocabulary.units import unit_in_name
from workbench.model.arrays import BoolArray, FloatArray, IntArray
from workbench.model.counting import counted
from workbench.model.log import typed_flag
from workbench.phrases import flag, join_phrases, phrase

FEWEST = 20  # stamps, to tell that they are those of one drive
EVEN, LONGEST = 2.5, 20.0  # usual steps, which nineteen of twenty steps and all of them stay within once sorted
DISTINCT = 0.95  # of the stamps
MOST_TWICE, SURELY_TWICE = 0.3, 0.98  # of the rows, and of those with a repeated stamp, that are the row before
RISING = 0.99  # of the steps of a column that may be the time
EXACT = 0.05  # of the usual step
FEW_LAPS, COMMON = 0.02, 0.5  # of the rows; of the shorter of two runs, that both run over
FEWEST_ROLES = 2  # channels that are known, before rows may be samples of a drive at an even rate


def order_of(stamps: FloatArray) -> IntArray | None:
    """Give the order in which stamps rise, where they are those of one drive in another one; None where they are not.

    Sorted, they must follow each other evenly: two drives, one behind the other, leave a gap or fall into each other.

    Args:
        stamps: s, shape (rows,), NaN where a row has none.
    """
    known = np.isfinite(stamps)
    steps = np.diff(stamps[known])
    if known.sum() < FEWEST or not np.any(steps < 0) or np.all(steps < 0):
        return None
    if np.flatnonzero(steps < 0)[0] >= steps.size - MOST_LINES:
        return None  # a mean or a total at the end is no moment of the drive
    if _are_laps(stamps[known]):
        return None
    order = np.argsort(stamps, kind="stable")
    apart = np.diff(stamps[order][: int(known.sum())])
    usual = float(np.median(apart))
    if usual <= 0 or np.mean(apart > 0) < DISTINCT:
        return None
    even = float(np.quantile(apart, 0.95)) <= EVEN * usual and float(apart.max()) <= LONGEST * usual
    # A clock that only wavers is no other order: most of its steps would rise by the usual one.
    moved = float(np.min(steps)) < -1.5 * usual or float(np.mean(steps < 0)) > 0.2
    # Where sorted stamps keep one step throughout, it is the rows that changed places, and not the clock that wavers.
    moved = moved or bool(np.all(np.abs(apart - usual) < EXACT * usual))
    return order if even and moved else None


def _are_laps(stamps: FloatArray) -> bool:
    """Tell whether stamps begin anew now and then and run over the same again, as a counter does that is full."""
    starts = np.flatnonzero(np.diff(stamps) < 0) + 1
    if not 0 < starts.size < FEW_LAPS * stamps.size:
        return False
    runs = [(float(run[0]), float(run[-1])) for run in np.split(stamps, starts)[:-1]]  # the last one may be short
    if len(runs) < 2:
        return False
    return all(min(b, d) - max(a, c) > COMMON * min(b - a, d - c) for (a, b), (c, d) in pairwise(runs))


def written_once(stamps: FloatArray, fields: Sequence[Field]) -> tuple[BoolArray | None, str]:
    """Give the rows that are not the row before once more, and a sentence; None where there are no such rows.

    Rows that share a stamp but not their values are readings of their own, so there nothing is left out.

    Args:
        stamps: s, shape (rows,), NaN where a row has none.
        fields: all columns.
    """
    repeated = np.append(False, np.diff(stamps) == 0)
    count = int(repeated.sum())
    if not 0 < count < MOST_TWICE * stamps.size:
        return None, ""
    same = repeated.copy()
    for each in fields:
        if each.texts is not None:
            same[1:] &= each.texts[1:] == each.texts[:-1]
        else:
            gone = np.isnan(each.values)
            same[1:] &= (each.values[1:] == each.values[:-1]) | (gone[1:] & gone[:-1])
    if int(same.sum()) < SURELY_TWICE * count:
        return None, ""
    note = phrase("Rows that are written twice count once: {rows} left out.", rows=counted(int(same.sum()), "row"))
    return ~same, note


def told_twice(stamps: FloatArray, fields: Sequence[Field]) -> tuple[BoolArray | None, str]:
    """Give the rows that are no copy of earlier ones, as where exports overlap, and a sentence; None where none are.

    Args:
        stamps: s, shape (rows,), NaN where a row has none.
        fields: all columns.
    """
    if not np.any(np.diff(stamps) < 0):
        return None, ""  # a copy begins at an earlier moment
    columns = [stamps] + [each.values for each in fields if each.texts is None]
    texts = [_numbered(each.texts.tolist()) for each in fields if each.texts is not None]
    rows = np.ascontiguousarray(np.column_stack([*columns, *texts]), dtype=np.float64)
    rows[np.isnan(rows)] = np.inf
    alike = rows.view(np.dtype((np.void, rows.dtype.itemsize * rows.shape[1]))).ravel()
    _, first, which = np.unique(alike, return_index=True, return_inverse=True)
    kept = first[which.ravel()] == np.arange(stamps.size)
    copied = int(np.count_nonzero(~kept))
    if copied < FEWEST:
        return None, ""
    note = phrase(
        "{rows} repeat earlier ones in every channel, as where exports overlap: they count once.",
        rows=counted(copied, "row"),
    )
    return kept, note


def _numbered(texts: Sequence[object]) -> FloatArray:
    """Give each text a number, the same to the same; an array of texts would give all the room of the longest."""
    found: dict[object, int] = {}
    return np.array([found.setdefault(each, len(found)) for each in texts], dtype=np.float64)


def risen(recording: Recording, units: Mapping[str, str], refused: Sequence[str]) -> tuple[str, str, str]:
    """Give the one column that rises from row to row in a unit of time, whatever it is called: a last resort.

    Returns:
        Its name, its unit, and what is to be said of it.

    Raises:
        InputError: when there is none, or engine and car do not move by it as they can.
    """
    fitting = []
    for each in recording.fields:
        unit = each.unit or unit_in_name(each.name)
        seconds = stated_seconds(unit)
        if each.name in units or seconds is None or not _rises(each):
            continue
        if pace_of(each.values * seconds, [other for other in recording.fields if other is not each]) == "possible":
            fitting.append((each.name, unit))
    if len(fitting) != 1:
        raise no_time(recording, refused)
    name, unit = fitting[0]
    return (
        name,
        unit,
        phrase("{name} rises from row to row, in {unit}: it was taken for the time.", name=name, unit=unit),
    )


def no_time(recording: Recording, refused: Sequence[str]) -> InputError:
    """Say that no column tells the time, and what takes the file: a rising column, or a rate where rows are even."""
    message = (
        phrase("{source} has no column usable as time", source=recording.source)
        + (f" ({'; '.join(refused)})" if refused else "")
        + "."
    )
    if not refused and (unread := _unread_clock(recording)):
        message += " " + unread
    rising = next((each for each in recording.fields if _rises(each)), None)
    known = sum(each.texts is None and role_by_name(each.name, each.unit) is not None for each in recording.fields)
    rate = phrase("Give the rows per second with {rate_flag}, as in {rate_flag} 10.", rate_flag=flag("rate"))
    if rising is not None:
        stated = phrase(
            "{name} rises from row to row: if it is the time, state its unit, as in {unit_flag}.",
            name=rising.name,
            unit_flag=typed_flag("unit", rising.name, "s"),
        )
        return InputError(message, join_phrases(" ", (stated, rate if known >= FEWEST_ROLES else _nameless())))
    if known >= FEWEST_ROLES:
        return InputError(message, rate)
    return InputError(
        message,
        phrase(
            "Expected: a column of time, and channels under their names. It has {names}. Rows at an even rate need no "
            "time: {rate_flag}.",
            names=", ".join(each.name for each in recording.fields[:8]),
            rate_flag=flag("rate"),
        )
        if _is_even(recording)
        else phrase(
            "A log has a column of time beside its channels, and a line of their names above. This one has {names}.",
            names=", ".join(each.name for each in recording.fields[:8]),
        ),
    )


def _unread_clock(recording: Recording) -> str:
    """Name the column that may have been meant as the time, and what stands in it; empty where there is none."""
    texts = [each for each in recording.fields if each.texts is not None]
    named = [each for each in texts if CLOCK.search(plain_words(each.name)) or each is recording.fields[0]]
    for each in named:
        cells = [] if each.texts is None else each.texts.tolist()
        shown = next((str(cell).strip() for cell in cells if any(sign.isdigit() for sign in str(cell))), "")
        if shown:
            return phrase(
                "{name} holds text such as {shown!r}, in which no moment is known: write seconds, or a time such as "
                "13:45:01.2.",
                name=each.name,
                shown=shown[:30],
            )
    return ""


def _nameless() -> str:
    return phrase(
        "Its channels bear no name that is known: say what they are with {role_flag}.", role_flag=flag("role")
    )


def _rises(field: Field) -> bool:
    values = field.values
    if field.texts is not None or values.size < FEWEST or not np.all(np.isfinite(values)):
        return False
    steps = np.diff(values)
    return bool(np.mean(steps > 0) >= RISING and np.all(steps >= 0))


def _is_even(recording: Recording) -> bool:
    """Tell whether rows may be samples at an even rate: columns of numbers that move little from row to row."""
    smooth = 0
    for each in recording.fields:
        values = each.values[np.isfinite(each.values)]
        if each.texts is None and values.size >= FEWEST and float(np.ptp(values)) > 0:
            smooth += float(np.median(np.abs(np.diff(values)))) < 0.1 * float(np.ptp(values))
    return smooth >= FEWEST_ROLES and all(each.texts is None for each in recording.fields)
