"""The strip on top: where one is, and one next step."""

from PySide6.QtCore import QEvent, Qt, Signal
from PySide6.QtGui import QKeyEvent, QMouseEvent, QResizeEvent
from PySide6.QtWidgets import QLabel, QPushButton, QVBoxLayout, QWidget

from workbench.commands.evidence.next_step import NextStep
from workbench.window.kit.controls import Card, button, label, rekind
from workbench.window.kit.flow_layout import Flow
from workbench.window.kit.theme import Theme
from workbench.window.panels.next_step import Figure, against, figures, next_step
from workbench.window.panels.reason_line import ReasonLine
from workbench.window.scene.last_drawn import LastDrawn
from workbench.window.scene.scene import Scene
from workbench.window.words.wording import tr

LEAST_EM = 30  # lines of text that a reason needs beside the button; else it stands under all


class Value(QLabel):
    """The value of a figure; one that has more to show is clicked, or entered with the keyboard.

    Signals:
        asked: name of the act that shows more.
    """

    asked = Signal(str)

    def __init__(self, parent: QWidget) -> None:
        """Make it empty."""
        super().__init__(parent)
        self.setProperty("kind", "figure")
        self._opens = ""

    def show_figure(self, figure: Figure) -> None:
        """Write another value."""
        self._opens = figure.opens
        self.setText(f"{figure.value} ›" if figure.opens else figure.value)
        self.setCursor(Qt.CursorShape.PointingHandCursor if figure.opens else Qt.CursorShape.ArrowCursor)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus if figure.opens else Qt.FocusPolicy.NoFocus)

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        """Show more."""
        if self._opens and self.rect().contains(event.position().toPoint()):
            self.asked.emit(self._opens)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Show more by Enter or the space bar."""
        if self._opens and event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter, Qt.Key.Key_Space):
            self.asked.emit(self._opens)
        else:
            super().keyPressEvent(event)


class StatusStrip(Card):
    """Shows the figures and the next step.

    Signals:
        step: name of the action to trigger.
        refitted: it takes more or less height than before.
    """

    step = Signal(str)
    refitted = Signal()

    def __init__(self, parent: QWidget) -> None:
        """Make it empty."""
        super().__init__(tr("Where you are"), parent)
        self._next = NextStep("", "", "")
        self._quiet = False
        self._last = LastDrawn()
        self._figures: list[tuple[QWidget, QLabel, Value]] = []
        self._button: QPushButton = button(tr("Next"), "", self, "step")
        self._button.setAccessibleName(tr("Next step"))
        self._button.clicked.connect(self.step_now)
        self._flow = Flow(gap=22)
        self._flow.push()
        self._flow.addWidget(self._button)
        self._why = ReasonLine(self)
        self._flow.fill(self._why, 0)
        self.column.addLayout(self._flow)

    def show_scene(self, scene: Scene, theme: Theme) -> None:
        """Show where one is, if it changed."""
        parts = (theme, scene.state, scene.head, scene.fitting_evidence, scene.draft, scene.riddle, scene.by_choice)
        if not self._last.is_other(*parts, scene.own, scene.judging, scene.prediction):
            return
        self._next = next_step(scene)
        self._button.setText(self._next.title)
        self._button.setToolTip(self._next.reason)
        self._why.say(self._next.reason, theme.attention if self._next.danger else "")
        self._button.setAccessibleDescription(self._next.reason)
        self._button.setEnabled(bool(self._next.word))
        shown = [*figures(scene), *against(self._next)]
        while len(self._figures) < len(shown):
            self._figures.append(self._make_place())
        for place, _caption, _value in self._figures[len(shown) :]:
            place.hide()
        for (place, caption, value), figure in zip(self._figures, shown, strict=False):
            place.show()
            self._write(caption, value, figure)
        self._fit()

    def hush(self, quiet: bool) -> None:
        """Step back while a task is at hand, whose own button is the next step."""
        if quiet is not self._quiet:
            self._quiet = quiet
            rekind(self._button, "" if quiet else "step")

    def hasHeightForWidth(self) -> bool:
        """Deny it: the strip sees to its own height, so that the bench under it may shrink."""
        return False

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Take as many rows as the width asks for."""
        super().resizeEvent(event)
        self._fit()

    def event(self, event: QEvent) -> bool:
        """Take as many rows as the figures ask for, once they have taken in their new texts."""
        if event.type() == QEvent.Type.LayoutRequest:
            self._fit()
        return super().event(event)

    def _fit(self) -> None:
        self._flow.set_least(LEAST_EM * self.fontMetrics().height())
        need = self.height_for(self.width())
        if need != self.minimumHeight() or need != self.maximumHeight():
            self.setFixedHeight(need)
            self.refitted.emit()

    def step_now(self) -> None:
        """Do the next step."""
        if self._next.word:
            self.step.emit(self._next.word)

    def _make_place(self) -> tuple[QWidget, QLabel, Value]:
        place = QWidget(self)
        column = QVBoxLayout(place)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        caption, value = label("", place, "soft"), Value(place)
        value.asked.connect(self.step)
        column.addWidget(caption)
        column.addWidget(value)
        self._flow.insert(len(self._figures), place)
        return place, caption, value

    @staticmethod
    def _write(caption: QLabel, value: Value, figure: Figure) -> None:
        caption.setText(figure.caption)
        value.show_figure(figure)
        value.setToolTip(figure.tip)
        value.setAccessibleName(f"{figure.caption}: {figure.value}")
        value.setAccessibleDescription(figure.tip)
        rekind(value, figure.kind)
