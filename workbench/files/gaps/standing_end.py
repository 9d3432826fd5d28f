"""The end of a log in which nothing moves any more: a logger that went on with what it had read last."""

from dataclasses import replace

import numpy as np

from workbench.files.gaps.on_change import Held
from workbench.model.arrays import FloatArray
from workbench.model.counting import counted
from workbench.phrases import phrase

# Channels that moved before, and how often each; s and rows without a change: no engine stands still so long in all.
FEWEST_CHANNELS, FEWEST_CHANGES, LEAST_S, FEWEST_ROWS = 6, 50, 15.0, 50


def without_standing_end(held: Held, time: FloatArray) -> Held:
    """Let the rows at the end count as missing in which none of many channels moves to the last digit, and say so.

    Args:
        held: the columns.
        time: s, shape (rows,).
    """
    ends = [_last_change(each.values) for each in held.fields]
    moving = [end for end, changes in ends if changes >= FEWEST_CHANGES]
    last = max((end for end, _ in ends), default=0)
    if len(moving) < FEWEST_CHANNELS or time.size - 1 - last < FEWEST_ROWS or time[-1] - time[last] < LEAST_S:
        return held
    note = phrase(
        "From {moment:.6g} s to the end nothing moves any more, in {rows}: the logger went on with what it had read "
        "last. These count as missing.",
        moment=time[last],
        rows=counted(time.size - 1 - last, "row"),
    )
    rows = np.arange(time.size) > last
    fields = [replace(each, values=np.where(rows, np.nan, each.values)) for each in held.fields]
    return replace(held, fields=fields, notes=[*held.notes, note])


def _last_change(values: FloatArray) -> tuple[int, int]:
    """Give the row of the last change from one reading to the next, and how many there are."""
    there = np.flatnonzero(np.isfinite(values))
    changed = there[1:][np.diff(values[there]) != 0]
    return (int(changed[-1]), int(changed.size)) if changed.size else (0, 0)
