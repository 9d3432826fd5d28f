"""Install the newest wheel and source archive of dist/ as users do, and do the whole job away from the checkout.

`python3 -m hatchling build`, then `python3 .ci/try_wheel.py`: with pip into an environment of its own, with pip from
the source archive, and with pipx and uv where they are there. What each needs comes from the package index.
"""

import importlib.util
import os
import subprocess
import sys
import tempfile
import venv
from collections.abc import Sequence
from pathlib import Path

HERE = Path(__file__).resolve().parent.parent
PROGRAM = "calibration-workbench"


def main() -> int:
    """Try each way; the exit code is 0 where all of them did the whole job."""
    wheel, archive = (
        max((HERE / "dist").glob(kind), key=os.path.getmtime) for kind in ("*.whl", "*_workbench-*.tar.gz")
    )
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        for package in (wheel, archive):
            place = folder / package.name
            venv.create(place, with_pip=True)
            inside = place / ("Scripts" if os.name == "nt" else "bin")
            run([inside / "python", "-m", "pip", "install", "--quiet", package], folder)
            run([inside / PROGRAM, "tour", f"out of {package.name}"], folder)
        if importlib.util.find_spec("pipx"):
            run([sys.executable, "-m", "pipx", "run", "--spec", wheel, PROGRAM, "tour", "out of pipx"], folder)
        if importlib.util.find_spec("uv"):
            run([sys.executable, "-m", "uv", "tool", "run", "--from", wheel, PROGRAM, "tour", "out of uv"], folder)
        told = sorted(each.name for each in folder.glob("out of *") if list(each.glob("*.session")))
        print("The whole job was done: " + ", ".join(told))
    return 0


def run(words: Sequence[object], folder: Path) -> None:
    """Run a command in a folder; where it fails, so does all."""
    subprocess.run([str(word) for word in words], cwd=folder, check=True, stdout=subprocess.DEVNULL)


if __name__ == "__main__":
    sys.exit(main())
