"""A layout that sets its parts side by side and goes on in the next row where the width ends."""

import itertools
from collections.abc import Sequence

from PySide6.QtCore import QPoint, QRect, QSize, Qt
from PySide6.QtWidgets import QLayout, QLayoutItem, QWidget


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
    """Lays parts out like words; the parts after `push` stand at the right end of their row."""

    def __init__(self, parent: QWidget | None = None, gap: int = 10) -> None:
        """Make it empty."""
        super().__init__(parent)
        self._items: list[QLayoutItem] = []
        self._gap = gap
        self._pushed = 10**6
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

    def count(self) -> int:
        """Count the parts."""
        return len(self._items)

    def itemAt(self, index: int) -> QLayoutItem | None:
        """Return a part."""
        return self._items[index] if 0 <= index < len(self._items) else None

    def takeAt(self, index: int) -> QLayoutItem | None:
        """Take a part out."""
        return self._items.pop(index) if 0 <= index < len(self._items) else None

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
        return [item for item in self._items if not item.isEmpty()]

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
            if move:
                self._lay_row(row, QRect(place.x(), y, place.width(), high), gap)
            y += high + self._gap // 2
        return max(y - self._gap // 2 - place.y(), 0)

    def _lay_row(self, row: list[tuple[QLayoutItem, QSize]], place: QRect, gap: int) -> None:
        spare = place.width() - sum(size.width() + gap for _, size in row) + gap
        x = place.x()
        pushed = False
        for item, size in row:
            if not pushed and self._items.index(item) >= self._pushed:
                x, pushed = x + max(spare, 0), True
            item.setGeometry(QRect(QPoint(x, place.y() + (place.height() - size.height()) // 2), size))
            x += size.width() + gap
