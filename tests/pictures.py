"""Renders every screen of the window, in all themes and at two sizes, into a folder.

Run `python tests/pictures.py FOLDER [THEME]`; it needs no display. Look at every one of them.
"""

import os
import shutil
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
sys.path.insert(0, str(Path(__file__).parents[1]))
sys.path.insert(1, str(Path(__file__).parent / "window"))

from PySide6.QtCore import QSettings
from PySide6.QtGui import QFontDatabase
from PySide6.QtWidgets import QApplication
from showing import is_busy

from workbench.demo.samples import sample_files
from workbench.errors import FileError
from workbench.window.kit.style import shipped_folder
from workbench.window.kit.theme import THEMES
from workbench.window.scene.preferences import Memory
from workbench.window.shell.application import application
from workbench.window.shell.main_window import MainWindow

SIZES = ((1366, 768), (1920, 1080))
Screen = tuple[str, Callable[[MainWindow], None]]


def settle(window: MainWindow) -> None:
    """Let everything that runs come to its end, and the layout come to rest."""
    calm = 0
    while calm < 8:
        QApplication.processEvents()
        time.sleep(0.005)
        calm = 0 if is_busy(window) else calm + 1


def do(name: str) -> Callable[[MainWindow], None]:
    """Make a step that does an act or opens a command."""
    return lambda window: window.equip().do(name)


def look(**focus: object) -> Callable[[MainWindow], None]:
    """Make a step that looks at something."""
    return lambda window: window.equip().bridge.focus(**focus)


def typed(text: str) -> Callable[[MainWindow], None]:
    """Make a step that begins an entry."""
    return lambda window: window.equip().bench.numbers.begin(text)


def refuse(window: MainWindow) -> None:
    """Show a refusal."""
    window.equip().bench.notice.say_refused(
        FileError("town.csv holds no time.", "Say how many rows a second it has: --rate.")
    )


def leave(**focus: object) -> Callable[[MainWindow], None]:
    """Make a step that leaves the task and looks at something."""

    def step(window: MainWindow) -> None:
        window.equip().bench.drawer.leave()
        window.equip().bridge.focus(**focus)

    return step


def take(*names: str) -> Callable[[MainWindow], None]:
    """Make a step that adds logs by their names in the folder of the session."""

    def step(window: MainWindow) -> None:
        state = window.equip().bridge.scene.state
        assert state is not None
        window.equip().routes.take([Path(state.path).with_name(name) for name in names])

    return step


CURVE: tuple[Screen, ...] = (
    ("curve_1_no_log", lambda _: None),
    ("curve_2_log_understood", take("part_throttle_drive.csv", "pulls_drive.csv")),
    ("curve_3_ratio", leave(layer="ratio", cell=(22,), blocks=(((20, 25),),), cursor_s=104.0)),
    (
        "curve_4_value_typed",
        lambda w: (w.equip().bridge.focus(layer="value"), w.equip().bench.numbers.begin("+3%")),
    ),
    ("curve_5_correct", do("correct")),
    ("curve_6_corrected", lambda w: (w.equip().do("apply"), w.equip().bench.drawer.leave())),
    ("curve_7_change", look(layer="change", cursor_s=None)),
    ("curve_8_approve", do("approve")),
    ("curve_9_lanes", do("lanes")),
    ("curve_10_refused", lambda w: (w.equip().bench.drawer.leave(), refuse(w))),
    ("curve_11_search", lambda w: (w.equip().bench.notice.hide(), w.equip().do("search"))),
    ("curve_12_keys", lambda w: (w.equip().palette.leave(), w.equip().do("keys"))),
)
SAMPLE: tuple[Screen, ...] = (
    ("sample_1", look(layer="ratio", cell=(22,), blocks=(((20, 25),),), cursor_s=104.0)),
    ("sample_2_change", look(layer="change", cursor_s=None)),
)
GRID: tuple[Screen, ...] = (
    ("grid_1_no_log", lambda _: None),
    ("grid_2_log_understood", take("efficiency_drive.csv")),
    ("grid_3_value", leave(layer="value", cell=(6, 4), cursor_s=420.0)),
    ("grid_4_ratio", look(layer="ratio", blocks=(((5, 8), (3, 6)),))),
    ("grid_5_standing", look(layer="standing", blocks=())),
    ("grid_6_smooth", do("smooth")),
    ("grid_7_corrected", lambda w: (w.equip().bench.drawer.leave(), w.equip().routes._runner.run("correct", {}))),
    ("grid_8_change", look(layer="change")),
    ("grid_9_export", do("export")),
)  # fmt: skip


def render(folder: Path, themes: list[str]) -> int:
    """Render all screens; give how many pictures were made."""
    made = 0
    with tempfile.TemporaryDirectory() as scratch:
        QSettings.setPath(QSettings.Format.IniFormat, QSettings.Scope.UserScope, scratch)
        for name, text in sample_files().items():
            (Path(scratch) / name).write_text(text, encoding="utf-8", newline="")
        window = MainWindow(Memory())
        window.show()
        window.equip()
        made += shoot(window, folder, "start", themes)
        for table, screens in (("airflow_stale.csv", CURVE), ("efficiency_stale.csv", GRID)):
            window.equip().opening.begin_from(Path(scratch) / table)
            for name, step in screens:
                step(window)
                settle(window)
                made += shoot(window, folder, name, themes)
        shutil.copy(shipped_folder("sample_sessions") / "enlarged_intake.session", scratch)
        window.open(Path(scratch) / "enlarged_intake.session")
        settle(window)
        for name, step in SAMPLE:
            step(window)
            settle(window)
            made += shoot(window, folder, name, themes)
        window.equip().do("start")
        window.close()
    return made


def shoot(window: MainWindow, folder: Path, name: str, themes: list[str]) -> int:
    """Take one screen in all themes and at all sizes."""
    made = 0
    for theme in themes:
        if window.equip().bench.theme.name != theme:
            window.equip().dress(theme, 10)
        for width, height in SIZES:
            window.resize(width, height)
            settle(window)
            window.grab().save(str(folder / f"{name}_{theme}_{height}.png"))
            made += 1
    return made


def main() -> None:
    """Render into the folder named on the command line."""
    folder = Path(sys.argv[1])
    folder.mkdir(parents=True, exist_ok=True)
    application()
    if not QFontDatabase.families():
        sys.exit("No font is installed; on Debian: apt-get install fonts-dejavu-core")
    print(f"{render(folder, sys.argv[2:] or list(THEMES))} pictures in {folder}")


if __name__ == "__main__":
    main()
