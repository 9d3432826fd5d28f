"""The card of the picture: a legend that says what is drawn, and the curve, or the heat picture with its slices."""

import html

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QWidget

from workbench.window.kit.controls import Card, label
from workbench.window.kit.task_panel import PanelColumn
from workbench.window.kit.theme import Theme
from workbench.window.scene.scene import Scene
from workbench.window.table.beside import colour_of, long_name, sign_of
from workbench.window.table.curve_view import CurveView
from workbench.window.table.grid_view import GridView
from workbench.window.table.inferred_marks import cell_marks
from workbench.window.words.wording import tr

LINE, DASH = "━", "╍"


class PictureCard(Card):
    """Shows a table as a picture.

    Signals:
        asked: another height is asked for.
    """

    asked = Signal()

    def __init__(self, parent: QWidget) -> None:
        """Make both pictures; one of them is seen."""
        super().__init__(tr("Picture"), parent)
        self._legend = label("", self, "soft", wrap=True)
        self._legend.setTextFormat(Qt.TextFormat.RichText)
        self.curve, self.grid = CurveView(self), GridView(self)
        self.pictures = PanelColumn(self)
        self.pictures.add(self.curve)
        self.pictures.add(self.grid)
        self.column.addWidget(self._legend)
        self.column.addWidget(self.pictures, 1)

    @property
    def shown(self) -> CurveView | GridView:
        """The picture that is seen."""
        return self.grid if self.pictures.shown is self.grid else self.curve

    def show_scene(self, scene: Scene, theme: Theme) -> None:
        """Draw the table that is looked at."""
        curve = scene.table is None or scene.table.kind == "curve"
        self.pictures.turn_to(self.curve if curve else self.grid)
        self.shown.show_scene(scene, theme)
        self._legend.setText(legend_text(scene, theme))
        self._legend.setToolTip(legend_tip(scene))
        self.fit()

    def redress(self) -> None:
        """Take over theme and text size."""
        self.curve.redress()
        self.grid.redress()
        self.fit()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Require as much height as the picture takes at this width."""
        super().resizeEvent(event)
        self.fit()

    def fit(self) -> None:
        """Ask for the height below which nothing could be read off the picture."""
        lines = 9 if self.curve.strip.isHidden() else 13
        if self.shown is self.grid:
            lines = self.grid.arrange(self.width())
        room = self.column.contentsMargins()
        wide = self.width() - room.left() - room.right()
        legend = self._legend.heightForWidth(wide) + self.column.spacing()
        need = lines * self.fontMetrics().height() + legend + room.top() + room.bottom()
        if need != self.minimumHeight():
            self.setMinimumHeight(need)
            self.asked.emit()


Part = tuple[str, str, str]  # colour, sign, words


MEASURED = ("ratio", "half_width")  # layers in which cells that nobody drove in have no number


def legend_text(scene: Scene, theme: Theme) -> str:
    """Name every line and mark of the picture in its colour, as rich text."""
    grid = scene.table is not None and scene.table.kind == "grid"
    layer = "value" if grid else scene.focus.layer
    if layer == "value":
        parts = _of_values(scene, theme, grid=grid)
    elif layer == "change":
        words = tr("change since revision {id}, %").format(id=scene.reference.id if scene.reference else 1)
        parts = [(theme.ink, LINE, words)]
    else:
        parts = _of_ratio(scene, theme)
    if layer in ("value", "change"):
        beside = enumerate(scene.beside)
        parts += [(colour_of(at, theme), sign_of(at), html.escape(long_name(each))) for at, each in beside]
    parts += _of_marks(scene, theme, grid=grid)
    if grid and scene.focus.layer in MEASURED:
        parts.append((theme.soft, "▨", tr("being evaluated") if scene.gathers else tr("nothing measured")))
    if scene.focus.before and scene.reference is not None:
        words = tr("showing revision {id}; F4 returns").format(id=scene.reference.id)
        parts.append((theme.attention, "◆", words))
    if scene.draft is not None:
        parts.append((theme.attention, DASH, tr("draft")))
    # A sign stays with the first of its words where lines break.
    named = [f'<span style="color:{colour}">{sign}&nbsp;{text}</span>' for colour, sign, text in parts]
    if scene.table is not None and layer == "value":
        named.insert(0, f'<span style="color:{theme.soft}">{html.escape(scene.table.value_label)}</span>')
    return "&nbsp; ".join(named)


def _of_values(scene: Scene, theme: Theme, *, grid: bool) -> list[Part]:
    """Name the lines of values, and what the strip under those of a curve shows."""
    parts, reference = list[Part](), scene.reference
    compared = reference is not None and reference is not scene.head
    if compared and reference is not None and reference not in scene.beside:
        parts.append((theme.soft, LINE, tr("revision {id}").format(id=reference.id)))
    parts.append((theme.ink, LINE, tr("now")))
    if scene.fitting_evidence is not None:
        parts.append((theme.accent, LINE, tr("evidence")))
    if not grid and reference is not None and (compared or scene.draft is not None):
        words = tr("below: change since revision {id}, %").format(id=reference.id)
        parts.append((theme.soft, "▁", words))
    return parts


def _of_marks(scene: Scene, theme: Theme, *, grid: bool) -> list[Part]:
    """Name the marks of inferred cells and of cliffs, where there are such."""
    if scene.focus.layer not in ("value", "change"):
        return []
    marks = cell_marks(scene)
    inferred = [(theme.soft, "▧" if grid else "○", tr("inferred"))] if marks.inferred.any() else []
    return [*inferred, *([(theme.attention, "□", tr("cliff"))] if marks.cliffs.any() else [])]


def _of_ratio(scene: Scene, theme: Theme) -> list[Part]:
    if scene.fitting_evidence is None:
        words = tr("airflow ratio: evaluating the logs…") if scene.gathers else tr("airflow ratio: no evidence yet")
        return [(theme.soft, LINE, words)]
    ratio = (theme.accent, LINE, tr("airflow ratio, 95 % interval"))
    return [ratio, (theme.soft, "•", tr("samples")), (theme.soft, "○", tr("undriven"))]


def legend_tip(scene: Scene) -> str:
    """Describe how the picture is read."""
    if scene.table is not None and scene.table.kind == "grid":
        return tr(
            "Heat picture: one rectangle per cell, coloured by the layer that is chosen; dots are accepted samples. "
            "Slices: the row and the column of the current cell, with the evidence as a band, its 95 % interval (±)."
        )
    return tr(
        "The band is the evidence with its 95 % interval (±); rings are undriven cells. Drag a chosen point, or "
        "nudge it with the arrow keys."
    )
