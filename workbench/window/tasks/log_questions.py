"""What logs leave open, each answer one click: the questions of a log, and where the car's wideband sits."""

import re
from functools import partial

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QVBoxLayout, QWidget

from workbench.model.log import SCALING, Alternative, Drive, Question
from workbench.window.kit.controls import button, emptied, label
from workbench.window.scene.scene import Scene
from workbench.window.tasks.correct_task import drive_words
from workbench.window.words.phrasing import window_text
from workbench.window.words.wording import tr

_FLAG = re.compile(r"--([a-z-]+) '(.*)'", re.DOTALL)


class LogQuestions(QWidget):
    """Shows the open questions of a log; takes no room where there are none.

    Signals:
        answered: arguments for amend-log.
        scaling_wanted: name of a channel whose scaling is to be stated.
    """

    answered = Signal(object)
    scaling_wanted = Signal(str)

    def __init__(self, parent: QWidget) -> None:
        """Make it empty."""
        super().__init__(parent)
        self._column = QVBoxLayout(self)
        self._column.setContentsMargins(0, 0, 0, 0)
        self._shown: tuple[Question, ...] | None = None
        self.first: QWidget | None = None  # of the answers

    def show_drive(self, drive: Drive) -> None:
        """Show what is open about a log."""
        if drive.log.questions == self._shown:
            return
        self._shown = drive.log.questions
        emptied(self._column)
        self.first = None
        self.setVisible(bool(self._shown))
        if self._shown:
            self._column.addWidget(
                label(tr("Answer these before the log counts as evidence"), self, "title", wrap=True)
            )
        for question in self._shown:
            self._column.addWidget(label(window_text(question.question), self, wrap=True))
            for alternative in question.alternatives:
                answer = self._answer(drive, question, alternative)
                self.first = self.first or answer
                self._column.addWidget(answer)
                self._column.addWidget(label(window_text(alternative.means), self, "soft", wrap=True))

    def _answer(self, drive: Drive, question: Question, alternative: Alternative) -> QWidget:
        made = button(alternative.answer, window_text(alternative.means), self)
        if alternative.flag.startswith(SCALING):
            made.clicked.connect(partial(self._ask_for_scaling, question.channel))
        else:
            made.clicked.connect(partial(self._emit, drive.id, alternative.flags))
        return made

    def _ask_for_scaling(self, channel: str, *_: object) -> None:
        self.scaling_wanted.emit(channel)

    def _emit(self, log: int, flags: tuple[str, ...], *_: object) -> None:
        given: dict[str, tuple[str, ...]] = {}
        for match in filter(None, map(_FLAG.fullmatch, flags)):
            name = match[1].replace("-", "_")
            given[name] = (*given.get(name, ()), match[2])
        if given:
            self.answered.emit({"log": log, **given})


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
