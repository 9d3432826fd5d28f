"""Asking for files: a dialog that looks into them would drop the hold that a session has on its own file."""

import subprocess
import sys
from pathlib import Path

import pytest
from PySide6.QtWidgets import QApplication, QFileDialog, QWidget
from pytestqt.qtbot import QtBot

from workbench.demo.engine import stale_table
from workbench.demo.scenario import Scenario
from workbench.session import Session
from workbench.window.scene.file_dialogs import made

# SQLite keeps a shared lock on these bytes of a file that is open (its file format, section 1.3.1 "lock-byte page").
HELD = """
import fcntl, sys
with open(sys.argv[1], "r+b") as file:
    try:
        fcntl.lockf(file, fcntl.LOCK_EX | fcntl.LOCK_NB, 510, 0x40000002)
    except OSError:
        print("held")
    else:
        print("free")
"""


def hold_on(path: Path) -> str:
    done = subprocess.run([sys.executable, "-c", HELD, str(path)], capture_output=True, text=True, check=True)
    return done.stdout.strip()


@pytest.mark.skipif(sys.platform == "win32", reason="there a lock belongs to a handle, and not to a process")
@pytest.mark.parametrize("mode", [QFileDialog.FileMode.ExistingFile, QFileDialog.FileMode.Directory])
def test_a_dialog_that_lists_a_session_leaves_it_held(qtbot: QtBot, tmp_path: Path, mode: QFileDialog.FileMode) -> None:
    path = tmp_path / "car.session"
    (tmp_path / "unknown.suffix").write_bytes(b"SQLite format 3\0")
    with Session.create(path, stale_table(Scenario(seed=7))):
        assert hold_on(path) == "held"
        parent = QWidget()
        qtbot.addWidget(parent)
        dialog = made(parent, "Which file", str(tmp_path), mode)
        dialog.setViewMode(QFileDialog.ViewMode.Detail)
        dialog.show()
        qtbot.waitUntil(lambda: bool(dialog.findChildren(QWidget)))
        for _ in range(20):
            QApplication.processEvents()
            qtbot.wait(25)
        dialog.close()
        assert hold_on(path) == "held"
    assert hold_on(path) == "free"
