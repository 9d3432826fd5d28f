"""A curve as a picture: before against after, and the evidence with its interval; points can be dragged."""

from typing import Any

import numpy as np
import pyqtgraph
from PySide6.QtCore import QEvent, QObject, QPointF, Qt, Signal
from PySide6.QtGui import QColor, QKeyEvent, QMouseEvent
from PySide6.QtWidgets import QVBoxLayout, QWidget

from workbench.model.arrays import FloatArray
from workbench.window.kit.plots import Plot, faint, finite_range, pen
from workbench.window.kit.theme import LIGHT, Theme
from workbench.window.scene.last_drawn import LastDrawn
from workbench.window.scene.scene import EnginePoint, Scene, drawn_from
from workbench.window.table.beside import Beside, Line
from workbench.window.table.difference_strip import DifferenceStrip
from workbench.window.table.inferred_marks import CellMarks, cell_marks
from workbench.window.table.interval_band import IntervalBand
from workbench.window.words.wording import tr

GRAB_PX = 16
NUDGE = 0.005


class CurveView(QWidget):
    """The picture beside the numbers of a curve.

    Signals:
        chosen: current cell and chosen blocks.
        pulled: a cell, and the factor by which its value was dragged or nudged.
    """

    chosen = Signal(object, object)
    pulled = Signal(object, float)

    def __init__(self, parent: QWidget) -> None:
        """Make an empty picture."""
        super().__init__(parent)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(0)
        self.plot = Plot(tr("Picture of the curve"), self)
        self.setFocusProxy(self.plot.widget)
        layout.addWidget(self.plot, 7)
        self.strip = DifferenceStrip(self.plot, self)
        layout.addWidget(self.strip, 3)
        self._beside = Beside(self.plot, raised=True)
        self._scene, self._theme = Scene(), LIGHT
        self._xs = self._ys = np.zeros(0)
        self._grabbed: int | None = None
        self._last = LastDrawn()
        self._fitted: tuple[object, ...] = (None, None, None, None)
        # The scale of ratios without room for a draft, and with it, while it has that.
        self._roomed: tuple[tuple[float, float], tuple[float, float]] | None = None
        self._cell_band: Any = pyqtgraph.LinearRegionItem(movable=False)
        self._cell_band.setZValue(-20)
        self._band = IntervalBand()
        self._dots: Any = pyqtgraph.ScatterPlotItem(pxMode=True)
        self._before: Any = pyqtgraph.PlotCurveItem()
        self._now: Any = pyqtgraph.PlotCurveItem()
        self._truth: Any = pyqtgraph.PlotCurveItem()
        self._after: Any = pyqtgraph.PlotCurveItem()
        self._marks: Any = pyqtgraph.ScatterPlotItem(pxMode=True)
        self._rings: Any = pyqtgraph.ScatterPlotItem(pxMode=True)
        self._signs: Any = pyqtgraph.ScatterPlotItem(pxMode=True)
        self._engine: Any = pyqtgraph.InfiniteLine(angle=90, movable=False)
        lines = (self._before, self._truth, self._now, self._after)
        for part in (
            self._cell_band,
            self._band,
            self._dots,
            *lines,
            self._rings,
            self._signs,
            self._marks,
            self._engine,
        ):
            self.plot.box.addItem(part)
        self._engine.hide()
        self.plot.clicked.connect(self._on_click)
        self.plot.widget.viewport().installEventFilter(self)
        self.plot.widget.installEventFilter(self)

    def show_scene(self, scene: Scene, theme: Theme) -> None:
        """Draw the layer that is looked at."""
        self._scene = scene
        redressed = theme is not self._theme or self._xs.size == 0
        self._theme = theme
        table = scene.shown_table
        if table is None or table.kind != "curve":
            return
        if redressed:
            self.redress()
        marks = cell_marks(scene)
        if not self._last.is_other(*drawn_from(scene), theme, marks):
            return
        self._xs = table.axes[0].breakpoints
        self._draw_beside(scene)
        if scene.focus.layer in ("value", "change"):
            self._draw_values(scene) if scene.focus.layer == "value" else self._draw_changes(scene)
        else:
            self._draw_ratio(scene)
        self._draw_chosen(scene)
        self._draw_marks(marks, shown=scene.focus.layer in ("value", "change"))
        # Where nothing is below 0 the scale begins there, with room for half a mark.
        above = scene.focus.layer == "value" and bool((self._ys >= 0).all())
        self.plot.box.setLimits(yMin=-0.03 * float(self._ys.max()) if above else None)
        shown = (scene.focus.layer, scene.head, scene.evidence, scene.focus.beside, scene.focus.outside)
        if any(a is not b for a, b in zip(shown, self._fitted, strict=True)):
            self._fitted, self._roomed = shown, None
            self._fit(scene)
        self._make_room(scene)

    def _make_room(self, scene: Scene) -> None:
        """Show a draft whole where ratios are drawn, as it stands now; without one the scale is again what it was.

        A scale that the user changed meanwhile stays. While a point is dragged it only grows, so that nothing moves
        under one's hands.
        """
        now = (float(self.plot.box.viewRange()[1][0]), float(self.plot.box.viewRange()[1][1]))
        if self._roomed is not None and not np.allclose(now, self._roomed[1]):
            self._roomed = None
        usual = now if self._roomed is None else self._roomed[0]
        low, high = usual if self._grabbed is None else now
        least, most = self._draft_range(scene) or (low, high)
        wanted = (min(low, least), max(high, most))
        if wanted != now:
            self.plot.box.setYRange(*wanted, padding=0)
        self._roomed = None if wanted == usual else (usual, wanted)

    def _draft_range(self, scene: Scene) -> tuple[float, float] | None:
        """Return the ratios between which a draft lies, with a little air; None where it is not drawn as ratios."""
        table, head = scene.shown_table, scene.head
        if scene.draft is None or table is None or head is None or scene.focus.layer in ("value", "change"):
            return None
        if not table.same_axes(head.table):
            return None
        return finite_range(table.values / np.where(head.table.values == 0, np.nan, head.table.values))

    def _fit(self, scene: Scene) -> None:
        """Show all breakpoints, and of the ratio all that is not a stray sample."""
        evidence = scene.fitting_evidence
        if scene.focus.layer in ("value", "change") or evidence is None:
            self.plot.whole()
            if scene.focus.layer not in ("value", "change"):
                self.plot.box.setYRange(0.9, 1.1, padding=0)
            return
        low, high = finite_range(
            evidence.ratio - evidence.half_width, evidence.ratio + evidence.half_width, np.ones(1), least=0.08
        )
        self.plot.box.setYRange(low, high, padding=0)
        self.plot.box.setXRange(float(self._xs[0]), float(self._xs[-1]), padding=0.03)

    def redress(self) -> None:
        """Take over a new text size."""
        for plot in (self.plot, self.strip.plot):
            plot.dress(self._theme, self.font())

    def show_engine(self, point: EnginePoint | None) -> None:
        """Draw a line where the engine was: dashed, or dotted and thin where the sample was gated."""
        self._engine.setVisible(point is not None)
        if point is not None:
            self._engine.setValue(point.position[0])
            style = Qt.PenStyle.DotLine if point.gate else Qt.PenStyle.DashLine
            self._engine.setPen(pen(self._theme.attention, 1.0 if point.gate else 1.8, style))

    def _draw_values(self, scene: Scene) -> None:
        table, head, reference = scene.shown_table, scene.head, scene.reference
        if table is None or head is None:
            return
        self.plot.name_axis(table.axes[0].label)
        self._ys = table.values
        evidence = scene.fitting_evidence
        base = evidence.table.values if evidence is not None else table.values
        truth = base * evidence.ratio if evidence is not None else np.full(table.shape, np.nan)
        half = base * evidence.half_width if evidence is not None else np.full(table.shape, np.nan)
        self._draw_band(truth, half)
        self._dots.setData([], [])
        same = reference is None or not np.array_equal(reference.table.axes[0].breakpoints, self._xs)
        same = same or reference in scene.beside  # it has a line of its own there
        self._line(self._truth, truth, self._theme.accent, self._theme.stroke)
        self._line(self._before, None if same or reference is None else reference.table.values, self._theme.soft, 1)
        self._line(
            self._now, head.table.values if table.same_axes(head.table) else None, self._theme.ink, self._theme.stroke
        )
        self._draw_draft(None if scene.draft is None else table.values)
        self._rings.setData([], [])

    def _draw_beside(self, scene: Scene) -> None:
        """Draw the other revisions that were chosen, and under the values by how much all of them differ."""
        layer, reference, head, table = scene.focus.layer, scene.reference, scene.head, scene.shown_table
        values = [(each.id, each.table.axes[0].breakpoints, each.table.values) for each in scene.beside]
        changes: list[Line] = []
        if reference is not None and head is not None and table is not None:
            before = reference.table
            changes = [
                (each.id, self._xs, _change(each.table.values, before.values))
                for each in scene.beside
                if each.table.same_axes(before) and before.same_axes(table)
            ]
            now, draft = (np.full(table.shape, np.nan), None)
            if layer == "value" and before.same_axes(table) and head.table.same_axes(table):
                now = _change(head.table.values, before.values)
                draft = _change(table.values, before.values) if scene.draft is not None else None
            self.strip.show_changes(self._xs, now, draft, changes if layer == "value" else [], self._theme)
        self._beside.show(values if layer == "value" else changes if layer == "change" else [], self._theme)

    def _draw_changes(self, scene: Scene) -> None:
        table, head, reference = scene.shown_table, scene.head, scene.reference
        if table is None or head is None or reference is None:
            return
        # On other breakpoints there is no change to draw, cell by cell.
        before = reference.table.values if reference.table.same_axes(table) else None
        now = None if before is None or not head.table.same_axes(table) else _change(head.table.values, before)
        self.plot.name_axis(table.axes[0].label)
        self._draw_band(*(np.full(table.shape, np.nan),) * 2)
        self._line(self._truth, None, self._theme.accent, 1)
        self._dots.setData([], [])
        self._line(self._before, np.zeros(table.shape), self._theme.line, 1)
        self._line(self._now, now, self._theme.ink, self._theme.stroke)
        self._ys = np.zeros(table.shape) if before is None else _change(table.values, before)
        self._draw_draft(None if scene.draft is None or before is None else self._ys)
        self._rings.setData([], [])

    def _draw_ratio(self, scene: Scene) -> None:
        table, head, evidence = scene.shown_table, scene.head, scene.fitting_evidence
        if table is None or head is None:
            return
        self.plot.name_axis(table.axes[0].label)
        empty = np.full(table.shape, np.nan)
        same = table.same_axes(head.table)  # a draft may stand on other breakpoints
        silent = evidence is None or not same or scene.silent
        ratio, half = (empty, empty) if silent or evidence is None else (evidence.ratio, evidence.half_width)
        self._draw_band(ratio, half)
        self._line(self._truth, None, self._theme.accent, 1)
        self._draw_dots(scene, finite_range(ratio - half, ratio + half, np.ones(1), least=0.08))
        self._line(self._before, np.ones(table.shape), self._theme.line, 1)
        self._line(self._now, ratio, self._theme.accent, self._theme.stroke)
        self._ys = np.where(np.isfinite(ratio), ratio, 1.0)
        self._draw_draft(table.values / head.table.values if same and scene.draft is not None else None)
        undriven = ~np.isfinite(ratio) & (not silent)
        ring = {"symbol": "o", "size": 7, "brush": None, "pen": pen(self._theme.soft, 1.2)}
        self._rings.setData(self._xs[undriven], np.ones(int(undriven.sum())), **ring)

    def _draw_band(self, middle: FloatArray, half: FloatArray) -> None:
        colour = faint(self._theme.accent, 70 if self._theme.name != "sun" else 110)
        self._band.show_interval(self._xs, middle, half, colour)

    def _draw_dots(self, scene: Scene, limits: tuple[float, float]) -> None:
        """Draw at most a few thousand samples, those of the chosen cells among them, faint behind the line."""
        evidence = None if scene.silent else scene.fitting_evidence
        kept = () if evidence is None else evidence.kept
        stride = max(1, sum(len(samples.ratio) for samples in kept) // 20_000)
        x = np.concatenate([samples.position[::stride, 0] for samples in kept] or [np.zeros(0)])
        y = np.concatenate([samples.ratio[::stride] for samples in kept] or [np.zeros(0)])
        inside = np.flatnonzero((y > limits[0]) & (y < limits[1]))
        inside = inside[:: max(1, len(inside) // 1500)]
        self._dots.setData(x[inside], y[inside], size=3, pen=None, brush=faint(self._theme.soft, 110))

    def _draw_draft(self, values: FloatArray | None) -> None:
        self._line(self._after, values, self._theme.attention, self._theme.stroke + 0.6, dashed=True)

    def _line(self, part: Any, values: FloatArray | None, colour: str, width: float, *, dashed: bool = False) -> None:
        part.setVisible(values is not None)
        if values is not None:
            style = Qt.PenStyle.DashLine if dashed else Qt.PenStyle.SolidLine
            part.setData(self._xs, values, connect="finite", pen=pen(colour, width, style))

    def _draw_marks(self, marks: CellMarks, *, shown: bool) -> None:
        """Ring what was inferred, and frame what stands beside a cliff."""
        spots: list[dict[str, Any]] = []
        looks: tuple[tuple[np.ndarray, dict[str, Any]], ...] = (
            (marks.inferred, {"symbol": "o", "size": 7, "pen": pen(self._theme.soft, 1.4), "brush": None}),
            (marks.cliffs, {"symbol": "s", "size": 12, "pen": pen(self._theme.attention, 2.4), "brush": None}),
        )
        for marked, look in looks if shown and marks.inferred.shape == self._ys.shape else ():
            spots += [{"pos": (self._xs[i], self._ys[i]), **look} for i in np.flatnonzero(marked)]
        self._signs.setData(spots)

    def _draw_chosen(self, scene: Scene) -> None:
        chosen = np.flatnonzero(scene.chosen()[: self._xs.size])  # a draft may have fewer breakpoints
        at_head = self._ys if self._ys.size == self._xs.size else np.zeros(self._xs.size)
        sizes = np.full(len(chosen), 8)
        current = scene.focus.cell[0] if scene.focus.cell else -1
        sizes[chosen == current] = 11
        self._marks.setData(
            self._xs[chosen], at_head[chosen], size=sizes, brush=QColor(self._theme.accent),
            pen=pen(self._theme.card, 1.5), symbol="o",
        )  # fmt: skip
        self._cell_band.setVisible(bool(len(chosen)))
        if len(chosen):
            edges = np.interp(np.array([chosen[0] - 0.5, chosen[-1] + 0.5]), np.arange(len(self._xs)), self._xs)
            self._cell_band.setRegion((float(edges[0]), float(edges[1])))
            self._cell_band.setBrush(faint(self._theme.attention, 34))
            for line in self._cell_band.lines:
                line.setPen(pen(self._theme.card, 0.0, Qt.PenStyle.NoPen))

    def _on_click(self, x: float, _: float) -> None:
        if self._xs.size:
            self.chosen.emit((int(np.argmin(np.abs(self._xs - x))),), ())

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Catch a press on a chosen point, drag it, and let arrow keys walk and nudge."""
        if isinstance(event, QMouseEvent) and watched is self.plot.widget.viewport():
            return self._on_mouse(event)
        if isinstance(event, QKeyEvent) and event.type() == QEvent.Type.KeyPress and watched is self.plot.widget:
            return self._on_key(event)
        return super().eventFilter(watched, event)

    def _on_mouse(self, event: QMouseEvent) -> bool:
        kind = event.type()
        if kind == QEvent.Type.MouseButtonPress and event.button() == Qt.MouseButton.LeftButton:
            self._grabbed = self._near(event.position())
        elif kind == QEvent.Type.MouseButtonRelease and self._grabbed is not None:
            self._grabbed = None
            self._make_room(self._scene)
            return True
        elif kind == QEvent.Type.MouseMove and self._grabbed is not None:
            self._drag_to(self._spot(event.position()).y())
        return self._grabbed is not None

    def _on_key(self, event: QKeyEvent) -> bool:
        cell = self._scene.focus.cell
        steps = {Qt.Key.Key_Left: -1, Qt.Key.Key_Right: 1}
        nudges = {Qt.Key.Key_Up: 1 + NUDGE, Qt.Key.Key_Down: 1 / (1 + NUDGE)}
        if not cell or not self._xs.size:
            return False
        if event.key() in steps and not event.modifiers():
            walked = int(np.clip(cell[0] + steps[Qt.Key(event.key())], 0, len(self._xs) - 1))
            self.chosen.emit((walked,), ())
            return True
        if event.key() in nudges and self._scene.head is not None:
            shown, head = self._scene.shown_table, self._scene.head.table
            so_far = shown.values[cell] / head.values[cell] if shown is not None and head.values[cell] else 1.0
            self.pulled.emit(cell, float(so_far * nudges[Qt.Key(event.key())]))
            return True
        return False

    def _spot(self, place: QPointF) -> QPointF:
        return QPointF(self.plot.box.mapSceneToView(self.plot.widget.mapToScene(place.toPoint())))

    def _near(self, place: QPointF) -> int | None:
        """Find the chosen point under the pointer."""
        chosen = np.flatnonzero(self._scene.chosen()) if self._scene.table is not None else np.zeros(0, dtype=int)
        for i in chosen:
            point = self.plot.box.mapViewToScene(QPointF(float(self._xs[i]), float(self._ys[i])))
            shown = self.plot.widget.mapFromScene(point)
            if abs(shown.x() - place.x()) + abs(shown.y() - place.y()) < GRAB_PX:
                return int(i)
        return None

    def _drag_to(self, y: float) -> None:
        cell, head, reference = self._grabbed, self._scene.head, self._scene.reference
        if cell is None or head is None or reference is None:
            return
        value = float(head.table.values[cell])
        if self._scene.focus.layer == "value":
            factor = y / value if value else 1.0
        elif self._scene.focus.layer == "change":
            factor = (1 + y / 100) * float(reference.table.values[cell]) / value if value else 1.0
        else:
            factor = y
        self.pulled.emit((cell,), factor)


def _change(values: FloatArray, reference: FloatArray) -> FloatArray:
    flat = np.where(values == reference, 0.0, np.nan)
    return np.divide((values - reference) * 100, reference, out=flat, where=reference != 0)
