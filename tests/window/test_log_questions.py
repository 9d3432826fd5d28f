"""The answers to what reading a log left open: each one click, also where it names several channels."""

from PySide6.QtWidgets import QPushButton, QWidget
from pytestqt.qtbot import QtBot

from workbench.model.log import Alternative, Question
from workbench.window.tasks.log_questions import LogQuestions


class _Asked:
    """As much of a drive as is shown."""

    id = 2

    def __init__(self, *questions: Question) -> None:
        self.log = self
        self.questions = questions


def test_one_click_states_all_that_an_answer_names(qtbot: QtBot) -> None:
    parent = QWidget()
    qtbot.addWidget(parent)
    shown = LogQuestions(parent)
    flag = "--role 'engine_speed=回転数' --role 'stft_1=It\"s --role a' --unit 'MAP=psi'"
    answers = (Alternative("yes", flag, "Used."), Alternative("no", "--role 'stft_1='", "Not used."))
    shown.show_drive(_Asked(Question("", "Is that so?", answers)))
    yes, no = shown.findChildren(QPushButton)
    with qtbot.waitSignal(shown.answered) as given:
        yes.click()
    assert given.args == [{"log": 2, "role": ("engine_speed=回転数", 'stft_1=It"s --role a'), "unit": ("MAP=psi",)}]
    with qtbot.waitSignal(shown.answered) as given:
        no.click()
    assert given.args == [{"log": 2, "role": ("stft_1=",)}]
