"""The card of the numbers: which layer, the cells, and the line in which changes are typed."""

from collections.abc import Collection, Mapping
from typing import NamedTuple

from PySide6.QtCore import QEvent, QObject, Qt, QTimer, Signal
from PySide6.QtGui import QKeyEvent, QKeySequence, QResizeEvent
from PySide6.QtWidgets import QBoxLayout, QLineEdit, QWidget

from workbench.errors import InputError
from workbench.window.kit.controls import Card, choice, label, rekind, unwheeled
from workbench.window.kit.flow_layout import Flow
from workbench.window.kit.theme import Theme
from workbench.window.scene.scene import LAYERS, Draft, Layer, Scene
from workbench.window.table.cell_entry import Entry, from_to, read_entry
from workbench.window.table.inferred_marks import cell_marks
from workbench.window.table.layers import NAMES, TIPS, drafted_cells, has_storage, layer_name, leans
from workbench.window.table.table_model import TableColumn, curve_layers
from workbench.window.table.table_view import TableView
from workbench.window.words.wording import percent, plural, tr

SEEN: Mapping[Layer, str] = {
    "change": "Changes are seen here",
    "ratio": "Ratios are seen here",
    "half_width": "Intervals are seen here",
    "samples": "Samples are seen here",
    "standing": "The standing is seen here",
    "storage": "Storage errors are seen here",
}
BESIDE_EM = 20  # lines of text that the card is wide, from which on the meaning stands beside the entry


class Place(NamedTuple):
    """Session, table and revision that are shown."""

    session: str
    table: str
    revision: int


class NumbersCard(Card):
    """Shows the table as numbers.

    Signals:
        layer_chosen: name of a layer.
        table_chosen: name of a table.
        previewed: an Entry to be shown as a draft, or None to drop it.
        applied: the draft is to be recorded.
    """

    layer_chosen = Signal(str)
    table_chosen = Signal(str)
    previewed = Signal(object)
    applied = Signal()

    def __init__(self, parent: QWidget) -> None:
        """Make an empty card."""
        super().__init__(tr("Numbers"), parent)
        self._layers = choice(tr("Layer"), [(layer_name(layer), layer) for layer in NAMES], self, whole=True)
        self._layers.activated.connect(lambda i: self.layer_chosen.emit(self._layers.itemData(i)))
        self._tables = choice(tr("Table"), [], self, tr("The table to work on."), whole=True)
        self._tables.activated.connect(lambda i: self.table_chosen.emit(self._tables.itemText(i)))
        self._where = label("", self)
        self._where.setAccessibleName(tr("Current cell"))
        line = Flow()
        line.addWidget(self._tables)
        line.addWidget(self._layers)
        line.push()
        line.addWidget(self._where)
        self.column.addLayout(line)
        self.view = TableView(self)
        unwheeled(self.view)
        self.column.addWidget(self.view, 1)
        self._line = QLineEdit(self)
        self._line.setAccessibleName(tr("Change the chosen cells"))
        self._line.setPlaceholderText(tr("+3 % or 12.5"))
        self._line.setToolTip(
            tr("12.5 sets, +3 % changes by a percentage, *0.97 scales, +0.4 adds; a note may follow a semicolon.")
        )
        self._line.installEventFilter(self)
        self._line.textEdited.connect(self._on_text)
        self._meaning = label("", self, "soft", wrap=True)
        self._meaning.setMinimumHeight(self._line.sizeHint().height())
        self._foot = QBoxLayout(QBoxLayout.Direction.LeftToRight)
        self._foot.setSpacing(8)
        self._foot.addWidget(self._line, 2)
        self._foot.addWidget(self._meaning, 3)
        self.column.addLayout(self._foot)
        self.view.typed.connect(self._on_typed)
        self._resized = QTimer(self)
        self._resized.setSingleShot(True)
        self._resized.timeout.connect(self._tell_signs)
        self.view.horizontalHeader().sectionResized.connect(lambda *_: self._resized.start())
        self._again = QTimer(self)
        self._again.setSingleShot(True)
        self._again.timeout.connect(lambda: self._on_text(self._line.text()))
        self._chosen, self._scene = 0, Scene()
        self._draft: Draft | None = None
        self._previewing = False
        self._signs, self._at = "", Place("", "", 0)
        self._seen: Layer = self._scene.focus.layer
        self._refused: Place | None = None  # where a change was refused, while that is still to be read

    def show_scene(self, scene: Scene, theme: Theme) -> None:
        """Show the table that is looked at."""
        self._scene = scene
        self._show_choices(scene)
        self.view.show_scene(scene, theme)
        self._chosen = int(scene.chosen().sum()) if scene.table is not None else 0
        if scene.table is not None and scene.focus.cell:
            name = scene.table.cell_name(scene.focus.cell)
            self._where.setText(
                name if self._chosen <= 1 else tr("{name} and {n} more").format(name=name, n=self._chosen - 1)
            )
        self._show_entry(scene)

    def _show_choices(self, scene: Scene) -> None:
        shown = [layer for layer in LAYERS if layer != "storage" or has_storage(scene)]
        if self._layers.count() != len(shown):
            self._layers.clear()
            for layer in shown:
                self._layers.addItem(layer_name(layer), layer)
        self._layers.setCurrentIndex(self._layers.findData(scene.focus.layer))
        self._layers.setToolTip(tr(TIPS[scene.focus.layer]))
        names = () if scene.state is None else scene.state.history.table_names
        if names != tuple(self._tables.itemText(i) for i in range(self._tables.count())):
            self._tables.clear()
            self._tables.addItems(list(names))
        self._tables.setVisible(len(names) > 1)
        if scene.focus.table:
            self._tables.setCurrentText(scene.focus.table)

    def _show_entry(self, scene: Scene) -> None:
        """Clear the line when what stands in it is done with, and say what can be done or waits."""
        before, self._draft, was_at, was_seen = self._draft, scene.draft, self._at, self._seen
        self._signs, self._at = signs_of(scene, given_way(self.view)), place_of(scene)
        self._seen = scene.focus.layer
        if self._refused is not None:
            # What was typed is not lost with the revision it was typed for.
            same = self._at[:2] == self._refused[:2] if self._line.text() else self._at == self._refused
            if scene.draft is None and same:
                return
            self._refused = None
        if self._previewing:
            return
        if before is None and scene.draft is None and self._at == was_at and self._line.text():
            if self._seen != was_seen:
                self._again.start()  # where values are seen a bare number can be meant
            return
        # A draft that comes from elsewhere is not what stands in the line; Enter must not seem to apply that.
        if scene.draft is not before or (scene.draft is None and not self._line.hasFocus()):
            self._line.clear()
            if scene.draft is None:
                self._say(self._signs, "soft")
            else:
                self._say(draft_words(scene), "trouble" if leans(scene) else "attention")

    def _tell_signs(self) -> None:
        """Explain the columns that are seen now: some may have given way, or come again."""
        told, self._signs = self._signs, signs_of(self._scene, given_way(self.view))
        if self._meaning.text() == told:
            self._say(self._signs, "soft")

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Set the meaning of an entry beside it, or below it where there is little room."""
        super().resizeEvent(event)
        beside = self.width() >= BESIDE_EM * self.fontMetrics().height()
        ways = QBoxLayout.Direction
        self._foot.setDirection(ways.LeftToRight if beside else ways.TopToBottom)
        self.fit()

    @property
    def need(self) -> int:
        """The width at which all columns are seen, px."""
        room = self.column.contentsMargins()
        return self.view.need + room.left() + room.right() + self.width() - self.contentsRect().width()

    def redress(self) -> None:
        """Take over a new text size, or another height of controls."""
        self._meaning.setMinimumHeight(self._line.sizeHint().height())
        self.view.fit()
        self.fit()

    def fit(self) -> None:
        """Ask for the height below which the parts would lie over each other."""
        self.setMinimumHeight(self.column.minimumHeightForWidth(self.width()))

    def begin(self, text: str) -> None:
        """Begin an entry, with its first character; a draft waits until something is typed in its place."""
        if not text and self._draft is not None:
            self._line.setFocus()
            return
        self._line.setText(text)
        self._line.setFocus()
        self._on_text(text)

    def _on_typed(self, text: str) -> None:
        """Take what was typed in the cells: Enter applies a draft that is shown, and else begins an entry."""
        if not text and self._draft is not None:
            self._apply()
        else:
            self.begin(text)

    def say_refused(self, error: InputError) -> None:
        """Show why an entry cannot be applied, where it was typed; it stays there until the entry is another."""
        self._say(str(error), "trouble")
        self._refused = self._at

    def _on_text(self, text: str) -> None:
        self._refused = None
        if not text.strip():
            self._preview(None)
            self._say(tr("12.5 sets, +3 % changes by a percentage, *0.97 scales, +0.4 adds."), "soft")
            return
        try:
            entry: Entry = read_entry(text)
        except InputError as error:
            self._preview(None)
            self._say(error.hint, "soft")
            return
        if refusal := self._barred(entry):
            self._preview(None)
            self._say(refusal, "trouble")
            return
        table, cell = self._scene.table, self._scene.focus.cell
        cells = plural(self._chosen, "1 cell", "{n} cells").format(n=self._chosen)
        cells = table.cell_name(cell) if self._chosen == 1 and table is not None and cell else cells
        words = f"{cells} {entry.meaning}"
        self._say(tr("{words}. Enter applies, Esc drops.").format(words=words), "attention")
        self._preview(entry)
        told = entry.word == "scale" and self._chosen > 1  # the meaning says by how much
        step, lean = "" if told else step_words(self._scene), leans(self._scene)
        if self._refused is None and (step or lean):
            words = f"{words}: {step}" if step else words
            words = tr("Leaner at high load: {words}").format(words=words) if lean else words
            kind = "trouble" if lean else "attention"
            self._say(tr("{words}. Enter applies, Esc drops.").format(words=words), kind)

    def _barred(self, entry: Entry) -> str:
        """Say why a bare number cannot be meant where no values are seen; empty where it can."""
        curve = self.view.cells.curve
        hidden = "value" in given_way(self.view) if curve else self._scene.focus.layer != "value"
        if entry.word != "set" or not hidden:
            return ""
        seen = tr(SEEN.get(self._scene.focus.layer, "No values are seen here"))
        return tr("{seen}: type x1.02 or +2 %, or look at values (Ctrl+1).").format(seen=seen)

    def _preview(self, entry: Entry | None) -> None:
        """Show an entry as a draft; drawing it does not clear the line."""
        self._previewing = True
        self.previewed.emit(entry)
        self._previewing = False

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Apply by Enter, drop by Esc, and go back to the cells; with nothing typed, undo is the table's."""
        if watched is not self._line:
            return super().eventFilter(watched, event)
        if event.type() == QEvent.Type.FocusOut and not self._line.text() and self._draft is None:
            self._say(self._signs, "soft")
        return self._on_key(event) if isinstance(event, QKeyEvent) else super().eventFilter(watched, event)

    def _on_key(self, event: QKeyEvent) -> bool:
        if event.type() == QEvent.Type.ShortcutOverride and not self._line.text():
            undo = event.matches(QKeySequence.StandardKey.Undo) or event.matches(QKeySequence.StandardKey.Redo)
            if undo:
                event.ignore()
                return True
        if event.type() == QEvent.Type.KeyPress:
            if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
                self._apply()
                return True
            if event.key() == Qt.Key.Key_Escape:
                self._drop()
                return True
        return False

    def _apply(self) -> None:
        """Record the draft; where it went with a refusal, show it as a draft of the current table first."""
        text = self._line.text()
        if self._draft is None and (self._refused is not None or self._hears_no(text)):
            self._on_text(text)
            return
        self._refused = None
        self.applied.emit()
        if self._refused is None:
            self.view.setFocus()
            if not self._line.text() and self._draft is None:
                self._say(self._signs, "soft")
        else:
            self._line.setText(text)

    def _hears_no(self, text: str) -> bool:
        """Tell whether what is typed is barred here: its refusal stays to be read."""
        try:
            return bool(self._barred(read_entry(text)))
        except InputError:
            return False

    def _drop(self) -> None:
        self._line.clear()
        self._refused = None
        self.previewed.emit(None)
        self._say(self._signs, "soft")
        self.view.setFocus()

    def _say(self, text: str, kind: str) -> None:
        if text != self._meaning.text():
            self._meaning.setText(text)
            rekind(self._meaning, kind)
            self.fit()


def draft_words(scene: Scene) -> str:
    """Say that a draft is shown, and how."""
    if leans(scene):
        return tr("Draft shown, leaner at high load: Enter applies, Esc drops.")
    if scene.table is not None and scene.table.kind == "grid" and scene.focus.layer not in ("value", "change"):
        return tr("Draft shown, as its change in % (+ or \N{MINUS SIGN}): Enter applies, Esc drops.")
    return tr("Draft shown: Enter applies, Esc drops. *: before it.")


def step_words(scene: Scene) -> str:
    """Say from what to what the draft changes the one cell it changes, or between which changes it lies for several."""
    head, table, drafted = scene.head, scene.shown_table, drafted_cells(scene)
    if drafted is None or head is None or table is None or not drafted.any():
        return ""
    before, after = head.table.values[drafted], table.values[drafted]
    if before.size == 1:
        return from_to(float(before[0]), float(after[0]), table.unit)
    steps = after[before != 0] / before[before != 0]
    if not steps.size:
        return ""
    least, most = percent(float(steps.min())), percent(float(steps.max()))
    return least if least == most else tr("{least} to {most}").format(least=least, most=most)


def place_of(scene: Scene) -> Place:
    """Return where a change is recorded."""
    head, state = scene.head, scene.state
    return Place("" if state is None else state.path, scene.focus.table, 0 if head is None else head.id)


def marks_words(scene: Scene) -> str:
    """Explain the signs before the numbers, where some stand there; cliffs first."""
    marks = cell_marks(scene)
    if scene.focus.layer not in ("value", "change"):
        return ""
    if marks.cliffs.any():
        return tr("! a step between neighbours without evidence for it: Approve offers what mends it")
    return tr("≈ inferred from its neighbours, not measured") if marks.inferred.any() else ""


def given_way(view: TableView) -> tuple[TableColumn, ...]:
    """Return the columns of a curve that are not seen for want of room."""
    named = enumerate(view.cells.columns) if view.cells.curve else ()
    return tuple(name for at, name in named if view.isColumnHidden(at))


def signs_of(scene: Scene, hidden: Collection[TableColumn] = ()) -> str:
    """Explain the signs that stand in the numbers as they are shown, but for columns that gave way to others."""
    marked = marks_words(scene)
    if scene.focus.before and scene.reference is not None and scene.reference is not scene.head:
        words = tr("These are the values of revision {id}, not the current ones; F4 returns.")
        return " ".join(part for part in (words.format(id=scene.reference.id), marked) if part)
    if marked:
        return marked
    standings = tr("●\N{NO-BREAK SPACE}proven, ◐\N{NO-BREAK SPACE}thin, ○\N{NO-BREAK SPACE}undriven")
    if scene.fitting_evidence is None:
        return tr("Type to change the chosen cells.")
    if scene.table is not None and scene.table.kind == "curve":
        parts = (
            ("half_width", tr("± half the 95 % interval")),
            ("samples", tr("n samples")),
            ("standing", standings),
            ("storage", tr("stored: off by the ECU's step")),
        )
        shown = curve_layers(scene)
        return ", ".join(words for column, words in parts if column in shown and column not in hidden)
    layer = scene.focus.layer
    if layer == "change" and scene.reference is not None:
        return tr("Change since revision {id}, in percent.").format(id=scene.reference.id)
    pale = scene.fitting_evidence.followed.any()
    return {
        "ratio": tr("Above 1: raise the cell. Pale: follows its neighbours, not counted on top.")
        if pale
        else tr("Measured airflow over the table's: above 1, raise the cell."),
        "half_width": tr("±: half of the ratio's 95 % interval, in percent."),
        "samples": tr("Samples per cell."),
        "standing": standings,
    }.get(layer, tr("Type to change the chosen cells."))
