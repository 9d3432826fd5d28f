"""Runs a program and tells the memory and time it took by itself.

A child's peak counts the memory of the process it was forked from, and a test run is large by then; so a small process
of its own starts the program and looks at its children alone.
"""

import json
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path

_STARTER = """
import json, resource, subprocess, sys
done = subprocess.run(sys.argv[1:], capture_output=True)
used = resource.getrusage(resource.RUSAGE_CHILDREN)
told = [done.stdout.decode(errors="replace"), done.stderr.decode(errors="replace")]
print(json.dumps([done.returncode, *told, used.ru_maxrss, used.ru_utime + used.ru_stime]))
"""


@dataclass(frozen=True)
class Weighed:
    """What came of a program: its exit code, output and errors, its peak memory in kB and processor time in s."""

    code: int
    out: str
    err: str
    peak_kb: int
    seconds: float


def weighed(script: str, *arguments: str | Path) -> Weighed:
    """Run a script of Python in a process of its own."""
    command = [sys.executable, "-c", _STARTER, sys.executable, "-c", script, *map(str, arguments)]
    done = subprocess.run(command, capture_output=True, text=True, check=True)
    return Weighed(*json.loads(done.stdout))
