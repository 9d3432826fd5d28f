"""The right-hand column: the history, and in its place whatever task is at hand; nothing is modal."""

import re
from collections.abc import Callable, Iterable
from html import escape

from PySide6.QtCore import QPoint, Qt, QTimer, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QAbstractSpinBox, QApplication, QSizePolicy, QStackedLayout, QVBoxLayout, QWidget

from workbench.errors import WorkbenchError
from workbench.phrases import join_phrases
from workbench.window.kit.controls import Card, button, emptied, label, rekind, row, scrolled, spread
from workbench.window.words.phrasing import window_text
from workbench.window.words.wording import breakable, tr

_GAPS = re.compile(" {2,}")


class Drawer(Card):
    """Holds one task at a time: its title, its body, its answer.

    Signals:
        opened: a task was put in.
        closed: the task was left.
        forgotten: an answer was taken away, since something else is asked for.
        entered: Enter was pressed in one of its fields.
    """

    opened = Signal()
    closed = Signal()
    forgotten = Signal()
    entered = Signal()

    def __init__(self, parent: QWidget) -> None:
        """Make it empty."""
        super().__init__(tr("Task"), parent)
        self._title = label("", self, "title", wrap=True)
        spread(self._title, QSizePolicy.Policy.Expanding)
        close = button(tr("Close"), tr("Close this and show the history (Esc)."), self, "flat")
        close.clicked.connect(self.leave)
        self.column.addLayout(row(self._title, close))
        self._message = label("", self, "trouble", wrap=True)
        self._message.hide()
        self._inside = QWidget(self)
        inside = QVBoxLayout(self._inside)
        inside.setContentsMargins(0, 0, 6, 0)
        self._body = QVBoxLayout()
        self._answer = label("", self._inside, wrap=True)
        self._answer.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        inside.addLayout(self._body)
        inside.addWidget(self._answer)
        inside.addStretch(1)
        self._place = scrolled(self._inside, tr("Task"), self)
        self.column.addWidget(self._place, 1)
        self.column.addWidget(self._message)
        self._so = button(tr("It is so all the same"), tr("Take it against what was said."), self)
        self._so.clicked.connect(self._on_so)
        self._so_too: Callable[[], None] | None = None
        self._so.hide()
        self.column.addLayout(row(self._so, None))
        self._feet = row()
        self.column.addLayout(self._feet)
        self.task: QWidget | None = None
        self.acts = False  # whether it has a button that does what it is about
        self._first: QWidget = self

    def put(self, title: str, task: QWidget, *feet: QWidget, first: QWidget | None = None) -> None:
        """Show a task; the one before is destroyed."""
        emptied(self._body)
        emptied(self._feet)
        self.task = task
        self._title.setText(breakable(title))
        self.setAccessibleName(title)
        self._silence()
        self._body.addWidget(task)
        if (edited := getattr(task, "edited", None)) is not None:
            edited.connect(self._forget)
        self._place.verticalScrollBar().setValue(0)  # what was shown before may have been scrolled
        self._feet.addStretch(1)
        for foot in feet:
            self._feet.addWidget(foot)
        task.show()
        self.acts = any(foot.property("kind") == "step" for foot in feet)
        self._first = first or task
        self.opened.emit()

    def begin(self) -> None:
        """Put the keyboard on the first field of the task."""
        self._first.setFocus(Qt.FocusReason.OtherFocusReason)
        if isinstance(self._first, QAbstractSpinBox):
            self._first.selectAll()  # what is typed takes its place
        QTimer.singleShot(0, self, self._begin_at_the_top)  # once all has its place

    def _begin_at_the_top(self) -> None:
        """Show a task from its beginning; where its first field is not seen there, Tab leads to it."""
        first = self._first
        if QApplication.focusWidget() is not first or not self._inside.isAncestorOf(first) or self._answer.isVisible():
            return
        line = self.fontMetrics().height()
        if first.mapTo(self._inside, QPoint()).y() + min(first.height(), 2 * line) > self._place.viewport().height():
            self._place.setFocus(Qt.FocusReason.OtherFocusReason)  # so that arrows scroll it
        self._place.verticalScrollBar().setValue(0)

    def answer(self, lines: Iterable[str], rows: str = "") -> None:
        """Show what was asked for, of any length, below the fields; under its lines rows as rich text, if any."""
        self.say("")
        # Columns of the command line's even letters mean nothing in letters of different widths.
        shown = (_GAPS.sub("  ", window_text(line).strip()).replace("->", "→") for line in lines)
        text = "<br>".join(escape(line) for line in shown) + rows if rows else "\n".join(shown)
        self._answer.setTextFormat(Qt.TextFormat.RichText if rows else Qt.TextFormat.PlainText)
        self._answer.setText(text)  # may be copied: nothing that is not seen is put in
        self._answer.show()
        QTimer.singleShot(0, self, self._show_answer)

    def _show_answer(self) -> None:
        """Show the answer from its first line on, as far as the task's end lets it."""
        self._place.verticalScrollBar().setValue(max(self._answer.y() - self.fontMetrics().height(), 0))

    def _forget(self) -> None:
        """Take away an answer to what was asked for before."""
        if self._answer.isVisible():
            self._answer.hide()
            self.forgotten.emit()

    def _silence(self) -> None:
        for shown in (self._message, self._answer, self._so):
            shown.hide()

    def say(self, text: str, kind: str = "soft") -> None:
        """Show a sentence under the task."""
        rekind(self._message, kind)
        self._message.setText(breakable(window_text(text)))
        self._message.setVisible(bool(text))
        self._so.hide()

    def say_refused(self, error: WorkbenchError, so_too: Callable[[], None] | None = None) -> None:
        """Show a refusal with its remedy under the task; where it may be meant so, a button that says it."""
        self.say(join_phrases("\n", filter(None, (error.message, error.hint))), "trouble")
        self._so_too = so_too
        self._so.setVisible(so_too is not None)

    def _on_so(self) -> None:
        act, self._so_too = self._so_too, None
        self._so.hide()
        if act is not None:
            act()

    @property
    def need(self) -> int:
        """The width at which nothing of the task is cut at its right, px; 0 without one."""
        if self.task is None:
            return 0
        edges, bar = self.width() - self._place.width(), self._place.verticalScrollBar().sizeHint().width()
        return self._inside.minimumSizeHint().width() + edges + bar + 2 * self._place.frameWidth()

    def leave(self) -> None:
        """Drop the task."""
        emptied(self._body)
        emptied(self._feet)
        self.task, self._first, self.acts = None, self, False
        self._silence()
        self.closed.emit()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Leave by Esc, do it by Enter."""
        if event.key() == Qt.Key.Key_Escape:
            self.leave()
        elif event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter) and self.task is not None:
            self.entered.emit()
        else:
            super().keyPressEvent(event)


class PanelColumn(QWidget):
    """Shows one of several widgets."""

    def __init__(self, parent: QWidget) -> None:
        """Make it empty."""
        super().__init__(parent)
        self._stack = QStackedLayout(self)

    def add(self, widget: QWidget) -> None:
        """Take one more widget; the first is shown."""
        self._stack.addWidget(widget)

    def turn_to(self, widget: QWidget) -> None:
        """Show one of them."""
        self._stack.setCurrentWidget(widget)

    @property
    def shown(self) -> QWidget | None:
        """The widget that is shown."""
        return self._stack.currentWidget()
