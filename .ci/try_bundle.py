"""Try the bundle where there is nothing else: `.venv/bin/python .ci/try_bundle.py`, as root on Debian.

It takes debootstrap, xvfb and xdotool.

Takes the newest archive in dist/, unpacks it into a bare root file system (Debian 12 without Python, made once in
build/bare_root) and compares what it does there with what the source does here: the tour and its table byte for byte,
what is read of .mf4, .blf with a description, .xlsx and .parquet. Then it opens the window on a screen of its own
and measures how long that takes against the source. Any difference ends it with an error.
"""

import json
import os
import shutil
import statistics
import subprocess
import sys
import tarfile
import tempfile
import time
from collections.abc import Sequence
from pathlib import Path

HERE = Path(__file__).resolve().parent.parent
sys.path[:0] = [str(HERE), str(HERE / "tests" / "files"), str(HERE / ".ci")]

from begin import LIBRARIES  # noqa: E402
from victims import candump, small_files  # noqa: E402

ROOT = HERE / "build" / "bare_root"
PROGRAM = "/opt/calibration-workbench/calibration-workbench"
SOURCE = (sys.executable, "-m", "workbench")
TIMES = 5
DBC = """VERSION ""
BU_: A
BO_ 2024 Engine: 8 A
 SG_ Speed : 0|16@1+ (1,0) [0|0] "rpm" A
"""


def main() -> int:
    """Do all of it; the exit code is 0 where nothing differs."""
    archive = max((HERE / "dist").glob("calibration-workbench-*linux*.tar.gz"), key=lambda each: each.stat().st_mtime)
    make_root()
    unpack(archive)
    bundle = ("chroot", str(ROOT), PROGRAM)
    print(f"{archive.name}: {archive.stat().st_size / 1e6:.0f} MB packed, {unpacked_bytes() / 1e6:.0f} MB unpacked")
    print(said(bundle, "--version").strip())
    shared = ROOT / "srv" / "try"
    shutil.rmtree(shared, ignore_errors=True)
    shared.mkdir(parents=True)
    compare_tours(bundle, shared)
    compare_readings(bundle, shared)
    compare_evidence(bundle, shared)
    open_windows(bundle)
    return 0


def hold(holds: object, otherwise: str) -> None:
    """End everything where something does not hold."""
    if not holds:
        raise SystemExit(otherwise)


def make_root() -> None:
    """Make the bare root file system, unless it is there."""
    if not (ROOT / "usr" / "bin" / "env").exists():
        command = ["debootstrap", "--variant=minbase", f"--include={','.join(LIBRARIES)}", "bookworm", str(ROOT)]
        subprocess.run(command, check=True, stdout=subprocess.DEVNULL)
    hold(not list(ROOT.glob("usr/bin/python*")), "the bare root file system has a Python")


def unpack(archive: Path) -> None:
    """Unpack the bundle where a user would."""
    shutil.rmtree(ROOT / "opt" / "calibration-workbench", ignore_errors=True)
    with tarfile.open(archive) as packed:
        packed.extractall(ROOT / "opt", filter="tar")


def unpacked_bytes() -> int:
    """Sum the bytes of the folder."""
    folder = ROOT / "opt" / "calibration-workbench"
    return sum(each.stat().st_size for each in folder.rglob("*") if each.is_file() and not each.is_symlink())


def said(program: Sequence[str], *words: str) -> str:
    """Run a command that must do what it is asked; give its output."""
    done = answered(program, *words)
    hold(done.returncode == 0, f"{words} ended with {done.returncode}: {done.stderr[-2000:]}")
    return done.stdout


def answered(program: Sequence[str], *words: str) -> subprocess.CompletedProcess[str]:
    """Run a command, which may be refused."""
    environment = {"PATH": os.environ["PATH"], "HOME": "/srv", "WORKBENCH_CACHE": "off", "LC_ALL": "C.UTF-8"}
    return subprocess.run([*program, *words], cwd=HERE, env=environment, capture_output=True, text=True, check=False)


def compare_tours(bundle: Sequence[str], shared: Path) -> None:
    """Do the whole job in both, and compare the tables that come out."""
    said(bundle, "tour", "/srv/try/bundle")
    said(SOURCE, "tour", str(shared / "source"))
    for table in sorted((shared / "source").glob("*.csv")):
        hold((shared / "bundle" / table.name).read_bytes() == table.read_bytes(), f"{table.name} differs")
    print(f"tour: {len(list((shared / 'source').glob('*.csv')))} CSV files are byte for byte those of the source")


def compare_readings(bundle: Sequence[str], shared: Path) -> None:
    """Read a file of every format in both; what one refuses the other must refuse with the same words."""
    refused = []
    files = {name: content for name, content in small_files().items() if name.startswith("x.")}
    files["captured.log"] = candump()
    files["x.parquet"] = parquet()
    (shared / "car.dbc").write_text(DBC)
    for name, content in files.items():
        (shared / name).write_bytes(content)
        given = ["--dbc", "/srv/try/car.dbc"] if name.endswith(".blf") or name == "captured.log" else []
        here = [word.replace("/srv/try", str(shared)) for word in given]
        there = answered(bundle, "inspect", f"/srv/try/{name}", "--json", *given)
        expected = answered(SOURCE, "inspect", str(shared / name), "--json", *here)
        told, meant = (without_paths(json.loads(each.stdout)) for each in (there, expected))
        hold((there.returncode, told) == (expected.returncode, meant), f"{name} is read differently: {there.stderr}")
        refused += [name] if expected.returncode else []
    read = sorted(files.keys() - set(refused))
    hold({Path(name).suffix for name in read} >= {".mf4", ".blf", ".xlsx"}, "a reader's library is missing here")
    print(f"read alike: {', '.join(read)}; refused alike: {', '.join(refused)}")


def parquet() -> bytes:
    """Make a small Parquet file."""
    import fastparquet
    import pandas as pd

    steps = range(20)
    rows = pd.DataFrame({"Time (s)": [i / 5 for i in steps], "Engine RPM (rpm)": [900.0 + i for i in steps]})
    with tempfile.TemporaryDirectory() as folder:
        fastparquet.write(f"{folder}/x.parquet", rows)
        return Path(folder, "x.parquet").read_bytes()


def without_paths(told: object) -> object:
    """Leave out where a file lies, which differs."""
    if isinstance(told, dict):
        return {key: without_paths(value) for key, value in told.items()}
    if isinstance(told, list):
        return [without_paths(value) for value in told]
    return Path(told).name if isinstance(told, str) and told.startswith("/") else told


def compare_evidence(bundle: Sequence[str], shared: Path) -> None:
    """Work out the evidence of the sample session in both; find it again in the bundle."""
    shutil.copy(HERE / "sample_sessions" / "enlarged_intake.session", shared / "car.session")
    expected = json.loads(said(SOURCE, "evidence", str(shared / "car.session"), "--json"))
    keeping = (*bundle[:2], "/usr/bin/env", "WORKBENCH_CACHE=/srv/try/cache", bundle[2])
    for turn in ("worked out", "found again"):
        begin = time.monotonic()
        there = json.loads(said(keeping, "evidence", "/srv/try/car.session", "--json"))
        hold(there == expected, "evidence differs")
        print(f"evidence {turn} in {time.monotonic() - begin:.1f} s")
    hold(list((shared / "cache").iterdir()), "nothing was kept")


def open_windows(bundle: Sequence[str]) -> None:
    """Open the window of both on a screen of its own, several times in turns; keep a picture of the bundle's."""
    read, write = os.pipe()
    words = ["Xvfb", "-noreset", "-displayfd", str(write), "-screen", "0", "1366x768x24"]
    screen = subprocess.Popen(words, pass_fds=[write], stderr=subprocess.DEVNULL)
    number = int(os.read(read, 20))
    try:
        taken: dict[str, list[float]] = {"bundle": [], "source": []}
        for _ in range(TIMES):
            for name, program, session in (
                ("bundle", bundle, "/srv/try/car.session"),
                ("source", SOURCE, str(ROOT / "srv" / "try" / "car.session")),
            ):
                taken[name].append(until_shown([*program, session], number, HERE / "build" / f"window_{name}.png"))
        for name, seconds in taken.items():
            print(f"window of the {name}: least {min(seconds):.2f} s, median {statistics.median(seconds):.2f} s")
        print(f"that is {min(taken['bundle']) / min(taken['source']):.2f} times the source's")
    finally:
        screen.terminate()


def until_shown(command: Sequence[str], screen: int, picture: Path) -> float:
    """Start a program; give the seconds until its window is on the screen, and end it."""
    with tempfile.TemporaryDirectory(dir=ROOT / "srv") as home:
        inside = home.removeprefix(str(ROOT)) if command[0] == "chroot" else home
        environment = {**os.environ, "DISPLAY": f":{screen}", "QT_QPA_PLATFORM": "xcb", "HOME": inside}
        begin = time.monotonic()
        program = subprocess.Popen(command, cwd=HERE, env=environment, stderr=subprocess.DEVNULL)
        search = ["xdotool", "search", "--onlyvisible", "--name", "Calibration workbench"]
        try:
            while not subprocess.run(search, env=environment, capture_output=True, check=False).stdout:
                hold(program.poll() is None, "the program ended before its window opened")
                hold(time.monotonic() - begin < 60, "no window after a minute")
                time.sleep(0.01)
            seconds = time.monotonic() - begin
            time.sleep(8)
            if shutil.which("import"):
                subprocess.run(["import", "-window", "root", str(picture)], env=environment, check=True)
        finally:
            program.terminate()
            program.wait()
    return seconds


if __name__ == "__main__":
    sys.exit(main())
