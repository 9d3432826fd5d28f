"""Sheets of a workbook, or tables of a file, that are groups of one drive's channels at rates of their own."""

from collections.abc import Mapping

import numpy as np

from workbench.errors import InputError
from workbench.files.channels.states import as_numbers
from workbench.files.moments.time_axis import find_moments
from workbench.files.vocabulary.clock_scale import SECONDS
from workbench.files.vocabulary.recording import Field, Recording, Series, timed
from workbench.files.vocabulary.roles import role_by_name
from workbench.files.vocabulary.spelling import plain_words
from workbench.files.written.longform import LongForm
from workbench.model.arrays import FloatArray
from workbench.phrases import phrase

FEWEST_ROWS, FEWEST_STAMPS = 3, 20  # of a log; to tell clocks by
ENDS = 2.5  # usual steps of the slower clock, by which the clocks of one logger may begin and end apart


def is_log(recording: Recording) -> bool:
    """Tell whether a part of a file holds a log: rows, and channels that are known."""
    known = sum(each.texts is None and role_by_name(each.name, each.unit) is not None for each in recording.fields)
    return recording.rows >= FEWEST_ROWS and known > 0


def as_groups(parts: Mapping[str, Recording], units: Mapping[str, str]) -> LongForm | None:
    """Bring parts of a file together that one logger wrote side by side; None where they are logs of their own.

    They hold other channels each, and their clocks begin and end together.

    Args:
        parts: name -> what was read, at least two.
        units: channel -> its unit, where the user says so.
    """
    clocks, groups, notes = list[FloatArray](), list[tuple[Field, ...]](), list[str]()
    for recording in parts.values():
        try:
            moments = find_moments(recording, None, units)
        except InputError:
            return None
        if moments.questions:
            return None
        clocks.append(moments.clock.time)
        kept = moments.clock.kept
        groups.append(tuple(each.on_rows(kept) for each in moments.recording.fields if each is not moments.field))
        notes += [*recording.notes, *moments.notes]
    names = [plain_words(each.name) for group in groups for each in group]
    if len(set(names)) < len(names) or not _begin_and_end_together(clocks):
        return None
    series = list[Series]()
    for clock, group in zip(clocks, groups, strict=True):
        numbers, said = as_numbers(group, {})
        series += timed(numbers, clock)
        notes += said
    said_of = phrase(
        "{names} hold other channels each over the same time: they were read as groups of one log.",
        names=", ".join(parts),
    )
    return LongForm(series, list(dict.fromkeys([said_of, *notes])), "", SECONDS)


def _begin_and_end_together(clocks: list[FloatArray]) -> bool:
    if any(clock.size < FEWEST_STAMPS for clock in clocks):
        return False
    room = ENDS * max(float(np.median(np.diff(clock))) for clock in clocks)
    return all(np.ptp([clock[at] for clock in clocks]) <= room for at in (0, -1))
