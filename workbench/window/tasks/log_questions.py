"""What reading a log left open: each question with its answers, each of them one click."""

import re
from functools import partial

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QVBoxLayout, QWidget

from workbench.model.log import SCALING, Alternative, Drive, Question
from workbench.window.kit.controls import button, emptied, label
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
