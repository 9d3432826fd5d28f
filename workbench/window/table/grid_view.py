"""A grid as a picture: the heat picture, and the slices through the current cell with their evidence."""

from collections.abc import Sequence
from typing import Any

import numpy as np
import pyqtgraph
from PySide6.QtCore import QEvent, QObject, Qt, Signal
from PySide6.QtGui import QColor, QKeyEvent
from PySide6.QtWidgets import QBoxLayout, QVBoxLayout, QWidget

from workbench.model.arrays import FloatArray
from workbench.model.table import Table
from workbench.window.kit.plots import Plot, faint, finite_range, pen
from workbench.window.kit.theme import LIGHT, Theme
from workbench.window.scene.last_drawn import LastDrawn
from workbench.window.scene.scene import EnginePoint, Scene, drawn_from
from workbench.window.table.beside import Beside, Line
from workbench.window.table.heat import ColourScale, HeatItem
from workbench.window.table.inferred_marks import cell_marks
from workbench.window.table.interval_band import IntervalBand
from workbench.window.table.layers import layer_picture
from workbench.window.words.wording import plain, tr

NUDGE = 0.005
BESIDE_EM = 24  # lines of text that the picture is wide, from which on the slices stand beside the heat picture


class Slice(QObject):
    """One cut through a grid, along one axis."""

    def __init__(self, name: str, parent: QWidget) -> None:
        """Make it empty."""
        super().__init__(parent)
        self.plot = Plot(name, parent)
        self._band = IntervalBand()
        self._before: Any = pyqtgraph.PlotCurveItem()
        self._truth: Any = pyqtgraph.PlotCurveItem()
        self._now: Any = pyqtgraph.PlotDataItem()
        self._after: Any = pyqtgraph.PlotCurveItem()
        self._mark: Any = pyqtgraph.ScatterPlotItem()
        for part in (self._band, self._before, self._truth, self._now, self._after, self._mark):
            self.plot.box.addItem(part)
        self._beside = Beside(self.plot)

    def draw(
        self,
        xs: FloatArray,
        lines: dict[str, FloatArray],
        half: FloatArray,
        at: int,
        theme: Theme,
        beside: Sequence[Line] = (),
    ) -> None:
        """Draw before, now and after over an axis, the interval about `truth`, and mark one breakpoint.

        Args:
            xs: breakpoints.
            lines: values by what they are: now, before, after, truth.
            half: of the interval about truth.
            at: index of the breakpoint that is marked.
            theme: the colours.
            beside: lines of other revisions.
        """
        self._beside.show(beside, theme)
        truth = lines.get("truth", np.full(xs.shape, np.nan))
        self._band.show_interval(xs, truth, half, faint(theme.accent, 70))
        for part, name, colour, width, style in (
            (self._before, "before", theme.soft, 1.0, Qt.PenStyle.SolidLine),
            (self._truth, "truth", theme.accent, theme.stroke, Qt.PenStyle.SolidLine),
            (self._after, "after", theme.attention, theme.stroke + 0.6, Qt.PenStyle.DashLine),
        ):
            part.setVisible(name in lines)
            if name in lines:
                part.setData(xs, lines[name], connect="finite", pen=pen(colour, width, style))
        now = lines.get("now", lines.get("after", truth))
        self._now.setVisible("now" in lines)
        self._now.setData(
            xs, now, connect="finite", pen=pen(theme.ink, theme.stroke), symbol="o", symbolSize=4,
            symbolBrush=QColor(theme.ink), symbolPen=None,
        )  # fmt: skip
        shown = lines.get("after", now)
        spot = [shown[at]] if np.isfinite(shown[at]) else []
        self._mark.setData(
            xs[at : at + len(spot)], spot, size=11, symbol="o", brush=QColor(theme.attention), pen=pen(theme.card, 1.5)
        )
        others = (*(lines[k] for k in lines), *(ys for _, _, ys in beside))
        low, high = finite_range(now, truth - half, truth + half, *others, least=1e-6)
        self.plot.box.setYRange(low, high, padding=0)
        self.plot.box.setXRange(float(xs[0]), float(xs[-1]), padding=0.03)


class GridView(QWidget):
    """The picture beside the numbers of a grid.

    Signals:
        chosen: current cell and chosen blocks.
        pulled: a cell, and the factor by which its value was nudged.
    """

    chosen = Signal(object, object)
    pulled = Signal(object, float)

    def __init__(self, parent: QWidget) -> None:
        """Make an empty picture."""
        super().__init__(parent)
        self._scene, self._theme = Scene(), LIGHT
        self._last, self._last_cells = LastDrawn(), LastDrawn()
        self.heat = Plot(tr("Heat picture of the grid"), self)
        self.setFocusProxy(self.heat.widget)
        self._scale = ColourScale(self)
        self._cells = HeatItem()
        self.heat.box.addItem(self._cells)
        self._engine: Any = pyqtgraph.ScatterPlotItem(pxMode=True)
        self.heat.box.addItem(self._engine)
        self.along_columns = Slice(tr("Slice along the column axis"), self)
        self.along_rows = Slice(tr("Slice along the row axis"), self)
        slices = QVBoxLayout()
        slices.setSpacing(2)
        slices.addWidget(self.along_columns.plot, 1)
        slices.addWidget(self.along_rows.plot, 1)
        self._sides = QBoxLayout(QBoxLayout.Direction.LeftToRight, self)
        self._sides.setContentsMargins(0, 0, 0, 0)
        left = QVBoxLayout()
        left.setSpacing(0)
        left.addWidget(self._scale)
        left.addWidget(self.heat, 1)
        self._sides.addLayout(left, 4)
        self._sides.addLayout(slices, 3)
        self.heat.clicked.connect(self._on_click)
        self.heat.widget.installEventFilter(self)

    def show_scene(self, scene: Scene, theme: Theme) -> None:
        """Draw the layer that is looked at, and the slices through the current cell."""
        fresh = theme is not self._theme or self._scene.table is None
        before, self._scene, self._theme = self._scene, scene, theme
        table = scene.shown_table
        if table is None or table.kind != "grid":
            return
        if fresh:
            self.redress()
        if not self._last.is_other(*drawn_from(scene), theme, cell_marks(scene)):
            return
        self._draw_cells(scene, table)
        self._draw_slices(scene, table)
        if before.table is None or not before.table.same_axes(table):
            self.heat.whole()

    def arrange(self, width: int) -> int:
        """Set the slices beside the heat picture, or one of them below it; give the lines of text this takes.

        Args:
            width: of the card, px.
        """
        beside = width >= BESIDE_EM * self.fontMetrics().height()
        ways = QBoxLayout.Direction
        self._sides.setDirection(ways.LeftToRight if beside else ways.TopToBottom)
        self.along_rows.plot.setVisible(beside)
        return 10 if beside else 17

    def redress(self) -> None:
        """Take over theme and text size."""
        for plot in (self.heat, self.along_columns.plot, self.along_rows.plot):
            plot.dress(self._theme, self.font())

    def show_engine(self, point: EnginePoint | None) -> None:
        """Mark where the engine was: a dot in a ring, or a thin ring alone where the sample was gated."""
        if point is None or len(point.position) != 2:
            self._engine.setData([], [])
            return
        (row, column), colour = point.position, self._theme.attention
        wide = 1.5 if point.gate else 3.0
        ring = {"pos": (column, row), "size": 15, "brush": None}
        spots = [{**ring, "pen": pen(self._theme.card, wide + 3)}, {**ring, "pen": pen(colour, wide)}]
        if not point.gate:
            spots.append({"pos": (column, row), "size": 5, "brush": QColor(colour), "pen": None})
        self._engine.setData(spots)

    def _draw_cells(self, scene: Scene, table: Table) -> None:
        layer = scene.focus.layer
        storage = None if scene.state is None else scene.state.ecu_format(scene.focus.table).storage
        marks, noted = cell_marks(scene), layer in ("value", "change")
        known = scene.fitting_evidence, scene.silent, scene.samples
        parts = (table, *known, scene.reference, layer, storage, self._theme, marks)
        if self._last_cells.is_other(*parts):
            picture = layer_picture(scene, layer, self._theme)
            self._scale.show_scale(picture.ramp, picture.ends, self._theme)
            rows, columns = (axis.breakpoints for axis in table.axes)
            self._cells.show_cells(rows, columns, picture.colours, np.isnan(picture.numbers), self._theme)
            nothing = np.zeros(table.shape, dtype=np.bool_)
            self._cells.show_marks(*((marks.inferred, marks.cliffs) if noted else (nothing, nothing)))
            self._cells.show_trail(self._trail(scene))
            words, (row, column) = tr("→ {column}, ↑ {row}"), table.axes
            short = words.format(column=column.unit or column.name, row=row.unit or row.name)
            self.heat.name_axis(words.format(column=column.label, row=row.label), short)
        self._cells.show_chosen(scene.chosen(), scene.focus.cell)

    @staticmethod
    def _trail(scene: Scene) -> FloatArray:
        """Take at most a thousand samples of the drive that is shown."""
        samples = scene.samples
        if samples is None or samples.position.ndim != 2 or samples.position.shape[1] != 2:
            return np.zeros((0, 2))
        return samples.position[:: max(1, len(samples.position) // 1000)]

    def _draw_slices(self, scene: Scene, table: Table) -> None:
        cell = scene.focus.cell
        if len(cell) != 2 or any(i >= n for i, n in zip(cell, table.shape, strict=True)):
            return
        head, reference, evidence = scene.head, scene.reference, scene.fitting_evidence
        # A draft may stand on other breakpoints than the table that it is made from.
        now = table if head is None else head.table
        whole: dict[str, FloatArray] = {"now": now.values} if now.same_axes(table) else {}
        if reference is not None and reference is not head and reference.table.same_axes(table):
            whole["before"] = reference.table.values
        if scene.draft is not None:
            whole["after"] = table.values
        half = np.full(table.shape, np.nan)
        if evidence is not None:
            whole["truth"] = evidence.table.values * evidence.ratio
            half = evidence.table.values * evidence.half_width
        rows, columns = table.axes
        names = tuple(
            f"{plain(float(axis.breakpoints[i]))} {axis.unit}" for axis, i in zip(table.axes, cell, strict=True)
        )
        for part, axis, take, at, where in (
            (self.along_columns, columns, (cell[0], slice(None)), cell[1], names[0]),
            (self.along_rows, rows, (slice(None), cell[1]), cell[0], names[1]),
        ):
            words = tr("{axis}, at {where}")
            short = words.format(axis=axis.unit or axis.name, where=where)
            part.plot.name_axis(words.format(axis=axis.label, where=where), short)
            beside = [
                (each.id, axis.breakpoints, each.table.values[take])
                for each in scene.beside
                if each.table.same_axes(table)
            ]
            cut = {k: v[take] for k, v in whole.items()}
            part.draw(axis.breakpoints, cut, half[take], at, self._theme, beside)

    def _on_click(self, x: float, y: float) -> None:
        table = self._scene.table
        if table is not None and table.kind == "grid":
            row, column = (int(np.argmin(np.abs(a.breakpoints - v))) for a, v in zip(table.axes, (y, x), strict=True))
            self.chosen.emit((row, column), ())

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Let arrow keys walk over the cells and, with Alt, nudge the value."""
        table, cell = self._scene.table, self._scene.focus.cell
        if not isinstance(event, QKeyEvent) or event.type() != QEvent.Type.KeyPress or table is None or len(cell) != 2:
            return super().eventFilter(watched, event)
        steps = {
            Qt.Key.Key_Left: (0, -1),
            Qt.Key.Key_Right: (0, 1),
            Qt.Key.Key_Up: (1, 0),
            Qt.Key.Key_Down: (-1, 0),
        }
        step = steps.get(Qt.Key(event.key()))
        if step is None:
            return super().eventFilter(watched, event)
        if event.modifiers() & Qt.KeyboardModifier.AltModifier:
            self._nudge(cell, 1 + NUDGE if sum(step) > 0 else 1 / (1 + NUDGE))
        else:
            walked = tuple(int(np.clip(i + d, 0, n - 1)) for i, d, n in zip(cell, step, table.shape, strict=True))
            self.chosen.emit(walked, ())
        return True

    def _nudge(self, cell: tuple[int, ...], factor: float) -> None:
        shown, head = self._scene.shown_table, self._scene.head
        if shown is not None and head is not None and head.table.values[cell]:
            self.pulled.emit(cell, float(shown.values[cell] / head.table.values[cell] * factor))
