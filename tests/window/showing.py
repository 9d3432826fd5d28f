"""What is seen of a window: its texts, what is cut of them, and whether it has come to rest."""

import math
import re
from collections.abc import Iterator

from PySide6.QtCore import QPoint, QRect, Qt, QTimer
from PySide6.QtGui import QTextDocument
from PySide6.QtWidgets import (
    QAbstractButton,
    QApplication,
    QCheckBox,
    QComboBox,
    QLabel,
    QLineEdit,
    QListView,
    QStyle,
    QStyleOptionFrame,
    QWidget,
)

from workbench.window.kit.controls import Choice
from workbench.window.kit.idle_queue import Turns
from workbench.window.shell.main_window import MainWindow

BREAKS = re.compile("[\\s\u200b]+")  # where a text may go on in the next line
TOLERANCE = 1  # px, for sizes that are rounded
BESIDE_HINT = 2  # px that Qt leaves free beside the text of a field
WHOLE = QComboBox.SizeAdjustPolicy.AdjustToContents  # of lists that are to show what is chosen whole


def seen(window: QWidget) -> Iterator[QWidget]:
    """Give the widgets that are not hidden; scrolled out of sight counts as seen."""
    for widget in window.findChildren(QWidget):
        if widget.isVisibleTo(window):
            yield widget


def texts_of(window: QWidget) -> Iterator[tuple[str, str]]:
    """Give every text that is seen, heard or told on hovering, and what shows it."""
    for widget in seen(window):
        place = f"{type(widget).__name__} {widget.accessibleName()!r}"
        for text in (widget.accessibleName(), widget.accessibleDescription(), widget.toolTip()):
            yield place, text
        if isinstance(widget, QLabel | QAbstractButton):
            yield place, widget.text()
        elif isinstance(widget, QLineEdit):
            yield place, widget.placeholderText()
        elif isinstance(widget, QComboBox):
            yield from ((place, widget.itemText(i)) for i in range(widget.count()))
        elif isinstance(widget, QListView) and not isinstance(widget.parent(), QComboBox):
            model = widget.model()
            yield from ((place, str(model.index(row, 0).data() or "")) for row in range(model.rowCount()))


def cut_of(window: QWidget) -> list[str]:
    """Tell of each label, button, list and hint of a field that has less room than its text needs."""
    QApplication.processEvents()
    found = []
    for widget in seen(window):
        if isinstance(widget, Choice) and widget.sizeAdjustPolicy() is WHOLE and widget.shown != widget.currentText():
            found.append(f"list “{widget.currentText()}”: reads “{widget.shown}”")
        if isinstance(widget, QLineEdit) and not widget.text() and _hint_is_cut(widget):
            found.append(f"hint “{widget.placeholderText()}” of a field {widget.width()} px wide")
        if not isinstance(widget, QLabel | QAbstractButton) or not widget.text():
            continue
        if isinstance(widget.parent(), QComboBox) or _may_be_short(widget):
            continue
        need, have = widget.sizeHint(), widget.size()
        if isinstance(widget, QLabel) and widget.wordWrap():
            longest = _widest(widget)
            high = widget.heightForWidth(have.width())
            short = high - have.height() if high > have.height() + TOLERANCE else 0
            narrow = longest - have.width() if longest > have.width() + TOLERANCE else 0
        else:
            narrow = need.width() - have.width() if need.width() > have.width() + TOLERANCE else 0
            least = widget.fontMetrics().height() if isinstance(widget, QCheckBox) else need.height()
            short = least - have.height() if least > have.height() + TOLERANCE else 0
        out = _beyond(widget)
        if narrow or short or out:
            found.append(
                f"{type(widget).__name__} “{widget.text()[:60]}”: {narrow} px narrow, {short} px low, {out} out"
            )
    return found


def _widest(label: QLabel) -> int:
    """Tell how wide a label that breaks its lines has to be, px: of what is marked up, what is laid out counts."""
    if "<table" not in label.text():
        return max(map(label.fontMetrics().horizontalAdvance, BREAKS.split(label.text())), default=0)
    document = QTextDocument()
    document.setDocumentMargin(0)
    document.setDefaultFont(label.font())
    document.setHtml(label.text())
    document.setTextWidth(label.contentsRect().width())
    return math.ceil(document.size().width())


def _hint_is_cut(field: QLineEdit) -> bool:
    option = QStyleOptionFrame()
    field.initStyleOption(option)
    inside = field.style().subElementRect(QStyle.SubElement.SE_LineEditContents, option, field)
    return field.fontMetrics().horizontalAdvance(field.placeholderText()) > inside.width() - 2 * BESIDE_HINT


def _may_be_short(widget: QWidget) -> bool:
    """Captions of lanes tell the whole of it on hovering."""
    rich = isinstance(widget, QLabel) and widget.textFormat() == Qt.TextFormat.RichText
    return rich and bool(widget.toolTip())


def _beyond(widget: QWidget) -> int:
    """Tell by how many px a widget sticks out of its parents to the side."""
    place, parent, worst = QRect(QPoint(0, 0), widget.size()), widget.parentWidget(), 0
    child: QWidget = widget
    while parent is not None and not child.isWindow():
        place.translate(child.pos())
        worst = max(worst, place.right() - parent.width(), -place.left() - 1)
        child, parent = parent, parent.parentWidget()
    return worst if worst > TOLERANCE else 0


SOON_MS = 400  # what a timer does once within this time belongs to what was just done


def is_busy(window: MainWindow) -> bool:
    """Tell whether a job runs, a timer is about to do something, or a part is still to be drawn."""
    timers = window.findChildren(QTimer)
    soon = any(each.isActive() and each.isSingleShot() and each.interval() <= SOON_MS for each in timers)
    shop = window.equip()
    working = shop.jobs.busy or shop.opening.reading.busy
    return soon or working or any(each.waiting for each in window.findChildren(Turns))
