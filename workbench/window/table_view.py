"""The numbers: cells drawn in one go, chosen by mouse or keyboard; what is typed goes to the entry line."""

import numpy as np
from PySide6.QtCore import QItemSelection, QItemSelectionModel, QPointF, QRect, QSize, Qt, Signal
from PySide6.QtGui import QColor, QFontMetrics, QKeyEvent, QPainter, QPaintEvent, QPen, QResizeEvent
from PySide6.QtWidgets import QAbstractItemView, QHeaderView, QTableView, QWidget

from workbench.model.table import Table
from workbench.window.scene import Layer, Scene
from workbench.window.table_model import TableModel
from workbench.window.theme import LIGHT, Theme
from workbench.window.wording import tr

Blocks = tuple[tuple[tuple[int, int], ...], ...]
STARTS_ENTRY = "0123456789=+-*/×x.,%\N{MINUS SIGN}"


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
        self._engine: tuple[float, ...] | None = None
        self._quiet = False
        self._widths: list[int] = []
        self.setSelectionMode(QAbstractItemView.SelectionMode.ExtendedSelection)
        self.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        self.setTabKeyNavigation(False)
        self.setShowGrid(False)
        self.setCornerButtonEnabled(False)
        self.setHorizontalScrollMode(QAbstractItemView.ScrollMode.ScrollPerItem)
        self.setVerticalScrollMode(QAbstractItemView.ScrollMode.ScrollPerItem)
        for header in (self.horizontalHeader(), self.verticalHeader()):
            header.setSectionResizeMode(QHeaderView.ResizeMode.Fixed)
            header.setHighlightSections(False)
            header.setMinimumSectionSize(20)
        self.horizontalHeader().setDefaultAlignment(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
        self.verticalHeader().setDefaultAlignment(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
        self.selectionModel().selectionChanged.connect(self._on_selection)
        self.selectionModel().currentChanged.connect(self._on_selection)

    def show_scene(self, scene: Scene, theme: Theme) -> None:
        """Show the table, its layer and what is chosen."""
        before, columns, self._theme = self.cells.table, self.cells.columns, theme
        self._quiet = True
        try:
            self.cells.show_scene(scene, theme)
            table = self.cells.table
            if table is not None and (before is None or not before.same_axes(table) or columns != self.cells.columns):
                self._by_rows(curve=self.cells.curve)
                self.fit()
            self._follow(scene)
        finally:
            self._quiet = False

    def show_engine(self, position: tuple[float, ...] | None) -> None:
        """Ring the point on the axes where the engine was, in axis units."""
        if position != self._engine:
            self._engine = position
            self.viewport().update()

    def fit(self) -> None:
        """Give every section the size its widest text needs."""
        if self.cells.table is None:
            return
        metrics = QFontMetrics(self.font())
        high = max(24, metrics.height() + 8)
        self.verticalHeader().setDefaultSectionSize(high)
        self._widths = [self._column_width(metrics, column) for column in range(self.cells.columnCount())]
        for column, width in enumerate(self._widths):
            self.setColumnWidth(column, width)
        self._widen()
        self.horizontalHeader().setFixedHeight(high)
        names = [str(self.cells.headerData(row, Qt.Orientation.Vertical)) for row in range(self.cells.rowCount())]
        self.verticalHeader().setFixedWidth(max(metrics.horizontalAdvance(name) for name in names) + 18)
        self.updateGeometries()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Give the columns of a grid what room there is."""
        super().resizeEvent(event)
        self._widen()
        if self.currentIndex().isValid():
            self.scrollTo(self.currentIndex())

    def _widen(self) -> None:
        if self.cells.curve or not self._widths:
            return
        spare = (self.viewport().width() - sum(self._widths)) // len(self._widths)
        for column, width in enumerate(self._widths):
            self.setColumnWidth(column, width + min(max(spare, 0), width // 2))

    def _column_width(self, metrics: QFontMetrics, column: int) -> int:
        heading = metrics.horizontalAdvance(str(self.cells.headerData(column, Qt.Orientation.Horizontal)))
        layer: Layer = self.cells.columns[column] if self.cells.curve else self.cells.layer
        widest = {"change": "−88.8 %", "ratio": "0.888", "half_width": "88.8 %", "samples": "88888", "standing": "●"}
        widest["storage"] = "+0.88 %"
        texts = self.cells.pictures[layer].texts if layer == "value" else np.array([widest.get(layer, "")])
        # In a grid a column holds whichever layer is shown: it is as wide as most of them need.
        floor = 0 if self.cells.curve else metrics.horizontalAdvance("−88.8")
        longest = max((metrics.horizontalAdvance(str(text)) for text in texts.ravel()), default=0)
        return max(heading, longest, floor) + 14

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

    def _now(self, table: Table) -> tuple[tuple[int, ...], Blocks]:
        """Read current cell and blocks off the selection."""
        current = self.currentIndex()
        cell = (max(current.row(), 0), max(current.column(), 0))[: len(table.axes)]
        blocks = []
        for part in self.selectionModel().selection().toList():
            rows, columns = (part.top(), part.bottom()), (part.left(), part.right())
            blocks.append((rows,) if len(table.axes) == 1 else (rows, columns))
        single = [tuple((i, i) for i in cell)]
        return cell, () if blocks in ([], single) else tuple(sorted(set(blocks)))

    def _on_selection(self) -> None:
        table = self.cells.table
        self.viewport().update()
        if table is not None and not self._quiet and self.currentIndex().isValid():
            self.chosen.emit(*self._now(table))

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
            self._paint_cells(painter, rows, columns)
            self._paint_current(painter)
            self._paint_engine(painter)
        painter.end()

    @staticmethod
    def _visible(header: QHeaderView, low: int, high: int) -> range:
        first, last = header.visualIndexAt(low), header.visualIndexAt(high)
        return range(max(first, 0), (last if last >= 0 else header.count() - 1) + 1)

    def _paint_cells(self, painter: QPainter, rows: range, columns: range) -> None:
        theme, model, selected = self._theme, self.cells, self._selected()
        ink, card, soft = QColor(theme.ink), QColor(theme.card), QColor(theme.soft)
        lefts = [(c, self.columnViewportPosition(c), self.columnWidth(c)) for c in columns]
        high = self.verticalHeader().defaultSectionSize()
        right = int(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
        bar = QColor(theme.soft)
        for row in rows:
            top = self.rowViewportPosition(row)
            for column, left, wide in lefts:
                layer, cell = model.cell(row, column)
                picture = model.pictures[layer]
                if layer == model.layer:
                    painter.fillRect(left, top, wide, high, QColor(*picture.colours[cell].tolist()))
                    if lean := picture.bars[cell]:
                        self._paint_bar(painter, QRect(left, top, wide, high), float(lean), bar)
                if text := picture.texts[cell]:
                    strong = layer in (model.layer, "value")
                    flip = layer == model.layer and model.inverse[layer][cell]
                    painter.setPen(card if flip else ink if strong else soft)
                    painter.drawText(left, top, wide - 7, high, right, text)
                if selected[row, column]:
                    self._paint_frame(painter, QRect(left, top, wide, high), selected, (row, column))

    def _paint_frame(self, painter: QPainter, place: QRect, selected: np.ndarray, at: tuple[int, int]) -> None:
        """Draw the frame of the chosen cells along its outer edges only."""
        colour, (row, column) = QColor(self._theme.accent), at
        x, y, wide, high = place.x(), place.y(), place.width(), place.height()
        padded = np.pad(selected, 1)
        above, below = padded[row, column + 1], padded[row + 2, column + 1]
        before, after = padded[row + 1, column], padded[row + 1, column + 2]
        for covered, edge in (
            (above, (x, y, wide, 2)),
            (below, (x, y + high - 2, wide, 2)),
            (before, (x, y, 2, high)),
            (after, (x + wide - 2, y, 2, high)),
        ):
            if not covered:
                painter.fillRect(QRect(*edge), colour)

    @staticmethod
    def _paint_bar(painter: QPainter, place: QRect, lean: float, colour: QColor) -> None:
        """Draw how far and which way, from the middle of the cell's lower edge."""
        half = place.width() // 2 - 3
        length = round(half * min(1.0, abs(lean)))
        start = place.left() + place.width() // 2 - (length if lean < 0 else 0)
        painter.fillRect(start, place.bottom() - 3, length, 3, colour)

    def _paint_current(self, painter: QPainter) -> None:
        current = self.currentIndex()
        if not current.isValid():
            return
        place = self.visualRect(current)
        if self.cells.curve:
            last = self.cells.columnCount() - 1
            place.setLeft(self.columnViewportPosition(0))
            place.setRight(self.columnViewportPosition(last) + self.columnWidth(last) - 1)
        painter.setBrush(Qt.BrushStyle.NoBrush)
        pen = QPen(QColor(self._theme.attention if self.hasFocus() else self._theme.accent), 2)
        painter.setPen(pen)
        painter.drawRect(place.adjusted(1, 1, -1, -1))

    def _paint_engine(self, painter: QPainter) -> None:
        table = self.cells.table
        if self._engine is None or table is None:
            return
        where = [
            float(np.interp(x, axis.breakpoints, np.arange(len(axis))))
            for x, axis in zip(self._engine, table.axes, strict=True)
        ]
        spot = QPointF(8.0, self._along(where[0], rows=True))
        if len(where) > 1:
            spot.setX(self._along(where[1], rows=False))
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setPen(QPen(QColor(self._theme.card), 5))
        painter.drawEllipse(spot, 6, 6)
        painter.setPen(QPen(QColor(self._theme.attention), 2.5))
        painter.drawEllipse(spot, 6, 6)

    def _along(self, position: float, *, rows: bool) -> float:
        header = self.verticalHeader() if rows else self.horizontalHeader()
        low = int(position)
        start, size = header.sectionViewportPosition(low), header.sectionSize(low)
        following = header.sectionSize(min(low + 1, header.count() - 1))
        return start + size / 2 + (position - low) * (size + following) / 2

    def _selected(self) -> np.ndarray:
        mask = np.zeros((self.cells.rowCount(), self.cells.columnCount()), dtype=np.bool_)
        for part in self.selectionModel().selection().toList():
            mask[part.top() : part.bottom() + 1, part.left() : part.right() + 1] = True
        return mask
