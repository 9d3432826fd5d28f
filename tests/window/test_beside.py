"""Several revisions in one picture and in the table, told apart by more than colour; small changes are seen."""

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from PySide6.QtCore import Qt
from pytestqt.qtbot import QtBot
from screen import Screen

from workbench.window.kit.theme import THEMES
from workbench.window.table.beside import STYLES, sign_of

Settle = Callable[[], None]


def with_revisions(screen: Screen, table: Path, folder: Path, settle: Settle) -> Screen:
    """Open a session of three more revisions: up by 8 %, 2 % and 1 %, each from the one before."""
    copy = folder / table.name
    copy.write_text(table.read_text())
    screen.begin_from(copy)
    for factor in (1.08, 1.02, 1.01):
        screen.run("scale", {"by": factor})
        settle()
    return screen


@pytest.fixture
def curve(screen: Screen, car_files: Path, tmp_path: Path, settle: Settle) -> Screen:
    return with_revisions(screen, car_files / "curve.csv", tmp_path, settle)


@pytest.fixture
def grid(screen: Screen, car_files: Path, tmp_path: Path, settle: Settle) -> Screen:
    return with_revisions(screen, car_files / "grid.csv", tmp_path, settle)


def test_keys_in_the_history_show_several_revisions_together(curve: Screen, qtbot: QtBot) -> None:
    rail = curve.bench.rail
    rail.setFocus()
    for _ in range(2):
        qtbot.keyClick(rail, Qt.Key.Key_Down, Qt.KeyboardModifier.ShiftModifier)
    assert [each.id for each in curve.scene.beside] == [3, 2]
    assert not curve.scene.focus.before
    qtbot.keyClick(rail, Qt.Key.Key_Down)
    assert curve.scene.beside == ()


def test_the_table_has_a_column_for_each(curve: Screen) -> None:
    cells = curve.numbers.cells
    curve.focus(beside=(2, 3))
    assert cells.columns[:3] == ("value", 2, 3)
    shown = [cells.pictures[column].texts[20] for column in (2, 3, "value")]
    values = [float(text.replace(",", ".")) for text in shown]
    assert values[1] / values[0] == pytest.approx(1.02, abs=2e-3)
    assert cells._heading(2) == "rev. 2"
    curve.focus(beside=())
    assert 2 not in cells.columns


def test_lines_differ_in_dash_mark_and_number(curve: Screen) -> None:
    curve.focus(beside=(2, 3), layer="value")
    items = curve.bench.curve._beside._items
    dashes = [line.opts["pen"].style() for line, _, _ in items]
    marks = [marks.opts["symbol"] for _, marks, _ in items]
    assert len(set(dashes)) == len(set(marks)) == 2
    assert [text.textItem.toPlainText() for _, _, text in items] == ["2", "3"]
    line = items[0][0].getData()[1]
    assert line == pytest.approx(curve.state.history.revision(2).table.values)
    legend = curve.bench.picture._legend.text()
    assert f"{sign_of(0)}&nbsp;revision 2" in legend
    assert f"{sign_of(1)}&nbsp;revision 3" in legend


def test_no_two_styles_are_alike() -> None:
    for part in range(len(STYLES[0])):
        assert len({style[part] for style in STYLES}) == len(STYLES)
    for theme in THEMES.values():
        assert len({getattr(theme, style[0]) for style in STYLES}) == len(STYLES)


def test_a_change_of_8_percent_is_seen_under_the_values(curve: Screen, settle: Settle) -> None:
    curve.focus(layer="value", against=1)
    settle()
    strip = curve.bench.curve.strip
    assert strip.isVisible()
    assert strip.now.getData()[1] == pytest.approx(np.full(len(curve.bench.curve._xs), 100 * (1.08 * 1.02 * 1.01 - 1)))
    low, high = strip.plot.box.viewRange()[1]
    assert high - low < 20
    assert strip.plot.box.height() > 25
    curve.focus(layer="change")
    assert not strip.isVisible()


def test_the_strip_lies_under_the_same_stretch_of_the_axis(curve: Screen, settle: Settle) -> None:
    curve.focus(layer="value")
    settle()
    picture = curve.bench.curve
    picture.plot.box.setXRange(3000, 5000, padding=0)
    settle()
    assert picture.strip.plot.box.viewRange()[0] == pytest.approx(picture.plot.box.viewRange()[0], rel=1e-3)
    assert picture.strip.plot.box.sceneBoundingRect().left() == picture.plot.box.sceneBoundingRect().left()


def test_slices_of_a_grid_show_them_too_and_a_cell_tells_their_values(grid: Screen) -> None:
    grid.focus(beside=(2, 3), layer="value", cell=(2, 3))
    for part in (grid.bench.grid.along_columns, grid.bench.grid.along_rows):
        assert [text.textItem.toPlainText() for _, _, text in part._beside._items] == ["2", "3"]
    cells = grid.numbers.cells
    tip = cells.data(cells.index(2, 3), Qt.ItemDataRole.ToolTipRole)
    value = grid.state.history.revision(2).table.values[2, 3]
    assert f"revision 2: {value:.6g}" in tip


def test_a_grid_s_cells_hold_the_values_of_other_revisions_under_their_own(grid: Screen, settle: Settle) -> None:
    view, state = grid.numbers, grid.state
    grid.focus(beside=(), layer="value")
    settle()
    low, narrow = view.rowHeight(0), view.columnWidth(0)
    grid.focus(beside=(2, 3), layer="value", cell=(2, 3))
    settle()
    assert view.rowHeight(0) >= 3 * view.fontMetrics().height()
    assert view.rowHeight(0) > low
    assert view.columnWidth(0) >= narrow
    for number, text in zip((2, 3), view.cells.texts_under((2, 3)), strict=True):
        name, _, value = text.partition(": ")
        assert name == str(number)
        assert float(value) == pytest.approx(state.history.revision(number).table.values[2, 3], rel=1e-3)
    grid.focus(layer="change", against=1)
    settle()
    first = state.history.revision(1).table.values[2, 3]
    for number, text in zip((2, 3), view.cells.texts_under((2, 3)), strict=True):
        change = float(text.partition(": ")[2].replace("\N{MINUS SIGN}", "-"))
        assert change == pytest.approx(100 * (state.history.revision(number).table.values[2, 3] / first - 1), abs=0.051)
    for layer in ("ratio", "samples"):
        grid.focus(layer=layer)
        settle()
        assert view.cells.texts_under((2, 3)) == ()
    assert view.rowHeight(0) <= low


def test_a_revision_on_other_breakpoints_is_drawn_on_its_own(curve: Screen, settle: Settle) -> None:
    curve.run("insert-breakpoint", {"at": 3333.0})
    settle()
    curve.focus(beside=(2,), layer="value")
    line, _, _ = curve.bench.curve._beside._items[0]
    assert len(line.getData()[0]) == len(curve.bench.curve._xs) - 1
    assert 2 not in curve.numbers.cells.columns
