"""Forms offer what a parameter is: a file that is there, a new one, a folder, a revision, a log."""

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from PySide6.QtWidgets import QApplication, QCheckBox, QComboBox, QPushButton
from pytestqt.qtbot import QtBot
from screen import Screen

from workbench.commands.handbook import COMMANDS
from workbench.commands.record.revisions import roll_back
from workbench.commands.table.hand import add, scale, scale_percent, set_cells
from workbench.commands.table.shaping import blend
from workbench.model.cells import read_cells
from workbench.model.log import Drive, Log
from workbench.model.packing import Column
from workbench.model.state import Applied, DriveAdded
from workbench.session import Session
from workbench.window.scene import file_dialogs
from workbench.window.scene.scene import Focus, Scene
from workbench.window.shell.main_window import MainWindow
from workbench.window.tasks.form import Form
from workbench.window.words.wording import operation

DIALOGS = ("ask_file", "ask_files", "ask_new_file", "ask_folder")


@pytest.mark.parametrize(
    ("word", "name", "dialog"),
    [
        ("export", "file", "ask_new_file"),
        ("report", "file", "ask_new_file"),
        ("new", "session", "ask_new_file"),
        ("new", "file", "ask_file"),
        ("new", "more", "ask_files"),
        ("samples", "folder", "ask_folder"),
        ("tour", "folder", "ask_folder"),
        ("check", "against", "ask_file"),
        ("add-log", "files", "ask_files"),
        ("add-log", "dbc", "ask_file"),
        ("take-donor", "file", "ask_file"),
    ],
)
def test_browsing_offers_what_the_command_takes(
    word: str, name: str, dialog: str, qtbot: QtBot, session: Session, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked: list[str] = []
    several = dialog == "ask_files"
    for each in DIALOGS:
        found: object = ["/a/place"] if each == "ask_files" else "/a/place"
        monkeypatch.setattr(file_dialogs, each, lambda *_, which=each, found=found: asked.append(which) or found)
    form = Form(COMMANDS[word], Scene(state=session.state), None)  # type: ignore[arg-type]
    qtbot.addWidget(form)
    paths = [each.name for each in COMMANDS[word].parameters if "Path" in str(each.type)]
    form.findChildren(QPushButton)[paths.index(name)].click()
    assert asked == [dialog]
    assert form._readers[name]() == ((Path("/a/place"),) if several else Path("/a/place"))


def test_what_is_multiplied_is_what_is_chosen_be_it_one_cell(qtbot: QtBot, session: Session) -> None:
    """With one cell chosen, all were changed by a command that speaks of the chosen cells."""
    scene = Scene(state=session.state, focus=Focus(table=session.state.table().name, cell=(2,)))
    assert scene.table is not None
    for word, field in (("scale", {"by": 1.02}), ("smooth", {}), ("ramp", {}), ("add", {"by": 1.0})):
        form = Form(COMMANDS[word], scene, None, field)  # type: ignore[arg-type]
        qtbot.addWidget(form)
        assert form.arguments()["cells"] == scene.cells, word
    for word in ("carry-on", "keep-rising", "round", "roll-back"):  # what they speak of is the whole table
        form = Form(COMMANDS[word], scene, None)  # type: ignore[arg-type]
        qtbot.addWidget(form)
        assert "cells" not in form.arguments(), word


def test_a_log_is_chosen_by_its_name(qtbot: QtBot, session: Session, make_drive: Callable[..., Drive]) -> None:
    session.record(DriveAdded((make_drive(1), make_drive(2, name="hills.csv"))))
    form = Form(COMMANDS["amend-log"], Scene(state=session.state), None, {"log": 2})  # type: ignore[arg-type]
    qtbot.addWidget(form)
    box = form.findChildren(QComboBox)[0]
    assert [box.itemText(i) for i in range(box.count())] == ["1  town.csv", "2  hills.csv"]
    assert form.arguments() == {"log": 2}


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (lambda state: scale(state, by=1.02), "Scaled × 1.02"),
        (lambda state: scale_percent(state, by=-1.5), "Scaled by \N{MINUS SIGN}1.5 %"),
        (lambda state: set_cells(state, to=3, cells=read_cells("0")), "Set to 3"),
        (lambda state: add(state, by=-0.25), "Added \N{MINUS SIGN}0.25"),
        (lambda state: blend(state, 1, share=0.5), "Blended with 1 share 50\N{NARROW NO-BREAK SPACE}%"),
        (lambda state: roll_back(state, 1), "Rolled back to 1"),
    ],
)
def test_the_history_says_what_a_command_was_told(make: Callable[..., object], words: str, session: Session) -> None:
    session.record(scale(session.state, by=1.1).change)
    change = make(session.state).change  # type: ignore[attr-defined]
    assert isinstance(change, Applied)
    assert operation(change.revision) == words


def test_a_drive_that_need_not_be_named_is_not_named_unasked(session: Session, window: MainWindow) -> None:
    """A delay is kept for the car unless a drive is chosen."""
    log = Log("town.csv", "0" * 64, Column(np.arange(20) / 20), (), {})
    session.record(DriveAdded((Drive(1, log, 1),)))
    form = Form(COMMANDS["wideband-delay"], Scene(state=session.state, focus=Focus(table="airflow")), window)
    (drives,) = form.findChildren(QComboBox)
    assert [drives.itemText(at) for at in range(drives.count())] == ["the car", "1  town.csv"]
    assert form.arguments() == {}
    drives.setCurrentIndex(1)
    assert form.arguments() == {"log": 1}


def test_a_lean_draft_is_refused_then_allowed_by_its_box_at_which_the_keyboard_stands(
    screen: Screen, car_files: Path, tmp_path: Path
) -> None:
    screen.begin_from(car_files / "curve.csv", tmp_path / "car.session")
    screen.run("scale", {"by": 0.9})
    screen.settle()
    screen.do("export")
    screen.press("Return", screen.task)
    screen.settle()
    (allow,) = [each for each in screen.task.findChildren(QCheckBox) if each.text() == "Allow a lean step"]
    assert any("then accept it: “Allow a lean step”." in each for each in screen.texts)
    assert QApplication.focusWidget() is allow
    screen.press("Space")
    screen.press("Return")
    screen.settle()
    assert screen.task is None
    assert (tmp_path / "curve_revision_2.draft.csv").exists()


def test_a_name_alone_lies_beside_the_session(screen: Screen, car_files: Path, tmp_path: Path) -> None:
    screen.begin_from(car_files / "curve.csv", tmp_path / "car.session")
    (tmp_path / "beside.csv").write_bytes((car_files / "curve_drive.csv").read_bytes())
    screen.do("add-log")
    screen.type("beside.csv")
    screen.press("Return")
    screen.settle()
    assert [each.log.name for each in screen.state.drives] == ["beside.csv"]


def test_an_answer_goes_when_something_else_is_asked_for(screen: Screen, car_files: Path, tmp_path: Path) -> None:
    """Else it stands under fields that say otherwise."""
    screen.begin_from(car_files / "curve.csv", tmp_path / "car.session")
    screen.run("scale", {"by": 1.1})
    screen.do("difference")
    screen.settle()
    assert any("48 of 48 cells differ" in text for text in screen.texts)
    task = screen.task
    assert task is not None
    task.findChildren(QComboBox)[0].setEditText("2")
    screen.settle()
    assert not any("cells differ" in text for text in screen.texts)
    screen.run("scale", {"by": 1.1})  # and comes by itself no more
    screen.settle()
    assert not any("cells differ" in text for text in screen.texts)
