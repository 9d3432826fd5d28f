"""How fast a large clean log is read, and how much memory that takes, beside general readers in the same run.

    python tests/benchmarks/reading.py [ROWS] [RUNS]

Prints a table of ratios: times to the fastest general library doing the same work, memory to the size of the data as
float64.
Each reader runs in processes of its own; on a shared machine read the ratio of processor time too.

The goal is held against the same work: reading, check-summing, understanding and storing durably takes at most 1.3
times the wall time and 1.5 times the processor time of the fastest general library that reads the file, takes its
SHA-256 and writes Parquet, flushed to the disk.
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
STORE = """
import hashlib, os
def stored(write):
    target = path + ".parquet"
    with open(path, "rb") as file:
        digest = hashlib.file_digest(file, "sha256").hexdigest()
    write(target)
    with open(target, "rb+") as file:
        os.fsync(file.fileno())
    os.remove(target)
b, r = time.perf_counter(), ran()
"""
READERS = {
    "pandas, to Parquet": "import pandas\n" + STORE + "d = pandas.read_csv(path)\n"
    "stored(lambda target: d.to_parquet(target))\nreport(b, r)",
    "polars, to Parquet": "import polars\n" + STORE + "d = polars.read_csv(path)\n"
    "stored(lambda target: d.write_parquet(target))\nreport(b, r)",
    "pyarrow, to Parquet": "import pyarrow.csv, pyarrow.parquet\n" + STORE + "d = pyarrow.csv.read_csv(path)\n"
    "stored(lambda target: pyarrow.parquet.write_table(d, target))\nreport(b, r)",
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


MOST_WALL, MOST_PROCESSOR = 1.3, 1.5  # of the fastest general library that writes Parquet


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
        if "ModuleNotFoundError" in done.stderr or "ImportError" in done.stderr:
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
        general = [name for name in best if name.endswith("to Parquet")]
        fastest = min(best[name][0] for name in general)
        least = min(best[name][1] for name in general)
        print(f"{'reader':<22} wall/fastest  processor/least  peak/data  (best of {runs})")
        for name, (wall, processor, peak) in best.items():
            print(f"{name:<22} {wall / fastest:12.2f} {processor / least:16.2f} {peak / in_memory:10.2f}")
        ours = best["into a session"]
        for what, ratio, most in (
            ("wall", ours[0] / fastest, MOST_WALL),
            ("processor", ours[1] / least, MOST_PROCESSOR),
        ):
            verdict = "within" if ratio <= most else "OVER"
            print(f"into a session: {ratio:.2f} times the {what} time of the fastest, {verdict} {most:g}")
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
