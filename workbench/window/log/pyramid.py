"""Keeps the least and largest value of every stretch of a channel, so that any zoom draws each spike once."""

from dataclasses import dataclass

import numpy as np

from workbench.model.arrays import FloatArray

FIRST = 16  # samples in a stretch of the lowest level
STEP = 4  # stretches in a stretch of the next level


@dataclass(frozen=True, eq=False)
class Pyramid:
    """A channel over time with its levels.

    Attributes:
        time: shape (n,), not falling.
        values: shape (n,); NaN where missing.
        levels: pairs of least and largest per stretch; a stretch of nothing but NaN is NaN.
    """

    time: FloatArray
    values: FloatArray
    levels: tuple[tuple[FloatArray, FloatArray], ...]

    def reduced(self, start: float, stop: float, pixels: int) -> tuple[FloatArray, FloatArray, bool]:
        """Return what to draw between two times: x and y, and whether they are vertical pairs.

        Args:
            start: s.
            stop: s.
            pixels: width of the picture; at most about three stretches a pixel are given.
        """
        first = max(int(np.searchsorted(self.time, start)) - 1, 0)
        last = min(int(np.searchsorted(self.time, stop, side="right")) + 1, len(self.time))
        rows = last - first
        if rows <= 4 * pixels:
            return self.time[first:last], self.values[first:last], False
        if not self.levels or rows < 2 * FIRST * pixels:
            # Too many for a line, too few for the lowest level: two stretches or more to a pixel, made here.
            size = max(2, min(FIRST, rows // (2 * pixels)))
            first -= first % size
            low, high = (_reduced(self.values[first:last], size, take) for take in (np.fmin, np.fmax))
        else:
            level, size = 0, FIRST
            while level + 1 < len(self.levels) and rows / (size * STEP) >= 2 * pixels:
                level, size = level + 1, size * STEP
            low, high = (side[first // size : -(-last // size)] for side in self.levels[level])
            first -= first % size
        x, y = _strokes(self.time, low, high, first, size)
        return x, y, True


def _strokes(
    time: FloatArray, low: FloatArray, high: FloatArray, first: int, size: int
) -> tuple[FloatArray, FloatArray]:
    """Draw each stretch as one upright stroke that reaches to where the one before ended, so that no gap opens."""
    starts = first + np.arange(len(low)) * size
    x = np.repeat(time[np.minimum(starts, len(time) - 1)], 2)
    y = np.empty(2 * len(low))
    y[0::2], y[1::2] = low, high
    if len(low) > 1:
        y[2::2] = np.fmin(y[2::2], np.where(np.isnan(low[1:]), np.nan, high[:-1]))
        y[3::2] = np.fmax(y[3::2], np.where(np.isnan(low[1:]), np.nan, low[:-1]))
    # Where nothing changes the stroke lies flat: one of no length would not be drawn by every pen.
    flat = np.flatnonzero(y[0::2] == y[1::2])
    x[2 * flat + 1] = time[np.minimum(starts[flat] + size, len(time) - 1)]
    return x, y


def build(time: FloatArray, values: FloatArray) -> Pyramid:
    """Compute all levels; np.fmin and np.fmax leave gaps out, so that a gap stays one."""
    levels = []
    low = high = values
    size = FIRST
    while len(low) > 2 * size:
        low, high = _reduced(low, size, np.fmin), _reduced(high, size, np.fmax)
        levels.append((low, high))
        size = STEP
    return Pyramid(time, values, tuple(levels))


def _reduced(values: FloatArray, size: int, take: np.ufunc) -> FloatArray:
    whole = len(values) // size * size
    parts = take.reduce(values[:whole].reshape(-1, size), axis=1)
    if whole == len(values):
        return np.asarray(parts)
    return np.append(parts, take.reduce(values[whole:]))
