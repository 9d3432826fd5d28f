"""What the interval of the chosen cells is made of, as one bar: its parts add up squared, and so they are drawn."""

from typing import NamedTuple

import numpy as np
from PySide6.QtCore import QRectF, QSize, Qt
from PySide6.QtGui import QColor, QFont, QFontMetrics, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QSizePolicy, QWidget

from workbench.model.arrays import BoolArray
from workbench.model.evidence import Evidence
from workbench.window.kit.theme import LIGHT, Theme
from workbench.window.words.phrasing import window_text
from workbench.window.words.wording import SOURCE_WORDS, THIN_SPACE, number, source_name, tr

COVERAGE = 196.0  # a standard deviation as a ratio -> half of a 95 % interval in %
TOLD = 3  # parts that are told apart; what else there is makes the last one
FILLS = (
    Qt.BrushStyle.SolidPattern,
    Qt.BrushStyle.Dense4Pattern,
    Qt.BrushStyle.BDiagPattern,
    Qt.BrushStyle.Dense7Pattern,
)


class Part(NamedTuple):
    """One source of uncertainty in the chosen cells: half of the 95 % interval that it alone would make, %."""

    name: str
    half: float
    reason: str = ""
    remedy: str = ""


def parts_of(evidence: Evidence, chosen: BoolArray) -> list[Part]:
    """Give what the intervals of the chosen cells are made of, median over the driven ones, the largest first."""
    driven = chosen & evidence.driven
    if not driven.any():
        return []
    sized = [
        Part(item.name, COVERAGE * float(np.median(item.size[driven])), item.reason, item.remedy)
        for item in evidence.budget
    ]
    return sorted((part for part in sized if part.half > 0), key=lambda part: -part.half)


def _sized(half: float, name: str) -> str:
    return f"±{number(half, 2)}{THIN_SPACE}% {source_name(name)}"


class BudgetBar(QWidget):
    """A bar whose parts are as long as the squares of the sources of uncertainty."""

    def __init__(self, parent: QWidget) -> None:
        """Make it empty."""
        super().__init__(parent)
        self.setAccessibleName(tr("What ± is made of"))
        self.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Preferred)
        self._parts: list[Part] = []
        self._theme = LIGHT

    def show_parts(self, parts: list[Part], theme: Theme) -> None:
        """Draw other cells."""
        self._parts, self._theme = parts, theme
        texts = [f"{source_name(part.name)} ±{number(part.half, 2)}{THIN_SPACE}%" for part in parts]
        self.setAccessibleDescription(", ".join(texts))
        lines = [
            f"{each}: {window_text(part.reason)} {window_text(part.remedy)}"
            for each, part in zip(texts, parts, strict=True)
        ]
        self.setToolTip("\n".join((tr("Half of the 95 % interval by source; they add up squared."), *lines)))
        self.setVisible(bool(parts))
        self.update()

    def sizeHint(self) -> QSize:
        """Ask for the room of the longest name, whichever stands there: nothing around moves from cell to cell."""
        metrics = QFontMetrics(self._small())
        names = (self.accessibleName(), *(_sized(0.0, name) for name in SOURCE_WORDS))
        return QSize(max(metrics.horizontalAdvance(each) for each in names) + 4, 16 + 2 * metrics.height())

    def _small(self) -> QFont:
        small = QFont(self.font())
        small.setPointSizeF(max(7.5, small.pointSizeF() * 0.8))
        return small

    def _largest(self) -> str:
        """Name the largest part, its size first: a number is never cut."""
        return _sized(self._parts[0].half, self._parts[0].name)

    def paintEvent(self, event: QPaintEvent) -> None:
        """Draw caption, bar and name; parts differ in fill, not in colour alone."""
        del event
        if not self._parts:
            return
        painter = QPainter(self)
        painter.setFont(self._small())
        under = QFontMetrics(self._small()).height()
        painter.setPen(QColor(self._theme.soft))
        painter.drawText(self.rect(), Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignTop, self.accessibleName())
        feet = QRectF(self.rect()).adjusted(0, self.height() - under, 0, 0)
        shown = painter.fontMetrics().elidedText(self._largest(), Qt.TextElideMode.ElideRight, self.width())
        painter.drawText(feet, Qt.AlignmentFlag.AlignLeft, shown)
        area = QRectF(self.rect()).adjusted(1, under + 2, -1, -under - 2)
        squares = [part.half**2 for part in self._parts]
        squared = [*squares[:TOLD], *([sum(squares[TOLD:])] if len(squares) > TOLD else [])]
        left = area.left()
        for square, fill in zip(squared, FILLS, strict=False):
            wide = area.width() * square / sum(squares)
            piece = QRectF(left, area.top(), wide, area.height())
            colour = self._theme.accent if fill is FILLS[0] else self._theme.soft
            painter.fillRect(piece, QColor(self._theme.card))  # against which soft marks are seen in every theme
            painter.setBrush(QColor(colour))
            brush = painter.brush()
            brush.setStyle(fill)
            painter.setBrush(brush)
            painter.setPen(QPen(QColor(self._theme.ink), 1))
            painter.drawRect(piece)
            left += wide
        painter.end()
