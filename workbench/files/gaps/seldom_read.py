"""A long trim that is read seldom and held meanwhile, while the engine goes where another one is at work."""

from collections.abc import Collection
from dataclasses import replace

import numpy as np

from workbench.files.gaps.on_change import Held
from workbench.files.vocabulary.recording import Field
from workbench.files.vocabulary.roles import role_by_name
from workbench.model.arrays import FloatArray
from workbench.phrases import phrase

LONG = ("ltft_1", "ltft_2")
# Times between two changes; s; rows by which they are uneven, and as a part: chance is no more even than that.
FEWEST_READ, SELDOM_S, ROWS_OFF, UNEVEN = 6, 15.0, 2.5, 0.05
STANDS_S = 1.0  # for which what was read counts


def only_as_read(held: Held, time: FloatArray, stated: Collection[str]) -> Held:
    """Let a long trim that was read only every so many seconds count where it was read, and say so.

    Args:
        held: the columns.
        time: s, shape (rows,).
        stated: channels that the user stated as long trims.
    """
    fields, notes = list[Field](held.fields), list[str]()
    for at, each in enumerate(fields):
        if each.name not in stated and role_by_name(each.name, each.unit) not in LONG:
            continue
        if (seconds := read_every(time, each.values)) is None:
            continue
        fields[at] = replace(each, values=_where_read(time, each.values))
        notes.append(
            phrase(
                "{long} was read only every {seconds:.3g} s and is held meanwhile, while the engine goes to other "
                "ranges, where another one is at work: what is held counts as missing. Log it more often.",
                long=each.name,
                seconds=seconds,
            )
        )
    return replace(held, fields=fields, notes=[*held.notes, *notes]) if notes else held


def read_every(time: FloatArray, values: FloatArray) -> float | None:
    """Give the s after which a long trim is read anew, where it is so seldom that it is another one meanwhile.

    It changes only at moments that are so many s apart, or many times as many, as no trim that is learnt does.

    Args:
        time: s, shape (rows,).
        values: shape (rows,), NaN where nothing was read.
    """
    known = np.isfinite(values)
    clock, level = time[known], values[known]
    gaps = np.diff(clock[1:][np.diff(level) != 0])
    if gaps.size < FEWEST_READ or float(gaps.min()) < SELDOM_S:
        return None
    period = float(gaps.min())
    period = float(np.median(gaps / np.round(gaps / period)))
    step = float(np.median(np.diff(clock)))
    off = np.abs(gaps - period * np.round(gaps / period))
    if step > period / 2 or float(off.max()) > min(ROWS_OFF * step, UNEVEN * period):
        return None  # also what is written once, and held by nobody
    return period


def _where_read(time: FloatArray, values: FloatArray) -> FloatArray:
    known = np.flatnonzero(np.isfinite(values))
    starts = np.concatenate(([0], np.flatnonzero(np.diff(values[known]) != 0) + 1))
    read = time[known[starts]]
    last = read[np.maximum(np.searchsorted(read, time, side="right") - 1, 0)]
    return np.where(time - last <= STANDS_S, values, np.nan)
