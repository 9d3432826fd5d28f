"""Full throttle as a whole: one airflow ratio over the range that pulls went through, with its interval."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from workbench.maths.table.interpolation import nearest, spread
from workbench.maths.table.shaped import before_shaping
from workbench.model.arrays import BoolArray, FloatArray, IntArray
from workbench.model.counting import counted
from workbench.model.evidence import Evidence
from workbench.model.table import Table
from workbench.phrases import join_phrases, phrase, plural_phrase

COVERAGE = 1.96
APART_S = 3.0  # between the samples of two pulls: common practice, no source
FEWEST = 5.0  # samples, weighted
WIDEST = 0.06  # half-width of a factor that is still a ground for a correction, as for thin cells
REPEATS = 0.003  # no wideband repeats better from pull to pull: common practice, no source


@dataclass(frozen=True, eq=False)
class FullThrottle:
    """What all pulls together say, as one factor on the table where they went.

    Attributes:
        factor: airflow ratio, the mean over samples, against the table as it was before it was shaped by hand.
        half_width: of its 95 % interval.
        spread: by how much the ratio of a single place departs from it, standard deviation as a ratio.
        low, high: range of each axis, axis units.
        inside: cells within that range, shape of the table.
        felt: samples at full throttle in each cell, weighted, shape of the table.
        pulls: how many there were.
        samples: how many of them.
        shaped: what carries the factor onto the table as it is now, shape of the table; 1 where nothing was shaped.
    """

    factor: float
    half_width: float
    spread: float
    low: tuple[float, ...]
    high: tuple[float, ...]
    inside: BoolArray
    felt: FloatArray
    pulls: int
    samples: int
    shaped: FloatArray | float = 1.0

    @property
    def of_a_cell(self) -> float:
        """Half-width of the 95 % interval of the factor where it stands for a single cell."""
        return float(np.hypot(self.half_width, COVERAGE * self.spread))

    @property
    def known(self) -> bool:
        """Whether it is known closely enough to correct with."""
        return self.of_a_cell <= WIDEST

    def range_of(self, table: Table) -> str:
        """The range of each axis, in words."""
        return " and ".join(
            f"{axis.name.lower()} {low:.5g} to {high:.5g} {axis.unit}".rstrip()
            for axis, low, high in zip(table.axes, self.low, self.high, strict=True)
        )

    def sentence(self, table: Table, cells: int) -> str:
        """Say, as a sentence, what the factor is and in how many cells it stands; none where each has evidence."""
        whole = phrase(
            "Full throttle as one factor: {factor:.4f} (±{half:.4f}) over {where}, from {samples} of {pulls}.",
            factor=self.factor,
            half=self.half_width,
            where=self.range_of(table),
            samples=counted(self.samples, "sample"),
            pulls=counted(self.pulls, "pull"),
        )
        if not cells:
            return join_phrases(" ", (whole, "Each driven cell there is corrected by evidence of its own."))
        used = plural_phrase(
            cells,
            "It stands in {n} cell without evidence of its own, known there to ±{of_a_cell:.4f}, and joins the others "
            "without a step.",
            "It stands in {n} cells without evidence of their own, known there to ±{of_a_cell:.4f}, and joins the "
            "others without a step.",
            of_a_cell=self.of_a_cell,
        )
        return join_phrases(" ", (whole, used))


def full_throttle(found: Evidence, times: Mapping[int, FloatArray]) -> FullThrottle | None:
    """Take all samples at full throttle together; None where there are too few.

    The interval counts how pulls repeat, how samples scatter, and what is common to all readings (the wideband's own
    error); the spread is what the ratio does from cell to cell beyond the scatter.

    Args:
        found: the evidence.
        times: drive -> time of each row of its log, s.
    """
    position, ratio, weight, pull = _samples(found, times)
    if not weight.sum() >= FEWEST:
        return None
    factor = float(np.average(ratio, weights=weight))
    scatter = float(np.average((ratio - factor) ** 2, weights=weight))
    means = np.array([np.average(ratio[pull == n], weights=weight[pull == n]) for n in np.unique(pull)])
    repeats = max(float(np.std(means, ddof=1)) if means.size > 1 else 0.0, REPEATS)
    error = np.sqrt(scatter / weight.sum() + repeats**2 / means.size + _common(found) ** 2)
    low, high = np.quantile(position, 0.05, axis=0), position.max(axis=0)  # a pull begins while the manifold fills
    cells = nearest(found.table.axes, position)
    nodes = spread(found.table.axes, position)
    felt = np.bincount(nodes.cell.ravel(), (nodes.weight * weight[:, None]).ravel(), found.table.values.size)
    return FullThrottle(
        factor=factor,
        half_width=float(COVERAGE * error),
        spread=_spread(cells, ratio, weight, factor),
        low=tuple(float(each) for each in low),
        high=tuple(float(each) for each in high),
        inside=_between(found.table, low, high),
        felt=np.asarray(felt, dtype=np.float64).reshape(found.table.shape),
        pulls=int(means.size),
        samples=int(ratio.size),
        shaped=found.shaped if found.shaped.size else 1.0,
    )


def _samples(found: Evidence, times: Mapping[int, FloatArray]) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
    """Return position, ratio, weight of all samples at full throttle, and a number for the pull of each."""
    parts, count = [], 0
    for samples in found.kept:
        use = samples.full_throttle & (samples.weight > 0)
        if not use.any():
            continue
        begins = np.diff(times[samples.drive][samples.rows[use]], prepend=-np.inf) > APART_S
        parts.append(
            (samples.position[use], before_shaping(found, samples)[use], samples.weight[use], count + np.cumsum(begins))
        )
        count += int(begins.sum())
    if not parts:
        return np.zeros((0, len(found.table.axes))), np.zeros(0), np.zeros(0), np.zeros(0)
    position, ratio, weight, pull = (np.concatenate(column) for column in zip(*parts, strict=True))
    return position, ratio, weight, pull


def _common(found: Evidence) -> float:
    """Give the standard deviation of what moves the whole table at once, in the median driven cell."""
    moved = sum((np.square(item.size) for item in found.budget if item.common), np.zeros(found.table.shape))
    return float(np.sqrt(np.median(moved[found.driven]))) if found.driven.any() else 0.0


def _spread(cells: IntArray, ratio: FloatArray, weight: FloatArray, factor: float) -> float:
    """Give how far the ratio of a single cell is from the factor, standard deviation beyond what scatter explains."""
    total = 0.0
    for cell in np.unique(cells):
        here = cells == cell
        mean, much = np.average(ratio[here], weights=weight[here]), weight[here].sum()
        noise = np.average((ratio[here] - mean) ** 2, weights=weight[here]) / max(much, 1.0)
        total += much * ((mean - factor) ** 2 - noise)
    return float(np.sqrt(max(total / weight.sum(), 0.0)))


def _between(table: Table, low: FloatArray, high: FloatArray) -> BoolArray:
    """Mark the cells that the ECU reads anywhere within a range, shape of the table."""
    marked = np.ones(table.shape, dtype=np.bool_)
    for number, axis in enumerate(table.axes):
        points = axis.breakpoints
        first = max(int(np.searchsorted(points, low[number], side="right")) - 1, 0)
        last = min(int(np.searchsorted(points, high[number])), points.size - 1)
        within = (np.arange(points.size) >= first) & (np.arange(points.size) <= last)
        marked &= within.reshape([-1 if n == number else 1 for n in range(len(table.axes))])
    return marked
