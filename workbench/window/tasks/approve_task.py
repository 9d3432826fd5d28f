"""The task of approving: what speaks against it, each accepted by name with a reason, and who stands by it."""

from collections.abc import Mapping, Sequence
from html import escape
from typing import Any

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QCheckBox, QLineEdit, QVBoxLayout, QWidget

from workbench.commands.declaring.kinds import TableName
from workbench.window.kit.controls import label, labelled
from workbench.window.kit.flow_layout import Flow
from workbench.window.scene.scene import Scene
from workbench.window.words.phrasing import window_text
from workbench.window.words.wording import spoken, tr

LEAST_EM = 7  # lines of text that a reason is wide at least beside its box


class Reason(QLineEdit):
    """A line for a reason; Enter goes on to what is still to be said, instead of approving.

    Signals:
        entered: Enter was pressed.
    """

    entered = Signal()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Go on by Enter."""
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self.entered.emit()
        else:
            super().keyPressEvent(event)


class Acceptance(QCheckBox):
    """A box that stands for a reason: ticked by a click, by the space bar, or by Enter at the end of the reason.

    Letters alone never tick it, whether they are typed on the box or in the line: what is begun in the wrong place is
    no consent. A reason that is taken away takes the tick with it.
    """

    def __init__(self, name: str, reason: Reason, parent: QWidget) -> None:
        """Belong to a reason."""
        super().__init__(tr("I accept, because"), parent)
        self.setAccessibleName(tr("I accept “{name}”, because").format(name=spoken(name)))
        self._reason = reason
        self.clicked.connect(self._go_on)
        reason.textChanged.connect(self._on_reason)
        reason.entered.connect(self._on_entered)

    def _go_on(self, on: bool) -> None:
        if on:
            self._reason.setFocus(Qt.FocusReason.OtherFocusReason)

    def _on_reason(self, text: str) -> None:
        if not text.strip():
            self.setChecked(False)

    def _on_entered(self) -> None:
        if self._reason.text().strip():
            self.setChecked(True)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Take letters for the reason; the space bar ticks."""
        text, held = event.text(), event.modifiers() & ~Qt.KeyboardModifier.ShiftModifier
        if text.strip() and text.isprintable() and held == Qt.KeyboardModifier.NoModifier:
            self._go_on(on=True)
            if not self.isChecked() and not self._reason.isModified():
                self._reason.selectAll()  # what was typed before another revision came is not what is begun now
            self._reason.insert(text)
            self._reason.setModified(True)
        else:
            super().keyPressEvent(event)


class ApproveTask(QWidget):
    """Asks for what an approval needs.

    Signals:
        edited: something in it changed.
    """

    edited = Signal()

    def __init__(
        self,
        scene: Scene,
        against: Sequence[tuple[str, str]],
        author: str,
        parent: QWidget,
        reasons: Mapping[str, str],
        earlier: Mapping[str, str],
        remedies: Mapping[str, QWidget],
    ) -> None:
        """List what speaks against it, as (name, sentence), with the reasons for which some was accepted already.

        What was typed earlier, of another revision or when the objection said something else, waits to be ticked, as
        does what was not ticked. Under each stands what mends it, where that is one click.
        """
        super().__init__(parent)
        self._scene = scene
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(6)
        self._accepted: list[tuple[str, QCheckBox, QLineEdit]] = []
        if not against:
            column.addWidget(label(tr("No objections."), self, "title", wrap=True))
        for name, sentence in against:
            self._ask(name, sentence, remedies.get(name), reasons.get(name), earlier.get(name, ""), column)
        self.by = self._line(tr("Your name"), author, column)
        self.note = self._line(tr("Note"), "", column)
        self.first: QWidget = self._accepted[0][1] if self._accepted else self.by
        column.addWidget(
            label(tr("An approved table goes into an engine. You approve it under your name."), self, "soft", wrap=True)
        )

    def _ask(
        self,
        name: str,
        sentence: str,
        remedy: QWidget | None,
        reason: str | None,
        earlier: str,
        column: QVBoxLayout,
    ) -> None:
        """List an objection as one paragraph, and under it what mends it and what accepts it, side by side."""
        heading = spoken(name)
        told = label("", self, wrap=True)
        told.setTextFormat(Qt.TextFormat.RichText)
        bold = f"<b>{escape(heading[:1].upper() + heading[1:])}.</b>"
        told.setText(f"{bold} {escape(window_text(sentence))}")
        column.addWidget(told)
        if remedy is not None:
            column.addWidget(remedy)
        line = Reason(self)
        box = Acceptance(name, line, self)
        line.setAccessibleName(tr("Reason for accepting {name}").format(name=spoken(name)))
        line.setPlaceholderText(tr("your reason"))
        line.setText(earlier if reason is None else reason)
        box.setChecked(reason is not None)
        line.entered.connect(self.point_at_missing)
        box.toggled.connect(lambda _: self.edited.emit())
        line.textChanged.connect(lambda _: self.edited.emit())
        place = QWidget(self)
        flow = Flow(place, gap=8)
        flow.addWidget(box)
        flow.fill(line, LEAST_EM * self.fontMetrics().height())
        column.addWidget(place)
        self.setTabOrder(box, line)  # as they stand; by when they were made Tab would lead back to the box
        self._accepted.append((name, box, line))

    def point_at_missing(self) -> None:
        """Put the keyboard on what is still to be ticked or said, the name last."""
        for _, box, reason in self._accepted:
            if not box.isChecked() or not reason.text().strip():
                (reason if box.isChecked() else box).setFocus(Qt.FocusReason.TabFocusReason)
                return
        self.by.setFocus(Qt.FocusReason.TabFocusReason)

    def _line(self, name: str, text: str, column: QVBoxLayout) -> QLineEdit:
        line = QLineEdit(text, self)
        line.setAccessibleName(name)
        line.textChanged.connect(lambda _: self.edited.emit())
        column.addWidget(labelled(name, line, self))
        column.addWidget(line)
        return line

    @property
    def listed(self) -> frozenset[str]:
        """Names of the objections that are listed."""
        return frozenset(name for name, _, _ in self._accepted)

    @property
    def reasons(self) -> dict[str, str]:
        """Why what was accepted was accepted."""
        return {name: reason.text() for name, box, reason in self._accepted if box.isChecked()}

    @property
    def waiting(self) -> dict[str, str]:
        """What was typed for objections that are not accepted."""
        found = {name: reason.text() for name, box, reason in self._accepted if not box.isChecked()}
        return {name: text for name, text in found.items() if text.strip()}

    @property
    def missing(self) -> str:
        """What is still needed, as a sentence; empty when all is there."""
        for name, box, reason in self._accepted:
            if not box.isChecked():
                words = tr("The objection “{name}” is not accepted.")
                if reason.text().strip():
                    words = tr("Enter accepts “{name}” for that reason.")
                return words.format(name=spoken(name))
            if not reason.text().strip():
                return tr("Give a reason for accepting “{name}”.").format(name=spoken(name))
        return "" if self.by.text().strip() else tr("An approval needs your name.")

    def arguments(self) -> dict[str, Any]:
        """Return the arguments for the command."""
        head = self._scene.head
        return {
            "revision": None if head is None else head.id,  # that of which the objections are listed, and no other
            "by": self.by.text().strip(),
            "note": self.note.text().strip(),
            "accept": tuple(f"{name}={reason.text().strip()}" for name, _, reason in self._accepted),
            "table": TableName(self._scene.focus.table),
        }
