"""How an ECU reads a table between breakpoints, and how a sample spreads over them.

Linear between breakpoints and clamped beyond the ends, as AUTOSAR SWS IFL (document 398) describes it: the axis is
searched for the cell, the ratio inside it is worked out, and values are mixed along columns first, then along rows.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

import numpy as np

from workbench.model.arrays import FloatArray, IntArray
from workbench.model.table import Axis, Table


@dataclass(frozen=True, eq=False)
class Nodes:
    """The breakpoints around each sample and what each of them counts.

    Attributes:
        cell: flat (row-major) index into the table, shape (samples, 2) for a curve, (samples, 4) for a grid.
        weight: 0..1, rows sum to 1, same shape.
    """

    cell: IntArray
    weight: FloatArray


# Samples at a time: intermediate arrays stay in the processor's cache, and are small enough that malloc keeps their
# memory instead of giving it back to the system each time (from 128 kB on).
PIECE = 8192
CLIP: Literal["clip"] = "clip"  # every index is a right one, and numpy takes four times as long to make sure of that
FEW = 512  # values for which a search costs less than making a finder
LEAST_BINS, MOST_BINS = 64, 16384


class Finder:
    """An axis made ready for finding the intervals of many values.

    Evenly spaced bins, fine enough that none holds two breakpoints: the bin says between which breakpoints a value
    lies but for one, which is then compared. Which bin a value falls into is worked out by rising steps (a difference,
    a product, a cut), so values and breakpoints are binned alike, and the interval is exactly the one a search finds.
    """

    def __init__(self, axis: Axis, samples: int) -> None:
        """Prepare an axis for so many samples; for few, or where breakpoints crowd too much for bins, it searches."""
        self._points = axis.breakpoints
        self._width = np.diff(self._points)
        # Only inner breakpoints are searched: what lies beyond the ends falls into the end intervals by itself.
        self._inner = self._points[1:-1]
        self._last = LEAST_BINS - 1.0
        self._steps = 0.0
        self._binned = samples > FEW and self._points.size > 2 and self._fine_enough()

    def _fine_enough(self) -> bool:
        bins, span = LEAST_BINS, float(self._points[-1]) - float(self._points[0])
        while bins <= MOST_BINS and np.isfinite(bins / span):
            self._last, self._steps = bins - 1.0, bins / span
            at = self._bin(self._inner)
            if np.all(np.diff(at) > 0):
                self._first = np.searchsorted(at, np.arange(bins))
                self._edge = np.full(bins, np.nan)  # nothing lies beyond an edge that is not there, infinity neither
                self._edge[at] = self._inner
                return True
            bins *= 2
        return False

    def _bin(self, x: FloatArray) -> IntArray:
        steps = x - self._points[0]
        steps *= self._steps
        # A missing value goes to bin 0; its ratio stays missing.
        np.fmax(steps, 0.0, out=steps)
        np.fmin(steps, self._last, out=steps)
        bins: IntArray = steps.astype(np.int64)
        return bins

    def place(self, x: FloatArray) -> tuple[IntArray, FloatArray]:
        """Find the interval of each value and the ratio inside it, as `place` does."""
        if self._points.size == 1:
            return np.zeros(x.shape, dtype=np.int64), np.where(np.isnan(x), np.nan, 0.0)
        if self._binned:
            at = self._bin(x)
            below = self._first.take(at, mode=CLIP)
            below += x >= self._edge.take(at, mode=CLIP)
        else:
            below = np.searchsorted(self._inner, x, side="right")
        ratio = x - self._points.take(below, mode=CLIP)
        ratio /= self._width.take(below, mode=CLIP)
        return below, np.clip(ratio, 0.0, 1.0, out=ratio)


class Spreader:
    """Axes made ready for spreading many samples over the breakpoints around them.

    Attributes:
        cells: number of cells of a table over these axes.
        offsets: how far each node's flat index lies beyond the first one's.
    """

    def __init__(self, axes: tuple[Axis, ...], samples: int) -> None:
        """Prepare one or two axes for so many samples."""
        self._finders = tuple(Finder(axis, samples) for axis in axes)
        up = int(len(axes[0]) > 1)
        self.offsets: tuple[int, ...] = (0, up)
        self._columns, self.cells = 1, len(axes[0])
        if len(axes) == 1:
            return
        self._columns = len(axes[1])
        right = int(self._columns > 1)
        self.cells = len(axes[0]) * self._columns
        self.offsets = (0, right, up * self._columns, up * self._columns + right)

    def around(self, position: FloatArray) -> tuple[IntArray, list[FloatArray]]:
        """Return the flat index of the first node of each sample, and every node's weight.

        Args:
            position: shape (samples, axes), axis units; few enough samples to stay in the processor's cache.

        Returns:
            Shape (samples,), and for each node shape (samples,).
        """
        below, ratio = self._finders[0].place(np.ascontiguousarray(position[:, 0]))
        if len(self._finders) == 1:
            return below, [1 - ratio, ratio]
        left, across = self._finders[1].place(np.ascontiguousarray(position[:, 1]))
        below *= self._columns
        below += left
        both = ratio * across
        only_across = across - both
        first = 1 - ratio
        first -= only_across
        ratio -= both
        # Differences of ratios may fall a rounding error below zero.
        return below, [np.maximum(weight, 0.0, out=weight) for weight in (first, only_across, ratio, both)]


def place(axis: Axis, x: FloatArray) -> tuple[IntArray, FloatArray]:
    """Find the interval of each value and the ratio inside it, clamped at the ends.

    Args:
        axis: n breakpoints.
        x: shape (samples,), axis units; NaN gives ratio NaN.

    Returns:
        Index of the breakpoint below, 0..n-2 (0 for a single breakpoint), and the ratio 0..1, both (samples,).
    """
    return Finder(axis, x.size).place(x)


def spread(axes: tuple[Axis, ...], position: FloatArray) -> Nodes:
    """Spread samples over the breakpoints around them.

    Args:
        axes: one or two axes.
        position: shape (samples, axes), axis units.
    """
    spreader = Spreader(axes, position.shape[0])
    shape = (len(spreader.offsets), position.shape[0])
    cell, weight = np.empty(shape, dtype=np.int64), np.empty(shape)
    for start in range(0, shape[1], PIECE):
        piece = slice(start, start + PIECE)
        first, weights = spreader.around(position[piece])
        for node, offset in enumerate(spreader.offsets):
            cell[node, piece] = first + offset
            weight[node, piece] = weights[node]
    return Nodes(cell.T, weight.T)


def spread_in_pieces(axes: tuple[Axis, ...], position: FloatArray, size: int = PIECE) -> Iterator[tuple[slice, Nodes]]:
    """Spread samples as `spread` does, so many at a time: gives their rows and their nodes."""
    spreader = Spreader(axes, position.shape[0])
    offsets = np.array(spreader.offsets)[:, None]
    for start in range(0, position.shape[0], size):
        rows = slice(start, start + size)
        first, weights = spreader.around(position[rows])
        yield rows, Nodes((first + offsets).T, np.stack(weights).T)


def look_up(table: Table, position: FloatArray) -> FloatArray:
    """Read the table as the ECU does.

    Args:
        table: curve or grid.
        position: shape (samples, axes), axis units.

    Returns:
        Values, shape (samples,), in the table's unit.
    """
    finders = [Finder(axis, position.shape[0]) for axis in table.axes]
    found = np.empty(position.shape[0])
    for start in range(0, found.size, PIECE):
        piece = slice(start, start + PIECE)
        places = [finder.place(column) for finder, column in zip(finders, position[piece].T, strict=True)]
        found[piece] = _mixed(table.values, places)
    return found


def _mixed(values: FloatArray, places: list[tuple[IntArray, FloatArray]]) -> FloatArray:
    below, ratio = places[0]
    above = np.minimum(below + 1, values.shape[0] - 1)
    if len(places) == 1:
        between: FloatArray = values[below] + (values[above] - values[below]) * ratio
        return between
    left, across = places[1]
    right = np.minimum(left + 1, values.shape[1] - 1)
    low = values[below, left] + (values[below, right] - values[below, left]) * across
    high = values[above, left] + (values[above, right] - values[above, left]) * across
    mixed: FloatArray = low + (high - low) * ratio
    return mixed


def nearest(axes: tuple[Axis, ...], position: FloatArray) -> IntArray:
    """Return the flat index of the breakpoint nearest to each sample, shape (samples,)."""
    spreader = Spreader(axes, position.shape[0])
    offsets = np.array(spreader.offsets)
    best = np.empty(position.shape[0], dtype=np.int64)
    for start in range(0, best.size, PIECE):
        piece = slice(start, start + PIECE)
        first, weights = spreader.around(position[piece])
        best[piece] = first + offsets[np.argmax(weights, axis=0)]
    return best
