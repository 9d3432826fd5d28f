"""The numbers: cells drawn in one go, chosen by mouse or keyboard; what is typed goes to the entry line."""

from collections.abc import Iterator

import numpy as np
from PySide6.QtCore import QEvent, QItemSelection, QItemSelectionModel, QPointF, QRect, QSize, Qt, Signal
from PySide6.QtGui import QColor, QKeyEvent, QPainter, QPaintEvent, QResizeEvent, QWheelEvent
from PySide6.QtWidgets import QAbstractItemView, QHeaderView, QTableView, QWidget

from workbench.model.table import Table
from workbench.window.kit.controls import label
from workbench.window.kit.style import TOUCH
from workbench.window.kit.theme import LIGHT, Theme
from workbench.window.scene.scene import EnginePoint, Layer, Scene
from workbench.window.table import cell_marks
from workbench.window.table.header_view import MARGIN, WholeHeader, even_size, paint_cut, row_need, spread_sizes, whole
from workbench.window.table.inferred_marks import INFERRED
from workbench.window.table.table_model import Index, TableColumn, TableModel
from workbench.window.words.wording import tr

STARTS_ENTRY = "0123456789=+-*/×x.,%\N{MINUS SIGN}"
ENGINE_PX = 10
MANY_ROWS = 8  # rows are always seen, lower than a finger where there is no room for that
# What a column is wide enough for from the start, so that it does not grow while one types.
WIDEST: dict[Layer, str] = {
    "change": "−88.8 %",
    "ratio": "0.888",
    "half_width": "88.8 %",
    "samples": "88888",
    "standing": "●",
    "storage": "+0.88 %",
}


class TableView(QTableView):
    """Shows a TableModel.

    Signals:
        chosen: current cell and chosen blocks.
        typed: text that begins an entry.
    """

    chosen = Signal(object, object)
    typed = Signal(str)

    def __init__(self, parent: QWidget) -> None:
        """Make it empty."""
        super().__init__(parent)
        self.setAccessibleName(tr("Numbers of the table"))
        self.cells = TableModel(self)
        self.setModel(self.cells)
        self._theme: Theme = LIGHT
        self._engine: EnginePoint | None = None
        self._quiet = self._dense = False
        self._scrolled = False  # by hand, since a cell was chosen
        self.verticalScrollBar().sliderMoved.connect(self._on_slider)
        self._needs: list[int] = []
        self._shared: Layer = "value"  # layer for which the room was shared out
        self._advances: dict[str, int] = {}
        self._measured: object = None
        self.setHorizontalHeader(WholeHeader(Qt.Orientation.Horizontal, self))
        self.setVerticalHeader(WholeHeader(Qt.Orientation.Vertical, self))
        self._corner = label("", self, "soft")
        self._corner.setAlignment(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
        self.setSelectionMode(QAbstractItemView.SelectionMode.ExtendedSelection)
        self.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        self.setTabKeyNavigation(False)
        self.setShowGrid(False)
        self.setCornerButtonEnabled(False)
        self.setHorizontalScrollMode(QAbstractItemView.ScrollMode.ScrollPerItem)
        self.setVerticalScrollMode(QAbstractItemView.ScrollMode.ScrollPerItem)
        self.selectionModel().selectionChanged.connect(self._on_selection)
        self.selectionModel().currentChanged.connect(self._on_selection)

    def show_scene(self, scene: Scene, theme: Theme) -> None:
        """Show the table, its layer and what is chosen."""
        before, columns, self._theme = self.cells.table, self.cells.columns, theme
        self._quiet = True
        try:
            for header in (self.horizontalHeader(), self.verticalHeader()):
                if isinstance(header, WholeHeader):
                    header.show_theme(theme)
            self.cells.show_scene(scene, theme)
            table = self.cells.table
            if table is not None and (before is None or not before.same_axes(table) or columns != self.cells.columns):
                self._by_rows(curve=self.cells.curve)
                self.fit()
                self._scrolled = False
                self.scrollToTop()  # where the table before it was scrolled to means nothing here
                self.scrollTo(self.currentIndex())
            elif self.cells.pictures is not self._measured:
                self._grow()
            self._follow(scene)
        finally:
            self._quiet = False

    def show_engine(self, point: EnginePoint | None) -> None:
        """Mark where the engine was: a dot in a ring, or the ring alone where the sample was gated."""
        if point != self._engine:
            self._engine = point
            self.viewport().update()

    def set_dense(self, *, dense: bool) -> None:
        """Have rows as low as their text lets them be, or as high as a finger asks for."""
        if dense != self._dense:
            self._dense = dense
            self.fit()
            self._share_out()

    def fit(self) -> None:
        """Give every section the size its widest text needs."""
        if self.cells.table is None:
            return
        self._advances.clear()
        self._needs = []
        self.horizontalHeader().setFixedHeight(self._least_height())
        names = [str(self.cells.headerData(row, Qt.Orientation.Vertical)) for row in range(self.cells.rowCount())]
        corner = self.cells.corner
        self.verticalHeader().setFixedWidth(max(self._advance(name) for name in [*names, corner]) + 2 * MARGIN)
        self._corner.setText(corner)
        self._corner.setGeometry(
            QRect(self.frameWidth(), self.frameWidth(), self.verticalHeader().width() - MARGIN, self._least_height())
        )
        self._grow()
        self.updateGeometries()
        bar, frame = self.verticalScrollBar().sizeHint().width(), 2 * self.frameWidth()
        self.setMinimumWidth(self.verticalHeader().width() + max(self._needs) + bar + frame)
        self.setMinimumHeight((1 + MANY_ROWS) * self._least_height() + bar + frame)

    @property
    def need(self) -> int:
        """The width at which all columns are seen, px."""
        bar = self.verticalScrollBar().sizeHint().width()
        return self.verticalHeader().width() + sum(self._needs) + bar + 2 * self.frameWidth()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Fill the room with whole rows and columns."""
        super().resizeEvent(event)
        self._share_out()
        if self.currentIndex().isValid():
            if not self._scrolled:
                self.scrollToTop()  # as much as can be seen from the first row and column on
                self.horizontalScrollBar().setValue(0)
            self.scrollTo(self.currentIndex())

    def scrollContentsBy(self, dx: int, dy: int) -> None:
        """Paint all anew: what was cut at an edge is shown whole further in, which moving its picture would not do."""
        super().scrollContentsBy(dx, dy)
        for part in (self.viewport(), self.verticalHeader().viewport(), self.horizontalHeader().viewport()):
            part.update()

    def wheelEvent(self, event: QWheelEvent) -> None:
        """Note that one looks elsewhere."""
        self._scrolled = True
        super().wheelEvent(event)

    def _least_height(self) -> int:
        high = self.fontMetrics().height()
        return high + 1 if self._dense else max(24, high + 8)

    @property
    def _lines_under(self) -> int:
        """How many lines stand in a cell under its own: what a grid's cells hold in other revisions."""
        return 0 if self.cells.curve else max(len(self.cells.columns) - 1, 0)

    def _grow(self) -> None:
        """Widen the columns whose texts have become longer; none gets narrower while one works."""
        self._measured = self.cells.pictures
        needs = [self._column_need(column) for column in range(self.cells.columnCount())]
        if not self.cells.curve and needs:
            needs = [max(needs)] * len(needs)
        if len(self._needs) == len(needs):
            needs = [max(pair) for pair in zip(self._needs, needs, strict=True)]
        if needs != self._needs or self.cells.layer != self._shared:
            self._needs = needs
            self._share_out()

    def _share_out(self) -> None:
        """Size rows and columns for the room there is, scroll bars counted in."""
        rows, columns = self.cells.rowCount(), self.cells.columnCount()
        if not rows or len(self._needs) != columns:
            return
        needs, self._shared = self._fitting(), self.cells.layer
        room, bars = self.maximumViewportSize(), (self.verticalScrollBar(), self.horizontalScrollBar())
        wide, high = room.width(), room.height()
        least = self._least_height() + self._lines_under * self.fontMetrics().height()
        for _ in range(2):  # one bar may bring the other about
            need = least if self._dense else row_need(high, least, max(TOUCH, least), MANY_ROWS)
            wide = room.width() - (bars[0].sizeHint().width() if rows * need > high else 0)
            high = room.height() - (bars[1].sizeHint().height() if sum(needs) > wide else 0)
        need = least if self._dense else row_need(high, least, max(TOUCH, least), MANY_ROWS)
        self.verticalHeader().setDefaultSectionSize(
            even_size(rows, need, high, need + 4 if self._dense else max(TOUCH, need) + 4)
        )
        if self.cells.curve:
            widths = spread_sizes(needs, wide)
        else:
            widths = [even_size(columns, self._needs[0], wide, self._needs[0] * 3 // 2)] * columns
        for column, width in enumerate(widths):
            self.setColumnHidden(column, width == 0)
            self.setColumnWidth(column, width)
        self._align()

    def _fitting(self) -> list[int]:
        """Return the widths that columns need; in a curve some give way (0) where not all fit, samples first.

        Values of other revisions stay: they were asked for. The standing does, too: cut, its sign says nothing.
        """
        room = self.maximumViewportSize().width() - self.verticalScrollBar().sizeHint().width()
        needs, columns = list(self._needs), self.cells.columns
        for column in ("samples", "half_width", "ratio"):
            if self.cells.curve and sum(needs) > room and column != self.cells.layer:
                needs[columns.index(column)] = 0
        return needs

    def _align(self) -> None:
        """Begin with a whole section again, after sections of another size have moved under the scroll bars."""
        self.updateGeometries()
        for header, bar in (
            (self.verticalHeader(), self.verticalScrollBar()),
            (self.horizontalHeader(), self.horizontalScrollBar()),
        ):
            if 0 < bar.maximum() == bar.value():
                header.setOffsetToLastSection()
            else:
                header.setOffsetToSectionPosition(bar.value())

    def _column_need(self, column: int) -> int:
        layer: TableColumn = self.cells.columns[column] if self.cells.curve else self.cells.layer
        shown = {text for texts in self.cells.texts_of(column) for text in texts}
        heading = str(self.cells.headerData(column, Qt.Orientation.Horizontal))
        # In a grid a column holds whichever layer is shown: it is as wide as most of them need.
        floor = "−88.8" if not self.cells.curve else WIDEST.get(layer, "") if not isinstance(layer, int) else ""
        # Where the engine was is marked at the left of a curve's rows, beside their first number.
        mark = ENGINE_PX if self.cells.curve and column == 0 else 0
        marked = any(text[:1] == INFERRED for text in shown)  # a mark must not seem to be of the number before it
        beside = 2 * MARGIN if self.cells.curve or self._lines_under or marked else MARGIN
        return max(self._advance(str(text)) for text in {heading, floor, *shown}) + beside + mark

    def _advance(self, text: str) -> int:
        """Measure a text, once."""
        if text not in self._advances:
            self._advances[text] = self.fontMetrics().horizontalAdvance(text)
        return self._advances[text]

    def _by_rows(self, *, curve: bool) -> None:
        rows, items = QAbstractItemView.SelectionBehavior.SelectRows, QAbstractItemView.SelectionBehavior.SelectItems
        self.setSelectionBehavior(rows if curve else items)

    def _follow(self, scene: Scene) -> None:
        """Choose what the scene says is chosen, if something else is."""
        table, focus = self.cells.table, scene.focus
        if table is None or not focus.cell or (focus.cell, focus.blocks) == self._now(table):
            return
        selection = QItemSelection()
        for block in focus.blocks or (tuple((i, i) for i in focus.cell),):
            (first, last), columns = block[0], block[1] if len(block) > 1 else (0, self.cells.columnCount() - 1)
            selection.select(self.cells.index(first, columns[0]), self.cells.index(last, columns[1]))
        current = self.cells.index(focus.cell[0], focus.cell[1] if len(focus.cell) > 1 else 0)
        self.selectionModel().setCurrentIndex(current, QItemSelectionModel.SelectionFlag.NoUpdate)
        self.selectionModel().select(selection, QItemSelectionModel.SelectionFlag.ClearAndSelect)
        self.scrollTo(current)
        self.viewport().update()

    def _now(self, table: Table) -> tuple[tuple[int, ...], cell_marks.Blocks]:
        """Read current cell and blocks off the selection; without a current cell, one that no table has."""
        current = self.currentIndex()
        cell = (current.row(), current.column())[: len(table.axes)]
        return cell, cell_marks.blocks_of(self.selectionModel().selection(), cell)

    def _on_slider(self) -> None:
        self._scrolled = True

    def _on_selection(self) -> None:
        table, self._scrolled = self.cells.table, False
        self.viewport().update()
        if not self._quiet and self.currentIndex().isValid() and not self.selectionModel().hasSelection():
            self.setCurrentIndex(self.currentIndex())  # what was chosen last stays so: a change goes there
        if table is not None and not self._quiet and self.currentIndex().isValid():
            self.chosen.emit(*self._now(table))

    def selectionCommand(self, index: Index, event: QEvent | None = None) -> QItemSelectionModel.SelectionFlag:
        """Choose the cell that a key moves to, with Ctrl too: what is typed goes where one looks."""
        flags, moves = QItemSelectionModel.SelectionFlag, super().selectionCommand(index, event)
        if moves != flags.NoUpdate or not isinstance(event, QKeyEvent):
            return moves
        extends = event.modifiers() & Qt.KeyboardModifier.ShiftModifier
        wide = flags.Rows if self.cells.curve else flags.NoUpdate
        return (flags.SelectCurrent if extends else flags.ClearAndSelect) | wide

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Let digits and signs begin an entry; all other keys move and choose."""
        plain = event.modifiers() & ~(Qt.KeyboardModifier.ShiftModifier | Qt.KeyboardModifier.KeypadModifier)
        if event.text() and event.text() in STARTS_ENTRY and not plain:
            self.typed.emit(event.text())
        elif event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter, Qt.Key.Key_F2):
            self.typed.emit("")
        else:
            super().keyPressEvent(event)

    def sizeHint(self) -> QSize:
        """Ask for a fair share of the window."""
        return QSize(380, 300)

    def paintEvent(self, event: QPaintEvent) -> None:
        """Fill and write the visible cells; no delegate, no call per role."""
        model, region = self.cells, event.rect()
        painter = QPainter(self.viewport())
        painter.fillRect(region, QColor(self._theme.card))
        if model.table is not None and model.pictures:
            rows = self._visible(self.verticalHeader(), region.top(), region.bottom())
            columns = self._visible(self.horizontalHeader(), region.left(), region.right())
            painter.setFont(self.font())
            self._fill_cells(painter, rows, columns)
            self._paint_current(painter)
            self._write_cells(painter, rows, columns)  # over the frames: a low row is hardly higher than its text
            self._paint_engine(painter)
        painter.end()

    @staticmethod
    def _visible(header: QHeaderView, low: int, high: int) -> range:
        first, last = header.visualIndexAt(low), header.visualIndexAt(high)
        return range(max(first, 0), (last if last >= 0 else header.count() - 1) + 1)

    def _places(self, rows: range, columns: range) -> Iterator[tuple[int, int, QRect, bool]]:
        """Give each cell of these: its row and column, where it is seen, and whether the whole of it is."""
        high, room = self.verticalHeader().defaultSectionSize(), self.viewport().rect()
        places = ((c, self.columnViewportPosition(c), self.columnWidth(c)) for c in columns)
        lefts = [(c, left, wide, whole(left, wide, room.width())) for c, left, wide in places if wide]
        for row in rows:
            top = self.rowViewportPosition(row)
            whole_row = whole(top, high, room.height())
            for column, left, wide, whole_column in lefts:
                yield row, column, QRect(left, top, wide, high), whole_row and whole_column

    def _fill_cells(self, painter: QPainter, rows: range, columns: range) -> None:
        model, bar = self.cells, QColor(self._theme.soft)
        selected = cell_marks.mask_of(self.selectionModel().selection(), (model.rowCount(), model.columnCount()))
        for row, column, place, is_whole in self._places(rows, columns):
            layer, cell = model.cell(row, column)
            if is_whole and layer == model.layer:
                picture = model.pictures[layer]
                painter.fillRect(place, QColor(*picture.colours[cell].tolist()))
                if lean := picture.bars[cell]:
                    cell_marks.paint_bar(painter, place, float(lean), bar)
            if is_whole and selected[row, column]:
                cell_marks.paint_frame(painter, place, selected, (row, column), QColor(self._theme.accent))

    def _write_cells(self, painter: QPainter, rows: range, columns: range) -> None:
        theme, model, metrics = self._theme, self.cells, self.fontMetrics()
        ink, card, soft = QColor(theme.ink), QColor(theme.card), QColor(theme.soft)
        for row, column, place, is_whole in self._places(rows, columns):
            layer, cell = model.cell(row, column)
            text = model.pictures[layer].texts[cell]
            if text and not is_whole:
                paint_cut(painter, place.intersected(self.viewport().rect()), metrics, theme)
            elif text:
                strong = layer in (model.layer, "value") or isinstance(layer, int)
                flip = layer == model.layer and model.inverse[layer][cell]
                painter.setPen(card if flip else ink if strong else soft)
                lines = (text, *model.texts_under(cell)) if self._lines_under else (text,)
                cell_marks.paint_lines(painter, place.adjusted(0, 0, -MARGIN, 0), lines, metrics.height())

    def _paint_current(self, painter: QPainter) -> None:
        current = self.currentIndex()
        if not current.isValid():
            return
        place = self.visualRect(current)
        if self.cells.curve:
            last = self.cells.columnCount() - 1
            place.setLeft(self.columnViewportPosition(0))
            place.setRight(self.columnViewportPosition(last) + self.columnWidth(last) - 1)
        frame = QColor(self._theme.attention if self.hasFocus() else self._theme.accent)
        cell_marks.paint_current(painter, place, frame, QColor(self._theme.card))

    def _paint_engine(self, painter: QPainter) -> None:
        table = self.cells.table
        if self._engine is None or table is None or len(self._engine.position) != len(table.axes):
            return
        where = [
            float(np.interp(x, axis.breakpoints, np.arange(len(axis))))
            for x, axis in zip(self._engine.position, table.axes, strict=True)
        ]
        spot = QPointF(8.0, self._along(where[0], rows=True))
        if len(where) > 1:
            spot.setX(self._along(where[1], rows=False))
        row, column = round(where[0]), round(where[-1]) if len(where) > 1 else 0
        seen = self.viewport().rect()
        if not whole(self.rowViewportPosition(row), self.rowHeight(row), seen.height()) or not whole(
            self.columnViewportPosition(column), self.columnWidth(column), seen.width()
        ):
            return
        cell_marks.paint_spot(painter, spot, QColor(self._theme.attention), accepted=not self._engine.gate)

    def _along(self, position: float, *, rows: bool) -> float:
        header = self.verticalHeader() if rows else self.horizontalHeader()
        low = int(position)
        start, size = header.sectionViewportPosition(low), header.sectionSize(low)
        following = header.sectionSize(min(low + 1, header.count() - 1))
        return start + size / 2 + (position - low) * (size + following) / 2
