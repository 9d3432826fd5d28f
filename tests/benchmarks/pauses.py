"""The longest time the window's thread is away from its events while long work is done.

Run `python tests/benchmarks/pauses.py [--where]`; it prints a table, best and median of RUNS new processes (7 where not
said), in each of which the sample's drives are the first log. A pause counts what a user feels, waiting for the
processor and for the interpreter included. Two figures do not depend on who else uses the machine: the processor time
that all our threads took within a pause (at most the pause; where they wait for each other's interpreter, it is what
the pause would be on an idle machine), and that of the window's thread alone. With --where, a second thread looks where
the window's thread is whenever a beat is late, and the places seen most often are printed. ROWS sets the length of the
long log; with ROWS=0 it is left out.

In November 2026 on two quiet cores, median of three to seven runs, ms: 37 to 59 while text gets larger (by turns of the
machine), 30 a change of theme, 31 to 38 a table of 64 x 64 cells, 32 while a million rows are loaded and solved, 35 or
less all else.
"""

import collections
import json
import os
import shutil
import statistics
import subprocess
import sys
import tempfile
import threading
import time
import traceback
from collections.abc import Callable
from pathlib import Path
from types import FrameType

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
os.environ["WORKBENCH_CACHE"] = "off"  # evidence is worked out, not found

import numpy as np
from PySide6.QtCore import QEventLoop, QObject, QSettings, QTimer

from workbench.demo.drive import drive
from workbench.demo.engine import stale_table
from workbench.demo.recorder import csv_text
from workbench.demo.samples import sample_files
from workbench.demo.scenario import Scenario
from workbench.files.tables.tables import write_table_text
from workbench.model.table import Axis, Table
from workbench.window.kit.gc_schedule import Collector
from workbench.window.kit.worker import Heartbeat
from workbench.window.scene.preferences import Memory
from workbench.window.shell.application import application
from workbench.window.shell.main_window import MainWindow

ROWS = int(os.environ.get("ROWS", "1000000"))
RUNS = int(os.environ.get("RUNS", "7"))
LATE_S = 0.03
LIMIT_S = 0.05


class Watcher(threading.Thread):
    """Looks where the window's thread is whenever its beat is late."""

    def __init__(self, beat: "OwnWork") -> None:
        super().__init__(daemon=True)
        self._beat, self._main = beat, threading.main_thread().ident
        self.seen: collections.Counter[str] = collections.Counter()
        self.stop = threading.Event()

    def run(self) -> None:
        while not self.stop.wait(0.004):
            frame = sys._current_frames().get(self._main or 0)
            if frame is not None and time.perf_counter() - self._beat.last > LATE_S:
                self.seen[place(frame)] += 1


def place(frame: FrameType) -> str:
    """Name the innermost five of our own functions and what they are in."""
    stack = traceback.extract_stack(frame)
    ours = [f"{Path(s.filename).stem}.{s.name}:{s.lineno}" for s in stack if "workbench" in s.filename]
    inner = stack[-1]
    return " > ".join(ours[-4:]) + f" | {Path(inner.filename).stem}.{inner.name}:{inner.lineno}"


class OwnWork(Heartbeat):
    """Also measures the processor time between two beats, of all threads and of the window's own."""

    def __init__(self, parent: QObject) -> None:
        super().__init__(parent)
        self.restart()

    def restart(self) -> None:
        super().restart()
        self.all_s, self.most_s, self.late = 0.0, 0.0, 0
        self.last, self._busy, self._mine = time.perf_counter(), time.process_time(), time.thread_time()

    def _beat(self) -> None:
        super()._beat()
        now, busy, mine = time.perf_counter(), time.process_time(), time.thread_time()
        self.all_s = max(self.all_s, min(busy - self._busy, now - self.last))
        self.most_s = max(self.most_s, mine - self._mine)
        self.late += now - self.last > LIMIT_S
        self.last, self._busy, self._mine = now, busy, mine


def wait(until: Callable[[], bool], least_s: float = 0.4) -> None:
    """Run the event loop until something holds, and a moment longer."""
    loop, start = QEventLoop(), time.monotonic()
    done: list[float] = []
    timer = QTimer()

    def look() -> None:
        if not until():
            done.clear()
        elif not done:
            done.append(time.monotonic())
        elif time.monotonic() - done[0] > least_s and time.monotonic() - start > least_s:
            loop.quit()

    timer.timeout.connect(look)
    timer.start(20)
    loop.exec()
    timer.stop()


def long_log(folder: Path) -> tuple[Path, Path]:
    """Write a table and a log of many rows: one drive after the other, the clock running on."""
    scenario = Scenario(seed=7, minutes=30, pulls=3, rate_hz=20.0)
    table, log = folder / "long_table.csv", folder / "long_drive.csv"
    table.write_text(write_table_text(stale_table(scenario)), encoding="utf-8", newline="")
    head, *rows = csv_text(drive(scenario, number=1).log).splitlines()
    times, rests = zip(*(row.split(",", 1) for row in rows), strict=True)
    clock = np.array(times, dtype=float)
    with log.open("w", encoding="utf-8", newline="") as file:
        file.write(head + "\r\n")
        for turn in range(-(-ROWS // len(rows))):
            moved = clock + turn * (clock[-1] + 0.05)
            file.write("".join(f"{t:.3f},{rest}\r\n" for t, rest in zip(moved.tolist(), rests, strict=True)))
    return table, log


def big_table(folder: Path) -> Path:
    """Write a grid of 64 by 64 cells."""
    axes = (Axis("Engine speed", "rpm", np.linspace(500, 8000, 64)), Axis("Load", "%", np.linspace(5, 160, 64)))
    values = np.random.default_rng(1).uniform(40, 110, (64, 64))
    path = folder / "big.csv"
    path.write_text(write_table_text(Table("big", "Efficiency", "%", axes, values)), encoding="utf-8", newline="")
    return path


def one_run(folder: Path) -> list[tuple[str, float, float, float, int, str]]:
    """Go through all acts; give what, the longest pause, processor time in it, own of it, late beats, and where."""
    application()
    rows: list[tuple[str, float, float, float, int, str]] = []
    with tempfile.TemporaryDirectory() as scratch:
        QSettings.setPath(QSettings.Format.IniFormat, QSettings.Scope.UserScope, scratch)
        window = MainWindow(Memory())
        window.show()
        host = QObject()
        collector, beat = Collector(host), OwnWork(host)
        wait(lambda: bool(window.menuBar().actions()))  # they come with the rest
        shop = window.equip()

        def idle() -> bool:
            return not shop.jobs.busy and not shop.opening.reading.busy

        def measure(what: str, act: Callable[[], object]) -> None:
            wait(idle, 1.0)
            watcher = Watcher(beat)
            beat.restart()
            if "--where" in sys.argv:
                watcher.start()
            QTimer.singleShot(0, act)
            wait(idle, 0.8)
            watcher.stop.set()
            told = "\n".join(f"      {n:4d} {where}" for where, n in watcher.seen.most_common(8))
            rows.append((what, beat.longest_s, beat.all_s, beat.most_s, beat.late, told))

        def begin(name: str) -> None:
            shop.opening.begin_from(folder / name, Path(scratch) / f"{Path(name).stem}.session")

        again = Path(scratch) / "again.session"
        measure("a curve is opened", lambda: begin("airflow_stale.csv"))
        drives = [folder / "part_throttle_drive.csv", folder / "pulls_drive.csv"]
        measure("the sample's drives are loaded and solved", lambda: shop.routes.take(drives))
        measure("a correction is drafted", lambda: shop.do("correct"))
        measure("and applied", lambda: shop.do("apply"))
        shutil.copy(Path(scratch) / "airflow_stale.session", again)
        measure("that session is opened again", lambda: window.open(again))
        measure("a grid is opened", lambda: begin("efficiency_stale.csv"))
        measure("its drive is loaded and solved", lambda: shop.routes.take([folder / "efficiency_drive.csv"]))
        measure("a table of 64 x 64 cells is opened", lambda: begin("big.csv"))
        if ROWS:
            begin("long_table.csv")
            measure(
                f"a log of {ROWS:,} rows is loaded and solved", lambda: shop.routes.take([folder / "long_drive.csv"])
            )
            measure("it is solved again", lambda: shop.routes._runner.run("settings", {"gate": ("steady_per_s=0.3",)}))
        measure("text gets larger", lambda: shop.do("larger"))
        measure("the theme is changed", lambda: shop.do("theme"))
        shop.do("start")
        window.close()
        collector.stop()
    return rows


def main() -> None:
    """Print the table."""
    if "--one-run" in sys.argv:
        print(json.dumps(one_run(Path(sys.argv[-1]))))
        return
    runs = []
    with tempfile.TemporaryDirectory() as scratch:
        for name, text in sample_files().items():
            (Path(scratch) / name).write_text(text, encoding="utf-8", newline="")
        big_table(Path(scratch))
        if ROWS:
            long_log(Path(scratch))
        for _ in range(RUNS):
            words = [sys.executable, __file__, *sys.argv[1:], "--one-run", scratch]
            runs.append(json.loads(subprocess.run(words, check=True, capture_output=True, text=True).stdout))
    print(f"{'while (best, median; ms)':<52}{'pause':>12}{'processor':>12}{'own':>12}{'late':>6}")
    for rows in zip(*runs, strict=True):
        taken = ([1000 * row[at] for row in rows] for at in (1, 2, 3))
        figures = "".join(f"{min(each):>6.0f}{statistics.median(each):>6.0f}" for each in taken)
        print(f"{rows[0][0]:<52}{figures}{sum(row[4] for row in rows):>6}")
        for row in rows:
            print(row[5], end="\n" if row[5] else "")


if __name__ == "__main__":
    main()
