"""How fast a large clean log is read, and how much memory that takes, beside general readers in the same run.

    python tests/benchmarks/reading.py [ROWS] [RUNS]

Prints a table of ratios: times to the fastest general reader's bare read, memory to the size of the data as float64.
Each reader runs in processes of its own; on a shared machine read the ratio of processor time too.

Measured in November 2026 (two shared x86-64 cores, Python 3.11, pandas 3.1, best of 7): from a CSV of 1 million rows
by 21 columns into the session 2.4 to 2.6 times the processor time and 3.4 to 3.5 times the wall time (2.7 in one run)
of the fastest general reader's bare read, of which reading and understanding 1.9, packing 0.2, writing down 0.3; at
most 2.4 to 2.9 times the data in memory, with 5 million rows 1.5 times. The goal of 1.5 is not reached. pandas on
blocks takes no longer than on the whole file, so the parsing is the yardstick itself, 1.0; what comes on top is
reading and cutting into blocks 0.2, two SHA-256 (the file, the samples) 0.3, touching the memory of the columns 0.2,
understanding 0.15, packing 0.2, SQLite 0.3. Weighed and left out: polars (as quick to parse, and half a bare read
more to give its columns away), pyarrow (more than twice the processor time), a mapped file (saves a copy of the text,
0.06, but a file that shrinks meanwhile ends the program), SQLite's rollback journal for long logs (saves 0.1 and 0.3
of the wall time, but a session would change its journal while other programs open it), blocks of half or twice the
size, a third thread. What wall time is lost beyond the processor time is understanding and writing down, which run on
one core.
"""

import statistics
import subprocess
import sys
import tempfile
from pathlib import Path

import numpy as np

NAMES = [
    "Time (s)", "Engine Speed (rpm)", "MAF (g/s)", "MAF Frequency (Hz)", "STFT Bank 1 (%)", "LTFT Bank 1 (%)",
    "Lambda measured", "Lambda commanded", "Coolant (°C)", "IAT (°C)", "Throttle (%)", "Load (%)", "MAP (kPa)",
    "Speed (km/h)", *(f"Extra {i}" for i in range(7)),
]  # fmt: skip

BEGIN = """
import resource, sys, time
path = sys.argv[1]
def report(began, ran):
    used = resource.getrusage(resource.RUSAGE_SELF)
    print(time.perf_counter() - began, used.ru_utime + used.ru_stime - ran, used.ru_maxrss / 1000)
def ran():
    used = resource.getrusage(resource.RUSAGE_SELF)
    return used.ru_utime + used.ru_stime
"""
OURS = """
from pathlib import Path
import pandas, pint
from workbench.work import run
from workbench.files.logs import read_log
"""
SESSION = """
import tempfile
import numpy as np
from workbench.commands.logs.logs import add_log
from workbench.model.table import Axis, Table
from workbench.session import Session
folder = tempfile.TemporaryDirectory(dir=Path(path).parent)
points = np.linspace(0, 7000, 30)
table = Table("t", "Airflow", "g/s", (Axis("MAF", "Hz", points),), points)
session = Session.create(Path(folder.name) / "a.session", table)
"""
READERS = {
    "pandas": "import pandas\nb, r = time.perf_counter(), ran()\nd = pandas.read_csv(path)\nreport(b, r)",
    "polars": "import polars\nb, r = time.perf_counter(), ran()\nd = polars.read_csv(path)\nreport(b, r)",
    "pyarrow": "import pyarrow.csv\nb, r = time.perf_counter(), ran()\nd = pyarrow.csv.read_csv(path)\nreport(b, r)",
    "read_log": OURS + "b, r = time.perf_counter(), ran()\nlog = run(read_log(Path(path)))\nreport(b, r)",
    "into a session": OURS
    + SESSION
    + "b, r = time.perf_counter(), ran()\nanswer = run(add_log(session.state, (Path(path),)))\n"
    + "session.record(answer.change)\nreport(b, r)",
    "  of it the record": OURS
    + SESSION
    + "answer = run(add_log(session.state, (Path(path),)))\nb, r = time.perf_counter(), ran()\n"
    + "session.record(answer.change)\nreport(b, r)",
}
CANCEL = (
    OURS
    + """
import random
from workbench.work import Cancelled
for share in (0.1, 0.3, 0.5, 0.7, 0.9):
    job = read_log(Path(path))
    longest, asked = 0.0, None
    begun = time.perf_counter()
    for progress in job:
        now = time.perf_counter()
        longest = max(longest, now - begun)
        begun = now
        if progress.total > 1 and progress.done >= share * progress.total:
            job.close()
            print(share, longest, time.perf_counter() - now)
            break
"""
)


def write(path: Path, rows: int) -> None:
    """Write an invented log."""
    draw = np.random.default_rng(1)
    with path.open("w", encoding="utf-8") as file:
        file.write(",".join(NAMES) + "\n")
        for start in range(0, rows, 20_000):
            time = np.arange(start, min(start + 20_000, rows)) * 0.05
            noise = draw.normal(0, 1, (len(NAMES), time.size))
            level = np.array([0, 2000, 20, 3000, 0, 1, 1, 1, 88, 30, 20, 30, 50, 60, *range(7)])[:, None]
            size = np.array([0, 5, 0.5, 20, 2, 0.2, 0.02, 0, 0.1, 1, 1, 1, 1, 1, *[1] * 7])[:, None]
            columns = level + size * noise
            columns[0] = time
            np.savetxt(file, columns.T, fmt="%.3f", delimiter=",")


def measure(code: str, path: Path) -> tuple[float, float, float] | None:
    """Run a reader in a process of its own: wall s, processor s, peak MB; None where it is not installed."""
    done = subprocess.run([sys.executable, "-c", BEGIN + code, str(path)], capture_output=True, text=True, check=False)
    if done.returncode:
        if "ModuleNotFoundError" in done.stderr:
            return None
        raise RuntimeError(done.stderr)
    wall, processor, peak = done.stdout.split()
    return float(wall), float(processor), float(peak)


def main(rows: int, runs: int) -> None:
    """Measure all readers and print the table."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "large.csv"
        write(path, rows)
        size, in_memory = path.stat().st_size / 1e6, rows * len(NAMES) * 8 / 1e6
        print(f"{rows} rows of {len(NAMES)} columns: {size:.0f} MB of text, {in_memory:.0f} MB in memory")
        found: dict[str, list[tuple[float, float, float]]] = {}
        for _ in range(runs):  # in turn, so that a busy moment of the machine hits all of them
            for name, code in READERS.items():
                if (took := measure(code, path)) is not None:
                    found.setdefault(name, []).append(took)
        best = {name: [min(run[i] for run in took) for i in range(3)] for name, took in found.items()}
        general = [name for name in ("pandas", "polars", "pyarrow") if name in best]
        fastest = min(best[name][0] for name in general)
        least = min(best[name][1] for name in general)
        print(f"{'reader':<22} wall/fastest  processor/least  peak/data  (best of {runs})")
        for name, (wall, processor, peak) in best.items():
            print(f"{name:<22} {wall / fastest:12.2f} {processor / least:16.2f} {peak / in_memory:10.2f}")
        told = subprocess.run(
            [sys.executable, "-c", BEGIN + CANCEL, str(path)], capture_output=True, text=True, check=True
        ).stdout
        waits = [[float(word) for word in line.split()] for line in told.splitlines()]
        longest = max(between + closing for _, between, closing in waits)
        print(f"cancelled at {len(waits)} places: answered within {longest:.3f} s at most; ", end="")
        print(f"typically {statistics.median(closing for _, _, closing in waits):.3f} s")


if __name__ == "__main__":
    words = [int(word) for word in sys.argv[1:]]
    main(words[0] if words else 1_000_000, words[1] if len(words) > 1 else 5)
