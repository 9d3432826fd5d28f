"""The texts of cells: as numbers are written everywhere, in every locale, only quicker."""

import math
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from PySide6.QtCore import QLocale, QRectF
from PySide6.QtGui import QColor, QImage, QPainter, QTransform
from screen import Screen

from workbench.window.kit.theme import LIGHT
from workbench.window.table.heat import HeatItem
from workbench.window.table.layers import cell_text, writer
from workbench.window.words.wording import number, percent

LOCALES = (QLocale.Language.C, QLocale.Language.German, QLocale.Language.Polish, QLocale.Language.Arabic)


@pytest.mark.parametrize("language", LOCALES, ids=lambda language: language.name)
def test_a_quick_writer_writes_as_number_does(language: QLocale.Language) -> None:
    before = QLocale()
    QLocale.setDefault(QLocale(language))
    values = [*np.linspace(-1.2, 1.2, 49), 0.05, 0.25, 2.675, 998.95, 999.96, 1234.5, -12345.678, 1e9, -0.0, 0.0049]
    try:
        for decimals in (0, 1, 2, 3):
            for sign in (False, True):
                write = writer(decimals, sign=sign)
                for value in values:
                    assert number(value, decimals, sign=sign) == write(value)
    finally:
        QLocale.setDefault(before)


@given(st.floats(-2000, 2000), st.integers(0, 4), st.booleans())
def test_any_number_is_written_alike(value: float, decimals: int, sign: bool) -> None:
    assert number(value, decimals, sign=sign) == writer(decimals, sign=sign)(value)


@given(st.floats(0.5, 2))
def test_changes_read_as_percent_does(ratio: float) -> None:
    assert percent(ratio, 1) == cell_text(ratio, "change", 1)
    assert cell_text(math.nan, "change", 1) == cell_text(math.inf, "value", 1) == ""


@pytest.mark.usefixtures("qapp")
@pytest.mark.parametrize("upward", [False, True])
def test_the_heat_picture_fills_every_cell_in_its_colour_and_nothing_beside(upward: bool) -> None:
    rng = np.random.default_rng(4)
    colours = rng.integers(0, 3, (6, 9, 1)).repeat(3, axis=2).astype(np.uint8) * 100 + 20
    item = HeatItem()
    rows, columns = np.array([1.0, 2, 4, 8, 9, 12]), np.arange(9.0) ** 1.5
    unknown = np.zeros((6, 9), dtype=bool)
    unknown[2, 3] = True
    item.show_cells(rows, columns, colours, unknown, LIGHT)
    shown, whole = QImage(500, 400, QImage.Format.Format_RGB32), item.boundingRect().normalized()
    shown.fill(0)
    way = QTransform.fromTranslate(40, 380 if upward else 20).scale(
        400 / whole.width(), (-360 if upward else 360) / whole.height()
    )
    way.translate(-whole.left(), -whole.top())
    painter = QPainter(shown)
    painter.setTransform(way)
    item._paint_fills(painter)
    painter.end()
    for row in range(6):
        for column in range(9):
            middle = way.map(QRectF(item._place(row, column)).center()).toPoint()
            around = {shown.pixelColor(middle.x() + dx, middle.y()).name() for dx in range(-4, 5)}
            own = QColor(*[int(colours[row, column, 0])] * 3).name()
            assert around == ({own, QColor(LIGHT.soft).name()} if unknown[row, column] else {own})
    dark = [(x, y) for x in range(500) for y in range(400) if not 40 <= x < 440 or not 20 <= y < 380]
    assert all(shown.pixelColor(x, y).red() == 0 for x, y in dark[::37])


@pytest.mark.parametrize("layer", ["value", "change", "ratio", "half_width", "samples", "standing"])
def test_numbers_and_picture_of_a_grid_have_one_colour_map(
    layer: str, screen: Screen, car_files: Path, tmp_path: Path
) -> None:
    (tmp_path / "grid.csv").write_text((car_files / "grid.csv").read_text())
    screen.begin_from(tmp_path / "grid.csv")
    screen.focus(layer=layer)
    screen.bench.finish()
    painted = screen.numbers.cells.pictures[layer].colours
    np.testing.assert_array_equal(screen.bench.grid._cells._colours, painted)
