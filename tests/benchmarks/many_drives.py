"""Prints what evidence costs with many drives: processor time and memory against the number of drives.

python tests/benchmarks/many_drives.py 10,50,100,200 [MINUTES] [RATE] [TIMES] [asked]

The drives are the sample's part-throttle drive with moments and noise of their own, repeated to so many MINUTES at so
many rows a second. Each command runs TIMES times in a process of its own, the first with an empty cache. `asked` works
the evidence out once more as the window does, in one process: how often progress is told, and the longest that a wish
to stop would have waited, in wall-clock time; then once more without the last drive and with it, as after one more log.
"""

import os
import sys
import tempfile
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "files"))

import numpy as np
from weighing import weighed

from workbench.files.logs import read_log
from workbench.files.tables.tables import read_table
from workbench.model.arrays import FloatArray
from workbench.model.log import Channel, Drive, Log
from workbench.model.packing import Column
from workbench.model.state import DriveAdded
from workbench.session import Session
from workbench.work import run

COMMAND = "import sys; from workbench.cli import main; sys.exit(main(sys.argv[1:]))"
ASKED = """
import os, sys, time
from pathlib import Path
from dataclasses import replace
os.environ["WORKBENCH_CACHE"] = "off"
from workbench.commands.evidence.evidence import evidence
from workbench.session import Session
from workbench.work import run
told, asked = [time.monotonic()], [time.monotonic()]
def cancelled():
    asked.append(time.monotonic())
    return False
with Session.open(Path(sys.argv[1])) as session:
    begin = time.process_time()
    run(evidence(session.state), lambda _: told.append(time.monotonic()), cancelled)
    whole = time.process_time() - begin
    longest = [max(b - a for a, b in zip(each, each[1:])) for each in (told, asked)]
    share = [100 * each / (asked[-1] - asked[0]) for each in longest]
    print(f"  told {len(told) - 1} times, at most {longest[0]:.1f} s apart ({share[0]:.0f} % of all)")
    print(f"  a wish to stop waits {longest[1]:.1f} s at most ({share[1]:.1f} % of all)")
    if len(session.state.drives) > 1:
        fewer = replace(session.state, drives=session.state.drives[:-1])
        run(evidence(fewer))
        begin = time.process_time()
        run(evidence(session.state))
        again = time.process_time() - begin
        print(f"  one more drive in the same process: {again:.2f} s of {whole:.2f} s")
"""
SAMPLES = Path(__file__).parents[2] / "sample_sessions"
NOISE = {"lambda_measured": 0.004, "stft_1": 0.4, "sensor_signal": 4.0, "engine_speed": 5.0}
STEP = {"lambda_measured": 1e-3, "stft_1": 0.78125, "sensor_signal": 1.0, "engine_speed": 0.25}


def another(log: Log, number: int, minutes: float, rate_hz: float) -> Log:
    """Make one more drive of a log: other noise, other moments, as long as wanted."""
    dice = np.random.default_rng(number)
    time = log.time.values
    each = max(round(1 / rate_hz / float(np.median(np.diff(time)))), 1)
    rows = max(int(minutes * 60 * rate_hz), 2)
    taken = (int(dice.integers(0, log.rows)) + each * np.arange(rows)) % log.rows
    roles = {name: role for role, name in log.roles.items()}

    def altered(channel: Channel) -> FloatArray:
        role = roles.get(channel.name, "")
        values = channel.values[taken]
        if role in NOISE:
            values = np.round((values + dice.normal(0, NOISE[role], rows)) / STEP[role]) * STEP[role]
        return values

    channels = tuple(Channel(c.name, c.unit, Column(altered(c)), c.unit_read) for c in log.channels)
    moments = Column(np.round(np.arange(rows) / rate_hz, 6))
    return Log(f"drive_{number}.csv", f"{number:064x}", moments, channels, log.roles, log.guesses)


def make(path: Path, drives: int, minutes: float, rate_hz: float = 20.0) -> None:
    """Write a session with so many drives."""
    (table, *_), log = read_table(SAMPLES / "airflow_stale.csv"), run(read_log(SAMPLES / "part_throttle_drive.csv"))
    with Session.create(path, table) as session:
        for number in range(1, drives + 1):
            drive = Drive(number, another(log, number, minutes, rate_hz), 1, added="2026-11-01T10:00:00Z")
            session.record(DriveAdded((drive,)))


def measured(words: list[str], cache: str) -> tuple[float, float]:
    """Run a command; give its processor time in s and its largest memory in MB."""
    os.environ["WORKBENCH_CACHE"] = cache
    told = weighed(COMMAND, *words)
    if told.code:
        raise SystemExit(f"{words} ended with {told.code}: {told.err[-500:]}")
    return told.seconds, told.peak_kb / 1000


def main(counts: list[int], minutes: float, rate_hz: float, times: int, *, asked: bool) -> None:
    """Print a line for each number of drives."""
    with tempfile.TemporaryDirectory() as folder:
        for drives in counts:
            path = Path(folder) / f"{drives}.session"
            make(path, drives, minutes, rate_hz)
            print(f"{drives} drives, {path.stat().st_size / 1e6:.0f} MB", flush=True)
            for words in (["history", str(path), "--json"], ["evidence", str(path), "--json"]):
                for turn in range(1, times + 1):
                    taken, memory = measured(words, str(Path(folder) / f"cache{drives}"))
                    said = f"  {words[0]:<10} {turn}: {taken:7.2f} s {memory:7.0f} MB"
                    print(f"{said} {1000 * taken / drives:7.1f} ms a drive", flush=True)
            if asked:
                print(weighed(ASKED, path).out, end="", flush=True)
            path.unlink()


if __name__ == "__main__":
    ours = ("10,50,100,200", "12", "20", "2", "")
    counts, minutes, rate, times, asked = (*sys.argv[1:], *ours[len(sys.argv) - 1 :])
    main(list(map(int, counts.split(","))), float(minutes), float(rate), int(times), asked=bool(asked))
