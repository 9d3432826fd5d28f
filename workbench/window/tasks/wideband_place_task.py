"""The task of saying where the wideband sits: three answers, each one click, with what it means for the readings."""

from functools import partial

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QVBoxLayout, QWidget

from workbench.window.kit.controls import button, label
from workbench.window.scene.scene import Scene
from workbench.window.tasks.correct_task import drive_words
from workbench.window.words.wording import tr


class WidebandPlaceTask(QWidget):
    """Asks for the place that holds for the car; a log may have its own.

    Signals:
        stated: arguments for the command.
    """

    stated = Signal(object)

    def __init__(self, scene: Scene, parent: QWidget) -> None:
        """Offer the answers, and say what holds now."""
        super().__init__(parent)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        self._stands = label(_how_it_stands(scene), self, wrap=True)
        column.addWidget(self._stands)
        self.answers = {}
        for place, (name, means) in _answers().items():
            made = button(name, means, self)
            made.clicked.connect(partial(self._state, place))
            column.addWidget(made)
            column.addWidget(label(means, self, "soft", wrap=True))
            self.answers[place] = made
        column.addWidget(
            label(tr("A log made with the wideband elsewhere: say so in its log details."), self, "soft", wrap=True)
        )
        self.first: QWidget = self.answers["before"]

    def show_scene(self, scene: Scene) -> None:
        """Say what holds now; another program may have stated it."""
        self._stands.setText(_how_it_stands(scene))

    def _state(self, place: str, *_: object) -> None:
        self.stated.emit({"wideband": place})


def _answers() -> dict[str, tuple[str, str]]:
    return {
        "before": (
            tr("Before the catalyst"),
            tr("In the manifold or in the pipe ahead of it, or there is none. All its readings count."),
        ),
        "after": (
            tr("After the catalyst"),
            tr(
                "Behind it, in the tailpipe too. Its readings count in sustained rich running; elsewhere the catalyst "
                "hides the mixture."
            ),
        ),
        "unknown": (
            tr("Nobody knows"),
            tr("Its readings count where both places would show the same. It is not asked again."),
        ),
    }


def _how_it_stands(scene: Scene) -> str:
    """Say what was stated, or else what the logs show."""
    stated = "auto" if scene.state is None else scene.state.settings.wideband
    if stated != "auto":
        return tr("Stated: {place}.").format(place=_answers()[stated][0])
    places = {} if scene.fitting_evidence is None else scene.fitting_evidence.wideband
    drives = [] if scene.state is None else [each for each in scene.state.drives if places.get(each.id) == "unknown"]
    if not drives:
        return tr("Not stated: the logs tell it.")
    named = ", ".join(map(drive_words, drives))
    return tr("Before the catalyst or after it? The readings do not show it ({drives}).").format(drives=named)
