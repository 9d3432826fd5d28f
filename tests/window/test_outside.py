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

pytestmark = pytest.mark.skipif(
    not all(TOOLS.values()), reason="needs " + ", ".join(TOOLS) + " (Debian packages xvfb, openbox, xdotool)"
)


@pytest.fixture
def desktop(tmp_path: Path) -> Iterator[dict[str, str]]:
    """An X server with a window manager; gives the environment to start programs in."""
    kept = {name: value for name, value in os.environ.items() if name not in ("QT_QPA_PLATFORM", "WAYLAND_DISPLAY")}
    # The server chooses a free display and says so once it answers. Without -noreset it starts anew whenever its last
    # client leaves, and turns away who calls just then.
    said, saying = os.pipe()
    command = [TOOLS["Xvfb"], "-displayfd", str(saying), "-noreset", "-screen", "0", "1366x768x24"]
    server = subprocess.Popen(command, stderr=subprocess.DEVNULL, pass_fds=[saying])
    os.close(saying)
    try:
        with os.fdopen(said) as answer:
            display = f":{answer.readline().strip()}"
        assert display != ":", "the X server ended before it answered"
        environment = {**kept, "DISPLAY": display, "HOME": str(tmp_path), "XDG_CONFIG_HOME": str(tmp_path / "config")}
        manager = subprocess.Popen(
            [TOOLS["openbox"]], env=environment, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL
        )
        try:
            until(lambda: tool(environment, "get_num_desktops"), manager)
            yield environment
        finally:
            end(manager)
    finally:
        end(server)


def tool(environment: dict[str, str], *words: str) -> str:
    """What xdotool answers on that display; nothing where it fails."""
    command = [TOOLS["xdotool"], *words]
    return subprocess.run(command, env=environment, capture_output=True, text=True, check=False).stdout


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


def until(holds: Callable[[], object], program: subprocess.Popen[str] | subprocess.Popen[bytes]) -> None:
    """Wait until something holds, as long as the program that is to bring it about runs."""
    end = time.monotonic() + PATIENCE_S
    while not holds():
        assert program.poll() is None, f"{program.args!r} ended with {program.returncode}"
        assert time.monotonic() < end, f"{program.args!r} runs, but nothing comes of it"
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

    def head() -> tuple[int, str]:
        with Session.open(path) as session:
            revision = session.state.head()
            return revision.id, revision.operation

    def in_front() -> bool:
        # A window that was there before its manager is not given the keys by itself.
        tool(desktop, "search", "--name", "car – Calibration workbench", "windowactivate")
        return "car – Calibration workbench" in tool(desktop, "getactivewindow", "getwindowname")

    until(in_front, program)
    tool(desktop, "key", "alt+1")
    tool(desktop, "type", "--delay", "60", "*1.01")
    tool(desktop, "key", "Return")
    until(lambda: head() == (2, "scale"), program)
    tool(desktop, "key", "ctrl+z")
    until(lambda: head() == (1, "new"), program)

    def correct() -> bool:
        tool(desktop, "key", "ctrl+Return")
        time.sleep(3)
        tool(desktop, "key", "Return")
        return head()[1] == "correct"

    until(correct, program)
    tool(desktop, "key", "ctrl+q")
    assert program.wait(PATIENCE_S) == 0
    assert program.stderr is not None
    assert program.stderr.read() == ""
