"""The task of approving: what speaks against it, each accepted by name with a reason, and who stands by it."""

from collections.abc import Mapping, Sequence
from typing import Any

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QCheckBox, QLineEdit, QVBoxLayout, QWidget

from workbench.commands.declaring.kinds import TableName
from workbench.window.kit.controls import label, labelled
from workbench.window.scene.scene import Scene
from workbench.window.words.phrasing import window_text
from workbench.window.words.wording import operation, spoken, tr


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
    """A box to tick for a reason: the keyboard goes on to that, and who begins to type it on the box has ticked it."""

    def __init__(self, name: str, reason: QLineEdit, parent: QWidget) -> None:
        """Belong to a reason, in which nothing is written without it."""
        super().__init__(tr("I accept this, because"), parent)
        self.setAccessibleName(tr("I accept “{name}”, because").format(name=spoken(name)))
        self._reason = reason
        reason.setEnabled(False)
        self.toggled.connect(reason.setEnabled)
        self.clicked.connect(self._go_on)

    def _go_on(self, on: bool) -> None:
        if on:
            self._reason.setFocus(Qt.FocusReason.OtherFocusReason)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Take letters for the reason; the space bar ticks."""
        text, held = event.text(), event.modifiers() & ~Qt.KeyboardModifier.ShiftModifier
        if text.strip() and text.isprintable() and held == Qt.KeyboardModifier.NoModifier:
            if not self.isChecked():
                self._reason.clear()  # what was typed before another revision came is not what is begun now
            self.setChecked(True)
            self._go_on(on=True)
            self._reason.insert(text)
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

        What was typed earlier, of another revision or when the objection said something else, waits to be ticked.
        Under each stands what mends it, where that is one click.
        """
        super().__init__(parent)
        self._scene = scene
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(6)
        head = scene.head
        if head is not None:
            words = tr("Revision {id} of {table}: {what}.")
            column.addWidget(
                label(words.format(id=head.id, table=head.table.name, what=operation(head)), self, wrap=True)
            )
        self._accepted: list[tuple[str, QCheckBox, QLineEdit]] = []
        title = tr("Objections") if against else tr("No objections.")
        column.addWidget(label(title, self, "title", wrap=True))
        for name, sentence in against:
            column.addSpacing(6)
            heading = spoken(name)
            column.addWidget(label(heading[:1].upper() + heading[1:], self, "attention", wrap=True))
            column.addWidget(label(window_text(sentence), self, wrap=True))
            if name in remedies:
                column.addWidget(remedies[name])
            reason = Reason(self)
            box = Acceptance(name, reason, self)
            reason.entered.connect(self.point_at_missing)
            reason.setAccessibleName(tr("Reason for accepting {name}").format(name=spoken(name)))
            reason.setPlaceholderText(tr("reason, kept with it"))
            box.toggled.connect(lambda _: self.edited.emit())
            reason.textChanged.connect(lambda _: self.edited.emit())
            if name in reasons:
                box.setChecked(True)
            reason.setText(reasons.get(name, earlier.get(name, "")))
            column.addWidget(box)
            column.addWidget(reason)
            self.setTabOrder(box, reason)  # as they stand; by when they were made Tab would lead back to the box
            self._accepted.append((name, box, reason))
        self.by = self._line(tr("Your name"), author, column)
        self.note = self._line(tr("Note"), "", column)
        self.first: QWidget = self._accepted[0][1] if self._accepted else self.by
        column.addWidget(
            label(tr("An approved table goes into an engine. You approve it under your name."), self, "soft", wrap=True)
        )

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
    def reasons(self) -> dict[str, str]:
        """Why what was accepted was accepted."""
        return {name: reason.text() for name, box, reason in self._accepted if box.isChecked()}

    @property
    def missing(self) -> str:
        """What is still needed, as a sentence; empty when all is there."""
        for name, box, reason in self._accepted:
            if not box.isChecked():
                return tr("The objection “{name}” is not accepted.").format(name=spoken(name))
            if not reason.text().strip():
                return tr("Give a reason for accepting “{name}”.").format(name=spoken(name))
        return "" if self.by.text().strip() else tr("An approval needs your name.")

    def arguments(self) -> dict[str, Any]:
        """Return the arguments for the command; the reasons stand in the note."""
        reasons = [f"{name}: {reason.text().strip()}" for name, _, reason in self._accepted]
        note = "; ".join(part for part in (self.note.text().strip(), *reasons) if part)
        head = self._scene.head
        return {
            "revision": None if head is None else head.id,  # that of which the objections are listed, and no other
            "by": self.by.text().strip(),
            "note": note,
            "accept": tuple(name for name, _, _ in self._accepted),
            "table": TableName(self._scene.focus.table),
        }
