"""How many acts the whole job takes: one drop, key, click, or field typed is one act."""

from dataclasses import replace
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication, QCheckBox, QLineEdit
from pytestqt.qtbot import QtBot
from screen import Screen

from workbench.demo.drive import drive
from workbench.demo.recorder import csv_text
from workbench.demo.samples import CURVE_CAR, sample_files
from workbench.window.tasks.approve_task import Acceptance, ApproveTask
from workbench.window.tasks.cautions_task import CautionsTask
from workbench.window.tasks.correct_task import CorrectTask
from workbench.window.tasks.form import Form

MOST = 15
EACH, OF_CAUTION = 1, 2  # acts for an objection, and for a caution
OBJECTION = "each objection: reason with Enter"
NEXT = replace(CURVE_CAR, pulls=3)  # the next drive of the sample's car, with pulls
APPROVE = "approve: next step, name with Enter"
CAUTION = "a caution: next step, reason with Enter"
DEVELOPERS = Path(__file__).parents[2] / "DEVELOPERS.md"


class Hands:
    """Does what a user does, and counts it by step."""

    def __init__(self, screen: Screen, qtbot: QtBot) -> None:
        self.screen, self._qtbot = screen, qtbot
        self.acts: dict[str, int] = {}
        self._step = ""

    def begin(self, step: str) -> None:
        """Begin a step of the job."""
        self._step = step
        self.acts.setdefault(step, 0)

    def _count(self) -> None:
        self.acts[self._step] += 1
        self.screen.settle()

    def drop(self, *files: Path) -> None:
        self.screen.drop(*files)
        self._count()

    def key(self, keys: str) -> None:
        """Press a key where the keyboard is."""
        self.screen.press(keys, QApplication.focusWidget() or self.screen.window)
        self._count()

    def write(self, text: str, *, entered: bool = False) -> None:
        """Type into the field that has the keyboard, in place of what it holds; Enter may end it."""
        field = QApplication.focusWidget()
        if isinstance(field, Acceptance):  # the first letter goes on to the reason, Enter ticks
            self._qtbot.keyClicks(field, text[:1])
            field, text = QApplication.focusWidget(), text[1:]
        else:
            assert isinstance(field, QLineEdit), f"the keyboard is on {type(field).__name__}"
            field.selectAll()
        assert field is not None
        self._qtbot.keyClicks(field, text)
        if entered:
            self._qtbot.keyClick(field, Qt.Key.Key_Return)
        self._count()


@pytest.fixture
def hands(screen: Screen, qtbot: QtBot) -> Hands:
    return Hands(screen, qtbot)


def settle_cautions(hands: Hands) -> None:
    """Acknowledge each caution that the next step asked to look at."""
    hands.begin(CAUTION)
    while isinstance(hands.screen.task, CautionsTask) and hands.screen.task.findChildren(QLineEdit):
        hands.write("seen, known, and harmless here", entered=True)


def approve(hands: Hands) -> None:
    """Take the next step until it asks for an approval; accept each objection with a reason, and sign."""
    hands.begin(APPROVE)
    hands.key("F5")
    if isinstance(hands.screen.task, CautionsTask):
        hands.acts |= {APPROVE: 0, CAUTION: 1}
        settle_cautions(hands)
        hands.begin(APPROVE)
        hands.key("F5")
    task = hands.screen.task
    assert isinstance(task, ApproveTask)
    hands.begin(OBJECTION)
    for _ in task.findChildren(QCheckBox):
        hands.write("looked into it", entered=True)
    hands.begin(APPROVE)
    hands.write("A. Calibrator", entered=True)


def test_the_whole_job_takes_few_acts(hands: Hands, tmp_path: Path) -> None:
    screen = hands.screen
    for name, text in sample_files().items():
        (tmp_path / name).write_text(text, encoding="utf-8", newline="")
    hands.begin("begin from the table: drop it")
    hands.drop(tmp_path / "airflow_stale.csv")
    hands.begin("add both logs: drop them")
    hands.drop(tmp_path / "part_throttle_drive.csv", tmp_path / "pulls_drive.csv")
    assert len(screen.state.drives) == 2
    hands.begin("correct: next step, apply")
    hands.key("F5")
    assert isinstance(screen.task, CorrectTask)
    hands.key("Return")
    assert screen.head.operation == "correct"
    hands.begin("export a draft: next step, go")
    hands.key("F5")
    assert isinstance(screen.task, Form)
    hands.key("Return")
    assert list(tmp_path.glob("*draft*.csv"))
    hands.begin("add the next drive's log: drop it")
    (tmp_path / "next.csv").write_text(csv_text(drive(NEXT, screen.head.table, number=3).log), newline="")
    hands.drop(tmp_path / "next.csv")
    assert len(screen.state.drives) == 3
    approve(hands)
    assert screen.head.id in screen.state.history.approvals
    hands.begin("export: next step, go")
    hands.key("F5")
    hands.key("Return")
    assert [path for path in tmp_path.glob("*revision_2.csv") if "draft" not in path.name]
    approval, met = screen.state.history.approvals[screen.head.id], hands.acts.pop(OBJECTION, 0)
    assert met == EACH * len(approval.accepted)
    assert approval.note.count("looked into it") == len(approval.accepted)
    assert hands.acts.pop(CAUTION, OF_CAUTION) % OF_CAUTION == 0
    everything = sum(hands.acts.values()) + met
    assert everything <= MOST, hands.acts
    rows = [f"| {step} | {n} |" for step, n in hands.acts.items()]
    rows += [f"| {OBJECTION} | {EACH} |", f"| all, with the sample's {met} objections | {everything} |"]
    assert "\n".join(rows) in DEVELOPERS.read_text("utf-8")
