"""Settings of the window that something else wrote: it starts all the same."""

from pathlib import Path

import pytest
from PySide6.QtCore import QSettings
from pytestqt.qtbot import QtBot

from workbench.window.scene.preferences import Memory
from workbench.window.shell.main_window import MainWindow

DAMAGED = {
    "points": "99999999999",
    "points of none": "x",
    "points below": "-5",
    "theme": "@ByteArray(x)",
    "geometry": "@ByteArray(\\xff\\xff\\xff\\xff)",
    "recent": "/" + "a" * 5000,
    "watched": "/" + "b" * 5000,
    "open": "\\x0",
    "view": '"' + "[" * 50_000 + '"',
    "list": "a, b, c",
}


@pytest.mark.parametrize("name", DAMAGED)
def test_the_window_starts_whatever_its_settings_say(name: str, qtbot: QtBot, tmp_path: Path) -> None:
    folder = tmp_path / "settings" / "calibration-workbench"
    folder.mkdir(parents=True)
    keys = ["points", "theme", "geometry", "recent", "watched", "open", "view", "lanes"]
    lines = [f"{key}={DAMAGED[name]}" for key in keys if key in name or name == "list"]
    (folder / "window.ini").write_text("[General]\n" + "\n".join(lines or [f"points={DAMAGED[name]}"]) + "\n")
    QSettings.setPath(QSettings.Format.IniFormat, QSettings.Scope.UserScope, str(tmp_path / "settings"))
    memory = Memory()
    window = MainWindow(memory)
    qtbot.addWidget(window)
    window.show()
    qtbot.waitExposed(window)
    window.equip()._turns.finish()
    window.open(None)
    assert 9 <= memory.points <= 24
    assert window.isVisible()
