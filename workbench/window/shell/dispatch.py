"""Where everything leads that can be asked for: one place per act, and what panels say to each other."""

import math
from collections.abc import Callable
from pathlib import Path
from typing import Any

from PySide6.QtCore import QLocale, QObject, QPoint, Qt, QTimer, QUrl
from PySide6.QtGui import QDesktopServices
from PySide6.QtWidgets import QWidget

from workbench.commands.declaring.kinds import TableName
from workbench.commands.declaring.registry import COMMANDS, Answer, Command
from workbench.commands.record.comparisons import Difference
from workbench.commands.record.references import Referred
from workbench.commands.report.reports import free_path
from workbench.commands.table.tables import MadeSession
from workbench.errors import InputError, LostFileError, StaleError, WorkbenchError
from workbench.model.cells import Cells
from workbench.model.state import DriveAdded, HeadMoved
from workbench.phrases import join_phrases
from workbench.window.kit.controls import button
from workbench.window.panels.next_step import log_in_question, worst_target
from workbench.window.panels.notes import notes_of
from workbench.window.panels.other_programs import OtherPrograms
from workbench.window.scene.bridge import Bridge
from workbench.window.scene.command_runner import Runner
from workbench.window.scene.renewal import of_evidence
from workbench.window.scene.scene import Layer
from workbench.window.shell.actions import Actions
from workbench.window.shell.menu_order import OF_CHOSEN, ON_CELLS, ON_LANES, ON_PICTURE, ON_REVISIONS
from workbench.window.shell.opening import Opening
from workbench.window.shell.outside import OutsideTables
from workbench.window.shell.workspace import Bench
from workbench.window.table.cell_entry import Entry
from workbench.window.table.clipboard import copy_cells, paste_cells
from workbench.window.tasks.delay_trial import DelayTrials
from workbench.window.tasks.help_task import HelpTask, KeysTask
from workbench.window.tasks.story_task import StoryTask
from workbench.window.tasks.tasks import Tasks
from workbench.window.words.phrasing import window_text
from workbench.window.words.wording import tr


class Routes(QObject):
    """Does what was asked for."""

    def __init__(
        self,
        bridge: Bridge,
        runner: Runner,
        tasks: Tasks,
        bench: Bench,
        opening: Opening,
        acts: Actions,
        parent: QObject,
    ) -> None:
        """Tie the panels together."""
        super().__init__(parent)
        self._bridge, self._runner, self._tasks, self._bench = bridge, runner, tasks, bench
        self._opening, self._acts = opening, acts
        self.outside = OutsideTables(bridge, runner, bench, self)
        self.others = OtherPrograms(bridge, bench.notice, self)
        self.trials = DelayTrials(bridge, runner, bench.notice, bench.log)
        self._connect()

    def _connect(self) -> None:
        bench, bridge = self._bench, self._bridge
        numbers = bench.numbers
        numbers.layer_chosen.connect(lambda layer: bridge.focus(layer=layer))
        numbers.table_chosen.connect(lambda name: bridge.focus(table=name))
        numbers.previewed.connect(self._preview)
        numbers.applied.connect(self._runner.apply)
        for view in (numbers.view, bench.curve, bench.grid):
            view.chosen.connect(lambda cell, blocks: bridge.focus(cell=cell, blocks=blocks))
        for picture in (bench.curve, bench.grid):
            picture.pulled.connect(self._pull)
        bench.rail.compare.connect(self._compare)
        bench.rail.looked.connect(self._look_at)
        bench.rail.several.connect(self._look_at_several)
        bench.rail.roll_back.connect(lambda _: self._acts.do("roll-back"))
        bench.log.drive_chosen.connect(lambda number: bridge.focus(drive=number, span=None, cursor_s=None))
        bench.log.pointed.connect(lambda time: bridge.focus(cursor_s=time))
        bench.log.span.connect(lambda a, b: bridge.focus(span=None if math.isnan(a) else (a, b)))
        bench.log.asked.connect(self._acts.do)
        bench.strip.step.connect(self._acts.do)
        bench.report.clicked.connect(self.write_report)
        bench.evidence.more.connect(lambda: self._open(self._show_notes))
        bench.drawer.closed.connect(self._show_history)
        offered = (
            (numbers.view, ON_CELLS), (bench.curve, ON_PICTURE), (bench.grid, ON_PICTURE), (bench.log, ON_LANES),
            (bench.rail, ON_REVISIONS),
        )  # fmt: skip
        for widget, names in offered:
            widget.setContextMenuPolicy(Qt.ContextMenuPolicy.CustomContextMenu)
            widget.customContextMenuRequested.connect(lambda at, of=widget, these=names: self.offer_menu(these, of, at))
        self._opening.sample_wanted.connect(lambda folder: self._runner.run("samples", {"folder": folder}))
        self._opening.watching.finished.connect(self._offer)
        self._runner.answered.connect(self._on_answer)
        self._runner.refused.connect(self._on_refusal)

    def open_command(self, command: Command) -> None:
        """Open the task of a command, or do it where it needs no telling."""
        if command.word == "undo" and self.others.asks_before_undo(lambda: self._tasks.open(command.word)):
            return
        chosen = self._bench.rail.revision if command.word in OF_CHOSEN else None
        preset = None if chosen is None else {"revision": chosen}
        self._open(lambda: self._tasks.open(command.word, preset), at_once=command.opens == "nothing")

    def roll_back(self) -> None:
        """Open the task of rolling back, with a revision to roll back to."""
        self._open(lambda: self._tasks.open("roll-back", self._to_roll_back_to()))

    def write_report(self) -> None:
        """Write the report beside the session, under a name that is free, on the paper that is used here."""
        scene = self._bridge.scene
        if scene.state is None or scene.head is None:
            return
        letter = QLocale().measurementSystem() == QLocale.MeasurementSystem.ImperialUSSystem
        file = free_path(scene.state, scene.head)
        table = TableName(scene.focus.table)
        self._runner.run("report", {"file": file, "paper": "letter" if letter else "a4", "table": table})

    def write_card(self) -> None:
        """Write the card for the driver beside the session, and open it where it can be printed."""
        scene = self._bridge.scene
        if scene.state is not None and scene.head is not None:
            file = free_path(scene.state, scene.head, "next_drive_")
            self._runner.run("card", {"file": file, "table": TableName(scene.focus.table)})

    def open_drive(self) -> None:
        """Show what was understood of the log."""
        self._open(self._tasks.open_drive)

    def open_questions(self) -> None:
        """Show the log that the next step is about: the first that leaves something open, or that does not count."""
        if (asking := log_in_question(self._bridge.scene)) is not None:
            self._bridge.focus(drive=asking)
            self.open_drive()

    def open_gates(self) -> None:
        """Let the user set the gates."""
        self._open(self._tasks.open_gates)

    def open_place(self) -> None:
        """Let the user say where the wideband sits."""
        self._open(self._tasks.open_place)

    def open_lanes(self) -> None:
        """Let the user choose lanes."""
        self._open(self._tasks.open_lanes)

    def apply(self) -> None:
        """Record the draft."""
        self._tasks.apply()

    def drop(self) -> None:
        """Give up the draft."""
        self._runner.drop()

    def type_a_change(self) -> None:
        """Let the user type a change of the chosen cells."""
        self._bench.numbers.begin("")

    def show_layer(self, layer: Layer) -> None:
        """Show a layer in numbers and picture."""
        self._bridge.focus(layer=layer)

    def _to_roll_back_to(self) -> dict[str, int | None]:
        """Propose the revision that is shown or chosen in the rail; where that is the one worked on, the one before."""
        scene = self._bridge.scene
        head, chosen = scene.head, self._bench.rail.revision
        if scene.looks_back and scene.reference is not None:
            chosen = scene.reference.id
        if head is not None and chosen in (None, head.id):
            chosen = head.parent
        return {"revision": chosen}

    def take(self, paths: list[Path]) -> None:
        """Take files that were dropped: a session is opened, a table begins one, logs are added to one."""
        if not paths:
            return
        if self._opening.is_session(paths[0]):
            self._opening.open(paths[0])
        elif self._bridge.scene.state is None:
            self._opening.begin_from(paths[0])
        elif self._left_the_desk():
            self._runner.run("add-log", {"files": tuple(paths)})
        else:  # with which revision it was driven is seen, and said, before it is added
            self._open(lambda: self._tasks.open("add-log", {"files": tuple(paths)}))

    def _left_the_desk(self) -> bool:
        """Tell whether what is worked on may be in a car; else it is asked what was."""
        state, head = self._bridge.scene.state, self._bridge.scene.head
        return state is None or head is None or state.may_be_in_car(head.table.name)

    def _offer(self, path: Path) -> None:
        """Offer a log that a logger has just finished."""
        if self._bridge.scene.state is not None:
            text = tr("{name} is new in the watched folder.").format(name=path.name)
            self._bench.notice.offer(text, tr("Add this log"), lambda: self.take([path]))

    def _open(self, opener: object, *, at_once: bool = False, begin: bool = True) -> None:
        if callable(opener):
            opener()
        if not at_once and self._bench.drawer.task is not None:
            self._bench.side.turn_to(self._bench.drawer)
            if begin:
                self._bench.drawer.begin()

    def _show_history(self) -> None:
        self._bench.side.turn_to(self._bench.rail_card)
        self._bench.numbers.view.setFocus(Qt.FocusReason.OtherFocusReason)

    def show_keys(self) -> None:
        """Show all shortcuts."""
        task = KeysTask(self._acts.by_menu(), self._bench.drawer)
        self._open(lambda: self._bench.drawer.put(tr("Keys"), task))

    def show_help(self) -> None:
        """Show the job step by step."""
        self._open(lambda: self._bench.drawer.put(tr("Help"), HelpTask(self._bench.drawer)))

    def tell_story(self) -> None:
        """Show every revision that changed the current cell."""
        scene = self._bridge.scene
        if scene.table is not None and scene.focus.cell:
            self._tell_story_of(scene.focus.table, scene.focus.cell)

    def _tell_story_of(self, name: str, at: tuple[int, ...], told: QWidget | None = None) -> None:
        """Show the revisions that changed a cell, in place of what was told of it before."""
        state, drawer = self._bridge.scene.state, self._bench.drawer
        table = None if state is None or name not in state.history.table_names else state.table(name)
        if table is None or any(i >= n for i, n in zip(at, table.shape, strict=True)):
            drawer.leave()  # the cell is no more
            return
        title = tr("History of {cell}").format(cell=table.cell_name(at))

        def show(answer: Answer[Any]) -> None:
            if told is not None and drawer.task is not told:
                return  # something else was opened meanwhile
            self._tasks.word = ""
            task = StoryTask(table.unit, answer.value, drawer)
            self._open(lambda: drawer.put(title, task, first=task.first), begin=told is None)
            self._tasks.renewal.keep(lambda: self._tell_story_of(name, at, task))

        cell = Cells((tuple((i, i) for i in at),))
        self._runner.ask("cell-history", {"cells": cell, "table": TableName(name)}, show)

    def _show_notes(self) -> None:
        """Show the notes on the evidence, and those on what comes in its place."""
        card = button(tr("Card for the driver…"), tr("Write what to drive next on a page to print."), self._bench)
        card.clicked.connect(lambda: self._acts.do("card"))
        self._tasks.show_text(tr("Notes on the evidence"), notes_of(self._bridge.scene.current), card)
        self._tasks.renewal.keep(self._show_notes, of_evidence)

    def go_to_the_worst(self) -> None:
        """Look at the cell that is farthest from its target."""
        evidence = self._bridge.scene.fitting_evidence
        target = None if evidence is None else worst_target(evidence, self._bridge.scene.own)
        if target is not None and target.worst_cell is not None:
            self._bridge.focus(cell=target.worst_cell, blocks=())

    def go(self, name: str, place: Callable[[], QWidget]) -> None:
        """Put the keyboard into a panel; where not all of them fit, it has the room alone."""
        if self._bench.room.crowded:
            self._bench.room.bring(name)
        widget = place()
        if widget is self._bench.rail:
            self._bench.drawer.leave()
        widget.setFocus(Qt.FocusReason.ShortcutFocusReason)

    def compare_chosen(self) -> None:
        """Count changes from the revision that is chosen in the history."""
        self._compare(self._bench.rail.revision)

    def _look_at(self, revision: int) -> None:
        """Show a revision in place of the table, or the table again where it is the one worked on."""
        head = self._bridge.scene.head
        if head is not None and revision == head.id:
            self._bridge.focus(before=False)
        else:
            self._bridge.focus(against=revision, before=True)

    def _look_at_several(self, chosen: tuple[int, ...]) -> None:
        """Show several revisions in one picture and in the table; what they hold is told apart in their values."""
        head, layer = self._bridge.scene.head, self._bridge.scene.focus.layer
        beside = tuple(each for each in chosen if head is None or each != head.id)
        if beside:
            self._bridge.focus(beside=beside, before=False, layer=layer if layer == "change" else "value")
        else:
            self._bridge.focus(beside=())

    def offer_menu(self, names: tuple[str, ...], widget: QWidget, at: QPoint) -> None:
        """Show what one does there, where the other button was pressed."""
        self._acts.menu_of(names, widget).popup(widget.mapToGlobal(at))

    def _compare(self, revision: int | None) -> None:
        if revision is not None:
            self._bridge.focus(against=revision, layer="change")

    def flick(self) -> None:
        """Show the revision that is compared with in place of the table, or the table again."""
        self._bridge.focus(before=not self._bridge.scene.focus.before)

    def _preview(self, entry: Entry | None) -> None:
        if entry is None:
            self._runner.drop()
            return
        scene = self._bridge.scene
        if scene.looks_back and scene.reference is not None:
            words = tr("Revision {id} is shown, which is not the one that is worked on.")
            hint = tr("F4 returns to that; “Roll back” makes revision {id} the one that is worked on.")
            number = scene.reference.id
            self._bench.numbers.say_refused(InputError(words.format(id=number), hint.format(id=number)))
            return
        amount = next(each.name for each in COMMANDS[entry.word].parameters if each.type is float)
        arguments = {amount: entry.amount, "cells": scene.cells, "note": entry.note}
        self._runner.draft(entry.word, {**arguments, "table": TableName(scene.focus.table)})

    def _pull(self, cell: tuple[int, ...], factor: float) -> None:
        """Draft a drag: the chosen cells all move by the same factor."""
        scene = self._bridge.scene
        many = bool(scene.focus.blocks) and bool(scene.chosen()[cell])
        cells = scene.cells if many else Cells((tuple((i, i) for i in cell),))
        if factor > 0:
            self._runner.draft("scale", {"by": factor, "cells": cells, "table": TableName(scene.focus.table)})

    def copy(self, cells: Cells | None = None) -> None:
        """Put values on the clipboard as a spreadsheet pastes them, by default of the chosen cells."""
        copy_cells(self._bridge.scene, self._bench.notice, cells)

    def paste(self) -> None:
        """Draft what the clipboard holds, from the chosen cell on."""
        paste_cells(self._bridge.scene, self._bench.notice, self._runner)

    def _on_answer(self, word: str, answer: Answer[Any]) -> None:
        match answer.value:
            case Difference(earlier=Referred(name=int(number))):
                self._bridge.focus(against=number, layer="change")
            case Difference(earlier=Referred(name=str(name)), cells=cells, later=later):
                self.outside.show(name, later.table.with_values(cells.earlier))
            case MadeSession(path):
                self._opening.open(path)
            case Path() if word in ("report", "card"):
                QDesktopServices.openUrl(QUrl.fromLocalFile(str(answer.value.absolute())))
        lost = bool(answer.not_recorded)
        if answer.lines and not COMMANDS[word].quiet and (lost or not self._tasks.tells(word)):
            first = (window_text(line) for line in (answer.lines[0], *answer.warnings))
            show = self._bench.notice.warn if answer.warnings else self._bench.notice.say
            show(join_phrases("\n", (*first, *(answer.lines[-1:] if lost else ()))))
        if isinstance(answer.change, DriveAdded):
            QTimer.singleShot(0, self, self._show_new_log)
        if isinstance(answer.change, HeadMoved):  # what was undone is shown, whichever table it was of
            self._bridge.focus(table=answer.change.table)

    def _show_new_log(self) -> None:
        """Show the log that was added last, and at what was understood of it."""
        scene = self._bridge.scene
        if scene.state is not None:
            layer = "ratio" if scene.focus.layer == "value" else scene.focus.layer
            self._bridge.focus(drive=scene.state.drives[-1].id, span=None, cursor_s=None, layer=layer)
            QTimer.singleShot(0, self, lambda: self._acts.do("drive"))

    def say_refused(self, error: WorkbenchError) -> None:
        """Show a refusal; where the session's file is gone, with a button that saves all of it elsewhere."""
        save = (tr(COMMANDS["save-copy"].title), lambda: self._acts.do("save-copy"))
        self._bench.notice.say_refused(error, save if isinstance(error, LostFileError) else None)

    def _on_refusal(self, word: str, error: WorkbenchError) -> None:
        if isinstance(error, LostFileError):
            self.say_refused(error)
        elif word in ("set", "scale", "add") and self._bench.drawer.task is None:
            if isinstance(error, StaleError) and self._bridge.overtook:  # what happened is said by the message
                error = InputError(tr("Not applied."), tr("Enter drafts it again."))
            self._bench.numbers.say_refused(InputError(window_text(error.message), window_text(error.hint)))
        elif self._bridge.scene.state is None and self._bench.drawer.task is None:
            self._opening.refused.emit(error)
        elif word != self._tasks.word or self._bench.drawer.task is None:
            self._bench.notice.say_refused(error)
