"""The report from the window: one button writes it beside the session and opens it."""

from collections.abc import Callable
from pathlib import Path

import pytest
from PySide6.QtCore import Qt, QUrl
from PySide6.QtGui import QDesktopServices
from pytestqt.qtbot import QtBot

from workbench.cli import main as command_line
from workbench.window.shell.main_window import MainWindow


def test_one_button_writes_and_opens_it(
    window: MainWindow,
    settle: Callable[[], None],
    car_files: Path,
    tmp_path: Path,
    qtbot: QtBot,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    opened: list[str] = []
    monkeypatch.setattr(QDesktopServices, "openUrl", lambda url: opened.append(QUrl(url).toLocalFile()) or True)
    assert command_line(["new", str(tmp_path / "car.session"), str(car_files / "curve.csv")]) == 0
    window.open(tmp_path / "car.session")
    settle()
    shop = window._workshop
    for wanted in ("car_curve_revision_1.pdf", "car_curve_revision_1_2.pdf"):
        qtbot.mouseClick(shop.bench.report, Qt.MouseButton.LeftButton)
        settle()
        path = tmp_path / wanted
        assert path.read_bytes().startswith(b"%PDF-")
        assert Path(opened[-1]) == path
        assert str(path) in shop.bench.notice.text
    assert len(opened) == 2
    shop.do("card")
    settle()
    card = tmp_path / "car_curve_next_drive_revision_1.html"
    assert Path(opened[-1]) == card
    assert "passenger" in card.read_text("utf-8")
    assert str(card) in shop.bench.notice.text
    assert shop.bench.report.accessibleName() or shop.bench.report.text()
