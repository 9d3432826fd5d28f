"""Rows and columns of the numbers: sized so that none is cut, and headings that are shown whole or not at all."""

from collections.abc import Sequence

from PySide6.QtCore import QRect, QSize, Qt
from PySide6.QtGui import QColor, QFontMetrics, QPainter
from PySide6.QtWidgets import QHeaderView, QTableView

from workbench.window.kit.theme import LIGHT, Theme

CUT = "‥"  # stands where there is no room for a number: part of one would read as another
MARGIN = 5  # px between a number and the right edge of its cell


def even_size(count: int, need: int, room: int, most: int) -> int:
    """Size equal sections so that as many as fit are seen whole and fill the room.

    Args:
        count: how many sections there are.
        need: least size of one, px.
        room: what they are seen through, px.
        most: largest size of one where all fit, px.
    """
    if count * need <= room:
        return max(need, min(room // max(count, 1), most))
    return max(need, room // max(1, room // need))


def spread_sizes(needs: Sequence[int], room: int) -> list[int]:
    """Widen sections alike so that they fill the room, at most by half of what they need, px."""
    spare = max(room - sum(needs), 0)
    return [need + min(spare * need // max(sum(needs), 1), need // 2) for need in needs]


def row_need(room: int, least: int, touch: int, many: int) -> int:
    """Return rows the height of a finger, or less down to `least` where fewer than `many` would be seen, px."""
    return min(max(room // many, least), touch)


def whole(start: int, size: int, room: int) -> bool:
    """Return whether a section is seen from end to end."""
    return start >= 0 and start + size <= room


def paint_cut(painter: QPainter, place: QRect, metrics: QFontMetrics, theme: Theme) -> None:
    """Mark a place whose number cannot be shown whole; a narrow one stays blank."""
    if place.width() >= metrics.horizontalAdvance(CUT) and place.height() >= metrics.height():
        painter.setPen(QColor(theme.soft))
        painter.drawText(place, Qt.AlignmentFlag.AlignCenter, CUT)


class WholeHeader(QHeaderView):
    """Breakpoints or names along an edge of the numbers; one that is not seen whole is not written."""

    def __init__(self, way: Qt.Orientation, parent: QTableView) -> None:
        """Stand along the upper or the left edge."""
        super().__init__(way, parent)
        self._theme: Theme = LIGHT
        self.setSectionResizeMode(QHeaderView.ResizeMode.Fixed)
        self.setHighlightSections(False)
        self.setSectionsClickable(True)
        self.setMinimumSectionSize(12)

    def show_theme(self, theme: Theme) -> None:
        """Take over the colours."""
        if theme is not self._theme:
            self._theme = theme
            self.viewport().update()

    def sizeHint(self) -> QSize:
        """Tell the size that the table has fixed; Qt would ask for every heading whenever the window is dressed."""
        along = self.orientation() == Qt.Orientation.Horizontal
        fixed = self.minimumHeight() if along else self.minimumWidth()
        if not fixed:
            return super().sizeHint()
        return QSize(0, fixed) if along else QSize(fixed, 0)

    def paintSection(self, painter: QPainter, rect: QRect, logicalIndex: int) -> None:  # noqa: N803 - Qt's own name
        """Write one heading at the right of its place, if the whole of it is seen and it fits."""
        painter.fillRect(rect, QColor(self._theme.card))
        seen = rect.intersected(self.viewport().rect())
        metrics = self.fontMetrics()
        text = str(self.model().headerData(logicalIndex, self.orientation()) or "")
        if not text:
            return
        if seen != rect or metrics.horizontalAdvance(text) > rect.width() - MARGIN:
            paint_cut(painter, seen, metrics, self._theme)
            return
        painter.setPen(QColor(self._theme.soft))
        right = Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter
        painter.drawText(rect.adjusted(0, 0, -MARGIN, 0), right, text)
