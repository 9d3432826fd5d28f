"""The strip on top: where one is, and one next step."""

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QLabel, QProgressBar, QPushButton, QSizePolicy, QVBoxLayout, QWidget

from workbench.window.controls import Card, button, emptied, label, rekind, row
from workbench.window.next_step import Figure, NextStep, figures, next_step
from workbench.window.scene import Scene
from workbench.window.theme import Theme
from workbench.window.wording import tr
from workbench.work import Progress


class StatusStrip(Card):
    """Shows the figures and the next step.

    Signals:
        step: name of the action to trigger.
        cancelled: the running work is to be stopped.
    """

    step = Signal(str)
    cancelled = Signal()

    def __init__(self, parent: QWidget) -> None:
        """Make it empty."""
        super().__init__(tr("Where you are"), parent)
        self.exported: int | None = None
        self._next = NextStep("", "", "")
        self._figures: list[tuple[QWidget, QLabel, QLabel]] = []
        self._row = row(spacing=22)
        self._button: QPushButton = button(tr("Next"), "", self, "step")
        self._button.setAccessibleName(tr("Next step"))
        self._button.clicked.connect(self.step_now)
        self._working = label("", self, "soft")
        self._bar = QProgressBar(self)
        self._bar.setTextVisible(False)
        self._bar.setMaximumHeight(8)
        self._bar.setAccessibleName(tr("Progress"))
        self._bar.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)
        self._stop = button(tr("Cancel"), tr("Stop the running work; nothing of it is kept."), self, "flat")
        self._stop.clicked.connect(self.cancelled)
        work = QVBoxLayout()
        work.setSpacing(2)
        work.addWidget(self._working)
        work.addWidget(self._bar)
        line = row()
        line.addLayout(self._row)
        line.addStretch(1)
        line.addLayout(work)
        line.addWidget(self._stop)
        line.addWidget(self._button)
        self.column.addLayout(line)
        self.show_work("", None)

    def show_scene(self, scene: Scene, _: Theme) -> None:
        """Show where one is."""
        self._next = next_step(scene, self.exported)
        self._button.setText(self._next.title)
        self._button.setToolTip(self._next.reason)
        self._button.setAccessibleDescription(self._next.reason)
        self._button.setEnabled(bool(self._next.act))
        shown = figures(scene)
        if len(shown) != len(self._figures):
            emptied(self._row)
            self._figures = [self._place() for _ in shown]
        for (_place, caption, value), figure in zip(self._figures, shown, strict=True):
            self._write(caption, value, figure)

    def step_now(self) -> None:
        """Do the next step."""
        if self._next.act:
            self.step.emit(self._next.act)

    def show_work(self, title: str, progress: Progress | None) -> None:
        """Show what runs, and how far it is."""
        busy = bool(title)
        for part in (self._working, self._bar, self._stop):
            part.setVisible(busy)
        self._working.setText(f"{title}…" if busy else "")
        self._bar.setMaximum(progress.total if progress is not None else 0)
        self._bar.setValue(progress.done if progress is not None else 0)

    def _place(self) -> tuple[QWidget, QLabel, QLabel]:
        place = QWidget(self)
        column = QVBoxLayout(place)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        caption, value = label("", place, "soft"), label("", place, "figure")
        column.addWidget(caption)
        column.addWidget(value)
        self._row.addWidget(place)
        return place, caption, value

    @staticmethod
    def _write(caption: QLabel, value: QLabel, figure: Figure) -> None:
        caption.setText(figure.caption)
        value.setText(figure.value)
        value.setToolTip(figure.tip)
        value.setAccessibleName(f"{figure.caption}: {figure.value}")
        value.setAccessibleDescription(figure.tip)
        rekind(value, figure.kind)
