"""What mends an objection, each by one click: the correction carried on, faded, or blended."""

from collections.abc import Mapping
from typing import Any

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QWidget

from workbench.commands.declaring.kinds import TableName
from workbench.maths.questions import cells_to_fade_over
from workbench.model.cells import Cells
from workbench.window.kit.controls import button
from workbench.window.kit.flow_layout import Flow
from workbench.window.scene.scene import Scene
from workbench.window.words.wording import tr

CLIFF, CARRY, TAPER, BLEND = "cliff", "carry-on", "taper", "smooth"  # names that the objection bears
AROUND = 2  # cells to either side of a cliff that blend with it


class Remedies(QWidget):
    """Buttons, one for each remedy.

    Signals:
        chosen: the word of a command, and its arguments.
    """

    chosen = Signal(str, object)

    def __init__(self, scene: Scene, objection: Any, parent: QWidget) -> None:
        """Offer what mends an objection."""
        super().__init__(parent)
        flow = Flow(self)
        self.buttons = {}
        for remedy in objection.remedies if objection.name == CLIFF else ():
            name, tip = _words(remedy)
            made = button(name, tip, self)
            made.clicked.connect(lambda _=False, remedy=remedy: self.chosen.emit(*_act(scene, objection, remedy)))
            flow.addWidget(made)
            self.buttons[remedy] = made


def _words(remedy: str) -> tuple[str, str]:
    return {
        CARRY: (tr("Carry on"), tr("Continue the correction into the undriven cells.")),
        TAPER: (tr("Let it fade"), tr("Let the correction fade over the undriven cells, in small steps.")),
        BLEND: (tr("Blend"), tr("Smooth the cells on both sides of the step.")),
    }[remedy]


def _act(scene: Scene, objection: Any, remedy: str) -> tuple[str, Mapping[str, Any]]:
    """Return the command that a remedy stands for."""
    table = TableName(scene.focus.table)
    if remedy == CARRY:
        return "carry-on", {"table": table}
    if remedy == TAPER and scene.state is not None and scene.head is not None:
        return "carry-on", {"table": table, "over": cells_to_fade_over(scene.state.history, scene.head)}
    ends = [] if scene.table is None else [len(axis) - 1 for axis in scene.table.axes]
    blocks = [
        tuple((max(i - AROUND, 0), min(i + AROUND, end)) for i, end in zip(cell, ends, strict=True))
        for cell in objection.cells
    ]
    cells = Cells(tuple(blocks))
    since = None if scene.head is None or scene.state is None else scene.state.history.line(scene.head.id)[0].id
    return "smooth", {"table": table, "strength": 1.0, "cells": cells, "since": since}
