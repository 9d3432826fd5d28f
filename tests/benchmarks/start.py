"""Prints what starting costs: processor time of commands against that of bare Python with numpy, in turns.

python tests/benchmarks/start.py [TIMES]

As installed: every module is compiled once, in a folder for the time being. From source: Python may keep nothing that
it compiles of the workbench (PYTHONDONTWRITEBYTECODE), so each start compiles it anew; numpy is compiled, as pip left
it. November 2026, median of 40, on a machine that did much else at once: `history --json` 1.8 as installed, 2.0 from
source; before what it does not need was loaded only where it is needed, 1.9 and 2.3.
"""

import os
import resource
import statistics
import subprocess
import sys
import tempfile
from pathlib import Path

SAMPLE = Path(__file__).parents[2] / "sample_sessions" / "enlarged_intake.session"
MEASURE = "with numpy"
STARTS = {
    MEASURE: ("-c", "import numpy"),
    "bare Python": ("-c", "pass"),
    "history --json": ("-m", "workbench", "history", str(SAMPLE), "--json"),
    "--help": ("-m", "workbench", "--help"),
}


def processor_s(words: tuple[str, ...], environment: dict[str, str]) -> float:
    """Give the processor time of one run, in s."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    subprocess.run([sys.executable, *words], env=environment, stdout=subprocess.DEVNULL, check=True)
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime


def print_ratios(title: str, environment: dict[str, str], times: int) -> None:
    """Start each in turns, the first time uncounted, and print medians and the median of the ratios."""
    taken: dict[str, list[float]] = {name: [] for name in STARTS}
    for turn in range(times + 1):
        for name, words in STARTS.items():
            seconds = processor_s(words, environment)
            if turn:
                taken[name].append(seconds)
    print(title)
    for name, each in taken.items():
        ratios = sorted(one / bare for one, bare in zip(each, taken[MEASURE], strict=True))
        tenth = len(ratios) // 10
        print(
            f"  {name:<15}{1e3 * statistics.median(each):6.0f} ms  {statistics.median(ratios):5.2f} of bare Python "
            f"with numpy (8 of 10: {ratios[tenth]:.2f} to {ratios[-1 - tenth]:.2f})"
        )


def main(times: int) -> None:
    """Print both tables."""
    kept = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
    with tempfile.TemporaryDirectory() as folder:
        print_ratios("as installed", {**kept, "PYTHONPYCACHEPREFIX": folder}, times)
    print_ratios("from source", {**kept, "PYTHONDONTWRITEBYTECODE": "1"}, times)


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 40)
