"""A fault of the program is told and kept whatever the machine lacks: a home, a temporary folder, a terminal."""

import errno
import io
import os
import sys
import tempfile
from pathlib import Path

import pytest
from PySide6.QtWidgets import QApplication, QMessageBox, QWidget
from pytestqt.qtbot import QtBot

from workbench.window.kit import crash_report as crash

pytestmark = pytest.mark.skipif(os.name != "posix", reason="HOME says where a user's data lie on these systems only")


@pytest.fixture
def homeless(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Path:
    """A user without a home that can be written to, whoever runs the tests; gives the temporary folder."""
    monkeypatch.setenv("HOME", os.devnull)
    monkeypatch.setenv("XDG_DATA_HOME", f"{os.devnull}/data")
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path))
    return tmp_path


class Full(io.StringIO):
    """A terminal that goes into a file on a disk without room."""

    def write(self, text: str) -> int:
        if not self.closed:
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
        return super().write(text)


def told_of(window: QWidget, error: Exception) -> str:
    crash.report(window, error)
    boxes = [each for each in QApplication.topLevelWidgets() if isinstance(each, QMessageBox)]
    assert [type(error).__name__ in each.detailedText() for each in boxes] == [True]
    said = boxes[0].informativeText()
    boxes[0].close()
    return said


def test_without_a_home_the_report_lies_in_the_temporary_folder(homeless: Path, qtbot: QtBot) -> None:
    window = QWidget()
    qtbot.addWidget(window)
    said = told_of(window, ZeroDivisionError())
    (kept,) = homeless.glob("fault_*.txt")
    assert str(kept) in said
    assert "ZeroDivisionError" in kept.read_text()


def test_where_nothing_can_be_written_the_report_can_be_copied(
    homeless: Path, monkeypatch: pytest.MonkeyPatch, qtbot: QtBot
) -> None:
    def nowhere() -> str:
        raise FileNotFoundError(2, "No usable temporary directory found")

    monkeypatch.setattr(tempfile, "gettempdir", nowhere)
    window = QWidget()
    qtbot.addWidget(window)
    assert told_of(window, ZeroDivisionError()) == "Copy the report."
    assert list(homeless.iterdir()) == []


@pytest.mark.parametrize("terminal", [None, "closed", "full"])
def test_a_report_needs_no_terminal(
    terminal: str | None, homeless: Path, monkeypatch: pytest.MonkeyPatch, qtbot: QtBot
) -> None:
    stream = None if terminal is None else Full()
    if stream is not None and terminal == "closed":
        stream.close()
    monkeypatch.setattr(sys, "stderr", stream)
    window = QWidget()
    qtbot.addWidget(window)
    assert "fault_" in told_of(window, ZeroDivisionError())
    assert len(list(homeless.glob("fault_*.txt"))) == 1


def test_names_that_are_no_text_are_kept(homeless: Path) -> None:
    assert crash.save("/home/\udce9/workbench").read_text() == "/home/\\udce9/workbench"
