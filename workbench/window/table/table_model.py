"""The cells of a table as Qt's views ask for them; what differs from what was painted is told, all of it."""

from dataclasses import replace
from typing import Any

import numpy as np
from PySide6.QtCore import QAbstractTableModel, QModelIndex, QObject, QPersistentModelIndex, Qt

from workbench.model.history import Revision
from workbench.model.table import Table
from workbench.window.kit.theme import Theme
from workbench.window.scene.last_drawn import LastDrawn
from workbench.window.scene.scene import Layer, Scene
from workbench.window.table.beside import long_name, short_name
from workbench.window.table.cell_entry import from_to
from workbench.window.table.inferred_marks import cell_marks
from workbench.window.table.layers import (
    NAMES,
    TIPS,
    LayerPicture,
    change_texts,
    drafted_cells,
    has_storage,
    layer_name,
    layer_picture,
    text_colours,
    value_texts,
)
from workbench.window.words.wording import plain, tr

CURVE_LAYERS: tuple[Layer, ...] = ("value", "change", "ratio", "half_width", "samples", "standing")
TableColumn = Layer | int  # a layer, or the number of a revision whose values stand beside
Index = QModelIndex | QPersistentModelIndex
NOWHERE = QModelIndex()
FEW = 12  # cells that are told one by one; from there on painting all of them is as quick


def curve_layers(scene: Scene) -> tuple[TableColumn, ...]:
    """Choose the columns of a curve: after its values those of other revisions that are shown; the storage error last.

    Revisions with other breakpoints have no row here.
    """
    table = scene.shown_table
    beside = [each.id for each in scene.beside if table is not None and each.table.same_axes(table)]
    layers = (*CURVE_LAYERS, "storage") if has_storage(scene) else CURVE_LAYERS
    return (layers[0], *beside, *layers[1:])


def grid_lines(scene: Scene) -> tuple[TableColumn, ...]:
    """Choose what stands in a cell of a grid: the layer, and under values or changes those of other revisions."""
    table, layer = scene.shown_table, scene.focus.layer
    if table is None or layer not in ("value", "change"):
        return (layer,)
    return (layer, *(each.id for each in scene.beside if each.table.same_axes(table)))


OF_EVIDENCE = ("ratio", "half_width", "samples", "standing")  # columns that a draft leaves as they were


class TableModel(QAbstractTableModel):
    """A curve as one row per breakpoint with all layers beside each other; a grid as itself, one layer at a time."""

    def __init__(self, parent: QObject) -> None:
        """Begin empty."""
        super().__init__(parent)
        self.table: Table | None = None
        self.layer: Layer = "value"
        self.columns: tuple[TableColumn, ...] = ()
        self.pictures: dict[TableColumn, LayerPicture] = {}
        self.inverse: dict[TableColumn, np.ndarray] = {}
        self._beside: tuple[Revision, ...] = ()
        self._heads: dict[tuple[int, Qt.Orientation], str] = {}
        self._last = LastDrawn()
        self._since: int | None = None  # revision that changes are counted from
        self._drafted = False  # whether a draft is shown, of which the ratios are not
        self._steps: dict[tuple[int, ...], str] = {}  # cell -> from what to what the draft changes it

    def show_scene(self, scene: Scene, theme: Theme) -> None:
        """Take over what changed and tell the views no more than that."""
        storage = None if scene.state is None else scene.state.ecu_format(scene.focus.table).storage
        table = scene.shown_table
        looked_at = (scene.focus.layer, scene.focus.beside, scene.focus.outside, scene.reference)
        marks, known = cell_marks(scene), (scene.fitting_evidence, scene.silent)
        if not self._last.is_other(table, *known, *looked_at, theme, storage, marks, scene.draft is not None):
            return
        curve = table is not None and table.kind == "curve"
        wanted: tuple[TableColumn, ...] = curve_layers(scene) if curve else grid_lines(scene)
        fresh = table is None or self.table is None or not table.same_axes(self.table)
        fresh = fresh or len(wanted) != len(self.columns) or (curve and wanted != self.columns)
        if fresh:
            self.beginResetModel()
        before, heads = self._look(), [self._heading(each) for each in self.columns]
        self.table, self.layer, self.columns = table, scene.focus.layer, wanted
        self._beside = scene.beside
        self._heads = {}
        self._since = None if scene.reference is None else scene.reference.id
        self._drafted = scene.draft is not None
        self._steps = _steps(scene)
        self.pictures = {} if table is None else {each: _picture(scene, each, theme) for each in wanted}
        self.inverse = {layer: text_colours(picture.colours, theme) for layer, picture in self.pictures.items()}
        if fresh:
            self.endResetModel()
            return
        if self.curve and heads != [self._heading(each) for each in wanted]:
            self.headerDataChanged.emit(Qt.Orientation.Horizontal, 0, len(wanted) - 1)
        self._tell_changed(before)

    @property
    def curve(self) -> bool:
        """Whether the table is a curve."""
        return self.table is not None and self.table.kind == "curve"

    def _look(self) -> dict[TableColumn, tuple[np.ndarray, ...]]:
        """Return all that is painted of each cell besides its place, as arrays of the shape of the table."""
        found: dict[TableColumn, tuple[np.ndarray, ...]] = {}
        for layer, picture in self.pictures.items():
            lit = np.full(picture.texts.shape, layer == self.layer)
            found[layer] = (picture.texts, picture.bars, self.inverse[layer], lit, *np.moveaxis(picture.colours, -1, 0))
        return found

    def _tell_changed(self, before: dict[TableColumn, tuple[np.ndarray, ...]]) -> None:
        """Report every cell that looks otherwise than before; of all of them where they are many."""
        differs = np.zeros((self.rowCount(), self.columnCount()), dtype=np.bool_)
        for column, (layer, parts) in enumerate(self._look().items()):
            place = (slice(None), column) if self.curve else (slice(None), slice(None))
            old = before.get(layer)
            if old is None or any(a.shape != b.shape for a, b in zip(old, parts, strict=True)):
                differs[place] = True
                continue
            for a, b in zip(old, parts, strict=True):
                differs[place] |= a != b
        if differs.sum() > FEW:
            self.dataChanged.emit(self.index(0, 0), self.index(self.rowCount() - 1, self.columnCount() - 1))
            return
        for row, column in np.argwhere(differs).tolist():
            self.dataChanged.emit(self.index(row, column), self.index(row, column))

    def cell(self, row: int, column: int) -> tuple[TableColumn, tuple[int, ...]]:
        """Return which layer, or which other revision's values, and which cell of the table a place shows."""
        return (self.columns[column], (row,)) if self.curve else (self.layer, (row, column))

    def rowCount(self, parent: Index = NOWHERE) -> int:
        """Count the rows."""
        return 0 if self.table is None or parent.isValid() else self.table.shape[0]

    def columnCount(self, parent: Index = NOWHERE) -> int:
        """Count the columns."""
        if self.table is None or parent.isValid():
            return 0
        return len(self.columns) if self.curve else self.table.shape[1]

    def texts_of(self, column: int) -> tuple[np.ndarray, ...]:
        """Return the texts that stand in a column, layer by layer or revision by revision."""
        if self.curve:
            return (self.pictures[self.columns[column]].texts.ravel(),)
        return tuple(self.pictures[each].texts[:, column] for each in self.columns)

    def texts_under(self, cell: tuple[int, ...]) -> tuple[str, ...]:
        """Return what stands in a cell of a grid under its own text: what it holds in other revisions."""
        return () if self.curve else tuple(str(self.pictures[each].texts[cell]) for each in self.columns[1:])

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        """Return the text of a cell, or a sentence about it."""
        if self.table is None or not index.isValid():
            return None
        if role not in (
            Qt.ItemDataRole.DisplayRole,
            Qt.ItemDataRole.AccessibleTextRole,
            Qt.ItemDataRole.ToolTipRole,
            Qt.ItemDataRole.TextAlignmentRole,
        ):
            return None
        if role == Qt.ItemDataRole.TextAlignmentRole:
            return Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter
        layer, cell = self.cell(index.row(), index.column())
        text = str(self.pictures[layer].texts[cell])
        if role == Qt.ItemDataRole.DisplayRole:
            return text
        words = f"{self.table.cell_name(cell)}: {self._column_name(layer)} {text or tr('unknown')}"
        if cell in self._steps and not self.curve:
            words = tr("{cell}: draft {step}").format(cell=self.table.cell_name(cell), step=self._steps[cell])
        return words if self.curve else "\n".join([words, *self._values_beside(cell)])

    def _values_beside(self, cell: tuple[int, ...]) -> list[str]:
        """Write what a cell of a grid holds in the other revisions that are shown."""
        table, words = self.table, tr("{name}: {value}")
        there = [each for each in self._beside if table is not None and each.table.same_axes(table)]
        return [
            words.format(name=long_name(each), value=plain(float(f"{each.table.values[cell]:.6g}"))) for each in there
        ]

    @property
    def corner(self) -> str:
        """What the breakpoints down the side are counted in, and in a grid those along the top, as its file says it."""
        units = [] if self.table is None else [axis.unit or axis.name for axis in self.table.axes]
        return "/".join(units)

    def headerData(self, section: int, orientation: Qt.Orientation, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        """Return breakpoints, or names of layers; None beyond the table.

        While the model is reset, one heading asks for sections of the table before as long as the other is laid out. An
        exception raised here, inside Qt's own call, would end the whole program.
        """
        if role == Qt.ItemDataRole.DisplayRole and (kept := self._heads.get((section, orientation))) is not None:
            return kept  # a heading is asked for several times by each of its sections whenever the window is dressed
        count = self.columnCount() if orientation == Qt.Orientation.Horizontal else self.rowCount()
        if self.table is None or section >= count:
            return None
        text = self._head(section, orientation, role)
        if role == Qt.ItemDataRole.DisplayRole and text is not None:
            self._heads[section, orientation] = text
        return text

    def _head(self, section: int, orientation: Qt.Orientation, role: int) -> str | None:
        """Write a heading of a table that has this section."""
        if self.table is None:
            return None
        if orientation == Qt.Orientation.Horizontal and self.curve:
            if role == Qt.ItemDataRole.DisplayRole:
                return self._heading(self.columns[section])
            return self._column_tip(self.columns[section]) if role == Qt.ItemDataRole.ToolTipRole else None
        axis = self.table.axes[0 if orientation == Qt.Orientation.Vertical else 1]
        if role == Qt.ItemDataRole.DisplayRole:
            return plain(float(axis.breakpoints[section]))
        if role in (Qt.ItemDataRole.ToolTipRole, Qt.ItemDataRole.AccessibleTextRole):
            return f"{axis.name} {plain(float(axis.breakpoints[section]))} {axis.unit}".strip()
        return None

    def _column_name(self, column: TableColumn) -> str:
        """Name a column in words."""
        return self._name_beside(column) if isinstance(column, int) else layer_name(column)

    def _column_tip(self, column: TableColumn) -> str:
        if isinstance(column, int):
            return tr("Values of {name}.").format(name=self._name_beside(column))
        if column == "change" and self._since is not None:
            return tr("Change of each cell since revision {id}, in percent.").format(id=self._since)
        words = tr("Of the table before the draft that is shown.") if self._drafted and column in OF_EVIDENCE else ""
        return f"{words}\n{tr(TIPS[column])}".strip()

    def _name_beside(self, number: int) -> str:
        return next((long_name(each) for each in self._beside if each.id == number), short_name(number))

    def _heading(self, layer: TableColumn) -> str:
        if isinstance(layer, int):
            return tr("rev. {id}").format(id=layer) if layer >= 0 else short_name(layer)
        if layer == "value" and self.table is not None:
            return self.table.unit or tr("value")
        return {
            "ratio": tr("ratio*") if self._drafted else tr("ratio"),
            "half_width": "±",
            "change": tr("change") if self._since is None else tr("since {id}").format(id=self._since),
            "samples": "n",
            "standing": "",
            "storage": tr("stored"),
        }.get(layer, tr(NAMES[layer]))


def _picture(scene: Scene, column: TableColumn, theme: Theme) -> LayerPicture:
    """Compute what a column, or a grid, shows."""
    if not isinstance(column, int):
        return _with_draft(scene, column, layer_picture(scene, column, theme))
    shown, (revision,) = layer_picture(scene, "value", theme), [each for each in scene.beside if each.id == column]
    numbers, grid = revision.table.values, revision.table.kind == "grid"
    if not grid:
        return replace(shown, numbers=numbers, texts=value_texts(numbers, shown.numbers))
    texts = value_texts(numbers, shown.numbers)
    if scene.focus.layer == "change" and scene.reference is not None:
        numbers, texts = change_texts(numbers, scene.reference.table)
    named = np.array([f"{short_name(column)}: {text}" if text else "" for text in texts.ravel()], dtype=object)
    return replace(shown, numbers=numbers, texts=named.reshape(texts.shape))


def _with_draft(scene: Scene, layer: Layer, picture: LayerPicture) -> LayerPicture:
    """Write the draft's change where a grid shows no values: its numbers are those of the table before."""
    head, table, drafted = scene.head, scene.shown_table, drafted_cells(scene)
    if layer in ("value", "change") or drafted is None or head is None or table is None or table.kind == "curve":
        return picture
    _, changes = change_texts(table.values, head.table)
    changes = np.where(changes == "", value_texts(table.values, head.table.values), changes)  # from 0
    return replace(picture, texts=np.where(drafted, changes, picture.texts))


def _steps(scene: Scene) -> dict[tuple[int, ...], str]:
    """Write from what to what the draft changes each cell that it changes."""
    head, table, drafted = scene.head, scene.shown_table, drafted_cells(scene)
    if drafted is None or head is None or table is None or table.kind == "curve":
        return {}
    places = (tuple(int(i) for i in place) for place in np.argwhere(drafted))
    old, new = head.table.values, table.values
    return {cell: from_to(float(old[cell]), float(new[cell]), table.unit) for cell in places}
