"""A layout that sets its parts side by side and goes on in the next row where the width ends."""

import itertools
from collections.abc import Sequence

from PySide6.QtCore import QPoint, QRect, QSize, Qt
from PySide6.QtWidgets import QLayout, QLayoutItem, QWidget

UNDER = 2  # px between the last row and what stands under it


def row_starts(widths: Sequence[int], room: int, gap: int) -> list[int]:
    """Return which parts begin a row, where parts of these widths are laid out like words."""
    firsts, used = [0], 0
    for i, wide in enumerate(widths):
        if i > firsts[-1] and used + wide > room:
            firsts.append(i)
            used = 0
        used += wide + gap
    return firsts


class Flow(QLayout):
    """Lays parts out like words; the parts after `push` stand at the right end of their row.

    One part may fill what is left in the last row, or have a row of its own under the others.
    """

    def __init__(self, parent: QWidget | None = None, gap: int = 10) -> None:
        """Make it empty."""
        super().__init__(parent)
        self._items: list[QLayoutItem] = []
        self._gap = gap
        self._pushed = 10**6
        self._filler: tuple[QLayoutItem, int] | None = None
        self.setContentsMargins(0, 0, 0, 0)

    def addItem(self, item: QLayoutItem) -> None:
        """Take one more part."""
        self._items.append(item)

    def insert(self, index: int, widget: QWidget) -> None:
        """Take a part before others; what was pushed stays so."""
        self.addWidget(widget)
        self._items.insert(index, self._items.pop())
        if index <= self._pushed < 10**6:
            self._pushed += 1
        self.invalidate()

    def push(self) -> None:
        """Set the parts that come from now on at the right end."""
        self._pushed = len(self._items)

    def fill(self, widget: QWidget, least: int) -> None:
        """Take a last part that fills the last row between the others, or has a row of its own, as high as it asks.

        Args:
            widget: the part.
            least: px that the others are to leave it in their row.
        """
        self.addWidget(widget)
        self._filler = self._items[-1], least

    def set_least(self, least: int) -> None:
        """Let the part that fills a row have one of its own below another width, px."""
        if self._filler is not None and self._filler[1] != least:
            self._filler = self._filler[0], least
            self.invalidate()

    def count(self) -> int:
        """Count the parts."""
        return len(self._items)

    def itemAt(self, index: int) -> QLayoutItem | None:
        """Return a part."""
        return self._items[index] if 0 <= index < len(self._items) else None

    def takeAt(self, index: int) -> QLayoutItem | None:
        """Take a part out."""
        if not 0 <= index < len(self._items):
            return None
        if self._filler is not None and self._filler[0] is self._items[index]:
            self._filler = None
        return self._items.pop(index)

    def expandingDirections(self) -> Qt.Orientation:
        """Take no more room than needed."""
        return Qt.Orientation(0)

    def hasHeightForWidth(self) -> bool:
        """The narrower, the taller."""
        return True

    def heightForWidth(self, width: int) -> int:
        """Return how tall all rows are."""
        return self._lay(QRect(0, 0, width, 0), move=False)

    def sizeHint(self) -> QSize:
        """Ask for one row."""
        sizes = [item.sizeHint() for item in self._shown()]
        wide = sum(size.width() + self._gap for size in sizes) - self._gap
        return QSize(max(wide, 0), max((size.height() for size in sizes), default=0))

    def minimumSize(self) -> QSize:
        """Require room for the widest part."""
        sizes = [item.minimumSize() for item in self._shown()]
        return QSize(max((s.width() for s in sizes), default=0), max((s.height() for s in sizes), default=0))

    def setGeometry(self, place: QRect) -> None:
        """Move the parts."""
        super().setGeometry(place)
        self._lay(place, move=True)

    def _shown(self) -> list[QLayoutItem]:
        filler = None if self._filler is None else self._filler[0]
        return [item for item in self._items if item is not filler and not item.isEmpty()]

    def _lay(self, place: QRect, *, move: bool) -> int:
        most = QSize(max(place.width(), 1), 10**6)
        parts = [(item, item.sizeHint().boundedTo(most)) for item in self._shown()]
        wides = [size.width() for _, size in parts]
        # Rather closer than in one more row.
        gap = min((self._gap, self._gap * 2 // 3), key=lambda each: len(row_starts(wides, place.width(), each)))
        firsts = row_starts(wides, place.width(), gap)
        rows = [parts[first:last] for first, last in itertools.pairwise([*firsts, len(parts)])]
        y = place.y()
        for row in rows:
            high = max((size.height() for _, size in row), default=0)
            line = QRect(place.x(), y, place.width(), high)
            under = 0
            if row is rows[-1] and self._filler is not None and not self._filler[0].isEmpty():
                high, under = self._fill(*self._filler, row, line, gap, move=move)
                line.setHeight(high)
            if move:
                self._lay_row(row, line, gap)
            y += high + under + self._gap // 2
        return max(y - self._gap // 2 - place.y(), 0)

    def _fill(
        self, item: QLayoutItem, least: int, row: list[tuple[QLayoutItem, QSize]], line: QRect, gap: int, *, move: bool
    ) -> tuple[int, int]:
        """Lay the part that fills a row, in the last one or below it: where all becomes less tall.

        Returns:
            How tall the row is then, and what stands under it, px.
        """
        pushed = [size.width() + gap for each, size in row if self._items.index(each) >= self._pushed]
        left = sum(size.width() + gap for _, size in row) - sum(pushed)
        wide = line.width() - left - sum(pushed)
        below = UNDER + _height_of(item, line.width())
        beside = max(line.height(), _height_of(item, max(wide, 1)))
        if wide >= least and beside <= line.height() + below:
            if move:
                item.setGeometry(QRect(line.x() + left, line.y(), wide, beside))
            return beside, 0
        if move:
            item.setGeometry(QRect(line.x(), line.bottom() + 1 + UNDER, line.width(), below - UNDER))
        return line.height(), below

    def _lay_row(self, row: list[tuple[QLayoutItem, QSize]], place: QRect, gap: int) -> None:
        spare = place.width() - sum(size.width() + gap for _, size in row) + gap
        x = place.x()
        pushed = False
        for item, size in row:
            if not pushed and self._items.index(item) >= self._pushed:
                x, pushed = x + max(spare, 0), True
            item.setGeometry(QRect(QPoint(x, place.y() + (place.height() - size.height()) // 2), size))
            x += size.width() + gap


def _height_of(item: QLayoutItem, width: int) -> int:
    """Return how tall a part is at a width."""
    return item.heightForWidth(width) if item.hasHeightForWidth() else item.sizeHint().height()
