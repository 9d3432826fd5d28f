"""Channels with times of their own, brought to one time base without inventing values."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from workbench.files.vocabulary.recording import Field, Recording, Series, is_complete, listed
from workbench.files.vocabulary.roles import could_play_a_role
from workbench.files.vocabulary.spelling import unique_names
from workbench.model.arrays import BoolArray, FloatArray, IntArray
from workbench.phrases import phrase

FEWEST_IN_A_ROUND = 4  # channels; fewer are no round
SAME_STEP = 1.02  # of the shortest usual step: rounds that take the same time
LARGEST_SKEW = 0.2  # of a round, by which a reading may be moved into its row
NEARLY_ALL = 0.98  # of the readings
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
    clocks = len({grid.tobytes() for grid in grids.values()})  # channels of one clock may bring it along one by one
    if clocks == 1:
        time = series[0].time
        return _recording(source, series, [channel.values for channel in series], time, remarks)
    if window_s is None and len(grids) >= FEWEST_IN_A_ROUND and (cycle := _one_cycle(list(grids.values()))) is not None:
        return _in_rows(source, series, cycle, remarks)
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
    bases = phrase("The channels have {grids} time bases; ", grids=clocks)
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


@dataclass(frozen=True, eq=False)
class _Cycle:
    """Grids that are one and the same but for a shift: rows, and where in them each grid's readings belong."""

    time: FloatArray
    places: dict[int, IntArray]
    skew_s: float


def _one_cycle(grids: Sequence[FloatArray]) -> _Cycle | None:
    """Find rows for channels that are asked one behind the other, all of them in every round; None where they are not.

    The channel in the middle of a round gives the rows, so that none is moved by more than half of what lies between
    the first and the last.
    """
    steps = [float(np.median(np.diff(grid))) if grid.size > 2 else 0.0 for grid in grids]
    if min(steps) <= 0 or max(steps) > SAME_STEP * min(steps):
        return None
    middle = sorted(grids, key=lambda grid: float(grid[0]))[len(grids) // 2]
    places, skew = {}, 0.0
    for grid in grids:
        after = np.clip(np.searchsorted(middle, grid), 1, middle.size - 1)
        near = np.where(grid - middle[after - 1] <= middle[after] - grid, after - 1, after)
        off = np.abs(grid - middle[near])
        inside = off <= LARGEST_SKEW * steps[0]
        if np.unique(near[inside]).size != int(inside.sum()) or np.mean(inside) < NEARLY_ALL:
            return None
        places[id(grid)] = np.where(inside, near, -1)
        skew = max(skew, float(off[inside].max()))
    return _Cycle(middle, places, skew)


def _in_rows(source: str, series: Sequence[Series], cycle: _Cycle, notes: list[str]) -> Recording:
    columns = []
    for channel in series:
        at = cycle.places[id(channel.time)]
        column = np.full(cycle.time.size, np.nan)
        column[at[at >= 0]] = channel.values[at >= 0]
        columns.append(column)
    notes.append(
        phrase(
            "The channels are read one behind the other in every round: they stand in one row each round, moved by at "
            "most {skew:.2g} s.",
            skew=cycle.skew_s,
        )
    )
    return _recording(source, series, columns, cycle.time, notes)


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
