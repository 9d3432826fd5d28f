"""`python -m workbench` alone, or with one session file, opens the window; with words it runs a command."""

import signal

if __name__ == "__main__":
    signal.signal(signal.SIGINT, signal.SIG_DFL)  # until there is somebody to hear it: no traceback out of an import

import os
import runpy
import sys
from pathlib import Path

from workbench import PROGRAM
from workbench.errors import FileError, WorkbenchError


def main() -> int:
    """Open the window or run a command; give the exit code."""
    _take_streams()
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="replace")
    words = sys.argv[1:]
    if getattr(sys, "frozen", False) and len(words) > 1 and words[0] == "-m" and words[1].startswith("workbench."):
        # A reader in a process of its own: the bundle has no Python beside it that would run one.
        del sys.argv[:2]
        runpy.run_module(words[1], run_name="__main__")
        return 0
    if words and not _is_session(words):
        from workbench.cli import main as run_command

        return run_command(words)
    try:
        return _open_window(Path(words[0]) if words else None)
    except WorkbenchError as refusal:
        print(refusal, file=sys.stderr)  # noqa: T201 - said on the command line
        return 1


def _take_streams() -> None:
    """Take the places of closed streams, so that no file gets their numbers and what is meant for them."""
    place = os.open(os.devnull, os.O_RDWR)
    while place <= 2:
        place = os.open(os.devnull, os.O_RDWR)
    os.close(place)


def _is_session(words: list[str]) -> bool:
    """Distinguish a path from a command: commands have neither a folder nor an ending."""
    if len(words) != 1 or words[0].startswith("-"):
        return False
    return Path(words[0]).name != words[0] or bool(Path(words[0]).suffix) or Path(words[0]).is_file()


def _open_window(path: Path | None) -> int:
    if path is not None and not path.exists():
        raise FileError(f"There is no session file {path}.", "Make one with: new SESSION TABLE.csv")
    if sys.platform == "linux" and not any(map(os.environ.get, ("DISPLAY", "WAYLAND_DISPLAY", "QT_QPA_PLATFORM"))):
        raise FileError(
            "There is no display to open a window on.",
            f"Run it on a desktop, or use the commands: {PROGRAM} --help",
        )
    try:
        from workbench.window.app import main as open_window
    except ImportError as error:
        raise FileError(
            f"The window cannot be opened: {error}.",
            "Install the missing library (on Debian: libegl1 libgl1 libxkbcommon0 libdbus-1-3 libfontconfig1); the "
            f"commands work without it: {PROGRAM} --help",
        ) from error
    signal.signal(signal.SIGINT, signal.default_int_handler)
    return open_window(path)


if __name__ == "__main__":
    sys.exit(main())
