"""The sums and solves behind the evidence: ratios to general libraries in one run, and what grows with the samples.

    python tests/benchmarks/kernels.py [--millions 10] [--drive]

Read the ratios, not the times. Processor time on one thread, the best of a few runs, the rivals by turns. Needs
boost-histogram, which comes with the `test` extra.

What it costs. What a sample says of its cells (two or four numbers) is never kept: design works it out again in every
sweep, a few thousand samples at a time, which is quicker than fetching it from memory. A breakpoint interval is found
through evenly spaced bins instead of a search (interpolation.Finder; exactly the same interval, a quarter of the
time). Sums per rectangle of cells go straight into the normal equations (normal_equations), whose size in memory does
not depend on the samples; a median is found by its leading bits, without sorting. A solve takes two numbers a sample,
which it gives back, and a constant. Effects of one drive weigh on that drive's samples only. Matrices keep only the
diagonals that hold something; from 200 unknowns on they are factored along their band, half-widths come from
Takahashi's recursion over its blocks, and further effects go through a Schur complement.

Measured in November 2026 (10 million samples, one thread of a busy x86-64 machine, Python 3.11, numpy 2.4, scipy
1.17, boost-histogram 1.8; processor time):

    | what | 20x16 | 64x64 |
    |---|---|---|
    | weighted mean over four nodes / boost-histogram's, nodes named by place on the axes | 0.09 | 0.07 |
    | the same / boost-histogram's, nodes named by number | 0.23 | 0.21 |
    | the same / boost-histogram's, fed in pieces with the nodes that we find | 0.86 | 0.88 |
    | nodes, normal equations and a solve / scipy's sparse product of nodes found before | 0.09 | 0.11 |
    | whole robust solve of 200,000 samples, s | 0.15 | 0.5 |

The third line says where the gain lies: in finding the nodes and in staying in the cache; the adding itself is as
quick in boost-histogram. In a 64x64 grid nine tenths of a solve of few samples are some ninety factorisations, in the
search for the penalty's weight; with 100 shifts of trim levels besides it takes about 2 s. The normal sums take 54 ns
a sample and 1.4 MB from 1 to 10 million samples; a whole solve about 600 ns and 16 bytes a sample. The whole evidence
of one long drive (`--drive`) is linear too, 14 microseconds a row; it holds at most 325 bytes a row of a curve's log
beside the log: the drive's signals (about 60), its readings as they were and as they become (about 65 each, a byte
for every gate among them), and those of the trims on the way.

A compiled kernel (numba) would be another five to ten times quicker at the sums. It is left out: it costs 0.1 to 0.4
s at every start that uses it, a compiler's worth of dependencies and a first run of seconds, and of the half second
that the evidence of one drive of 20,000 rows takes, the sums are a tenth. Threads over the pieces would halve the
sums; the same weighing.
"""

import argparse
import time
import tracemalloc
from collections.abc import Callable
from dataclasses import replace

import boost_histogram as bh
import numpy as np
import scipy.linalg  # noqa: F401 - loads the libraries whose threads are limited below
from scipy import sparse
from threadpoolctl import threadpool_limits

from workbench.demo.drive import drive
from workbench.demo.rounds import history_of
from workbench.demo.scenario import Scenario
from workbench.maths.evidence import gather_evidence
from workbench.maths.solve.arrow_matrix import ArrowMatrix, combined, regular
from workbench.maths.solve.design import Design, Equations
from workbench.maths.solve.factoring import factored
from workbench.maths.solve.normal_equations import NormalSums, node_sums, normal_sums
from workbench.maths.solve.roughness import penalty
from workbench.maths.solve.solve import Solution, solve
from workbench.maths.table.interpolation import Nodes, spread
from workbench.model.arrays import FloatArray, IntArray
from workbench.model.log import Drive, Log
from workbench.model.packing import Column
from workbench.model.state import Settings
from workbench.model.table import Axis
from workbench.work import run

RUNS = 3
GRIDS = {"20x16": (20, 16), "64x64": (64, 64)}
WANTED_SUMS, WANTED_SOLVE = 0.4, 0.25


def axes_of(rows: int, columns: int) -> tuple[Axis, Axis]:
    """Make axes with uneven breakpoints."""
    speed = 600 + 6400 * np.linspace(0, 1, rows) ** 1.2
    return Axis("engine speed", "rpm", speed), Axis("manifold pressure", "kPa", np.linspace(15, 105, columns))


def made_up(axes: tuple[Axis, Axis], samples: int) -> Equations:
    """Make samples that speak of the breakpoints around them; all invented."""
    random = np.random.default_rng(0)
    position = np.empty((2, samples)).T  # channel by channel, as logs hold them
    position[:, 0], position[:, 1] = random.uniform(600, 7000, samples), random.uniform(15, 105, samples)
    design = Design(axes, np.ones(len(axes[0]) * len(axes[1])), position, np.ones(samples))
    ratio, weight = random.normal(1, 0.02, samples), random.uniform(0.1, 1, samples)
    return Equations(design, ratio, weight, np.arange(samples) // 200)


def timed(*rivals: Callable[[], object], runs: int = RUNS) -> list[float]:
    """Give the least processor time of a few runs of each, by turns, s."""
    spent: list[list[float]] = [[] for _ in rivals]
    for _ in range(runs):
        for place, work in enumerate(rivals):
            began = time.process_time()
            work()
            spent[place].append(time.process_time() - began)
    return [min(each) for each in spent]


def boosts(told: Equations, *, by_number: bool) -> FloatArray:
    """Spread with numpy on whole arrays, then fill a weighted mean once for each of the four nodes.

    Args:
        told: the samples.
        by_number: name nodes by their numbers (quicker) instead of by their place on the axes.
    """
    axes = told.design.axes
    below, part = zip(
        *(_inside(axis, column) for axis, column in zip(axes, told.design.position.T, strict=True)), strict=True
    )
    points = [axis.breakpoints for axis in axes]
    if by_number:
        mean = bh.Histogram(*(bh.axis.Integer(0, each.size) for each in points), storage=bh.storage.WeightedMean())
    else:
        edges = (bh.axis.Variable([*each, 2 * each[-1]]) for each in points)
        mean = bh.Histogram(*edges, storage=bh.storage.WeightedMean())
    for up in (0, 1):
        for right in (0, 1):
            share = (part[0] if up else 1 - part[0]) * (part[1] if right else 1 - part[1])
            nodes = [start + step for start, step in zip(below, (up, right), strict=True)]
            if not by_number:
                nodes = [each[node] for each, node in zip(points, nodes, strict=True)]
            mean.fill(*nodes, weight=told.weight * share, sample=told.ratio)
    return np.asarray(mean.values())


def boosts_on_our_nodes(told: Equations) -> FloatArray:
    """Fill a weighted mean, piece by piece, from the very nodes and shares that the workbench finds."""
    mean = bh.Histogram(bh.axis.Integer(0, told.design.values.size), storage=bh.storage.WeightedMean())
    for rows, first, share in told.design.pieces():
        for offset, each in zip(told.design.spreader.offsets, share, strict=True):
            mean.fill(first + offset, weight=told.weight[rows] * each, sample=told.ratio[rows])
    return np.asarray(mean.values())


def _inside(axis: Axis, x: FloatArray) -> tuple[IntArray, FloatArray]:
    points = axis.breakpoints
    below = np.clip(np.searchsorted(points, x, side="right") - 1, 0, points.size - 2)
    return below, np.clip((x - points[below]) / (points[below + 1] - points[below]), 0, 1)


def sparse_sums(nodes: Nodes, told: Equations) -> tuple[FloatArray, FloatArray]:
    """Give A'WA and A'Wy by scipy's sparse product, from nodes that are found already."""
    samples, width = nodes.cell.shape
    starts = np.arange(0, samples * width + 1, width)
    shape = (samples, told.design.values.size)
    whole = sparse.csr_matrix((nodes.weight.ravel(), nodes.cell.ravel(), starts), shape=shape)
    scaled = sparse.csr_matrix(((nodes.weight * told.weight[:, None]).ravel(), nodes.cell.ravel(), starts), shape=shape)
    return np.asarray((scaled.T @ whole).toarray()), np.asarray(scaled.T @ told.ratio)


def means_of(told: Equations) -> FloatArray:
    """Find the nodes, sum weight and weighted ratio over them, and divide."""

    def columns(rows: slice) -> list[FloatArray]:
        return [told.weight[rows], told.weight[rows] * told.ratio[rows]]

    amount, total = node_sums(told.design, columns, 2)
    return np.divide(total, amount, out=np.full(amount.size, np.nan), where=amount > 0)


def sums_of(told: Equations) -> NormalSums:
    """Find the nodes and sum the whole normal equations."""
    return normal_sums(told, np.ones(told.ratio.size))


def solved(sums: NormalSums, roughness: ArrowMatrix) -> FloatArray:
    """Solve normal equations with a light penalty."""
    return factored(regular(combined((1.0, sums.square), (1e-3, roughness)))).solve(sums.right)


def compare(name: str, samples: int) -> None:
    """Print the ratios for one size of grid."""
    told = made_up(axes_of(*GRIDS[name]), samples)
    roughness, _ = penalty(told.design.axes)
    means = means_of(told)
    seen = np.isfinite(means)
    for theirs_say in (boosts(told, by_number=False), boosts(told, by_number=True), boosts_on_our_nodes(told)):
        np.testing.assert_allclose(means[seen], theirs_say.ravel()[seen], rtol=1e-9)
    mine, theirs, numbered, on_ours = timed(
        lambda: means_of(told),
        lambda: boosts(told, by_number=False),
        lambda: boosts(told, by_number=True),
        lambda: boosts_on_our_nodes(told),
    )
    line(f"{name}: weighted mean over four nodes / boost-histogram's", mine, theirs, samples, WANTED_SUMS)
    line(f"{name}: the same / boost-histogram's by numbers of nodes", mine, numbered, samples, WANTED_SUMS)
    line(f"{name}: the same / boost-histogram's on our nodes, in pieces", mine, on_ours, samples, None)
    nodes = spread(told.design.axes, told.design.position)
    nodes = Nodes(np.ascontiguousarray(nodes.cell), np.ascontiguousarray(nodes.weight))  # as the product likes them
    sums, (square, right) = sums_of(told), sparse_sums(nodes, told)
    np.testing.assert_allclose(sums.square.dense(), square, atol=1e-6)
    np.testing.assert_allclose(sums.right + square.sum(axis=1), right, atol=1e-6)
    mine, theirs, once = timed(lambda: sums_of(told), lambda: sparse_sums(nodes, told), lambda: solved(sums, roughness))
    line(f"{name}: nodes, sums and a solve / scipy's sparse product", mine + once, theirs, samples, WANTED_SOLVE)


def line(name: str, mine: float, theirs: float, samples: int, wanted: float | None) -> None:
    """Print one ratio; without a wish it is for knowing what is left to gain."""
    verdict = "" if wanted is None else f"  wanted {wanted:4.2f}  {'reached' if mine <= wanted * theirs else 'MISSED'}"
    told = f"{1e9 * mine / samples:6.0f} / {1e9 * theirs / samples:6.0f} ns"
    print(f"{name:62} {told}  {mine / theirs:5.2f}{verdict}", flush=True)


def robustly(told: Equations) -> Solution:
    """Solve as the workbench does: Huber's weights, the penalty's weight found, intervals."""
    return solve(told, *penalty(told.design.axes))


def whole_solves() -> None:
    """Print what a whole robust solve takes, by size of grid; few samples show the part of the grid alone."""
    print("\nwhole solve (Huber's weights, the penalty's weight, intervals): grid, samples, ms")
    for name in ("14x10", "20x16", "32x32", "64x64"):
        rows, columns = (int(word) for word in name.split("x"))
        for samples in (20_000, 200_000):
            told = made_up(axes_of(rows, columns), samples)
            print(f"{name:>10} {samples:12,d} {1e3 * timed(lambda: robustly(told), runs=2)[0]:10.0f}")  # noqa: B023


def peak_of(work: Callable[[], object]) -> float:
    """Give by how many bytes memory rose at most while working."""
    tracemalloc.start()
    kept = work()
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    del kept
    return float(peak)


def grow(millions: float) -> None:
    """Print time per sample and memory over the number of samples."""
    print("\n20x16 grid: what grows with the samples (a solve gives two numbers a sample back: 16 bytes)")
    print("     samples  sums: ns, MB beside input    solve: ns, MB beside input, bytes a sample")
    for share in (0.1, 0.2, 0.5, 1.0):
        told = made_up(axes_of(*GRIDS["20x16"]), round(1e6 * millions * share))
        samples, ones = told.ratio.size, np.ones(told.ratio.size)
        spent = timed(lambda: sums_of(told), lambda: robustly(told), runs=2)  # noqa: B023 - run at once
        sums, whole = (peak_of(work) for work in (lambda: normal_sums(told, ones), lambda: robustly(told)))  # noqa: B023
        print(
            f"{samples:12,d} {1e9 * spent[0] / samples:9.0f} {sums / 1e6:11.1f} {1e9 * spent[1] / samples:19.0f}"
            f" {whole / 1e6:11.1f} {whole / samples:15.1f}",
            flush=True,
        )


def long_log(log: Log, rows: int) -> Log:
    """Lay a log behind itself until it has so many rows."""
    copies, time_s = -(-rows // log.rows), log.time.values
    turn = time_s[-1] - time_s[0] + float(np.median(np.diff(time_s)))
    whole = np.concatenate([time_s + turn * k for k in range(copies)])[:rows]
    channels = tuple(replace(each, column=Column(np.tile(each.values, copies)[:rows])) for each in log.channels)
    return replace(log, time=Column(whole), channels=channels)


def drives(millions: float) -> None:
    """Print what the whole evidence takes on one long drive of the virtual car."""
    print("\nwhole evidence of one drive: rows, microseconds a row, bytes a row beside the log at most and kept after")
    for kind in ("curve", "grid"):
        record = drive(Scenario(seed=1, kind=kind))  # type: ignore[arg-type]
        history = history_of((record.table,))
        for share in (0.1, 0.2, 0.5, 1.0):
            log = long_log(record.log, round(1e6 * millions * share))

            def job(log: Log = log) -> object:
                return run(gather_evidence(history, history.revisions[0], (Drive(1, log, 1),), Settings()))  # noqa: B023

            job() if share == 0.1 else None  # imports are no part of it
            (spent,) = timed(job, runs=1)
            tracemalloc.start()
            evidence = job()
            after, peak = tracemalloc.get_traced_memory()
            tracemalloc.stop()
            del evidence
            print(
                f"{kind} {log.rows:12,d} {1e6 * spent / log.rows:8.1f} {peak / log.rows:8.0f} {after / log.rows:8.0f}",
                flush=True,
            )


def main() -> None:
    """Print all tables."""
    words = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    words.add_argument("--millions", type=float, default=1.0, help="samples, in millions")
    words.add_argument("--drive", action="store_true", help="the evidence of long drives instead")
    chosen = words.parse_args()
    with threadpool_limits(limits=1):
        if chosen.drive:
            drives(chosen.millions)
            return
        for name in GRIDS:
            compare(name, round(1e6 * chosen.millions))
        whole_solves()
        grow(chosen.millions)


if __name__ == "__main__":
    main()
