"""The rail on the right: revisions from the newest down, each with its multipliers drawn small."""

from collections.abc import Sequence

import numpy as np
from PySide6.QtCore import (
    QAbstractListModel,
    QItemSelectionModel,
    QModelIndex,
    QPersistentModelIndex,
    QRect,
    QRectF,
    QSize,
    Qt,
    Signal,
)
from PySide6.QtGui import QColor, QFont, QFontMetrics, QKeyEvent, QPainter, QPen, QResizeEvent
from PySide6.QtWidgets import QAbstractItemView, QListView, QStyle, QStyledItemDelegate, QStyleOptionViewItem, QWidget

from workbench.model.arrays import FloatArray
from workbench.model.history import Revision
from workbench.window.kit.theme import LIGHT, Theme
from workbench.window.panels.revision_rows import Branch, Entry, Row, rows_of
from workbench.window.panels.small_pictures import draw_multipliers
from workbench.window.scene.last_drawn import LastDrawn
from workbench.window.scene.scene import Scene
from workbench.window.words.wording import clock, operation, percent, plural, tr

Index = QModelIndex | QPersistentModelIndex
NOWHERE = QModelIndex()
PICTURE_HEIGHT = 40
SEVERAL = 2  # revisions from which on they are shown together
INDENT = 14  # px for each step to the right
BESIDE_LINES = 22  # px that a row keeps free beside its lines


class RailModel(QAbstractListModel):
    """The rows, for Qt's list."""

    def __init__(self, parent: QWidget) -> None:
        """Begin empty."""
        super().__init__(parent)
        self.rows: list[Row] = []

    def put(self, rows: list[Row]) -> None:
        """Show other rows."""
        self.beginResetModel()
        self.rows = rows
        self.endResetModel()

    def rowCount(self, parent: Index = NOWHERE) -> int:
        """Count the rows."""
        return 0 if parent.isValid() else len(self.rows)

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> str | None:
        """Say an entry in one line, and all of it in a tip."""
        if not index.isValid() or index.row() >= len(self.rows):
            return None
        entry = self.rows[index.row()]
        if isinstance(entry, Branch):
            return _branch_words(entry, role)
        revision = entry.revision
        if role == Qt.ItemDataRole.DisplayRole:
            return f"{revision.id} {operation(revision)}"
        if role in (Qt.ItemDataRole.ToolTipRole, Qt.ItemDataRole.AccessibleTextRole):
            parts = [
                tr("Revision {id}: {what}").format(id=revision.id, what=operation(revision)),
                reach_words(entry.moved),
                revision.note,
                tr("{author}, {time}").format(author=revision.author, time=clock(revision.time)),
                *([tr("current")] if entry.head else []),
                *entry.marks(),
            ]
            return "\n".join(part for part in parts if part)
        return None


def _branch_words(branch: Branch, role: int) -> str | None:
    if role == Qt.ItemDataRole.DisplayRole:
        return branch.words
    if role in (Qt.ItemDataRole.ToolTipRole, Qt.ItemDataRole.AccessibleTextRole):
        how = tr("Folded: click, Enter or Right shows it.") if branch.folded else tr("Click, Enter or Left folds it.")
        return f"{branch.words}\n{how}"
    return None


def reach_words(multipliers: FloatArray) -> str:
    """Describe how far the multipliers go, as in "40 cells, −15.2 % to −9.1 %"."""
    moved = multipliers[np.isfinite(multipliers) & (multipliers != 1)]
    outright = int(np.isnan(multipliers).sum())
    parts = []
    if moved.size:
        low, high = percent(float(moved.min())), percent(float(moved.max()))
        span = low if low == high else tr("{low} to {high}").format(low=low, high=high)
        parts.append(plural(moved.size, "1 cell, {span}", "{n} cells, {span}").format(n=moved.size, span=span))
    if outright and outright < multipliers.size:
        parts.append(tr("{n} set to a value").format(n=outright))
    return ", ".join(parts)


def told_of(entry: Entry) -> tuple[str, str, str]:
    """Say of a revision, under its title, how far it went or when it was, its note and its marks; empty without."""
    revision = entry.revision
    reach = reach_words(entry.moved) if revision.parent is not None else ""
    return reach or clock(revision.time), revision.note, " · ".join(entry.marks())


def wrapped(text: str, metrics: QFontMetrics, wide: int, most: int = 2) -> list[str]:
    """Break a text into lines that fit a width, px; what the last of them cannot hold ends in dots."""
    lines, words = list[str](), text.split(" ") if text else []
    while words:
        rest, fits = " ".join(words), 1
        if metrics.horizontalAdvance(rest) <= wide or len(lines) == most - 1:
            return [*lines, metrics.elidedText(rest, Qt.TextElideMode.ElideRight, wide)]
        while metrics.horizontalAdvance(" ".join(words[: fits + 1])) <= wide:
            fits += 1
        lines.append(metrics.elidedText(" ".join(words[:fits]), Qt.TextElideMode.ElideRight, wide))
        words = words[fits:]
    return lines


class _Painter(QStyledItemDelegate):
    """Draws an entry: number, words, the small picture, marks."""

    theme: Theme = LIGHT

    def _room(self) -> int:
        """Return how wide the rows are, px."""
        rail = self.parent()
        return rail.viewport().width() if isinstance(rail, QListView) else 0

    def _holds(self, top: int, high: int) -> bool:
        """Tell whether a line is seen whole: half of one says nothing."""
        rail = self.parent()
        return not isinstance(rail, QListView) or (top >= 0 and top + high <= rail.viewport().height())

    def sizeHint(self, option: QStyleOptionViewItem, index: Index) -> QSize:
        metrics = QFontMetrics(option.font)
        entry: Row = index.model().rows[index.row()]  # type: ignore[attr-defined]  # the rail's own model
        if isinstance(entry, Branch):
            return QSize(120, metrics.height() + 14)
        wide = option.rect.width() or self._room()
        room = wide - INDENT * entry.depth - BESIDE_LINES
        lines = 1 + sum(len(wrapped(text, metrics, room)) for text in told_of(entry))
        picture = PICTURE_HEIGHT if entry.revision.parent is not None else 0
        return QSize(120, lines * (metrics.height() + 1) + picture + 14)

    def paint(self, painter: QPainter, option: QStyleOptionViewItem, index: Index) -> None:
        entry: Row = index.model().rows[index.row()]  # type: ignore[attr-defined]  # the rail's own model
        theme, place = self.theme, QRect(option.rect).adjusted(2, 2, -4, -2)
        painter.save()
        chosen = bool(option.state & QStyle.StateFlag.State_Selected)
        focused = bool(option.state & QStyle.StateFlag.State_HasFocus)
        painter.fillRect(place, QColor(theme.wash if chosen else theme.card))
        if focused:
            painter.setPen(QPen(QColor(theme.attention), 2))
            painter.drawRect(place.adjusted(1, 1, -1, -1))
        if isinstance(entry, Branch):
            painter.setPen(QColor(theme.soft))
            painter.setFont(option.font)
            words = f"{'▸' if entry.folded else '▾'} {entry.words}"
            inside = place.adjusted(INDENT, 0, -4, 0)
            metrics = QFontMetrics(option.font)
            shown = metrics.elidedText(words, Qt.TextElideMode.ElideRight, inside.width())
            if self._holds(place.center().y() - metrics.height() // 2, metrics.height()):
                painter.drawText(inside, Qt.AlignmentFlag.AlignVCenter, shown)
        else:
            colour = theme.attention if entry.draft else theme.accent if entry.head else theme.line
            bar = QRect(place.left() + INDENT * entry.depth, place.top(), 4, place.height())
            painter.fillRect(bar, QColor(colour))
            self._write(painter, QFont(option.font), place.adjusted(bar.left() - place.left() + 12, 3, -4, -3), entry)
        painter.restore()

    def _write(self, painter: QPainter, font: QFont, place: QRect, entry: Entry) -> None:
        theme, revision = self.theme, entry.revision
        bold = QFont(font)
        bold.setWeight(QFont.Weight.DemiBold)
        metrics, high = QFontMetrics(font), QFontMetrics(font).height() + 1
        if self._holds(place.top(), high):
            self._title(painter, (font, bold), place, entry)
        painter.setFont(font)
        top = place.top() + high
        warns = entry.draft or entry.fallen
        shades = theme.soft, theme.ink, theme.attention if warns else theme.accent
        for text, shade in zip(told_of(entry), shades, strict=True):
            painter.setPen(QColor(shade))
            for line in wrapped(text, metrics, place.width()):
                if self._holds(top, high):
                    painter.drawText(place.left(), top + metrics.ascent(), line)
                top += high
        if revision.parent is not None:
            box = QRectF(place.left(), top + 2, place.width(), PICTURE_HEIGHT - 4)
            draw_multipliers(painter, box, entry.moved, theme, draft=entry.draft)

    def _title(self, painter: QPainter, fonts: tuple[QFont, QFont], place: QRect, entry: Entry) -> None:
        """Write the number of a revision and what it did."""
        (font, bold), theme, revision = fonts, self.theme, entry.revision
        metrics = QFontMetrics(font)
        number = str(revision.id)
        painter.setFont(bold)
        painter.setPen(QColor(theme.attention if entry.draft else theme.ink))
        painter.drawText(place.left(), place.top() + metrics.ascent(), number)
        start = place.left() + QFontMetrics(bold).horizontalAdvance(number) + 8
        if not entry.head:
            painter.setFont(font)
        words = QFontMetrics(painter.font()).elidedText(
            operation(revision), Qt.TextElideMode.ElideRight, place.right() - start
        )
        painter.drawText(start, place.top() + metrics.ascent(), words)


class HistoryRail(QListView):
    """The revisions of the table that is looked at.

    Signals:
        compare: number of the revision that changes are counted from.
        looked: number of the revision to be shown in the tables and pictures.
        several: numbers of the revisions that are to be shown together; none where only one is chosen.
        roll_back: number of the revision to go back to.
    """

    compare = Signal(int)
    looked = Signal(int)
    several = Signal(object)
    roll_back = Signal(int)

    def __init__(self, parent: QWidget) -> None:
        """Make it empty."""
        super().__init__(parent)
        self.setObjectName("rail")
        self.setAccessibleName(tr("History of the table"))
        words = tr(
            "Enter compares with a revision; Backspace rolls back to it; Left and Right fold a branch. Several chosen "
            "with Shift or Ctrl are shown together."
        )
        self.setAccessibleDescription(words)
        self._entries = RailModel(self)
        self.setModel(self._entries)
        self._painter = _Painter(self)
        self.setItemDelegate(self._painter)
        self.setVerticalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setUniformItemSizes(False)
        self.setResizeMode(QListView.ResizeMode.Adjust)  # lines break anew at another width
        self.setSelectionMode(QAbstractItemView.SelectionMode.ExtendedSelection)
        self._quiet = False
        self.selectionModel().selectionChanged.connect(self._on_selection)
        self._last = LastDrawn()
        self._head: Revision | None = None
        self._scene = Scene()
        self._turned: dict[int, bool] = {}
        self.activated.connect(self._on_activated)
        self.clicked.connect(self._on_clicked)

    def show_scene(self, scene: Scene, theme: Theme) -> None:
        """Show the history, if it or the theme changed."""
        self._painter.theme = theme
        history = None if scene.state is None else scene.state.history
        drives = tuple(drive.id for drive in scene.counted), None if scene.state is None else scene.state.drives
        unused = None if scene.fitting_evidence is None else tuple(scene.fitting_evidence.unused)
        marks = None if scene.state is None else (scene.state.branches, scene.state.in_car, unused)
        self._scene = scene
        if self._last.is_other(history, drives, marks, scene.draft, scene.focus.table, scene.focus.against, theme):
            before, at = self.revision, self.currentIndex().row()
            row = self._entries.rows[at] if 0 <= at < len(self._entries.rows) else None
            moved = scene.head is not self._head
            self._head = scene.head
            self._put(scene.head.id if scene.head is not None and (moved or before is None) else before)
            if isinstance(row, Branch) and not moved:
                self._choose_branch(row.root)

    def _put(self, wanted: int | None) -> None:
        """Show the rows, and choose the one of a revision, or the one that stands for it, and those shown beside it."""
        self._quiet = True
        rows = rows_of(self._scene, self._turned)
        self._entries.put(rows)
        at = next(
            (i for i, row in enumerate(rows) if isinstance(row, Entry) and row.revision.id == wanted and not row.draft),
            0,
        )
        self.setCurrentIndex(self._entries.index(at))
        if self._scene.focus.beside:
            self._light((*self._scene.focus.beside, *(() if self._head is None else (self._head.id,))))
        self.scrollTo(self._entries.index(0 if self._scene.draft is not None else at))
        self._quiet = False

    def _light(self, numbers: Sequence[int]) -> None:
        """Choose the rows of revisions besides those that are chosen."""
        for i, row in enumerate(self._entries.rows):
            if isinstance(row, Entry) and not row.draft and row.revision.id in numbers:
                self.selectionModel().select(self._entries.index(i), QItemSelectionModel.SelectionFlag.Select)

    def scrollContentsBy(self, dx: int, dy: int) -> None:
        """Paint all anew: which lines are seen whole is another, and moving the picture would not tell."""
        super().scrollContentsBy(dx, dy)
        self.viewport().update()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Keep what is worked on in view where a message below takes some of the room."""
        super().resizeEvent(event)
        self.viewport().update()
        draft = self._scene.draft is not None
        self.scrollTo(self._entries.index(0) if draft else self.currentIndex())

    def fold(self, root: int, *, folded: bool) -> None:
        """Fold a branch to one row, or show its revisions; the row over it is then the chosen one."""
        self._turned[root] = folded
        self._put(None)
        self._choose_branch(root)

    def _choose_branch(self, root: int) -> None:
        """Choose the row of a branch."""
        rows = self._entries.rows
        at = next((i for i, row in enumerate(rows) if isinstance(row, Branch) and row.root == root), 0)
        self.setCurrentIndex(self._entries.index(at))
        self.scrollTo(self._entries.index(at))

    def _on_activated(self, index: QModelIndex) -> None:
        row = self._entries.rows[index.row()]
        if isinstance(row, Entry):
            self.compare.emit(row.revision.id)

    def _on_clicked(self, index: QModelIndex) -> None:
        row = self._entries.rows[index.row()]
        if isinstance(row, Branch):
            self.fold(row.root, folded=not row.folded)
        elif not row.draft and len(self.selectionModel().selectedRows()) < SEVERAL:
            self.looked.emit(row.revision.id)

    def _on_selection(self) -> None:
        """Show several revisions together, or no longer."""
        if self._quiet:
            return
        chosen_rows = self.selectionModel().selectedRows()
        if len(chosen_rows) >= SEVERAL:  # a folded branch is no revision that could be shown among others
            self._quiet = True
            for index in chosen_rows:
                if isinstance(self._entries.rows[index.row()], Branch):
                    self.selectionModel().select(index, QItemSelectionModel.SelectionFlag.Deselect)
            if self._head is not None:
                self._light((self._head.id,))  # it is in the picture with them
            self._quiet = False
        places = sorted(index.row() for index in self.selectionModel().selectedRows())
        rows = [self._entries.rows[place] for place in places]
        if not rows and self.currentIndex().isValid():  # a click beside all rows: the one that acts are about stays lit
            self.selectionModel().select(self.currentIndex(), QItemSelectionModel.SelectionFlag.Select)
            return
        chosen = tuple(row.revision.id for row in rows if isinstance(row, Entry) and not row.draft)
        self.several.emit(chosen if len(chosen) >= SEVERAL else ())

    def _branch_at(self, at: int) -> Branch | None:
        """Find the branch whose row, or one of whose revisions, stands there."""
        row = self._entries.rows[at] if 0 <= at < len(self._entries.rows) else None
        root = None if row is None else row.root
        return next((each for each in self._entries.rows if isinstance(each, Branch) and each.root == root), None)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Offer to roll back by Backspace; fold and unfold by Left and Right; Enter does what it says of the row."""
        at = self.currentIndex().row()
        branch = self._branch_at(at)
        if event.key() in (Qt.Key.Key_Backspace, Qt.Key.Key_Delete) and self.revision is not None:
            self.roll_back.emit(self.revision)
        elif event.key() in (Qt.Key.Key_Left, Qt.Key.Key_Right) and branch is not None:
            self.fold(branch.root, folded=event.key() == Qt.Key.Key_Left)
        elif event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter) and branch is self._entries.rows[at]:
            self.fold(branch.root, folded=not branch.folded)
        else:
            super().keyPressEvent(event)

    @property
    def revision(self) -> int | None:
        """The revision that is chosen in the rail; None for a draft, a branch or nothing."""
        index = self.currentIndex()
        row = self._entries.rows[index.row()] if index.isValid() else None
        return row.revision.id if isinstance(row, Entry) and not row.draft else None
