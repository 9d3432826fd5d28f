"""Columns that follow clocks of their own: several columns of time in one file, each before the channels it times."""

from collections.abc import Sequence

import numpy as np

from workbench.errors import InputError
from workbench.files.text.longform import LongForm
from workbench.files.vocabulary.clock_scale import Scale, find_scale
from workbench.files.vocabulary.file_words import GROUP_CLOCK
from workbench.files.vocabulary.recording import Field, Recording, timed
from workbench.files.vocabulary.spelling import plain_words
from workbench.model.arrays import FloatArray
from workbench.phrases import phrase

FEWEST = 12  # stamps of a clock
RISING = 0.95  # of its steps
APART_S = 0.5  # two clocks that stay as near to each other tell the same rows
COMMON = 0.5  # of the shorter of two clocks, that both must run over to be of one drive


def own_clocks(recording: Recording) -> LongForm | None:
    """Take a recording apart whose channels follow clocks of their own; None where all rows have one time.

    Raises:
        InputError: when its clocks run over different times.
    """
    fields = recording.fields
    places = [at for at, each in enumerate(fields) if _is_clock(each)]
    if len(places) < 2 or places[0] != 0:
        return None
    ends = [*places[1:], len(fields)]
    groups = [(fields[at], fields[at + 1 : end]) for at, end in zip(places, ends, strict=True) if end > at + 1]
    stamps = [_stamps(clock) for clock, _ in groups]
    if len(groups) < 2 or not any(_runs_apart(stamps[0][0], other) for other, _ in stamps[1:]):
        return None
    _check_common(recording.source, groups, [each for each, _ in stamps])
    series = [each for (_, channels), (time, _) in zip(groups, stamps, strict=True) for each in timed(channels, time)]
    if any(each.texts is not None for _, channels in groups for each in channels):
        return None
    names = ", ".join(clock.name for clock, _ in groups[:4]) + (", …" if len(groups) > 4 else "")
    note = phrase("{count} groups of channels follow clocks of their own: {names}.", count=len(groups), names=names)
    return LongForm(series, [note], groups[0][0].name, stamps[0][1])


def _is_clock(field: Field) -> bool:
    if field.texts is not None or GROUP_CLOCK.search(plain_words(field.name)) is None:
        return False
    seen = field.values[np.isfinite(field.values)]
    steps = np.diff(seen)
    return bool(seen.size >= FEWEST and np.all(steps >= 0) and np.mean(steps > 0) >= RISING)


def _stamps(clock: Field) -> tuple[FloatArray, Scale]:
    scale = find_scale(plain_words(clock.name), clock.unit, clock.values)
    return clock.values * scale.seconds, scale


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
