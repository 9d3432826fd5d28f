"""A sheet under the history or the task: what just happened, or what was refused and what to do about it."""

import itertools
import re
from collections.abc import Callable
from contextlib import suppress

from PySide6.QtCore import Qt, QTimer, Signal
from PySide6.QtGui import QHideEvent, QResizeEvent
from PySide6.QtWidgets import QApplication, QPushButton, QSizePolicy, QWidget

from workbench.errors import WorkbenchError
from workbench.window.kit.controls import Card, button, label, rekind, row, spread
from workbench.window.kit.flow_layout import Flow
from workbench.window.words.phrasing import window_text
from workbench.window.words.wording import breakable, tr

SHOWN_MS = 8000
_GAP, BESIDE = 8, 24  # px between the parts of its first row, and at its ends
_FIRST = re.compile(r".+?[.!?](?=\s)", re.DOTALL)  # the first sentence, where more follow


class Notice(Card):
    """Shows one message: what happened goes by itself, a warning when closed, a refusal as the session moves on too.

    Signals:
        turned: it waits for somebody now, or no longer does.
    """

    turned = Signal()

    def __init__(self, parent: QWidget) -> None:
        """Make it hidden."""
        super().__init__(tr("Message"), parent)
        self.setProperty("kind", "notice")
        self._text = label("", self, wrap=True)
        spread(self._text, QSizePolicy.Policy.Expanding)
        self._close = button(tr("Close"), tr("Dismiss this message."), self, "flat")
        self._close.clicked.connect(self._leave)
        self._accept, self._other = button("", "", self, "step"), button("", "", self)
        for made in (self._accept, self._other):
            made.clicked.connect(lambda _=False, which=made: self._take(which))
        self._all = button(tr("Read all"), tr("Show the whole of this message."), self, "flat")
        self._all.clicked.connect(self._unfold)
        self._offered: dict[QPushButton, Callable[[], None]] = {}
        self._left: Callable[[], None] | None = None
        self._refused, self._warned, self._folded, self._said = False, False, False, ""
        self._came_from: QWidget | None = None
        self.column.setContentsMargins(12, 6, 6, 6)
        line = row(self._text, self._all, self._close, spacing=_GAP)
        for made in (self._all, self._close):
            line.setAlignment(made, Qt.AlignmentFlag.AlignTop)
        self.column.addLayout(line)
        ways = Flow()
        ways.push()
        ways.addWidget(self._other)
        ways.addWidget(self._accept)
        self.column.addLayout(ways)
        self._later = QTimer(self)
        self._later.setSingleShot(True)
        self._later.timeout.connect(self._go)
        self.hide()

    def say(self, text: str) -> None:
        """Show what happened."""
        self._show(text, "")
        self._later.start(SHOWN_MS)

    def warn(self, text: str) -> None:
        """Show what happened and what it may do to an engine; it stays until it is closed."""
        self._later.stop()
        self._show(text, "attention")
        self._warned = True
        self.turned.emit()

    def say_refused(self, error: WorkbenchError, remedy: tuple[str, Callable[[], None]] | None = None) -> None:
        """Show what was refused, and the remedy; as a button too, where its title and act are given."""
        self._later.stop()
        if remedy is not None:
            self._accept.setText(remedy[0])
            self._accept.setAccessibleName(remedy[0])
        self._show(str(error), "trouble", {} if remedy is None else {self._accept: remedy[1]})
        self._refused = True
        self.turned.emit()

    def forget_refusal(self) -> None:
        """Take away a refusal that what happened since has overtaken."""
        if self._refused:
            self._go()

    def offer(
        self,
        text: str,
        title: str,
        act: Callable[[], None],
        *,
        more: tuple[str, Callable[[], None]] | None = None,
        left: Callable[[], None] | None = None,
    ) -> None:
        """Offer to do something; the offer stays until it is taken or closed.

        Args:
            text: what it is about.
            title: of the button.
            act: what it does.
            more: title and act of a second button.
            left: called when it is closed instead.
        """
        self._later.stop()
        ways = {self._accept: (title, act), **({self._other: more} if more is not None else {})}
        for made, (words, _) in ways.items():
            made.setText(words)
            made.setAccessibleName(words)
        self._show(text, "", {made: does for made, (_, does) in ways.items()})
        self._left = left
        self.turned.emit()

    def give_way(self) -> None:
        """Fold to one line of what was said, for what comes now wants the room; a button shows all of it.

        Of what may do harm, the first sentence stays.
        """
        if self.isHidden() or self._offered or (self._warned and _FIRST.match(self._said) is None):
            return
        self._folded = True
        self._all.show()
        self._refit()

    def _refit(self) -> None:
        if self._folded:
            first = _FIRST.match(self._said)
            shown = self._said if first is None else first[0]
            if not self._warned:
                beside = self._all.sizeHint().width() + self._close.sizeHint().width() + 2 * _GAP + BESIDE
                left = max(self.width() - beside, 0)
                shown = self._text.fontMetrics().elidedText(shown, Qt.TextElideMode.ElideRight, left)
            self._text.setText(breakable(shown))
        QTimer.singleShot(0, self, self._take_height)  # once the text is laid out anew

    def _take_height(self) -> None:
        self.setMinimumHeight(self.height_for(self.width()))

    def _unfold(self) -> None:
        held, self._folded = self._all.hasFocus(), False
        self._all.hide()
        self._text.setText(breakable(self._said))
        self._refit()
        if held:
            self._close.setFocus(Qt.FocusReason.OtherFocusReason)

    def _take(self, which: QPushButton) -> None:
        act, self._offered, self._left = self._offered.get(which), {}, None
        self._go()
        if act is not None:
            act()

    def _leave(self) -> None:
        left, self._left = self._left, None
        self._go()
        if left is not None:
            left()

    def _go(self) -> None:
        """Be gone; the keyboard goes back to where it was when the message came."""
        at, back = QApplication.focusWidget(), self._came_from
        held = at is not None and self.isAncestorOf(at)
        self.hide()
        with suppress(RuntimeError):  # what it was at may be gone by now
            if held and back is not None and back.isVisible():
                back.setFocus(Qt.FocusReason.OtherFocusReason)

    def take_keyboard(self) -> None:
        """Have the keyboard at what is offered, else at what takes the message away."""
        if not self.isHidden():
            at = self._accept if self._accept in self._offered else self._close
            at.setFocus(Qt.FocusReason.ShortcutFocusReason)

    def come_after(self, widget: QWidget) -> None:
        """Let Tab lead from a widget to what is offered."""
        for before, after in itertools.pairwise((widget, self._all, self._accept, self._other, self._close)):
            QWidget.setTabOrder(before, after)

    @property
    def waits(self) -> bool:
        """Whether it offers, warns or refuses, and so is to be seen by all means."""
        return not self.isHidden() and (self._refused or self._warned or bool(self._offered))

    def hideEvent(self, event: QHideEvent) -> None:
        """Tell that it waits no longer."""
        super().hideEvent(event)
        self.turned.emit()

    @property
    def text(self) -> str:
        """What it says; empty when it is hidden."""
        return "" if self.isHidden() else self._said

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Require as much height as the text takes at this width."""
        super().resizeEvent(event)
        self.setMinimumHeight(self.height_for(self.width()))
        if self._folded and event.oldSize().width() != event.size().width():
            self._refit()

    def _show(self, text: str, kind: str, acts: dict[QPushButton, Callable[[], None]] | None = None) -> None:
        self._offered, self._refused, self._warned, self._left = acts or {}, False, False, None
        self._folded = False
        self._all.hide()
        for made in (self._accept, self._other):
            made.setVisible(made in self._offered)
        at = QApplication.focusWidget()
        if at is not None and not self.isAncestorOf(at):
            self._came_from = at
        shown = window_text(text)
        self._said = shown
        self._text.setText(breakable(shown))
        self._text.setAccessibleName(shown)
        rekind(self._text, kind)
        self.setVisible(bool(text))
        self.setMinimumHeight(self.height_for(self.width()))
