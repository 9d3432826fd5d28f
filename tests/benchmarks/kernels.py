"""The sums behind every solve, as ratios to general libraries in one run: read the ratios, not the times.

    python tests/benchmarks/kernels.py [--millions 10]

Needs boost-histogram, which comes with the `test` extra. Processor time, the best of a few runs.
"""

import argparse
import time
import tracemalloc
from collections.abc import Callable

import boost_histogram as bh
import numpy as np
import scipy.linalg  # noqa: F401 - loads the libraries whose threads are limited below
from scipy import sparse
from threadpoolctl import threadpool_limits

from workbench.maths.accumulate import NormalSums, normal_sums
from workbench.maths.interpolation import Nodes, spread
from workbench.maths.roughness import penalty
from workbench.maths.symmetric import regular, solve_symmetric
from workbench.model.arrays import FloatArray, IntArray
from workbench.model.table import Axis

RUNS = 3
GRIDS = {"20x16": (20, 16), "64x64": (64, 64)}
WANTED_SUMS, WANTED_SOLVE = 0.4, 0.25


def axes_of(rows: int, columns: int) -> tuple[Axis, Axis]:
    """Make axes with uneven breakpoints."""
    speed = 600 + 6400 * np.linspace(0, 1, rows) ** 1.2
    return Axis("engine speed", "rpm", speed), Axis("manifold pressure", "kPa", np.linspace(15, 105, columns))


def made_up(samples: int) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Make positions, ratios and weights; all invented."""
    random = np.random.default_rng(0)
    position = np.stack([random.uniform(600, 7000, samples), random.uniform(15, 105, samples)], axis=1)
    return position, random.normal(1, 0.02, samples), random.uniform(0.1, 1, samples)


def timed(work: Callable[[], object], runs: int = RUNS) -> float:
    """Give the least processor time of a few runs, s."""
    spent = []
    for _ in range(runs):
        began = time.process_time()
        work()
        spent.append(time.process_time() - began)
    return min(spent)


def ours(axes: tuple[Axis, Axis], position: FloatArray, ratio: FloatArray, weight: FloatArray) -> NormalSums:
    """Spread and sum: per-cell sums of weight and ratio, and the whole normal equations besides."""
    nodes = spread(axes, position)
    return normal_sums(nodes.cell, nodes.weight, weight, ratio, len(axes[0]) * len(axes[1]))


def boosts(axes: tuple[Axis, Axis], position: FloatArray, ratio: FloatArray, weight: FloatArray) -> FloatArray:
    """Spread with numpy on whole arrays, then fill a weighted mean once for each of the four nodes, in axis units."""
    below, part = zip(*(_inside(axis, column) for axis, column in zip(axes, position.T, strict=True)), strict=True)
    points = [axis.breakpoints for axis in axes]
    edges = [bh.axis.Variable([*each, 2 * each[-1]]) for each in points]
    mean = bh.Histogram(*edges, storage=bh.storage.WeightedMean())
    for up in (0, 1):
        for right in (0, 1):
            share = (part[0] if up else 1 - part[0]) * (part[1] if right else 1 - part[1])
            nodes = [each[start + step] for each, start, step in zip(points, below, (up, right), strict=True)]
            mean.fill(*nodes, weight=weight * share, sample=ratio)
    return np.asarray(mean.values())


def _inside(axis: Axis, x: FloatArray) -> tuple[IntArray, FloatArray]:
    points = axis.breakpoints
    below = np.clip(np.searchsorted(points, x, side="right") - 1, 0, points.size - 2)
    return below, np.clip((x - points[below]) / (points[below + 1] - points[below]), 0, 1)


def sparse_sums(nodes: Nodes, ratio: FloatArray, weight: FloatArray, cells: int) -> tuple[FloatArray, FloatArray]:
    """Give A'WA and A'Wy by scipy's sparse product."""
    samples, width = nodes.cell.shape
    starts = np.arange(0, samples * width + 1, width)
    whole = sparse.csr_matrix((nodes.weight.ravel(), nodes.cell.ravel(), starts), shape=(samples, cells))
    scaled = sparse.csr_matrix(
        ((nodes.weight * weight[:, None]).ravel(), nodes.cell.ravel(), starts), shape=whole.shape
    )
    return np.asarray((scaled.T @ whole).toarray()), np.asarray(scaled.T @ ratio)


def solved(square: FloatArray, right: FloatArray, roughness: FloatArray) -> FloatArray:
    """Solve normal equations with a light penalty, as the workbench does."""
    return solve_symmetric(regular(square + 1e-3 * roughness), right)


def compare(name: str, samples: int) -> None:
    """Print the ratios for one size of grid."""
    axes = axes_of(*GRIDS[name])
    cells = len(axes[0]) * len(axes[1])
    position, ratio, weight = made_up(samples)
    mine = timed(lambda: ours(axes, position, ratio, weight))
    theirs = timed(lambda: boosts(axes, position, ratio, weight))
    line(f"{name}: spread and all sums / boost-histogram's weighted mean", mine, theirs, samples, WANTED_SUMS)
    nodes = spread(axes, position)
    roughness, _ = penalty(axes)
    sums = normal_sums(nodes.cell, nodes.weight, weight, ratio, cells)
    means = boosts(axes, position, ratio, weight).ravel()
    seen = sums.weight > 0
    np.testing.assert_allclose((sums.right[seen] / sums.weight[seen]), means[seen], rtol=1e-9)
    square, right = sparse_sums(nodes, ratio, weight, cells)
    np.testing.assert_allclose(sums.square, square, atol=1e-6)
    np.testing.assert_allclose(sums.right, right, atol=1e-6)
    mine = timed(lambda: normal_sums(nodes.cell, nodes.weight, weight, ratio, cells))
    theirs = timed(lambda: sparse_sums(nodes, ratio, weight, cells))
    line(f"{name}: normal equations / scipy's sparse product", mine, theirs, samples, WANTED_SOLVE)
    once = timed(lambda: solved(sums.square, sums.right, roughness))
    line(f"{name}: normal equations and solve / scipy's sparse product", mine + once, theirs, samples, WANTED_SOLVE)


def line(name: str, mine: float, theirs: float, samples: int, wanted: float) -> None:
    """Print one ratio."""
    verdict = "reached" if mine <= wanted * theirs else "MISSED"
    told = f"{1e9 * mine / samples:6.0f} / {1e9 * theirs / samples:6.0f} ns"
    print(f"{name:68} {told}  {mine / theirs:5.2f}  wanted {wanted:4.2f}  {verdict}")


def grow(millions: float) -> None:
    """Print time per sample and memory over the number of samples."""
    axes = axes_of(*GRIDS["20x16"])
    print("\n20x16 grid: samples, ns a sample to spread and sum, MB that the sums take beside their input")
    for samples in (round(1e5 * millions), round(3e5 * millions), round(1e6 * millions)):
        position, ratio, weight = made_up(samples)
        nodes = spread(axes, position)
        spent = timed(lambda: ours(axes, position, ratio, weight))  # noqa: B023 - run at once
        tracemalloc.start()
        normal_sums(nodes.cell, nodes.weight, weight, ratio, len(axes[0]) * len(axes[1]))
        peak = tracemalloc.get_traced_memory()[1]
        tracemalloc.stop()
        print(f"{samples:12,d} {1e9 * spent / samples:10.0f} {peak / 1e6:10.1f}")


def main() -> None:
    """Print all ratios."""
    words = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    words.add_argument("--millions", type=float, default=1.0, help="samples, in millions")
    chosen = words.parse_args()
    with threadpool_limits(limits=1):
        for name in GRIDS:
            compare(name, round(1e6 * chosen.millions))
        grow(chosen.millions)


if __name__ == "__main__":
    main()
