"""Inputs that are scaled and gates on channels, by the window alone."""

import math
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QLineEdit, QPushButton, QWidget
from pytestqt.qtbot import QtBot
from screen import Screen

from workbench.window.tasks.channel_gates import ChannelGates
from workbench.window.tasks.form import Form
from workbench.window.tasks.log_tasks import DriveTask

TABLE = "Sensor (Hz),Airflow (g/s)\n1000,2\n2000,6\n3000,15\n4000,40\n"


@pytest.fixture
def logged(screen: Screen, settle: Callable[[], None], tmp_path: Path) -> Screen:
    """Open a session with a drive whose wideband is logged in volts; made up for this test."""
    rows = [
        f"{i / 10},{2000 + 900 * math.sin(i / 40):.1f},{3 + math.sin(i / 9):.2f},"
        f"{2.35 + 1.5 * math.sin(i / 31):.3f},{2000 + 50 * math.sin(i / 13):.0f},{85 + i / 400:.1f}"
        for i in range(600)
    ]
    head = "Time (s),Sensor (Hz),Short trim (%),Wideband (V),Engine speed (rpm),Coolant (degC)"
    (tmp_path / "table.csv").write_text(TABLE)
    (tmp_path / "one.csv").write_text("\n".join([head, *rows]))
    screen.begin_from(tmp_path / "table.csv", tmp_path / "car.session")
    # What so small a log leaves open besides is answered: it has neither a long trim nor anything that shows a cut.
    answers = ("ltft_1=", "fuel_system=")
    screen.run("add-log", {"files": (tmp_path / "one.csv",), "role": answers})
    settle()
    return screen


def press(qtbot: QtBot, within: QWidget, text: str) -> None:
    made = next(each for each in within.findChildren(QPushButton) if each.text() == text)
    assert made.isEnabled()
    qtbot.mouseClick(made, Qt.MouseButton.LeftButton)


def field(within: QWidget, name: str) -> QLineEdit:
    return next(each for each in within.findChildren(QLineEdit) if each.accessibleName() == name)


def test_the_question_leads_to_the_scaling(logged: Screen, qtbot: QtBot, settle: Callable[[], None]) -> None:
    logged.do("drive")
    settle()
    assert isinstance(logged.task, DriveTask)
    assert isinstance(logged.task.first, QPushButton)  # the keyboard begins at the first answer
    assert logged.task.first.text() == "state its scaling"
    press(qtbot, logged.drawer, "state its scaling")
    form = logged.task
    assert isinstance(form, Form)
    assert form.arguments()["channel"] == "Wideband"
    points = next(each for each in form.findChildren(QLineEdit) if each.accessibleName() == "Points of its scaling")
    points.setText("0=0.68; 5=1.36")
    press(qtbot, logged.drawer, "Record")
    settle()
    state = logged.state
    assert state is not None
    log = state.drives[0].log
    assert log.roles["lambda_measured"] == "Wideband"
    assert not log.questions
    values = log.playing("lambda_measured")
    assert values is not None
    assert float(np.median(values)) == pytest.approx(0.68 + 0.136 * 2.35, abs=0.1)
    logged.do("undo")
    settle()
    state = logged.state
    assert state is not None
    assert state.drives[0].log.questions


def test_a_gate_is_added_and_taken_away(logged: Screen, qtbot: QtBot, settle: Callable[[], None]) -> None:
    logged.do("gates")
    settle()
    own = next(each for each in logged.window.findChildren(ChannelGates) if each.isVisible())
    go = next(each for each in own.findChildren(QPushButton) if each.text() == "Add this gate")
    assert not go.isEnabled()
    field(own, "From").setText("x")
    field(own, "To").setText("90")
    assert not go.isEnabled()
    field(own, "From").setText("120")
    assert not go.isEnabled()  # beyond the other end
    field(own, "From").setText("20")
    own._channel.setCurrentIndex(own._channel.findData("Coolant"))
    press(qtbot, own, "Add this gate")
    settle()
    state = logged.state
    assert state is not None
    assert [each.name for each in state.settings.gates.channels] == ["Coolant outside 20 to 90"]
    press(qtbot, own, "Remove")
    settle()
    state = logged.state
    assert state is not None
    assert state.settings.gates.channels == ()
