"""Starts the window."""

import sys
from pathlib import Path

from workbench.window.kit.display_check import trouble


def main(path: Path | None) -> int:
    """Open the window on a session, or on the start page; give the exit code."""
    if reason := trouble():
        sys.stderr.write(reason + "\n")
        return 1
    from workbench.window.shell.application import run

    return run(path)
