"""A CSV and another session beside the table: the same figures in the window as on the command line."""

import json
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from PySide6.QtWidgets import QFileDialog
from pytestqt.qtbot import QtBot

from workbench.cli import main as command_line
from workbench.window.shell.controller import Workshop
from workbench.window.shell.main_window import MainWindow
from workbench.window.table.picture_card import legend_text

Settle = Callable[[], None]


@pytest.fixture
def compared(window: MainWindow, car_files: Path, tmp_path: Path, settle: Settle) -> tuple[Workshop, Path, Path]:
    """A window on a session, an outside table with other breakpoints, and another session of two revisions."""
    mine, other = tmp_path / "car.session", tmp_path / "other.session"
    for path in (mine, other):
        assert command_line(["new", str(path), str(car_files / "curve.csv")]) == 0
    assert command_line(["scale", str(other), "--by", "1.08"]) == 0
    rows = (car_files / "curve.csv").read_text().splitlines()
    outside = tmp_path / "outside.csv"
    outside.write_text("\n".join([rows[0], *rows[1::2]]) + "\n")
    window.open(mine)
    settle()
    return window._workshop, outside, other


def told(capsys: pytest.CaptureFixture[str], *words: object) -> dict[str, object]:
    capsys.readouterr()
    assert command_line([*map(str, words), "--json"]) == 0
    found: dict[str, object] = json.loads(capsys.readouterr().out)
    return found


def test_both_stand_in_table_and_picture_with_the_figures_of_the_command(
    compared: tuple[Workshop, Path, Path],
    settle: Settle,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
    qtbot: QtBot,
) -> None:
    shop, outside, other = compared
    monkeypatch.setattr(QFileDialog, "getOpenFileName", lambda *_: (str(outside), ""))
    shop.do("compare-file")
    settle()
    assert f"A is {outside}" in shop.bench.notice.text
    shop.routes.outside.compare(f"{other}:2")
    settle()
    scene, state = shop.bridge.scene, shop.bridge.scene.state
    assert state is not None
    assert [each.id for each in scene.beside] == [-1, -2]
    for each, reference in zip(scene.beside, (outside, f"{other}:2"), strict=True):
        change = told(capsys, "difference", state.path, reference, 1)["change"]
        assert np.allclose(state.table().values - each.table.values, np.array(change, dtype=float), atol=1e-12)
    cells = shop.bench.numbers.view.cells
    assert cells.columns[:3] == ("value", -1, -2)
    assert [cells._heading(column) for column in (-1, -2)] == ["A", "B"]
    assert cells._column_tip(-2) == "Values of B: other.session:2."
    legend = legend_text(scene, shop.bench.theme)
    assert "A: outside.csv" in legend
    assert "B: other.session:2" in legend
    assert len(shop.bench.curve._beside._shown) == 2
    shop.do("compare-none")
    settle()
    assert shop.bridge.scene.beside == ()
    assert cells.columns[1] == "change"


def test_what_cannot_be_compared_is_refused_in_words(
    compared: tuple[Workshop, Path, Path], settle: Settle, tmp_path: Path
) -> None:
    shop, _, _ = compared
    shop.routes.outside.compare(str(tmp_path / "nothing.csv"))
    settle()
    assert "neither a revision nor a file" in shop.bench.notice.text
    assert shop.bridge.scene.beside == ()
