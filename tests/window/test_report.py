"""The report from the window: one button writes it beside the session and opens it."""

from collections.abc import Callable
from pathlib import Path

import pytest
from PySide6.QtCore import Qt, QUrl
from PySide6.QtGui import QDesktopServices
from pytestqt.qtbot import QtBot
from screen import Screen

from workbench.cli import main as command_line


def test_one_button_writes_and_opens_it(
    screen: Screen,
    settle: Callable[[], None],
    car_files: Path,
    tmp_path: Path,
    qtbot: QtBot,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    opened: list[str] = []
    monkeypatch.setattr(QDesktopServices, "openUrl", lambda url: opened.append(QUrl(url).toLocalFile()) or True)
    assert command_line(["new", str(tmp_path / "car.session"), str(car_files / "curve.csv")]) == 0
    screen.window.open(tmp_path / "car.session")
    settle()
    for wanted in ("car_curve_revision_1.pdf", "car_curve_revision_1_2.pdf"):
        qtbot.mouseClick(screen.bench.report, Qt.MouseButton.LeftButton)
        settle()
        path = tmp_path / wanted
        assert path.read_bytes().startswith(b"%PDF-")
        assert Path(opened[-1]) == path
        assert str(path) in screen.notice
    assert len(opened) == 2
    screen.do("card")
    settle()
    card = tmp_path / "car_curve_next_drive_revision_1.pdf"
    assert Path(opened[-1]) == card
    assert card.read_bytes().startswith(b"%PDF-")
    assert str(card) in screen.notice
    assert screen.bench.report.accessibleName() or screen.bench.report.text()
