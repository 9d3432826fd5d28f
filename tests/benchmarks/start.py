"""Prints what starting costs: processor time of one command against that of bare Python with numpy.

python tests/benchmarks/start.py
"""

import resource
import subprocess
import sys
from pathlib import Path

TIMES = 12
SAMPLE = Path(__file__).parents[2] / "sample_sessions" / "enlarged_intake.session"
STARTS = {
    "bare Python": ("-c", "pass"),
    "with numpy": ("-c", "import numpy"),
    "history --json": ("-m", "workbench", "history", str(SAMPLE), "--json"),
    "--help": ("-m", "workbench", "--help"),
}


def processor_ms(words: tuple[str, ...]) -> float:
    """Give the least processor time of several runs, in ms."""
    least = float("inf")
    for _ in range(TIMES):
        before = resource.getrusage(resource.RUSAGE_CHILDREN)
        subprocess.run([sys.executable, *words], stdout=subprocess.DEVNULL, check=True)
        after = resource.getrusage(resource.RUSAGE_CHILDREN)
        least = min(least, after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime)
    return 1e3 * least


if __name__ == "__main__":
    found = {name: processor_ms(words) for name, words in STARTS.items()}
    for name, taken in found.items():
        print(f"{name:<16} {taken:6.0f} ms  {taken / found['with numpy']:5.2f} of bare Python with numpy")
