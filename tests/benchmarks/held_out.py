"""Real drives: fit on four, predict the total trim of the others, beside the mean per nearest cell.

    python tests/benchmarks/held_out.py [--splits 10] [--logs FOLDER]

The drives are no part of this repository: they are looked for in `shared/logs` beside it. Both methods see the same
samples (those that pass the gates); cells without a sample get the mean of all samples from the nearest-cell method.
Each held-out drive's own level is taken out of what is left: one day differs from another by weather and fuel, which no
table can predict.
"""

import argparse
import os
import sys
from collections.abc import Iterator
from pathlib import Path

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # small matrices: threads only wait; must come before numpy

import numpy as np

from workbench.demo.rounds import history_of
from workbench.files.logs import read_log
from workbench.maths.evidence import gather_evidence
from workbench.maths.signals.trims import fuel_factor
from workbench.maths.table.interpolation import look_up, nearest
from workbench.model.arrays import FloatArray
from workbench.model.evidence import Evidence
from workbench.model.log import Drive, Log
from workbench.model.state import Settings
from workbench.model.table import Axis, Table
from workbench.work import run

FOLDER = Path(__file__).resolve().parents[3] / "shared" / "logs"
NAMES = ("town_1", "town_2", "road_1", "road_2", "road_3", "road_4_cut_last_row", "slow_1")
TO_FIT = 4
AXES = (
    Axis("engine speed", "rpm", np.arange(600.0, 3001, 150)),
    Axis("manifold pressure", "kPa", np.arange(15.0, 101, 5)),
)
ONES = Table("efficiency", "volumetric efficiency", "", AXES, np.ones((len(AXES[0]), len(AXES[1]))))


def evidence_of(logs: list[Log]) -> Evidence:
    """Gather evidence from trims for a grid of ones."""
    history = history_of((ONES,))
    drives = tuple(Drive(number, log, 1) for number, log in enumerate(logs, start=1))
    return run(gather_evidence(history, history.revision(1), drives, Settings(), "trims"))


def samples_of(evidence: Evidence, logs: list[Log]) -> tuple[FloatArray, FloatArray]:
    """Give position and total trim, as a factor, of all rows that passed the gates."""
    trims = []
    for samples, log in zip(evidence.kept, logs, strict=True):
        short, long = log.playing("stft_1"), log.playing("ltft_1")
        assert short is not None
        assert long is not None
        trims.append(fuel_factor(short, long)[samples.rows])
    return np.concatenate([samples.position for samples in evidence.kept]), np.concatenate(trims)


def by_nearest_cell(position: FloatArray, ratio: FloatArray) -> FloatArray:
    """Give the mean per nearest cell, the overall mean where there is none, flat."""
    cell = nearest(AXES, position)
    count = np.bincount(cell, minlength=ONES.values.size)
    total = np.bincount(cell, ratio, ONES.values.size)
    return np.where(count > 0, total / np.maximum(count, 1), ratio.mean())


def splits(count: int) -> Iterator[tuple[list[str], list[str]]]:
    """Draw which drives are fitted and which are held out, no split twice; there are 35."""
    random = np.random.default_rng(0)
    drawn: set[frozenset[str]] = set()
    while len(drawn) < count:
        order = [NAMES[i] for i in random.permutation(len(NAMES))]
        if frozenset(order[:TO_FIT]) not in drawn:
            drawn.add(frozenset(order[:TO_FIT]))
            yield order[:TO_FIT], order[TO_FIT:]


def compare(fitted: list[Log], held: list[Log]) -> tuple[float, float, float]:
    """Give the root mean square of what is left of the held-out ratios: solve, nearest cell, their own spread; %."""
    evidence = evidence_of(fitted)
    position, ratio = samples_of(evidence, fitted)
    known = np.isfinite(evidence.ratio)
    solved = ONES.with_values(np.where(known, evidence.ratio, ratio.mean()))
    by_hand = by_nearest_cell(position, ratio)
    left: list[list[FloatArray]] = [[], [], []]
    for log in held:
        where, seen = samples_of(evidence_of([log]), [log])
        for column, expected in zip(left, (look_up(solved, where), by_hand[nearest(AXES, where)], 1.0), strict=True):
            column.append(seen - expected - np.mean(seen - expected))
    solve, hand, spread = (rms(np.concatenate(column)) for column in left)
    return solve, hand, spread


def rms(values: FloatArray) -> float:
    """Give the root mean square, %."""
    return 100 * float(np.sqrt(np.mean(values**2)))


def main() -> None:
    """Print the table."""
    words = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    words.add_argument("--splits", type=int, default=10, choices=range(1, 36), metavar="1..35")
    words.add_argument("--logs", type=Path, default=FOLDER)
    chosen = words.parse_args()
    if not chosen.logs.is_dir():
        sys.exit(f"Skipped: the real drives are not here (looked in {chosen.logs}); name their folder with --logs.")
    logs = {name: run(read_log(chosen.logs / f"{name}.csv")) for name in NAMES}
    print("held out                                  | spread |  solve explains | nearest explains | better")
    better = []
    for fitted, held in splits(chosen.splits):
        solve, hand, spread = compare([logs[n] for n in fitted], [logs[n] for n in held])
        better.append(solve < hand)
        told = [f"{rest:6.2f} {100 * (1 - (rest / spread) ** 2):7.1f} %" for rest in (solve, hand)]
        names = ", ".join(name.replace("_cut_last_row", "") for name in held)
        print(f"{names:41} | {spread:6.2f} | {told[0]} | {told[1]}  | {'solve' if better[-1] else 'NEAREST'}")
    print(f"The solve is better on {sum(better)} of {len(better)} splits (root mean square of the total trim, %).")


if __name__ == "__main__":
    main()
