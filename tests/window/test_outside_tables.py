"""A CSV and another session beside the table: the same figures in the window as on the command line."""

import json
import threading
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from PySide6.QtWidgets import QComboBox, QInputDialog, QLabel
from pytestqt.qtbot import QtBot
from screen import Screen

from workbench.cli import main as command_line
from workbench.session import Session
from workbench.window.scene import file_dialogs, large_files
from workbench.window.table.picture_card import legend_text
from workbench.window.tasks.form import Form

Settle = Callable[[], None]


@pytest.fixture
def compared(screen: Screen, car_files: Path, tmp_path: Path, settle: Settle) -> tuple[Screen, Path, Path]:
    """A window on a session, an outside table with other breakpoints, and another session of two revisions."""
    mine, other = tmp_path / "car.session", tmp_path / "other.session"
    for path in (mine, other):
        assert command_line(["new", str(path), str(car_files / "curve.csv")]) == 0
    assert command_line(["scale", str(other), "--by", "1.08"]) == 0
    rows = (car_files / "curve.csv").read_text().splitlines()
    outside = tmp_path / "outside.csv"
    outside.write_text("\n".join([rows[0], *rows[1::2]]) + "\n")
    screen.window.open(mine)
    settle()
    return screen, outside, other


def told(capsys: pytest.CaptureFixture[str], *words: object) -> dict[str, object]:
    capsys.readouterr()
    assert command_line([*map(str, words), "--json"]) == 0
    found: dict[str, object] = json.loads(capsys.readouterr().out)
    return found


def test_both_stand_in_table_and_picture_with_the_figures_of_the_command(
    compared: tuple[Screen, Path, Path],
    settle: Settle,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
    qtbot: QtBot,
) -> None:
    screen, outside, other = compared
    monkeypatch.setattr(file_dialogs, "ask_file", lambda *_: str(outside))
    screen.do("compare-file")
    settle()
    assert f"A is {outside}" in screen.notice
    screen.compare(f"{other}:2")
    settle()
    scene, state = screen.scene, screen.state
    assert state is not None
    assert [each.id for each in scene.beside] == [-1, -2]
    for each, reference in zip(scene.beside, (outside, f"{other}:2"), strict=True):
        change = told(capsys, "difference", state.path, reference, 1)["change"]
        assert np.allclose(state.table().values - each.table.values, np.array(change, dtype=float), atol=1e-12)
    cells = screen.numbers.cells
    assert cells.columns[:3] == ("value", -1, -2)
    assert [cells._heading(column) for column in (-1, -2)] == ["A", "B"]
    assert cells._column_tip(-2) == "Values of B: other.session:2."
    legend = legend_text(scene, screen.bench.theme)
    assert "A: outside.csv" in legend
    assert "B: other.session:2" in legend
    assert len(screen.bench.curve._beside._shown) == 2
    screen.do("compare-none")
    settle()
    assert screen.scene.beside == ()
    assert cells.columns[1] == "change"


def test_what_cannot_be_compared_is_refused_in_words(
    compared: tuple[Screen, Path, Path], settle: Settle, tmp_path: Path
) -> None:
    screen, _, _ = compared
    screen.compare(str(tmp_path / "nothing.csv"))
    settle()
    assert "neither a revision nor a file" in screen.notice
    assert screen.scene.beside == ()


def test_a_revision_of_another_session_is_chosen_from_a_list(
    compared: tuple[Screen, Path, Path], settle: Settle, monkeypatch: pytest.MonkeyPatch
) -> None:
    screen, _, other = compared
    asked: list[list[str]] = []

    def choose(*given: object) -> tuple[str, bool]:
        (listed,) = [each for each in given if isinstance(each, list)]
        asked.append(listed)
        return listed[-1], True

    monkeypatch.setattr(file_dialogs, "ask_file", lambda *_: str(other))
    monkeypatch.setattr(QInputDialog, "getItem", choose)
    screen.do("compare-file")
    settle()
    assert asked[0][0] == "2, the current one"
    assert asked[0][1].startswith("1  ")
    assert [each.name for each in screen.scene.focus.outside] == [f"{other}:1"]
    monkeypatch.setattr(QInputDialog, "getItem", lambda *_: ("", False))
    screen.do("compare-file")
    settle()
    assert len(screen.scene.focus.outside) == 1


def test_any_reference_is_typed_in_the_form(
    compared: tuple[Screen, Path, Path], settle: Settle, capsys: pytest.CaptureFixture[str]
) -> None:
    """Also the name of a branch, and a revision of another session; the answer is that of the command line."""
    screen, _, other = compared
    path = screen.state.path  # type: ignore[union-attr]
    for words in (["scale", path, "--by", "1.02"], ["name-branch", path, "2", "safe"]):
        assert command_line(words) == 0
    screen.reload()
    settle()
    screen.do("difference")
    settle()
    form = screen.task
    assert isinstance(form, Form)
    earlier, later = form.findChildren(QComboBox)[:2]
    assert "branch “safe”" in earlier.itemText(0)
    for reference in (f"{other}:2", "safe"):
        earlier.setEditText(reference)
        later.setEditText("1")
        screen.go()
        settle()
        capsys.readouterr()
        assert command_line(["difference", path, reference, "1"]) == 0
        first = capsys.readouterr().out.splitlines()[0]
        assert first in " ".join(each.text() for each in screen.drawer.findChildren(QLabel))


def test_what_was_compared_stays_until_it_is_taken_away(compared: tuple[Screen, Path, Path], settle: Settle) -> None:
    screen, outside, other = compared
    state = screen.state
    assert state is not None
    for reference in (str(outside), f"{other}:2"):
        screen.compare(reference)
        settle()
    figures = [each.table.values for each in screen.scene.beside]
    screen.close_session()
    settle()
    screen.open(Path(state.path))
    settle()
    assert [each.note for each in screen.scene.beside] == [str(outside), f"{other}:2"]
    for each, before in zip(screen.scene.beside, figures, strict=True):
        assert np.array_equal(each.table.values, before)
    screen.close_session()
    settle()
    outside.unlink()
    screen.open(Path(state.path))
    settle()
    assert [each.note for each in screen.scene.beside] == [f"{other}:2"]
    assert f"{outside} is no longer shown beside the table." in screen.notice
    screen.do("compare-none")
    screen.close_session()
    settle()
    screen.open(Path(state.path))
    settle()
    assert screen.scene.beside == ()


def test_another_session_that_is_large_is_read_aside(
    compared: tuple[Screen, Path, Path], settle: Settle, monkeypatch: pytest.MonkeyPatch
) -> None:
    screen, outside, other = compared
    monkeypatch.setattr(large_files, "LARGE", 0)
    whole, threads = Session.open, list[int]()

    def noted(path: Path) -> Session:
        threads.append(threading.get_ident())
        return whole(path)

    monkeypatch.setattr(Session, "open", noted)
    monkeypatch.setattr(file_dialogs, "ask_file", lambda *_: str(other))
    monkeypatch.setattr(QInputDialog, "getItem", lambda *_: ("1  ", False))
    for act in (lambda: screen.do("compare-file"), lambda: screen.compare(f"{other}:1")):
        act()
        settle()
    screen.compare(str(outside))
    settle()
    assert len(threads) == 2
    names = [each.note for each in screen.scene.beside]
    assert names == [f"{other}:1", str(outside)]
    path = Path(screen.state.path)
    screen.close_session()
    settle()
    screen.open(path)
    settle()
    assert [each.note for each in screen.scene.beside] == names  # in their order, although some are read aside
    assert len(threads) == 4
    assert threading.get_ident() not in threads
    screen.compare(f"{other}:9")
    settle()
    assert "has no revision and no branch '9'" in screen.notice
