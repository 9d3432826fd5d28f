"""Takes every screen from a real X server, in any theme, size and size of text, into a folder.

Run `python tests/screens.py FOLDER [WIDTHxHEIGHT] [THEME,...] [POINTS,...]`; it needs Xvfb, openbox and xdotool.
Unlike `pictures.py`, which asks widgets for their pictures and so repaints them, this shows what a user sees. Look at
each; ImageMagick's `montage` puts one screen in all its forms on a sheet.
"""

import csv
import io
import json
import os
import shutil
import sys
import tempfile
from itertools import product
from pathlib import Path

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
sys.path.insert(0, str(Path(__file__).parents[1]))
sys.path.insert(1, str(Path(__file__).parent / "window"))

import numpy as np
import test_screen
from PySide6.QtGui import QImage

from workbench.cli import main as command_line
from workbench.demo.drive import drive
from workbench.demo.recorder import csv_text
from workbench.demo.samples import sample_files
from workbench.demo.scenario import Scenario

ALPHA = 0xFF000000
LEAKS_BELOW = 8.0  # g/s
CLOSED_LOOP = "2", "16"  # of the fuel system's status, SAE J1979
DRIVES = "part_throttle_drive.csv", "pulls_drive.csv"
TASKS = (
    "pulls cautions approve drive add-log rename-axis lanes gates settings leave-out compute analogue-input "
    "wideband-delay blend difference branches story keys help"
).split()
# Name of the picture, and lines that the watched program is told before it is taken; `key NAME` presses keys.
SCREENS: tuple[tuple[str, tuple[str, ...]], ...] = (
    ("curve_several", ('look {"table": "curve", "layer": "value", "beside": [2]}',)),
    ("curve_change", ('look {"layer": "change"}',)),
    ("curve_ratio", ('look {"beside": [], "layer": "ratio", "cell": [22], "drive": 1, "cursor_s": 104.0}',)),
    ("correct", ("do correct",)),
    *((name, ("do drop", f"do {name}")) for name in TASKS),
    ("notes", ("key Escape", "notes")),
    ("report", ("do report",)),
    ("export", ("do export",)),
    ("numbers_alone", ("key Escape", "alone numbers")),
    ("picture_alone", ("alone picture",)),
    ("evidence_alone", ("alone evidence",)),
    ("history_alone", ("alone history",)),
    ("grid_value", ("alone", 'look {"table": "grid", "layer": "value", "cell": [5, 4]}')),
    ("grid_several", ('look {"beside": [4]}',)),
    ("grid_ratio", ('look {"beside": [], "layer": "ratio"}',)),
    ("grid_smooth", ("do smooth",)),
    ("dense", ("do drop", 'look {"table": "curve"}', "do rows")),
    ("log_alone", ("do rows", "alone log")),
    ("search", ("alone", "do search")),
)  # fmt: skip
# The same of a car whose first log is doubtful, and its second full of questions.
DOUBTFUL: tuple[tuple[str, tuple[str, ...]], ...] = (
    ("doubts", ('look {"layer": "ratio", "cell": [20]}',)),
    ("doubts_notes", ("notes",)),
    ("remedies", ("do approve",)),
    ("doubts_cautions", ("do cautions",)),
    ("doubts_log", ('look {"drive": 1}', "do drive")),
    ("questions", ("QUESTIONS",)),
    ("questions_below", ("key --repeat 12 Tab",)),
)


def session_in(folder: Path) -> Path:
    """Make a session of a curve with two corrections and a grid with one, and their drives."""
    for name, text in sample_files().items():
        (folder / name).write_text(text, encoding="utf-8", newline="")
    path = folder / "car.session"
    for words in (
        ("new", str(path), str(folder / "airflow_stale.csv"), "--name", "curve"),
        ("add-log", str(path), str(folder / "part_throttle_drive.csv"), str(folder / "pulls_drive.csv")),
        ("correct", str(path), "--share", "0.5"),
        ("correct", str(path)),
        ("add-table", str(path), str(folder / "efficiency_stale.csv"), "--name", "grid"),
        ("add-log", str(path), str(folder / "efficiency_drive.csv")),
        ("correct", str(path), "--table", "grid"),
        ("name-branch", str(path), "2", "race fuel"),
    ):
        if command_line(list(words)) != 0:
            sys.exit(f"{words[0]} failed")
    return path


def doubtful_in(folder: Path) -> tuple[Path, Path]:
    """Make a session whose logs mislead in three ways, corrected with a step left; give it and a log that asks.

    The long trim is shown in open loop but not used there, purge is not logged, and the exhaust leaks ahead of the
    wideband at little flow. The other log lacks the wideband's scale and the engine's warmth, and some trims are dates.
    """
    logs = {name: list(csv.reader(io.StringIO(sample_files()[name]))) for name in DRIVES}
    other = csv_text(drive(Scenario(seed=7, minutes=4, pulls=1), number=3).log)  # the same drive again is refused
    asking = asking_of(list(csv.reader(io.StringIO(other))))
    files = {"asking.csv": asking, **{f"misled_{name}": misled(logs[name]) for name in DRIVES}}
    for name, lines in files.items():
        with (folder / name).open("w", encoding="utf-8", newline="") as file:
            csv.writer(file).writerows(lines)
    path = folder / "doubtful.session"
    for words in (
        ("new", str(path), str(folder / "airflow_stale.csv"), "--name", "curve"),
        ("add-log", str(path), *(str(folder / f"misled_{name}") for name in DRIVES)),
        ("correct", str(path), "--undriven", "leave"),
        # It has left the desk: else the log that is dropped is asked about before it is read.
        ("export", str(path), str(folder / "try.csv"), "--draft", "--accept", "lean-step-at-high-load"),
    ):
        if command_line(list(words)) != 0:
            sys.exit(f"{words[0]} failed")
    return path, folder / "asking.csv"


def misled(lines: list[list[str]]) -> list[list[str]]:
    """Change what a log says of the mixture, and leave purge out of it."""
    at = {name.partition(" (")[0]: place for place, name in enumerate(lines[0])}
    made = []
    for number, line in enumerate(lines):
        row = [*line]
        if number:
            value = float(row[at["Measured lambda"]])
            if row[at["Fuel system status"]] not in CLOSED_LOOP:
                value *= 1 + float(row[at["Long trim bank 1"]]) / 100
            elif float(row[at["Airflow"]]) < LEAKS_BELOW:
                value *= 1.12
            row[at["Measured lambda"]] = f"{value:.3f}"
        del row[at["Purge"]]
        made.append(row)
    return made


def asking_of(lines: list[list[str]]) -> list[list[str]]:
    """Make a log that cannot be read without answers."""
    at = {name.partition(" (")[0]: place for place, name in enumerate(lines[0])}
    made = [[name if not name.startswith("Measured lambda") else "Wideband (V)" for name in lines[0]]]
    for line in lines[1:]:
        row = [*line]
        row[at["Measured lambda"]] = f"{0.5 + 2.5 * (float(row[at['Measured lambda']]) - 0.7):.3f}"
        if row[at["Short trim bank 1"]].startswith("5."):
            row[at["Short trim bank 1"]] = "05. Feb"
        row[at["Coolant temperature"]] = "20"
        made.append(row)
    return made


def take(screen: test_screen.Screen, lines: tuple[str, ...], asking: Path) -> None:
    """Do what a picture wants to be done before."""
    for line in lines:
        word, _, rest = line.partition(" ")
        if word == "key":
            screen.tool("key", *rest.split())
            screen.say("settle")
        elif word == "notes":
            screen.say("press notes")
        elif word == "QUESTIONS":
            screen.say("take " + json.dumps([str(asking)]))
        else:
            screen.say(line)


def keep(screen: test_screen.Screen, path: Path, wide: int, high: int) -> None:
    """Write down what the X server shows."""
    pixels = np.ascontiguousarray(screen.picture()[:, :wide].astype(np.uint32) | ALPHA)
    QImage(pixels.data, wide, high, 4 * wide, QImage.Format.Format_RGB32).save(str(path))


def main() -> None:
    """Take them into the folder named on the command line."""
    folder, size, themes, points = [*sys.argv[1:], *("screens", "1366x768", "light", "10")[len(sys.argv) - 1 :]][:4]
    wide, high = (int(part) for part in size.split("x"))
    test_screen.WIDE, test_screen.HIGH = wide, high
    target = Path(folder)
    target.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as scratch:
        session = session_in(Path(scratch))
        doubtful, asking = doubtful_in(Path(scratch))
        shows = (("car", session, SCREENS), ("doubtful", doubtful, DOUBTFUL))
        for theme, size_of_text, (car, path, screens) in product(themes.split(","), points.split(","), shows):
            home = Path(scratch) / f"{car}_{theme}_{size_of_text}"
            home.mkdir()
            copied = Path(shutil.copy(path, home / path.name))
            screen = test_screen.Screen(home, copied)
            try:
                screen.say(f"dress {theme} {size_of_text}")
                for name, lines in screens:
                    take(screen, lines, asking)
                    keep(screen, target / f"{name}_{theme}_{high}_{size_of_text}.png", wide, high)
            finally:
                screen.end()
    print(f"Pictures of {len(SCREENS) + len(DOUBTFUL)} screens in {target}")


if __name__ == "__main__":
    main()
