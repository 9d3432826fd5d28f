"""What a revision did, drawn small beside its words."""

import numpy as np
from PySide6.QtCore import QPointF, QRectF
from PySide6.QtGui import QColor, QPainter, QPen, QPolygonF

from workbench.model.arrays import FloatArray
from workbench.window.kit.theme import Theme, as_bytes, change_ramp


def draw_multipliers(painter: QPainter, box: QRectF, multipliers: FloatArray, theme: Theme, *, draft: bool) -> None:
    """Draw multipliers small: a curve about its 1, or a grid as coloured cells; the scale fits what moved."""
    shown = np.where(np.isnan(multipliers), 1.0, multipliers)
    reach = max(float(np.max(np.abs(shown - 1))), 0.002)
    if multipliers.ndim == 2:
        rows, columns = multipliers.shape
        wide, high = min(box.width() / columns, 9.0), box.height() / rows
        steps = as_bytes(change_ramp(theme))
        indices = np.round(((shown - 1) / reach + 1) / 2 * (len(steps) - 1)).astype(int)
        for row in range(rows):
            for column in range(columns):
                place = QRectF(box.left() + column * wide, box.bottom() - (row + 1) * high, wide + 0.5, high + 0.5)
                painter.fillRect(place, QColor(*steps[indices[row, column]].tolist()))
        painter.setPen(QPen(QColor(theme.line), 1))
        painter.drawRect(QRectF(box.left(), box.top(), columns * wide, box.height()))
        return
    lean = np.clip((shown - 1) / reach, -1, 1)
    low, high_part = min(float(lean.min()), 0.0), max(float(lean.max()), 0.0)
    span = max(high_part - low, 0.5)
    base = box.top() + 3 + (high_part / span) * (box.height() - 6)
    painter.setPen(QPen(QColor(theme.line), 1))
    painter.drawLine(QPointF(box.left(), base), QPointF(box.right(), base))
    xs = np.linspace(box.left(), box.right(), len(lean))
    points = QPolygonF(
        [QPointF(float(x), base - float(y) / span * (box.height() - 6)) for x, y in zip(xs, lean, strict=True)]
    )
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.setPen(QPen(QColor(theme.attention if draft else theme.accent), theme.stroke))
    painter.drawPolyline(points)
