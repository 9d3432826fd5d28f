"""Damage files of every format, thousands of times, and see that each ends in a reading or a refusal.

    python tests/benchmarks/fuzzing.py [CASES] [FIRST SEED]

Every case must end within 5 s of processor time (and within a minute on a machine that is busy otherwise) and the
process stay under 1 GB; warnings and errors thrown away count as crashes.
"""

import json
import os
import resource
import signal
import subprocess
import sys
import tempfile
import traceback
import warnings
from collections import Counter
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).parents[1] / "files"))

from mutations import mutate
from victims import real_files, small_files

from workbench.errors import WorkbenchError
from workbench.files.logs import read_log
from workbench.files.tables.tables import read_table
from workbench.work import run

SECONDS, PATIENCE, MEGABYTES = 5.0, 60.0, 1000.0
CHUNK = 200
GOOD = ("read", "refused")


class TooSlowError(Exception):
    """A case took longer than it may."""


def _alarm(*_: object) -> None:
    raise TooSlowError


def one(path: Path, as_table: bool) -> str:
    """Read one damaged file; give how it ended."""
    signal.setitimer(signal.ITIMER_REAL, PATIENCE)
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


def worked() -> float:
    """Give the processor time of this process and of those it waited for, s."""
    times = os.times()
    return times.user + times.system + times.children_user + times.children_system


def chunk(first: int, count: int) -> None:
    """Run the cases of one chunk; print a line of JSON before and after each."""
    thrown: list[str] = []
    sys.unraisablehook = lambda told: thrown.append(f"thrown away: {told.exc_value!r} in {told.object!r}")
    signal.signal(signal.SIGALRM, _alarm)
    files = small_files() | real_files(60_000)
    names = sorted(files)
    with tempfile.TemporaryDirectory() as folder:
        for seed in range(first, first + count):
            name = names[seed % len(names)]
            content, done = mutate(files[name], seed)
            path = Path(folder) / name
            path.write_bytes(content)
            print(json.dumps({"seed": seed, "name": name, "done": done}), flush=True)
            began = worked()
            ends = [one(path, as_table=False)]
            if len(content) < 300_000:
                ends.append(one(path, as_table=True))
            took = worked() - began
            worst = next((end for end in ends if end not in GOOD), "too slow" if took > SECONDS else ends[0])
            if thrown:
                worst = thrown.pop()
                thrown.clear()
            peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1000
            if peak > MEGABYTES:
                worst = f"{peak:.0f} MB used"
            print(json.dumps({"end": worst, "took": took}), flush=True)
            if peak > MEGABYTES:
                return


class Run:
    """All cases, in processes of their own, and what came out."""

    def __init__(self) -> None:
        self.ends: Counter[str] = Counter()
        self.slowest = 0.0

    def follow(self, first: int, count: int) -> None:
        """Run a chunk, and go on behind a case that killed its process or used too much memory."""
        while count > 0:
            words = [sys.executable, __file__, "--chunk", str(first), str(count)]
            case = {"seed": first - 1, "name": "", "done": ""}
            open_case = False
            with subprocess.Popen(words, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True) as process:
                for line in process.stdout or ():
                    told = json.loads(line)
                    if "seed" in told:
                        case, open_case = told, True
                    else:
                        open_case = False
                        self.note(case, told["end"], told["took"])
            if open_case or process.returncode:
                self.note(case, f"the process died: {process.returncode}", 0.0)
            count -= case["seed"] + 1 - first
            first = case["seed"] + 1

    def note(self, case: dict[str, Any], end: str, took: float) -> None:
        """Count a case, and print a bad one."""
        self.slowest = max(self.slowest, took)
        self.ends[end if end in GOOD else "bad"] += 1
        if end not in GOOD:
            print(f"--- {case['name']}, seed {case['seed']}: {case['done']}\n{end}", flush=True)
        if sum(self.ends.values()) % 1000 == 0:
            print(f"{dict(self.ends)}, slowest {self.slowest:.2f} s", file=sys.stderr, flush=True)


def main(cases: int, first: int) -> int:
    """Run all cases on two processors and print what came out."""
    run_ = Run()
    with ThreadPoolExecutor(2) as pool:
        jobs = [
            pool.submit(run_.follow, seed, min(CHUNK, first + cases - seed))
            for seed in range(first, first + cases, CHUNK)
        ]
        for job in jobs:
            job.result()
    print(
        f"{cases} cases from seed {first}: {dict(run_.ends)}; the slowest took {run_.slowest:.2f} s of processor time"
    )
    return 1 if run_.ends["bad"] else 0


if __name__ == "__main__":
    if sys.argv[1:2] == ["--chunk"]:
        chunk(int(sys.argv[2]), int(sys.argv[3]))
    else:
        numbers = [int(word) for word in sys.argv[1:]]
        sys.exit(main(numbers[0] if numbers else 20_000, numbers[1] if len(numbers) > 1 else 1))
