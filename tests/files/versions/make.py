"""Make the session that is kept of a release: `python tests/files/versions/make.py`, run once when a release is made.

Does with the command line a little of everything, and leaves the session, what `history --json` says of it, and the
exported table, each named after the version.
"""

import json
import shlex
import subprocess
import sys
import tempfile
from pathlib import Path
from typing import Any

from workbench import __version__

HERE = Path(__file__).parent
STEPS = (
    "new {car} {here}/curve.csv --name airflow --note 'as read from the ECU'",
    "add-log {car} {here}/drive.csv",
    "settings {car} --part-throttle 0.04",
    "storage {car} --step 0.01 --bits 16",
    "scale {car} --by 1.05 --cells 1:3",
    "undo {car}",
    "redo {car}",
    "set {car} --to 3 --cells 0:1",
    "roll-back {car} 2 --note back",
    "amend-log {car} 1 --wideband before",
    "name-branch {car} 2 'first try'",
    "put-in-car {car} 1 --at 2026-01-01T10:00",
    "analogue-input {car} 'Oil pressure' --point 0.5=0 --point 4.5=1000 --unit kPa --tolerance 2%",
    "compute {car} 'Lambda error' '100 * (lambda_measured / lambda_commanded - 1)' --unit %",
    "settings {car} --gate-channel 'Oil pressure=100:900'",
    "leave-out {car} 1:20..22 --because 'gear change'",
    "wideband-delay {car} 0.4",
    "smooth {car} --cells 1:4",
)


def run(*words: object, may_refuse: bool = False) -> dict[str, Any]:
    """Run a command and give its JSON."""
    command = [sys.executable, "-m", "workbench", *map(str, words), "--json"]
    done = subprocess.run(command, stdout=subprocess.PIPE, text=True, check=not may_refuse)
    answer: dict[str, Any] = json.loads(done.stdout)
    return answer


def main() -> None:
    """Make the three files."""
    name = HERE / f"version_{__version__}"
    with tempfile.TemporaryDirectory() as folder:
        car, key = Path(folder) / "car.session", Path(folder) / "key.pem"
        for step in STEPS:
            run(*(word.format(car=car, here=HERE) for word in shlex.split(step)))
        approve = ("approve", car, "--by", "A. Calibrator")
        accepted = [each["name"] for each in run(*approve, may_refuse=True)["objections"]]
        run(*approve, *(word for each in accepted for word in ("--accept", f"{each}=seen")))
        run("make-key", key)
        run("sign", car, "--key", key, "--by", "A. Calibrator")
        run("export", car, Path(folder) / "table.csv")
        Path(f"{name}.json").write_text(json.dumps(run("history", car), indent=1) + "\n", "utf-8")
        Path(f"{name}.csv").write_bytes((Path(folder) / "table.csv").read_bytes())
        Path(f"{name}.session").write_bytes(car.read_bytes())


if __name__ == "__main__":
    main()
