"""Which panels of the bench are seen: all but the hidden ones, or one alone with the whole room."""

from collections.abc import Mapping, Sequence

from PySide6.QtCore import QObject, Qt, Signal
from PySide6.QtWidgets import QApplication, QHBoxLayout, QPushButton, QWidget

from workbench.window.kit.controls import button
from workbench.window.words.wording import tr

GAP, GAP_UNDER = 6, 8  # px between the buttons, and between them and the panels


class PanelRoom(QObject):
    """Shows and hides panels, and the row of buttons for them where they do not all fit.

    Signals:
        changed: other panels are seen; the room is to be shared out anew.
    """

    changed = Signal()

    def __init__(
        self, panels: Mapping[str, QWidget], groups: Sequence[tuple[QWidget, tuple[str, ...]]], bench: QWidget
    ) -> None:
        """Take the panels by name, and what holds several of them: it is seen while one of those is."""
        super().__init__(bench)
        self._panels, self._groups = panels, groups
        self.hidden: set[str] = set()
        self.alone = ""
        self._opened = self._task = False
        self.bar = QWidget(bench)
        self._buttons: dict[str, QPushButton] = {}
        line = QHBoxLayout(self.bar)
        line.setContentsMargins(0, 0, 0, 0)
        line.setSpacing(GAP)
        titles = {
            "": (tr("All panels"), tr("Show all panels again.")),
            "numbers": (tr("Numbers"), tr("Maximise the numbers.")),
            "picture": (tr("Picture"), tr("Maximise the picture.")),
            "evidence": (tr("Evidence"), tr("Maximise the evidence.")),
            "log": (tr("Log"), tr("Maximise the log.")),
            "history": (tr("History"), tr("Maximise the history.")),
        }
        for name, (title, tip) in titles.items():
            made = button(title, tip, self.bar, "flat")
            made.setCheckable(True)
            made.clicked.connect(lambda _=False, named=name: self.bring(named))
            line.addWidget(made)
            self._buttons[name] = made
        line.addStretch(1)
        self.bar.hide()

    def show(self, *, opened: bool, task: bool) -> None:
        """Show the panels that are to be seen; a task at hand always is."""
        self._opened, self._task = opened, task
        seen = {name: opened and self._wanted(name) for name in self._panels}
        seen["history"] = seen["history"] or task or not opened
        for name, panel in self._panels.items():
            panel.setVisible(seen[name])
        for group, names in self._groups:
            group.setVisible(any(seen[name] for name in names))
        for name, made in self._buttons.items():
            made.setChecked(name == self.alone)

    def _wanted(self, name: str) -> bool:
        return name == self.alone if self.alone else name not in self.hidden

    def bring(self, name: str) -> None:
        """Give one panel the whole room, or all of them theirs by an empty name."""
        self.alone = name
        self.hidden.discard(name)
        self._again()
        if name:
            self._panels[name].setFocus(Qt.FocusReason.OtherFocusReason)

    def toggle_alone(self) -> None:
        """Give the panel that has the keyboard the whole room, or back to all."""
        self.bring("" if self.alone else self._with_keyboard())

    def toggle(self, name: str) -> None:
        """Hide a panel, or show it again."""
        self.alone = ""
        self.hidden ^= {name}
        if self.hidden >= set(self._panels):
            self.hidden.discard("numbers")
        self._again()

    def _with_keyboard(self) -> str:
        focus = QApplication.focusWidget()
        for name, panel in self._panels.items():
            if focus is not None and (panel is focus or panel.isAncestorOf(focus)):
                return name
        return "numbers"

    def fit(self, need: int, room: int) -> None:
        """Show the row of buttons where the panels do not all fit, or one of them is alone, px."""
        self.bar.setVisible(self._opened and (bool(self.alone) or need - self.bar_height > room))

    @property
    def bar_height(self) -> int:
        """What the row of buttons takes with the gap under it, px; nothing where it is hidden."""
        return 0 if self.bar.isHidden() else self.bar.sizeHint().height() + GAP_UNDER

    @property
    def crowded(self) -> bool:
        """Whether the panels do not all fit."""
        return not self.bar.isHidden()

    def _again(self) -> None:
        self.show(opened=self._opened, task=self._task)
        self.changed.emit()
