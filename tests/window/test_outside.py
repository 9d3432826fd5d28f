"""The program as a user meets it: a real X server, a real window manager, keys pressed from outside."""

import os
import shutil
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from workbench.cli import main as command_line
from workbench.session import Session

TOOLS = {name: shutil.which(name) or "" for name in ("Xvfb", "openbox", "xdotool")}
DISPLAY = f":{90 + os.getpid() % 900}"

pytestmark = pytest.mark.skipif(
    not all(TOOLS.values()), reason="needs " + ", ".join(TOOLS) + " (Debian packages xvfb, openbox, xdotool)"
)


@pytest.fixture
def desktop(tmp_path: Path) -> Iterator[dict[str, str]]:
    """An X server with a window manager; gives the environment to start programs in."""
    kept = {name: value for name, value in os.environ.items() if name not in ("QT_QPA_PLATFORM", "WAYLAND_DISPLAY")}
    environment = {**kept, "DISPLAY": DISPLAY, "HOME": str(tmp_path), "XDG_CONFIG_HOME": str(tmp_path / "config")}
    server = subprocess.Popen([TOOLS["Xvfb"], DISPLAY, "-screen", "0", "1366x768x24"], stderr=subprocess.DEVNULL)
    try:
        until(lambda: Path(f"/tmp/.X11-unix/X{DISPLAY[1:]}").exists())  # noqa: S108 - where X servers put their socket
        manager = subprocess.Popen(
            [TOOLS["openbox"]], env=environment, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL
        )
        try:
            yield environment
        finally:
            end(manager)
    finally:
        end(server)


def end(program: subprocess.Popen[str] | subprocess.Popen[bytes]) -> None:
    """End a program, whatever it is doing, so that no other test meets it."""
    program.terminate()
    try:
        program.wait(10)
    except subprocess.TimeoutExpired:
        program.kill()
        program.wait(PATIENCE_S)
    for pipe in (program.stdout, program.stderr):
        if pipe is not None:
            pipe.close()


PATIENCE_S = 240  # a machine may be loaded; what hangs is still told from what is slow


def until(holds: Callable[[], object], seconds: float = PATIENCE_S) -> None:
    """Wait until something holds."""
    end = time.monotonic() + seconds
    while not holds():
        assert time.monotonic() < end
        time.sleep(0.1)


def test_keys_from_outside_correct_and_undo(desktop: dict[str, str], car_files: Path, tmp_path: Path) -> None:
    path = tmp_path / "car.session"
    assert command_line(["new", str(path), str(car_files / "curve.csv")]) == 0
    assert command_line(["add-log", str(path), str(car_files / "curve_drive.csv")]) == 0
    program = subprocess.Popen(
        [sys.executable, "-m", "workbench", str(path)], env=desktop, stderr=subprocess.PIPE, text=True
    )
    try:
        press_keys(program, desktop, path)
    finally:
        end(program)


def press_keys(program: subprocess.Popen[str], desktop: dict[str, str], path: Path) -> None:
    """Scale, undo, correct and quit from outside, each as soon as the one before is done."""

    def tool(*words: str) -> str:
        return subprocess.run(
            [TOOLS["xdotool"], *words], env=desktop, capture_output=True, text=True, check=False
        ).stdout

    def head() -> tuple[int, str]:
        with Session.open(path) as session:
            revision = session.state.head()
            return revision.id, revision.operation

    def in_front() -> bool:
        # A window that was there before its manager is not given the keys by itself.
        tool("search", "--name", "car – Calibration workbench", "windowactivate")
        return "car – Calibration workbench" in tool("getactivewindow", "getwindowname")

    until(in_front)
    tool("key", "alt+1")
    tool("type", "--delay", "60", "*1.01")
    tool("key", "Return")
    until(lambda: head() == (2, "scale"))
    tool("key", "ctrl+z")
    until(lambda: head() == (1, "new"))

    def correct() -> bool:
        tool("key", "ctrl+Return")
        time.sleep(3)
        tool("key", "Return")
        return head()[1] == "correct"

    until(correct)
    tool("key", "ctrl+q")
    assert program.wait(PATIENCE_S) == 0
    assert program.stderr is not None
    assert program.stderr.read() == ""
