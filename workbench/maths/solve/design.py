"""What samples say of cells: which breakpoints each one speaks of, and how much, worked out piece by piece.

Nothing of this is kept, since for a grid it would take eight numbers a sample: it costs less to work it out again in
every sweep than to fetch it from memory.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

import numpy as np

from workbench.maths.table.interpolation import CLIP, PIECE, Spreader
from workbench.model.arrays import FloatArray, IntArray
from workbench.model.table import Axis

SHIFTED = "trim rounding"


class Piece(NamedTuple):
    """Some neighbouring samples.

    Attributes:
        rows: where they stand among all samples.
        first: flat index of the first node of each, shape (rows,).
        share: for every node what its multiplier is multiplied by, shape (rows,) each.
    """

    rows: slice
    first: IntArray
    share: list[FloatArray]


@dataclass(frozen=True, eq=False)
class Design:
    """Samples in a table: each says `sum over its nodes of weight * value / reading * multiplier = ratio`.

    Attributes:
        axes: of the table.
        values: of its cells, shape (cells,).
        position: where each sample lies, shape (samples, axes), axis units, finite.
        reading: what the table in the car gave there, in the unit of the values, shape (samples,).
    """

    axes: tuple[Axis, ...]
    values: FloatArray
    position: FloatArray
    reading: FloatArray

    @property
    def samples(self) -> int:
        """Count the samples."""
        return self.reading.size

    @cached_property
    def spreader(self) -> Spreader:
        """The axes, made ready for finding the nodes of samples."""
        return Spreader(self.axes, self.samples)

    def pieces(self, size: int = PIECE) -> Iterator[Piece]:
        """Yield all samples, so many at a time."""
        values = self._values_of_nodes(self.values)
        for start in range(0, self.samples, size):
            rows = slice(start, min(start + size, self.samples))
            first, shares = self.spreader.around(self.position[rows])
            for share, value in zip(shares, values, strict=True):
                share *= value.take(first, mode=CLIP)  # noqa: PLW2901 - in place
                share /= self.reading[rows]  # noqa: PLW2901 - in place
            yield Piece(rows, first, shares)

    def predicted(self, multipliers: FloatArray, into: FloatArray | None = None) -> FloatArray:
        """Give the ratio that multipliers of shape (cells,) lead to, shape (samples,); into such an array, if given."""
        values = self._values_of_nodes(self.values * multipliers)
        found = np.empty(self.samples) if into is None else into
        for start in range(0, self.samples, PIECE):
            rows = slice(start, start + PIECE)
            first, weights = self.spreader.around(self.position[rows])
            total = weights[0] * values[0].take(first, mode=CLIP)
            for weight, value in zip(weights[1:], values[1:], strict=True):
                weight *= value.take(first, mode=CLIP)  # noqa: PLW2901 - in place
                total += weight
            np.divide(total, self.reading[rows], out=found[rows])
        return found

    def nominal(self) -> FloatArray:
        """Return what the table as it is says: the ratio if all its multipliers were 1, shape (samples,)."""
        return self.predicted(np.ones(self.values.size))

    def _values_of_nodes(self, values: FloatArray) -> list[FloatArray]:
        """Return for every node the values by the index of the first node, shape (cells,) each."""
        return [np.concatenate([values[offset:], np.zeros(offset)]) for offset in self.spreader.offsets]


@dataclass(frozen=True, eq=False)
class Shifts:
    """Unknown amounts by which whole groups of samples are off together, one group a sample.

    Attributes:
        group: of each sample, 0..count-1; count where it has none; shape (samples,).
        share: by what the group's shift is multiplied in each sample, shape (samples,).
        size: prior standard deviation of each shift about 0, shape (count,).
    """

    group: IntArray
    share: FloatArray
    size: FloatArray

    @property
    def count(self) -> int:
        """How many groups there are."""
        return self.size.size


@dataclass(frozen=True, eq=False)
class NuisanceEffect:
    """One further effect, estimated beside the multipliers, on samples that follow one another.

    Attributes:
        moved: what an effect of 1 adds to the ratio of each of these samples, shape (rows,).
        first: where they begin among all samples.
        expected_size: prior standard deviation of the effect about 0; infinite leaves it free.
        name: of the source of error that it stands for, for the budget of uncertainty.
    """

    moved: FloatArray
    first: int = 0
    expected_size: float = float("inf")
    name: str = ""

    def within(self, rows: slice) -> FloatArray | None:
        """Return what it moves at some rows, shape (rows,), 0 where it does not reach; None where it reaches none."""
        low, high = max(rows.start, self.first), min(rows.stop, self.first + self.moved.size)
        if low >= high:
            return None
        reached = self.moved[low - self.first : high - self.first]
        if high - low == rows.stop - rows.start:
            return reached
        return np.pad(reached, (low - rows.start, rows.stop - high))


@dataclass(frozen=True, eq=False)
class Equations:
    """What the samples state.

    Attributes:
        design: which cells they speak of.
        ratio: what the nodes' multipliers and the effects add up to, shape (samples,).
        weight: prior weight of every sample, shape (samples,).
        block: number of the stretch of time each sample belongs to, shape (samples,), not negative.
        effects: further ones, to be estimated beside the multipliers.
        shifts: of groups of samples, estimated too.
        visit: number of the visit each sample belongs to, shape (samples,), where weights already count how samples of
            one visit depend on each other; None where they do not.
        unit: standard deviation of a sample of weight 1, where the weights were made for one; NaN elsewhere.
    """

    design: Design
    ratio: FloatArray
    weight: FloatArray
    block: IntArray
    effects: tuple[NuisanceEffect, ...] = ()
    shifts: Shifts | None = None
    visit: IntArray | None = None
    unit: float = float("nan")

    @property
    def names(self) -> tuple[str, ...]:
        """Name of the source of error behind every effect, then every shift."""
        own = tuple(effect.name for effect in self.effects)
        return own if self.shifts is None else own + (SHIFTED,) * self.shifts.count

    @property
    def expected_sizes(self) -> FloatArray:
        """Prior standard deviation of every effect, then of every shift, shape (effects + shifts,)."""
        sizes = np.array([effect.expected_size for effect in self.effects], dtype=np.float64)
        return sizes if self.shifts is None else np.concatenate([sizes, self.shifts.size])

    def moved(self, rows: slice) -> dict[int, FloatArray]:
        """Return number of effect -> what it moves at some rows, shape (rows,), for the effects that reach them."""
        first, end = self._reach
        near = np.flatnonzero((first < rows.stop) & (end > rows.start)).tolist()
        reached = {k: self.effects[k].within(rows) for k in near}
        return {k: moved for k, moved in reached.items() if moved is not None}

    def meeting(self, k: int, others: IntArray) -> list[int]:
        """Return which of some effects share samples with an effect, itself too if it is among them."""
        first, end = self._reach
        return [int(each) for each in others[(first[others] < end[k]) & (end[others] > first[k])]]

    @cached_property
    def _reach(self) -> tuple[IntArray, IntArray]:
        """Where every effect begins and ends among the samples, shape (effects,) each."""
        first = np.array([effect.first for effect in self.effects], dtype=np.int64)
        return first, first + np.array([effect.moved.size for effect in self.effects], dtype=np.int64)
