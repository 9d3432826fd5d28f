"""A reader in a process of its own ends with the program that started it, even where that was killed."""

import os
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import pytest

READER = """
import time
from collections.abc import Callable
from pathlib import Path
import os, sys
from workbench.files.formats.subprocess_reader import end_with_starter
end_with_starter()
Path(sys.argv[2], "number").write_text(str(os.getpid()))
while True:  # as over damaged bytes
    sum(range(1000))
"""
PROGRAM = """
import sys
from pathlib import Path
sys.path.insert(0, sys.argv[1])
from workbench.files.formats.subprocess_reader import apart
from workbench.work import Progress
for _ in apart("endless", Path(sys.argv[1], "log"), Path(sys.argv[1]), lambda: Progress(0, 0, "")):
    pass
"""


def running(number: int) -> bool:
    """Tell whether a process runs that is not merely waiting to be reaped."""
    try:
        return Path(f"/proc/{number}/stat").read_text().rsplit(")", 1)[1].split()[0] != "Z"
    except FileNotFoundError:
        return False


def until(true: Callable[[], object], seconds: float = 30.0) -> bool:
    ends = time.monotonic() + seconds
    while time.monotonic() < ends:
        if true():
            return True
        time.sleep(0.05)
    return False


@pytest.mark.skipif(not Path("/proc/self/stat").exists(), reason="processes are looked at where the system shows them")
def test_a_reader_ends_when_its_program_is_killed(tmp_path: Path) -> None:
    (tmp_path / "endless.py").write_text(READER)
    root = str(Path(__file__).parents[2])
    program = subprocess.Popen([sys.executable, "-c", PROGRAM, str(tmp_path)], env={**os.environ, "PYTHONPATH": root})
    number = tmp_path / "number"
    assert until(lambda: number.exists() and number.read_text())
    reader = int(number.read_text())
    assert running(reader)
    program.kill()
    program.wait()
    assert until(lambda: not running(reader))
