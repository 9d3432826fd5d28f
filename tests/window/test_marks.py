"""What was never measured, or stands beside a cliff, is marked in numbers and picture, and mended by one click."""

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from PySide6.QtGui import QColor, QImage, QPainter
from screen import Screen

from workbench.cli import main as command_line
from workbench.window.kit.theme import LIGHT
from workbench.window.table.inferred_marks import cell_marks
from workbench.window.table.layers import layer_picture
from workbench.window.table.picture_card import legend_text
from workbench.window.tasks.approve_task import ApproveTask
from workbench.window.tasks.remedies import BLEND, CARRY, CLIFF, TAPER, Remedies
from workbench.window.words.phrasing import window_text

Opened = Callable[[str, str], Screen]


@pytest.fixture
def opened(screen: Screen, settle: Callable[[], None], car_files: Path, tmp_path: Path) -> Opened:
    """Opens a corrected curve or grid whose undriven cells were treated in one way."""

    def make(kind: str, undriven: str) -> Screen:
        path = tmp_path / f"{kind}.session"
        assert command_line(["new", str(path), str(car_files / f"{kind}.csv")]) == 0
        assert command_line(["add-log", str(path), str(car_files / f"{kind}_drive.csv")]) == 0
        assert command_line(["correct", str(path), "--undriven", undriven]) == 0
        screen.open(path)
        settle()
        return screen

    return make


@pytest.mark.parametrize("kind", ["curve", "grid"])
def test_inferred_cells_bear_a_sign_before_their_number(opened: Opened, kind: str) -> None:
    screen = opened(kind, "carry")
    scene = screen.scene
    marks = cell_marks(scene)
    expected = np.array(scene.head.arguments["continued"])
    assert expected.any()
    assert np.array_equal(marks.inferred, expected)
    texts = layer_picture(scene, "value", LIGHT).texts
    assert np.array_equal([text.startswith("≈") for text in texts.ravel()], (expected & ~marks.cliffs).ravel())
    assert not any(text.startswith("≈") for text in layer_picture(scene, "ratio", LIGHT).texts.ravel())


def test_history_and_panel_tell_it_with_its_wide_interval(
    opened: Opened, settle: Callable[[], None], capsys: pytest.CaptureFixture[str]
) -> None:
    screen = opened("curve", "carry")
    scene = screen.scene
    first = int(np.flatnonzero(cell_marks(scene).inferred)[0])
    capsys.readouterr()
    assert command_line(["cell-history", scene.state.path, "--cells", str(first)]) == 0
    told = capsys.readouterr().out
    assert "inferred, not measured" in told
    half = 100 * scene.head.arguments["inferred_half_width"][first]
    assert f"± {half:.1f} %" in told
    report = Path(scene.state.path).with_suffix(".html")
    assert command_line(["report", scene.state.path, str(report)]) == 0
    assert "inferred, ±" in report.read_text(encoding="utf-8")
    screen.focus(cell=(first,))
    settle()
    shown = [each.text() for each in screen.bench.evidence._values]
    assert any("inferred" in text for text in shown)
    grid = opened("grid", "carry")
    assert cell_marks(grid.scene).inferred.any()


def test_a_cell_set_by_hand_is_inferred_no_more(opened: Opened, settle: Callable[[], None]) -> None:
    screen = opened("curve", "carry")
    first = int(np.flatnonzero(cell_marks(screen.scene).inferred)[0])
    assert command_line(["scale", screen.state.path, "--by", "1.001", "--cells", str(first)]) == 0
    screen.reload()
    settle()
    assert not cell_marks(screen.scene).inferred[first]


@pytest.mark.parametrize("remedy", [CARRY, TAPER, BLEND])
def test_a_cliff_lights_up_and_is_mended_by_one_click(opened: Opened, settle: Callable[[], None], remedy: str) -> None:
    screen = opened("curve", "leave")
    assert cell_marks(screen.scene).cliffs.any()
    screen.do("approve")
    settle()
    task = screen.task
    assert isinstance(task, ApproveTask)
    row = task.findChild(Remedies)
    assert set(row.buttons) == {CARRY, TAPER, BLEND}
    before = _largest_step(screen)
    row.buttons[remedy].click()
    settle()
    scene = screen.scene
    assert scene.head.operation == ("smooth" if remedy == BLEND else "carry-on"), window_text(CLIFF)
    assert _largest_step(screen) < before


def _largest_step(screen: Screen) -> float:
    state = screen.state
    first = state.history.revisions[0].table
    return float(np.abs(np.diff(np.log(state.table().values / first.values))).max())


def test_what_one_click_mends_stands_before_other_objections(opened: Opened, settle: Callable[[], None]) -> None:
    screen = opened("curve", "leave")
    screen.do("approve")
    settle()
    listed = screen.task.arguments()["accept"]
    assert listed[0].startswith(f"{CLIFF}=")
    assert len(listed) > 1


@pytest.mark.parametrize(
    ("kind", "undriven", "sign"),
    [("curve", "carry", "○&nbsp;inferred"), ("grid", "carry", "▧&nbsp;inferred"), ("curve", "leave", "□&nbsp;cliff")],
)
def test_the_picture_names_its_marks_while_it_shows_them(opened: Opened, kind: str, undriven: str, sign: str) -> None:
    scene = opened(kind, undriven).scene
    for layer, named in (("value", True), ("ratio", False)):
        shown = replace(scene, focus=replace(scene.focus, layer=layer))
        assert (sign in legend_text(shown, LIGHT)) == named


def test_inferred_cells_of_a_grid_are_hatched_at_one_slope_whatever_their_size(opened: Opened) -> None:
    """Lines along the diagonals of unequal cells would join into what looks like contours."""
    screen = opened("grid", "carry")
    cells = screen.bench.picture.grid._cells
    unequal = np.array([0.0, 1.0, 8.0])
    colours = np.full((2, 2, 3), 255, dtype=np.uint8)
    cells.show_cells(np.array([0.0, 4.0]), np.array([0.0, 9.0]), colours, np.zeros((2, 2), dtype=np.bool_), LIGHT)
    cells._xs, cells._ys = unequal, unequal
    cells.show_marks(np.ones((2, 2), dtype=np.bool_), np.zeros((2, 2), dtype=np.bool_))
    image = QImage(80, 80, QImage.Format.Format_ARGB32_Premultiplied)
    painter = QPainter(image)
    painter.scale(10, 10)
    cells._paint_fills(painter)
    painter.end()
    dark = np.array([[image.pixelColor(x, y) == QColor(LIGHT.soft) for x in range(80)] for y in range(80)])
    assert dark.any(axis=0).all()
    assert np.array_equal(dark[1:, 1:], dark[:-1, :-1])
