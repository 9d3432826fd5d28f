"""Damage files of every format, thousands of times, and see that each ends in a reading or a refusal.

    python tests/benchmarks/fuzzing.py [CASES] [FIRST SEED]

Every case must end within 5 s and the process stay under 1 GB; warnings and errors thrown away count as crashes.
"""

import multiprocessing
import resource
import signal
import sys
import tempfile
import time
import traceback
import warnings
from collections import Counter
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).parents[1] / "files"))

from mutations import mutate
from victims import real_files, small_files

from workbench.errors import WorkbenchError
from workbench.files.logs import read_log
from workbench.files.tables import read_table
from workbench.work import run

SECONDS, MEGABYTES = 5.0, 1000.0
CHUNK = 200


class TooSlowError(Exception):
    """A case took longer than it may."""


def _alarm(*_: object) -> None:
    raise TooSlowError


def one(path: Path, as_table: bool) -> str:
    """Read one damaged file; give how it ended."""
    signal.setitimer(signal.ITIMER_REAL, SECONDS)
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error")
            warnings.simplefilter("ignore", ResourceWarning)
            if as_table:
                read_table(path)
            else:
                run(read_log(path))
    except WorkbenchError:
        return "refused"
    except TooSlowError:
        return "too slow"
    except BaseException:  # noqa: BLE001 - that is what is looked for
        return "crash: " + "".join(traceback.format_exc()[-1500:])
    finally:
        signal.setitimer(signal.ITIMER_REAL, 0)
    return "read"


def chunk(job: tuple[int, int]) -> list[tuple[str, int, str, float, str]]:
    """Run the cases of one chunk in a process of its own."""
    first, count = job
    thrown: list[str] = []
    sys.unraisablehook = lambda told: thrown.append(f"thrown away: {told.exc_value!r} in {told.object!r}")
    signal.signal(signal.SIGALRM, _alarm)
    files = small_files() | real_files(60_000)
    names = sorted(files)
    results = []
    with tempfile.TemporaryDirectory() as folder:
        for seed in range(first, first + count):
            name = names[seed % len(names)]
            content, done = mutate(files[name], seed)
            path = Path(folder) / name
            path.write_bytes(content)
            began = time.perf_counter()
            ends = [one(path, as_table=False)]
            if len(content) < 300_000:
                ends.append(one(path, as_table=True))
            took = time.perf_counter() - began
            worst = next((end for end in ends if end not in ("read", "refused")), ends[0])
            if thrown:
                worst = thrown.pop()
                thrown.clear()
            results.append((name, seed, done, took, worst))
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1000
    if peak > MEGABYTES:
        results.append(("", first, f"cases {first} to {first + count}", 0.0, f"{peak:.0f} MB used"))
    return results


def main(cases: int, first: int) -> int:
    """Run all cases on all processors and print what came out."""
    jobs = [(seed, min(CHUNK, first + cases - seed)) for seed in range(first, first + cases, CHUNK)]
    ends: Counter[str] = Counter()
    bad: list[Any] = []
    slowest = 0.0
    context = multiprocessing.get_context("spawn")
    with context.Pool(2, maxtasksperchild=1) as pool:
        for results in pool.imap_unordered(chunk, jobs):
            for name, seed, done, took, end in results:
                slowest = max(slowest, took)
                ends[end if end in ("read", "refused") else "bad"] += 1
                if end not in ("read", "refused"):
                    bad.append((name, seed, done, took, end))
                    print(f"--- {name}, seed {seed}: {done}\n{end}", flush=True)
            print(f"{sum(ends.values())} cases: {dict(ends)}, slowest {slowest:.2f} s", file=sys.stderr, flush=True)
    print(f"{cases} cases from seed {first}: {dict(ends)}; the slowest took {slowest:.2f} s")
    return 1 if bad else 0


if __name__ == "__main__":
    words = [int(word) for word in sys.argv[1:]]
    sys.exit(main(words[0] if words else 20_000, words[1] if len(words) > 1 else 1))
