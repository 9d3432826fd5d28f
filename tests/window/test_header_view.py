"""No number is ever shown in part: sections fill their room, columns hold their texts, and what is cut is blank."""

from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from PySide6.QtCore import QRect, Qt
from PySide6.QtGui import QColor, QFont, QImage
from PySide6.QtWidgets import QApplication, QTableView, QWidget
from pytestqt.qtbot import QtBot

from workbench.commands import handbook  # noqa: F401 - by which every command is known
from workbench.commands.declaring.making import revised
from workbench.model.table import Axis, Table
from workbench.session import Session
from workbench.window.kit.style import TOUCH, even_digits
from workbench.window.kit.theme import THEMES, Theme
from workbench.window.scene.scene import LAYERS, Focus, Scene, draft_of
from workbench.window.table.header_view import MARGIN, even_size, row_need
from workbench.window.table.table_view import TableView

POINTS = (9, 10, 14, 24)


@given(st.integers(1, 80), st.integers(10, 200), st.integers(0, 3000), st.integers(0, 100))
def test_sections_that_fit_are_whole_and_leave_no_room_for_another(count: int, need: int, room: int, more: int) -> None:
    size = even_size(count, need, room, need + more)
    assert size >= need
    seen = min(count, room // size)
    if count * need <= room:
        assert seen == count
    elif room >= need:
        assert seen == room // need
        assert room - seen * size < seen


@given(st.integers(0, 2000))
def test_rows_are_a_finger_high_where_eight_of_them_have_room(room: int) -> None:
    need = row_need(room, 24, TOUCH, 8)
    assert 24 <= need <= TOUCH
    assert (need == TOUCH) == (room >= 8 * TOUCH)


@pytest.fixture
def numbers(qtbot: QtBot, qapp: QApplication) -> Iterator[TableView]:
    host = QWidget()
    qtbot.addWidget(host)
    host.resize(1200, 900)
    view = TableView(host)
    host.show()
    yield view
    host.close()


@pytest.fixture
def scene_of(tmp_path: Path) -> Callable[[Table], Scene]:
    def make(table: Table) -> Scene:
        with Session.create(tmp_path / "cells.session", table) as made:
            state = made.state
        return Scene(state=state, focus=Focus(table=table.name, cell=(0,) * len(table.axes), layer="value"))

    return make


def grid_of(rows: int, columns: int) -> Table:
    """Make a grid whose numbers have one to four digits before the point."""
    axes = (
        Axis("Engine speed", "rpm", np.arange(1.0, rows + 1) * 400),
        Axis("Pressure", "kPa", np.arange(columns) * 15.0),
    )
    return Table("grid", "efficiency", "%", axes, np.geomspace(5.0, 1500.0, rows * columns).reshape(rows, columns))


def curve_of(rows: int) -> Table:
    return Table(
        "curve", "airflow", "g/s", (Axis("Signal", "Hz", np.arange(rows) * 219.0),), np.geomspace(0.6, 400, rows)
    )


def sections(view: QTableView, way: Qt.Orientation) -> list[tuple[int, int, bool]]:
    """Give number, start and whether it is whole of every section that is seen."""
    flat = way == Qt.Orientation.Horizontal
    header = view.horizontalHeader() if flat else view.verticalHeader()
    room = view.viewport().width() if flat else view.viewport().height()
    spans = [(i, header.sectionViewportPosition(i), header.sectionSize(i)) for i in range(header.count())]
    return [
        (i, start, start >= 0 and start + size <= room) for i, start, size in spans if start + size > 0 and start < room
    ]


def ink_in(picture: QImage, place: QRect, theme: Theme) -> bool:
    """Tell whether anything as dark as text is drawn in a place."""
    if not place.isValid():
        return False
    ground = QColor(theme.card)
    near = place.intersected(picture.rect())
    return any(
        abs(QColor(picture.pixel(x, y)).lightness() - ground.lightness()) > 60
        for x in range(near.left(), near.right() + 1)
        for y in range(near.top(), near.bottom() + 1)
    )


@pytest.mark.parametrize("points", POINTS)
@pytest.mark.parametrize("table", [grid_of(20, 16), grid_of(4, 4), curve_of(48)], ids=["grid", "small", "curve"])
def test_every_text_fits_its_cell_and_every_cell_its_place(
    numbers: TableView, scene_of: Callable[[Table], Scene], table: Table, points: int
) -> None:
    font = even_digits(numbers.font())
    font.setPointSize(points)
    numbers.setFont(font)
    scene = scene_of(table)
    for width, height in ((430, 190), (617, 263), (1001, 777)):
        numbers.setGeometry(0, 0, width, height)
        for layer in LAYERS[:6]:
            numbers.show_scene(replace(scene, focus=replace(scene.focus, layer=layer)), THEMES["light"])
            metrics = numbers.fontMetrics()
            for row in range(numbers.cells.rowCount()):
                for column in range(numbers.cells.columnCount()):
                    text = str(numbers.cells.data(numbers.cells.index(row, column)))
                    wide = numbers.columnWidth(column)
                    assert numbers.isColumnHidden(column) or metrics.horizontalAdvance(text) + MARGIN <= wide, text
            assert numbers.rowHeight(0) >= metrics.height()
        rows, columns = (sections(numbers, way) for way in (Qt.Orientation.Vertical, Qt.Orientation.Horizontal))
        assert rows[0][2]
        assert columns[0][2]
        if table.kind == "grid" and len(columns) > 1 and not columns[-1][2]:
            cut = columns[-1][1]
            assert numbers.viewport().width() - cut < len(columns)


def test_a_value_that_gets_longer_widens_its_column(numbers: TableView, scene_of: Callable[[Table], Scene]) -> None:
    table = Table("grid", "efficiency", "%", grid_of(4, 4).axes, np.full((4, 4), 50.0))
    numbers.setGeometry(0, 0, 600, 300)
    scene = scene_of(table)
    numbers.show_scene(scene, THEMES["light"])
    values = table.values.copy()
    values[2, 2] = 123456.7
    answer = revised(scene.state, table.with_values(values), "set", {}, "")
    numbers.show_scene(replace(scene, draft=draft_of("set", answer)), THEMES["light"])
    text = str(numbers.cells.data(numbers.cells.index(2, 2)))
    assert numbers.fontMetrics().horizontalAdvance(text) + MARGIN <= numbers.columnWidth(2)


@pytest.mark.parametrize("theme", THEMES.values(), ids=list(THEMES))
@pytest.mark.parametrize("points", [9, 14, 24])
def test_a_cell_that_is_cut_shows_no_digit(
    numbers: TableView, scene_of: Callable[[Table], Scene], theme: Theme, points: int, qapp: QApplication
) -> None:
    """A curve's columns are not all of one width, so that the last that is seen may be cut: it holds a sign at most."""
    font = QFont(numbers.font())
    font.setPointSize(points)
    numbers.setFont(font)
    scene = scene_of(curve_of(48))
    numbers.show_scene(scene, theme)
    cut = 0
    for width in range(160, 560, 19):
        numbers.setGeometry(0, 0, width, 300)
        picture = numbers.viewport().grab().toImage()
        heading = numbers.horizontalHeader().viewport().grab().toImage()
        room, metrics = numbers.viewport().width(), numbers.fontMetrics()
        for column, start, whole in sections(numbers, Qt.Orientation.Horizontal):
            if whole:
                continue
            cut += 1
            seen = QRect(start, numbers.rowHeight(0), room - start, numbers.rowHeight(0))
            size = metrics.boundingRect("‥").width() + 4
            middle = seen.left() + seen.width() // 2
            for image, place in ((picture, seen), (heading, QRect(start, 0, room - start, heading.height()))):
                before = QRect(
                    place.left() + 3, place.top() + 3, middle - size // 2 - place.left() - 3, place.height() - 6
                )
                after = QRect(
                    middle + size // 2, place.top() + 3, place.right() - middle - size // 2, place.height() - 6
                )
                assert not ink_in(image, before, theme), (width, column)
                assert not ink_in(image, after, theme), (width, column)
    assert cut


def test_the_first_row_and_column_are_whole_after_the_text_grew(
    numbers: TableView, scene_of: Callable[[Table], Scene]
) -> None:
    numbers.setGeometry(0, 0, 430, 230)
    scene = scene_of(grid_of(20, 16))
    numbers.show_scene(replace(scene, focus=replace(scene.focus, cell=(11, 9))), THEMES["dark"])
    for points in (10, 15, 20, 12, 24, 9):
        font = QFont(numbers.font())
        font.setPointSize(points)
        numbers.setFont(font)
        numbers.fit()
        for way in (Qt.Orientation.Vertical, Qt.Orientation.Horizontal):
            assert sections(numbers, way)[0][2], (points, way)
