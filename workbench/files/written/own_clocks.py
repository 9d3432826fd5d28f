"""Columns that follow clocks of their own: several columns of time in one file, each before the channels it times."""

import re
from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np

from workbench.errors import InputError
from workbench.files.vocabulary.clock_scale import Scale, find_scale
from workbench.files.vocabulary.file_words import CLOCK, GROUP_CLOCK
from workbench.files.vocabulary.recording import Field, Recording, Series, timed
from workbench.files.vocabulary.spelling import plain_words
from workbench.files.written.longform import LongForm
from workbench.model.arrays import FloatArray
from workbench.phrases import phrase

Numbered = Callable[[Sequence[Field]], tuple[list[Field], list[str]]]
FEWEST = 12  # stamps of a clock
RISING = 0.95  # of its steps
APART_S = 0.5  # two clocks that stay as near to each other tell the same rows
_NUMBERED = re.compile(r" #\d+$")  # told apart from others of the same name
COMMON = 0.5  # of the shorter of two clocks, that both must run over to be of one drive


def own_clocks(recording: Recording, numbered: Numbered) -> LongForm | None:
    """Take a recording apart whose channels follow clocks of their own; None where all rows have one time.

    Args:
        recording: as it was read.
        numbered: turns columns of texts that stand for numbers or states into numbers, leaves the rest out and says so.

    Raises:
        InputError: when its clocks run over different times.
    """
    fields = recording.fields
    places = [at for at in range(len(fields)) if _is_clock(fields, at)]
    if len(places) < 2 or places[0] != 0:
        return None
    ends = [*places[1:], len(fields)]
    groups = [(fields[at], fields[at + 1 : end]) for at, end in zip(places, ends, strict=True) if end > at + 1]
    stamps = [_stamps(clock) for clock, _ in groups]
    apart = any(_runs_apart(stamps[0][0], other) for other, _ in stamps[1:])
    if len(groups) < 2 or not (apart or _is_for_each(fields, places)):
        return None
    _check_common(recording.source, groups, [each for each, _ in stamps])
    series, notes = list[Series](), list[str]()
    for (_, channels), (time, _) in zip(groups, stamps, strict=True):
        numbers, said = numbered(channels)
        series += timed(numbers, time)
        notes += said
    names = ", ".join(clock.name for clock, _ in groups[:4]) + (", …" if len(groups) > 4 else "")
    note = phrase("{count} groups of channels follow clocks of their own: {names}.", count=len(groups), names=names)
    return LongForm(series, [note, *notes], groups[0][0].name, stamps[0][1])


def _is_clock(fields: Sequence[Field], at: int) -> bool:
    field = fields[at]
    named = GROUP_CLOCK.search(plain_words(field.name)) is not None or _is_of_next(fields, at)
    if field.texts is not None or not named:
        return False
    seen = field.values[np.isfinite(field.values)]
    steps = np.diff(seen)
    return bool(seen.size >= FEWEST and np.all(steps >= 0) and np.mean(steps > 0) >= RISING)


def _is_of_next(fields: Sequence[Field], at: int) -> bool:
    """Tell whether a column is called the time of the one behind it, as in `Engine speed time`, `Engine speed`."""
    if at + 1 >= len(fields):
        return False
    words = plain_words(_NUMBERED.sub("", fields[at].name)).split()
    of = " ".join(word for word in words if CLOCK.fullmatch(word) is None)
    return bool(of) and len(of.split()) < len(words) and plain_words(fields[at + 1].name).startswith(of)


def _stamps(clock: Field) -> tuple[FloatArray, Scale]:
    scale = find_scale(plain_words(clock.name), clock.unit, clock.values)
    return clock.values * scale.seconds, scale


def _is_for_each(fields: Sequence[Field], places: Sequence[int]) -> bool:
    """Tell whether clocks bear one name, or that of what they time, and so were written for each channel."""
    names = {plain_words(_NUMBERED.sub("", fields[at].name)) for at in places}
    return len(names) == 1 or all(_is_of_next(fields, at) for at in places)


def on_one_clock(recording: Recording) -> Recording:
    """Keep one of the clocks that stand before each channel of a row, where a row is one round.

    The clock in the middle of a round is kept, so that no reading is moved by more than about half of one.
    """
    fields = recording.fields
    places = [at for at in range(len(fields)) if _is_clock(fields, at)]
    if len(places) < 2 or places[0] != 0 or not _is_for_each(fields, places):
        return recording
    clocks = np.array([fields[at].values for at in places])
    step = float(np.median(np.diff(clocks[0][np.isfinite(clocks[0])])))
    if not np.isfinite(clocks).all() or not np.max(np.ptp(clocks, axis=0)) < step:
        return recording
    middle = places[int(np.argsort(np.mean(clocks, axis=1))[len(places) // 2])]
    moved = float(np.max(np.abs(clocks - fields[middle].values)))
    name = "Time" if _is_of_next(fields, 0) else fields[0].name
    said = phrase("{name} stands before each channel; a row is one round", name=name)
    by = (
        ""
        if moved == 0
        else phrase(
            " and bears the middle one of its times, at most {moved:.2g} {unit} away",
            moved=moved,
            unit=fields[middle].unit,
        )
    )
    kept = (replace(fields[middle], name=name), *(each for at, each in enumerate(fields) if at not in places))
    notes = tuple(each for each in recording.notes if _NUMBERED.search(each.removesuffix(".")) is None)
    return replace(recording, fields=kept, notes=(*notes, f"{said}{by}."))


def _runs_apart(first: FloatArray, other: FloatArray) -> bool:
    both = np.isfinite(first) & np.isfinite(other)
    return bool(not both.any() or np.ptp(other[both] - first[both]) > APART_S)


def _check_common(source: str, groups: Sequence[tuple[Field, Sequence[Field]]], stamps: Sequence[FloatArray]) -> None:
    spans = [(float(np.nanmin(each)), float(np.nanmax(each))) for each in stamps]
    low, high = spans[0]
    for (clock, channels), (first, last) in zip(groups[1:], spans[1:], strict=True):
        if min(last, high) - max(first, low) < COMMON * min(last - first, high - low):
            raise InputError(
                phrase(
                    "{source}: the clocks {one} ({low:.6g} to {high:.6g} s) and {other} ({first:.6g} to {last:.6g} s) "
                    "do not run over the same time, so {channel} cannot be put beside the channels of the other.",
                    source=source,
                    one=groups[0][0].name,
                    low=low,
                    high=high,
                    other=clock.name,
                    first=first,
                    last=last,
                    channel=channels[0].name,
                ),
                "Export all groups on one clock, or each into a file of its own.",
            )
