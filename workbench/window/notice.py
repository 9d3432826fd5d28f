"""A line under the strip: what just happened, or what was refused and what to do about it."""

from PySide6.QtWidgets import QSizePolicy, QWidget

from workbench.errors import WorkbenchError
from workbench.window.controls import Card, button, label, rekind, row
from workbench.window.wording import tr


class Notice(Card):
    """Shows one message until it is closed or the next comes."""

    def __init__(self, parent: QWidget) -> None:
        """Make it hidden."""
        super().__init__(tr("Message"), parent)
        self._within = parent
        self._text = label("", self, wrap=True)
        self._text.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Minimum)
        close = button(tr("Close"), tr("Close the message."), self, "flat")
        close.clicked.connect(self.hide)
        self.column.setContentsMargins(10, 2, 4, 2)
        self.column.addLayout(row(self._text, close))
        self.hide()

    def say(self, text: str) -> None:
        """Show what happened."""
        self._show(text, "soft")

    def say_refused(self, error: WorkbenchError) -> None:
        """Show what was refused, and the remedy."""
        self._show(f"{error.message} {error.hint}".strip(), "trouble")

    @property
    def text(self) -> str:
        """What it says; empty when it is hidden."""
        return self._text.text() if self.isVisibleTo(self._within) else ""

    def _show(self, text: str, kind: str) -> None:
        self._text.setText(text)
        self._text.setAccessibleName(text)
        rekind(self._text, kind)
        self.setVisible(bool(text))
