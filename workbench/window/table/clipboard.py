"""Cells to the clipboard, and what the clipboard holds as a draft."""

from typing import Literal

from PySide6.QtCore import QLocale
from PySide6.QtGui import QGuiApplication

from workbench.commands.declaring.kinds import TableName
from workbench.commands.table.clipboard import copy
from workbench.errors import InputError, WorkbenchError
from workbench.model.cells import Cells
from workbench.window.kit.message_bar import Notice
from workbench.window.scene.command_runner import Runner
from workbench.window.scene.scene import Scene
from workbench.window.words.phrasing import window_text
from workbench.window.words.wording import plural, tr


def copy_cells(scene: Scene, notice: Notice, cells: Cells | None = None) -> None:
    """Put values on the clipboard as a spreadsheet pastes them, by default of the chosen cells."""
    cells = scene.cells if cells is None else cells
    if scene.state is None:
        return
    decimal: Literal["comma", "point"] = "comma" if QLocale().decimalPoint() == "," else "point"
    try:
        text = copy(scene.state, cells=cells, decimal=decimal, table=TableName(scene.focus.table)).value
    except WorkbenchError as error:
        notice.say_refused(error)
        return
    QGuiApplication.clipboard().setText(text)
    many = len(text.split())
    words = plural(many, "1 value is on the clipboard.", "{n} values are on the clipboard.")
    notice.say(words.format(n=many))


def paste_cells(scene: Scene, notice: Notice, runner: Runner) -> None:
    """Draft what the clipboard holds, from the chosen cell on."""
    text = QGuiApplication.clipboard().text()
    if not text.strip():
        notice.say_refused(InputError(tr("The clipboard holds no text."), tr("Copy cells first.")))
        return
    arguments = {"text": text, "cells": scene.cells, "table": TableName(scene.focus.table)}
    runner.draft(
        "paste",
        arguments,
        lambda answer: notice.say(
            tr("{line} Enter applies, Esc drops.").format(line=window_text(answer.lines[0])),
        ),
    )
