"""Takes every screen from a real X server, in any theme, size and size of text, into a folder.

Run `python tests/screens.py FOLDER [WIDTHxHEIGHT] [THEME,...] [POINTS,...]`; it needs Xvfb, openbox and xdotool.
Unlike `pictures.py`, which asks widgets for their pictures and so repaints them, this shows what a user sees. Look at
each; ImageMagick's `montage` puts one screen in all its forms on a sheet.
"""

import os
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
from workbench.demo.samples import sample_files

ALPHA = 0xFF000000
TASKS = (
    "pulls cautions approve drive add-log rename-axis lanes gates settings leave-out compute analogue-input "
    "wideband-delay blend difference branches story keys help"
).split()
# Name of the picture, and lines that the watched program is told before it is taken.
SCREENS: tuple[tuple[str, tuple[str, ...]], ...] = (
    ("curve_several", ('look {"table": "curve", "layer": "value", "beside": [2]}',)),
    ("curve_change", ('look {"layer": "change"}',)),
    ("curve_ratio", ('look {"beside": [], "layer": "ratio", "cell": [22], "drive": 1, "cursor_s": 104.0}',)),
    ("correct", ("do correct",)),
    *((name, ("do drop", f"do {name}")) for name in TASKS),
    ("grid_value", ("do drop", 'look {"table": "grid", "layer": "value", "cell": [5, 4]}')),
    ("grid_several", ('look {"beside": [4]}',)),
    ("grid_ratio", ('look {"beside": [], "layer": "ratio"}',)),
    ("grid_smooth", ("do smooth",)),
    ("dense", ("do drop", 'look {"table": "curve"}', "do rows")),
    ("log_alone", ("do rows", "do go-log", "do alone")),
    ("search", ("do alone", "do search")),
)  # fmt: skip


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
        for theme, size_of_text in product(themes.split(","), points.split(",")):
            home = Path(scratch) / f"{theme}_{size_of_text}"
            home.mkdir()
            screen = test_screen.Screen(home, session)
            try:
                screen.say(f"dress {theme} {size_of_text}")
                for name, lines in SCREENS:
                    for line in lines:
                        screen.say(line)
                    keep(screen, target / f"{name}_{theme}_{high}_{size_of_text}.png", wide, high)
            finally:
                screen.end()
    print(f"Pictures of {len(SCREENS)} screens in {target}")


if __name__ == "__main__":
    main()
