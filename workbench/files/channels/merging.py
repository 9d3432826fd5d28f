"""Channels with times of their own, brought to one time base without inventing values."""

from collections.abc import Sequence

import numpy as np

from workbench.files.vocabulary.recording import Field, Recording, Series, is_complete, listed
from workbench.files.vocabulary.roles import could_play_a_role
from workbench.files.vocabulary.spelling import unique_names
from workbench.model.arrays import BoolArray, FloatArray, IntArray
from workbench.phrases import phrase

SPARSE = 0.6  # of the rows
LARGEST = 150_000_000  # cells; beyond, only channels that may play a role are kept


def merge(source: str, series: Sequence[Series], notes: Sequence[str], window_s: float | None) -> Recording:
    """Bring series to the union of their times, each value at the moment at which it was read.

    Args:
        source: name of the file.
        series: what was read.
        notes: what was assumed so far.
        window_s: where it is given, a value stands for the rows that follow it by at most so long, s.
    """
    remarks = list(notes)
    grids = {id(channel.time): channel.time for channel in series}
    if len(grids) == 1:
        time = series[0].time
        return _recording(source, series, [channel.values for channel in series], time, remarks)
    time = np.unique(np.concatenate(list(grids.values())))
    if time.size * len(series) > LARGEST:
        kept = [channel for channel in series if could_play_a_role(channel.name, channel.unit)]
        remarks.append(
            phrase(
                "{series} channels without a role were left out: the log would be too large.",
                series=len(series) - len(kept),
            )
        )
        series = kept
    held = 0.0 if window_s is None else window_s
    places = {key: _places(grid, time, held) for key, grid in grids.items()}
    values = []
    for channel in series:
        at, fresh = places[id(channel.time)]
        values.append(np.where(fresh, channel.values[at], np.nan))
    bases = phrase("The channels have {grids} time bases; ", grids=len(grids))
    if window_s is None:
        remarks.append(bases + "each value keeps the time at which it was read.")
    else:
        remarks.append(
            bases
            + phrase(
                "a value is held for up to {window_s:g} s after it was read and counts as missing after that.",
                window_s=window_s,
            )
        )
    return _recording(source, series, values, time, remarks)


def is_sparse(values: FloatArray) -> bool:
    """Return whether a column has values, but only on some rows: as one channel after the other was asked."""
    return not is_complete(values) and 0 < int(np.isfinite(values).sum()) < SPARSE * values.size


def hold(values: FloatArray, time: FloatArray, window_s: float) -> FloatArray:
    """Let a value stand for the rows without one that follow it by at most the window.

    Args:
        values: shape (rows,), NaN where missing.
        time: s, shape (rows,), not falling.
        window_s: longest time a value stands for, s.
    """
    rows = np.arange(values.size)
    last = np.maximum.accumulate(np.where(np.isfinite(values), rows, -1))
    held = (last >= 0) & (time - time[np.maximum(last, 0)] <= window_s * (1 + 1e-9))
    filled: FloatArray = np.where(held, values[np.maximum(last, 0)], np.nan)
    return filled


def _places(grid: FloatArray, time: FloatArray, window_s: float) -> tuple[IntArray, BoolArray]:
    at = np.searchsorted(grid, time, side="right") - 1
    fresh = (at >= 0) & (time - grid[np.maximum(at, 0)] <= window_s * (1 + 1e-9))
    return np.maximum(at, 0), fresh


def _recording(
    source: str, series: Sequence[Series], values: Sequence[FloatArray], time: FloatArray, notes: list[str]
) -> Recording:
    names = unique_names([channel.name for channel in series])
    doubles = [new for new, channel in zip(names, series, strict=True) if new != channel.name]
    if doubles:
        notes.append(
            phrase(
                "Channel names occur more than once; later ones are renamed {doubles}.",
                doubles=listed(doubles[:5], len(doubles)),
            )
        )
    fields = tuple(
        Field(name, channel.unit, column) for name, channel, column in zip(names, series, values, strict=True)
    )
    return Recording(source, fields, tuple(notes), time)
