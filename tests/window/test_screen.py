"""What the screen really shows: the picture that the X server holds, against that of everything drawn and painted anew.

Asking a widget for its picture paints it, and hides what was left stale. So the program runs as a process of its own
under an X server that keeps its screen in a file; keys and mouse come from outside; after each act the screen is held
against itself once all is forgotten and drawn again.
"""

import json
import os
import random
import shutil
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from workbench.cli import main as command_line

TOOLS = {name: shutil.which(name) or "" for name in ("Xvfb", "openbox", "xdotool")}
WATCHED = Path(__file__).with_name("watched.py")
WIDE, HIGH = 1366, 768
SEED, ACTS, STRICTLY = 12, 300, 3
BESIDE_THE_WINDOW = str(WIDE // 2), str(HIGH - 4)
FOLLOWS_S = 0.15  # until a list has followed a click on a row that was cut

pytestmark = pytest.mark.skipif(
    not all(TOOLS.values()), reason="needs " + ", ".join(TOOLS) + " (Debian packages xvfb, openbox, xdotool)"
)


class Screen:
    """A desktop of its own with the program on it."""

    def __init__(self, folder: Path, session: Path) -> None:
        """Start server, window manager and program, and wait until the program has come to rest."""
        said, saying = os.pipe()
        self._frame, self._all = folder / "Xvfb_screen0", list[subprocess.Popen[str]]()
        server = [TOOLS["Xvfb"], "-displayfd", str(saying), "-noreset", "-nocursor", "-fbdir", str(folder)]
        self._start([*server, "-screen", "0", f"{WIDE}x{HIGH}x24"], dict(os.environ), pass_fds=[saying])
        os.close(saying)
        with os.fdopen(said) as answer:
            display = f":{answer.readline().strip()}"
        kept = {name: value for name, value in os.environ.items() if name not in ("QT_QPA_PLATFORM", "WAYLAND_DISPLAY")}
        self._where = {**kept, "DISPLAY": display, "HOME": str(folder), "XDG_CONFIG_HOME": str(folder / "config")}
        self._start([TOOLS["openbox"]], self._where)
        while not self.tool("get_num_desktops"):
            time.sleep(0.05)
        self.trouble = folder / "trouble.txt"
        command = [sys.executable, str(WATCHED), str(session), str(folder / "settings")]
        with self.trouble.open("w") as errors:
            self._program = self._start(
                command, self._where, stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=errors
            )
        self.say("settle")
        name = f"{session.stem} – Calibration workbench"
        while name not in self.tool("getactivewindow", "getwindowname"):
            self.tool("search", "--name", name, "windowactivate")
            time.sleep(0.05)
        self.tool("search", "--name", name, "windowmove", "0", "0", "windowsize", str(WIDE), str(HIGH - 24))
        self.say("settle")

    def _start(self, command: list[str], environment: dict[str, str], **more: Any) -> subprocess.Popen[str]:
        more.setdefault("stderr", subprocess.DEVNULL)
        made: subprocess.Popen[str] = subprocess.Popen(command, env=environment, text=True, **more)
        self._all.append(made)
        return made

    def tool(self, *words: str) -> str:
        """What xdotool answers; nothing where it fails."""
        command = [TOOLS["xdotool"], *words]
        return subprocess.run(command, env=self._where, capture_output=True, text=True, check=False).stdout

    def say(self, line: str) -> str:
        """Tell the program something, and wait until it has come to rest; give its answer."""
        assert self._program.stdin is not None
        assert self._program.stdout is not None
        self._program.stdin.write(line + "\n")
        self._program.stdin.flush()
        answer = self._program.stdout.readline()
        assert answer, f"the program ended at {line!r}: {self.trouble.read_text()}"
        assert not answer.startswith("failed"), f"{line!r} {answer}"
        return answer.strip()

    def picture(self) -> np.ndarray:
        """What the X server shows now, a colour per pixel, shape (high, wide); the file has the form of X's dumps."""
        dump = self._frame.read_bytes()
        head = np.frombuffer(dump[:100], dtype=">u4")
        offset, colours, line = int(head[0]), int(head[19]), int(head[12])
        start = offset + 12 * colours
        return np.frombuffer(dump, dtype=np.uint32, count=line // 4 * HIGH, offset=start).reshape(HIGH, line // 4)

    def stale(self, how: str = "anew") -> np.ndarray:
        """Where the screen shows something else than it does once all is drawn and painted anew, shape (high, wide)."""
        before = self.picture()
        self.say(how)
        after = self.picture()
        self.pair = before, after
        return before != after

    def end(self) -> None:
        """End what was started, the last first."""
        for each in reversed(self._all):
            each.terminate()
            try:
                each.wait(10)
            except subprocess.TimeoutExpired:
                each.kill()
                each.wait()
            for pipe in (each.stdin, each.stdout):
                if pipe is not None:
                    pipe.close()


@pytest.fixture
def session_file(car_files: Path, tmp_path: Path) -> Path:
    """A session of a curve and a grid, a drive for each."""
    path = tmp_path / "car.session"
    for words in (
        ("new", str(path), str(car_files / "curve.csv")),
        ("add-table", str(path), str(car_files / "grid.csv")),
        ("add-log", str(path), str(car_files / "curve_drive.csv")),
        ("add-log", str(path), str(car_files / "grid_drive.csv")),
    ):
        assert command_line(list(words)) == 0
    return path


@pytest.fixture
def screen(session_file: Path, tmp_path: Path) -> Iterator[Screen]:
    """The program on a screen of its own."""
    folder = tmp_path / "screen"
    folder.mkdir()
    made = Screen(folder, session_file)
    yield made
    made.end()


def holds(screen: Screen, what: str, how: str = "anew") -> None:
    """Fail where the screen shows something stale, and say where and after what."""
    stale = screen.stale(how)
    if stale.any():
        rows, columns = np.nonzero(stale)
        if keep := os.environ.get("KEEP_STALE"):
            np.savez(keep, before=screen.pair[0], after=screen.pair[1])
        where = f"{columns.min()}..{columns.max()} × {rows.min()}..{rows.max()}"
        pytest.fail(f"after {what}: {int(stale.sum())} pixels at {where} are stale; {screen.say('state')}")


def test_what_is_shown_is_what_there_is_after_every_change(screen: Screen) -> None:
    holds(screen, "opening")
    tables = ("curve", "grid")
    for theme in ("light", "dark", "sun"):
        screen.say(f"dress {theme} 10")
        for table in tables:
            blocks = [[[2, 7]]] if table == tables[0] else [[[1, 2], [1, 3]]]
            screen.say("look " + json.dumps({"table": table}))
            screen.say("look " + json.dumps({"cell": [b[0] for b in blocks[0]], "blocks": blocks}))
            holds(screen, f"{theme} {table}")
            for beside in ([1], [1, 2], []):
                screen.say("look " + json.dumps({"beside": beside}))
                holds(screen, f"{theme} {table} beside {beside}")
            for layer in ("change", "ratio", "half_width", "samples", "standing", "value"):
                screen.say(f"do layer-{layer}")
                holds(screen, f"{theme} {table} {layer}")
                if theme == "light":
                    _type_and_apply(screen, f"{table} {layer}")


def _type_and_apply(screen: Screen, where: str) -> None:
    """Change the chosen cells as a user does, look at before and after, and take it back."""
    screen.say("do go-numbers")
    screen.tool("type", "x0.92")
    screen.say("settle")
    holds(screen, f"typing x0.92 in {where}")
    screen.tool("key", "Return")
    screen.say("settle")
    holds(screen, f"applying x0.92 in {where}")
    for what in ("flick", "flick", "undo", "redo", "undo"):
        screen.say(f"do {what}")
        holds(screen, f"{what} in {where}")


def test_no_panel_is_black_while_logs_are_read_and_evidence_is_gathered(
    screen: Screen, car_files: Path, tmp_path: Path
) -> None:
    """What is not painted yet is black on this server; ink of the light theme is not."""
    screen.say("dress light 10")
    assert screen._program.stdin is not None
    assert screen._program.stdout is not None
    head, *rows = (line.split(",") for line in (car_files / "curve_drive.csv").read_text("utf-8").splitlines())
    turns = next(at for at, name in enumerate(head) if "speed (rpm)" in name)
    for row in rows:  # at another engine speed it is no second export of the drive
        row[turns] = f"{1.03 * float(row[turns] or 'nan'):.1f}"
    (tmp_path / "another.csv").write_text("\n".join(",".join(row) for row in (head, *rows)) + "\n", newline="")
    again = json.dumps([str(tmp_path / "another.csv")])
    darkest, done = 0, threading.Event()
    screen._program.stdin.write(f"take {again}\n")
    screen._program.stdin.flush()
    answers = list[str]()

    def listen() -> None:
        answers.append(screen._program.stdout.readline())  # type: ignore[union-attr]
        done.set()

    threading.Thread(target=listen, daemon=True).start()
    looks = 0
    while not done.wait(0.05):
        seen = screen.picture()[: HIGH - 40, :WIDE] & 0xFFFFFF
        darkest, looks = max(darkest, int((seen == 0).sum())), looks + 1
    assert answers == ["done\n"]
    assert looks > 3
    assert darkest < 500


COMMANDS = (
    "correct",
    "scale --by 0.97 --cells 3:9",
    "set --to 12.5 --cells 4",
    "add --by 0.2 --cells 0:5",
    "smooth --strength 0.4 --cells 4:20",
    "fill --cells 6:8",
    "ramp --cells 8:12",
    "keep-rising",
    "storage --step 0.01 --bits 16",
    "round",
    "blend 2 --share 0.5",
    "roll-back 1",
    "undo",
    "redo",
    "insert-breakpoint --at 3333",
    "storage --none",
    "settings --part-throttle 0.03 --gate warm_c=60",
    "amend-log 1 --wideband before",
    "add-log LOG --again",
    "scale --by 1.02 --cells 1:3,2:5 --table grid",
    "correct --table grid",
)


def test_what_another_process_brings_is_shown_whole(screen: Screen, session_file: Path, car_files: Path) -> None:
    screen.say("look " + json.dumps({"table": "curve", "layer": "change"}))
    for line in COMMANDS:
        command, *rest = line.replace("LOG", str(car_files / "curve_drive.csv")).split()
        code = command_line([command, str(session_file), *rest])
        assert code == 0, line
        screen.say("reload")
        if line.endswith("grid"):
            screen.say("look " + json.dumps({"table": "grid", "layer": "ratio"}))
        holds(screen, line)


def test_what_is_dressed_anew_by_quick_presses_is_painted(screen: Screen) -> None:
    screen.say("dress light 10")
    for name, gap_s in (("ctrl+plus", 0.03), ("ctrl+minus", 0.1), ("ctrl+plus", 0.2), ("ctrl+t", 0.03)):
        for _ in range(6):
            screen.tool("key", name)
            time.sleep(gap_s)
        time.sleep(1)  # nothing from this side helps it to paint
        screen.say("settle")
        holds(screen, f"{name} six times, {gap_s} s apart", "repaint")


Act = tuple[str, Callable[[Screen, random.Random], None]]


def key(*names: str) -> Act:
    """Make an act of pressing keys."""

    def press(screen: Screen, _: random.Random) -> None:
        screen.tool("key", *names)

    return " ".join(names), press


def typing(text: str) -> Act:
    """Make an act of typing over the chosen cells."""

    def write(screen: Screen, _: random.Random) -> None:
        screen.tool("key", "alt+1", "type", text)

    return f"typing {text}", write


def _click(screen: Screen, chance: random.Random) -> None:
    place = str(chance.randrange(8, WIDE - 8)), str(chance.randrange(110, HIGH - 40))
    screen.tool("mousemove", *place, "click", "1")
    time.sleep(FOLLOWS_S)


def _wheel(screen: Screen, chance: random.Random) -> None:
    place = str(chance.randrange(8, WIDE - 8)), str(chance.randrange(110, HIGH - 40))
    screen.tool("mousemove", *place, "click", "--repeat", "3", chance.choice("45"))


def _drag(screen: Screen, chance: random.Random) -> None:
    x, y = chance.randrange(100, WIDE - 100), chance.randrange(150, HIGH - 100)
    to = str(x + chance.randrange(-90, 90)), str(y + chance.randrange(-60, 60))
    screen.tool("mousemove", str(x), str(y), "mousedown", "1", "mousemove", *to, "mouseup", "1")
    time.sleep(FOLLOWS_S)


def _table(screen: Screen, chance: random.Random) -> None:
    screen.say("look " + json.dumps({"table": chance.choice(("curve", "grid"))}))


ACTS_OF_A_MONKEY: tuple[tuple[int, Act], ...] = (
    (6, ("a click", _click)),
    (4, ("the wheel", _wheel)),
    (3, ("a drag", _drag)),
    (2, ("another table", _table)),
    *((2, key(f"ctrl+{n}")) for n in range(1, 7)),
    *((2, key(name)) for name in ("Down", "Up", "Left", "Right", "Escape", "Return", "Tab", "Next", "Prior")),
    *((2, key(name)) for name in ("shift+Down", "shift+Right", "ctrl+a", "F4", "ctrl+z", "ctrl+shift+z")),
    *((2, typing(text)) for text in ("x0.92", "+3%", "*1.01", "7")),
    *((1, key("alt+1", name)) for name in ("Down", "End", "Home", "Right")),
    *((1, key("alt+2", name)) for name in ("Right", "Up", "plus", "0")),
    *((1, key("alt+3", name)) for name in ("Down", "Return", "Left", "Right", "shift+Down", "shift+Up")),
    *((1, key("alt+4", name)) for name in ("Right", "plus", "minus", "0", "bracketleft", "bracketright", "Next")),
    *((1, key("alt+4", name)) for name in ("Down", "Down", "shift+Up", "shift+Down", "ctrl+Up", "ctrl+shift+Up", "a")),
    *((1, key("alt+4", name)) for name in ("comma", "period")),
    *((1, key(name)) for name in ("ctrl+t", "ctrl+plus", "ctrl+minus", "ctrl+g", "ctrl+f", "F1")),
    *((1, key(name)) for name in ("ctrl+Return", "ctrl+shift+g", "ctrl+shift+l", "ctrl+shift+h", "ctrl+d")),
)  # fmt: skip


def test_a_monkey_leaves_nothing_stale(screen: Screen) -> None:
    chance = random.Random(SEED)
    weights = [weight for weight, _ in ACTS_OF_A_MONKEY]
    done: list[str] = []
    for name, act in (each for _, each in chance.choices(ACTS_OF_A_MONKEY, weights, k=ACTS)):
        act(screen, chance)
        screen.say("settle")
        done.append(name)
        where = f"{len(done)} acts, the last of them {', '.join(done[-4:])}"
        holds(screen, where, "repaint")
        if len(done) % STRICTLY == 0:  # also against all of it drawn from the state again; what the pointer lit is not
            screen.tool("mousemove", *BESIDE_THE_WINDOW)
            screen.say("settle")
            holds(screen, f"{where}, drawn anew")
    assert screen.trouble.read_text() == ""
