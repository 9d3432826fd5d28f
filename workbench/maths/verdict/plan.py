"""What to drive next: cells that matter and lack evidence, as a few sentences."""

import numpy as np

from workbench.maths.drives.drive_fit import DriveFit
from workbench.maths.table.interpolation import nearest
from workbench.maths.verdict.standing import PROVEN_HALF_WIDTH
from workbench.model.arrays import BoolArray, FloatArray, IntArray
from workbench.model.table import Axis, Table
from workbench.phrases import phrase

SECONDS_PER_CELL = 4.0
MOST_SENTENCES = 4
SAFELY = "Log only with a passenger at the laptop or on a closed course, within local rules."
NO_PULLS = (
    "Full throttle was not driven. When part throttle is inside its target, make two or three pulls through the "
    "whole range, one "
    "at a time, and stop when the wideband reads leaner than commanded."
)


def what_to_drive(known: list[DriveFit], table: Table, standing: IntArray, half_width: FloatArray) -> tuple[str, ...]:
    """Describe where to drive next, from where the engine was and what can be measured there.

    Full throttle is asked for only where a wideband is fitted: without one it says nothing and is driven blind. Fuel
    cuts are no place to drive to.
    """
    part, full = [], []
    for driven in known:
        turning = (driven.seen.speed > 0) | ~np.isfinite(driven.seen.speed)
        part.append(driven.seen.position[turning & ~driven.seen.cut & ~driven.seen.full])
        full.append(driven.seen.position[turning & driven.seen.full])
    at_part, at_full = traffic(table, tuple(part)), traffic(table, tuple(full))
    mostly_full = at_full > at_part
    wideband = any(driven.place != "none" for driven in known)
    visited = at_part + at_full if wideband else np.where(mostly_full, 0, at_part)
    asked = plan(table, standing, half_width, visited, mostly_full, PROVEN_HALF_WIDTH)
    if wideband and not at_full.any():
        asked = (NO_PULLS, *asked) if asked else (NO_PULLS, SAFELY)
    return asked


def plan(
    table: Table,
    standing: IntArray,
    half_width: FloatArray,
    visited: IntArray,
    full: BoolArray,
    limit: float,
) -> tuple[str, ...]:
    """Describe where to drive next.

    Args:
        table: the table.
        standing: index into STANDINGS per cell.
        half_width: of the ratio's 95 % interval, NaN where undriven.
        visited: rows of all logs, gated or not, that fell into each cell.
        full: cells driven mostly at full throttle.
        limit: half-width from which a cell is known well enough.

    Returns:
        At most four sentences, the most travelled first; none when all that matters is proven.
    """
    lacking = _lacking(standing, half_width, visited, limit)
    if not lacking.any():
        return ()
    groups = _groups(lacking)
    groups.sort(key=lambda cells: -int(visited.ravel()[cells].sum()))
    sentences = [_sentence(table, cells, standing, full) for cells in groups[:MOST_SENTENCES]]
    return (*sentences, SAFELY)


def traffic(table: Table, positions: tuple[FloatArray, ...]) -> IntArray:
    """Count rows of logs by nearest cell, shape of the table; rows without a position are left out."""
    count = np.zeros(table.values.size, dtype=np.int64)
    for position in positions:
        there = np.isfinite(position).all(axis=1)
        count += np.bincount(nearest(table.axes, position[there]), minlength=count.size)
    return count.reshape(table.shape)


def _lacking(standing: IntArray, half_width: FloatArray, visited: IntArray, limit: float) -> BoolArray:
    proven = standing == 2
    wide = ~(half_width <= limit)
    neighbour = np.zeros_like(proven)
    for axis in range(proven.ndim):
        before, after = np.roll(proven, 1, axis), np.roll(proven, -1, axis)
        edge = [slice(None)] * proven.ndim
        edge[axis] = slice(0, 1)
        before[tuple(edge)] = False
        edge[axis] = slice(-1, None)
        after[tuple(edge)] = False
        # In between two proven cells, or next to one on the way to a thin one: both are on roads already travelled.
        neighbour |= (before & after) | ((before | after) & (standing == 1))
    lacking: BoolArray = ~proven & wide & ((visited > 0) | neighbour)
    return lacking


def _groups(lacking: BoolArray) -> list[IntArray]:
    """Split marked cells into connected groups, as flat indices."""
    from scipy import ndimage

    labels, count = ndimage.label(lacking)
    return [np.flatnonzero(labels.ravel() == number + 1) for number in range(count)]


def _sentence(table: Table, cells: IntArray, standing: IntArray, full: BoolArray) -> str:
    places = np.unravel_index(cells, table.shape)
    spans = " and ".join(_span(axis, place) for axis, place in zip(table.axes, places, strict=True))
    seconds = max(10, round(SECONDS_PER_CELL * cells.size / 10) * 10)
    thin = int((standing.ravel()[cells] == 1).sum())
    how = (
        "in pulls at full throttle, each through the whole range"
        if full.ravel()[cells].mean() > 0.5
        else phrase("about {seconds} s in all, as steady as traffic allows, on two occasions", seconds=seconds)
    )
    known = (
        phrase("{thin} thin, {cells} without evidence", thin=thin, cells=cells.size - thin)
        if thin
        else "no evidence yet"
    )
    return f"Drive {spans}: {how} ({known})."


def _span(axis: Axis, place: IntArray) -> str:
    low, high = axis.breakpoints[place.min()], axis.breakpoints[place.max()]
    name = axis.name.lower()
    return f"{name} {low:.6g} {axis.unit}" if low == high else f"{name} {low:.6g} to {high:.6g} {axis.unit}"
