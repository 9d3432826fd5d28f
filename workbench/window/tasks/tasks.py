"""Opens the task a command asks for in the drawer, shows its draft while it is set up, and runs it."""

from collections.abc import Mapping
from functools import partial
from typing import Any

from PySide6.QtCore import QObject, Qt, QTimer
from PySide6.QtWidgets import QApplication, QLabel, QPushButton

from workbench.commands.declaring.kinds import TableName
from workbench.commands.declaring.registry import COMMANDS, Answer, Command
from workbench.errors import InputError, WorkbenchError
from workbench.model.log import SCALING, Log
from workbench.model.table import Table
from workbench.phrases import join_phrases
from workbench.window.kit.controls import button, label, rekind
from workbench.window.kit.task_panel import Drawer
from workbench.window.log.log_view import LogView
from workbench.window.panels.difference_rows import draft_words, lines_and_rows
from workbench.window.scene.bridge import Bridge
from workbench.window.scene.command_runner import Analyst, Runner
from workbench.window.scene.renewal import Renewal, tells_of_session
from workbench.window.scene.scene import Scene
from workbench.window.tasks.approve_task import ApproveTask
from workbench.window.tasks.approving import Approving
from workbench.window.tasks.cautions_task import CautionsTask
from workbench.window.tasks.correct_task import CorrectTask
from workbench.window.tasks.form import Form
from workbench.window.tasks.gates_task import GatesTask
from workbench.window.tasks.log_questions import WidebandPlaceTask
from workbench.window.tasks.log_tasks import DriveTask, LanesTask
from workbench.window.tasks.pulls_task import PullsTask
from workbench.window.words.phrasing import window_text
from workbench.window.words.wording import tr

SETTLE_MS = 120
LEAVES = ("export", "report")  # with the table in it


class Tasks(QObject):
    """What stands in the drawer, and what comes of it."""

    def __init__(
        self, bridge: Bridge, runner: Runner, analyst: Analyst, drawer: Drawer, log_view: LogView, parent: QObject
    ) -> None:
        """Tie the parts together."""
        super().__init__(parent)
        self._bridge, self._runner, self._analyst, self._drawer, self._log = bridge, runner, analyst, drawer, log_view
        self.word, self._path = "", ""
        self._asked: dict[str, Any] = {}  # what the open task had done last
        self._about = "", 0  # table and revision that the open task speaks of
        self._chosen = False  # whether the evidence is of what a task chose
        self._approving = Approving(bridge, runner, drawer, self.run)
        self._soon = QTimer(self)
        self._soon.setSingleShot(True)
        self._soon.setInterval(SETTLE_MS)
        self._soon.timeout.connect(self._preview)
        self.renewal = Renewal(bridge, self, drawer.opened, drawer.closed, drawer.forgotten)
        runner.answered.connect(self._on_answer)
        runner.refused.connect(self._on_refusal)
        drawer.closed.connect(self._on_closed)
        drawer.opened.connect(self._give_back)
        drawer.entered.connect(self.run)
        bridge.shown.connect(self._on_scene)

    def open(self, word: str, preset: Mapping[str, Any] | None = None) -> None:
        """Open the task of a command, or run the command where it needs no telling."""
        if COMMANDS[word].opens == "nothing":
            self._runner.drop()
            self._runner.run(word, {})  # what was done last, whatever it was done to
            return
        if word == "acknowledge" and preset is None:
            word = "cautions"  # each is acknowledged where it stands
        self.word = word
        self._runner.drop()
        openers = {
            "correct": self._open_correct,
            "approve": self._approving.open,
            "cautions": self._open_cautions,
            "pulls": self._open_pulls,
        }
        if word in openers and self._bridge.scene.state is not None:
            openers[word]()
        else:
            self._open_form(COMMANDS[word], preset or {})

    def _go_on_with(self, word: str, preset: Mapping[str, Any]) -> None:
        """Open a task that another one leads to, with the keyboard at what is still to be said."""
        self.open(word, preset)
        self._drawer.begin()

    def tells(self, word: str) -> bool:
        """Tell whether the open task shows what a command did."""
        if word == "acknowledge":
            return isinstance(self._drawer.task, CautionsTask)
        return self._drawer.task is not None and word == self.word

    def open_drive(self) -> None:
        """Show what was understood of the log."""
        scene = self._bridge.scene
        if scene.drive is None:
            return
        self.word = "amend-log"
        task = DriveTask(scene, scene.drive, self._drawer)
        go = button(tr("Apply"), tr("Record the log's new settings."), self._drawer)
        go.clicked.connect(self.run)
        go.setEnabled(False)

        def edited() -> None:
            go.setEnabled(bool(task.arguments()) and not task.contradiction)
            rekind(go, "step" if go.isEnabled() else "")
            self._drawer.say(task.contradiction or task.meaning, "trouble" if task.contradiction else "soft")

        task.edited.connect(edited)
        task.answered.connect(partial(self._run, "amend-log"))
        task.scaling_wanted.connect(
            lambda name: self._go_on_with(SCALING, {"channel": name, "unit": "lambda", "plays": "lambda_measured"})
        )
        self._drawer.put(scene.drive.log.name, task, go, first=task.first)

    def _open_pulls(self) -> None:
        task = PullsTask(self._bridge.scene, self._drawer)
        task.looked.connect(
            lambda drive, at, start, end: self._bridge.focus(drive=drive, cursor_s=at, span=(start, end))
        )
        task.leaving.connect(lambda name: self._go_on_with("leave-out", {"what": name}))
        self._drawer.put(tr("Pulls"), task, first=task.first)
        self._ask_for_pulls(task)

    def _ask_for_pulls(self, task: PullsTask) -> None:
        """Have the pulls looked for, and again when the session changes under them."""
        task.begin(self._bridge.scene)
        self.renewal.keep(partial(self._ask_for_pulls, task))
        self._runner.run("pulls", {"table": TableName(self._bridge.scene.focus.table)})

    def _open_cautions(self) -> None:
        task = CautionsTask(self._bridge.scene, self._drawer)
        table = self._bridge.scene.focus.table
        task.acknowledged.connect(
            lambda name, reason: self._runner.run(
                "acknowledge", {"caution": name, "because": reason, "table": TableName(table)}
            )
        )
        task.looked.connect(lambda drive, at: self._bridge.focus(drive=drive, cursor_s=at))
        self._drawer.put(tr("Cautions"), task, first=task.first)

    def open_gates(self) -> None:
        """Let the user set the gates."""
        self._open_settings(tr("Gates"), GatesTask(self._bridge.scene, self._drawer))

    def open_place(self) -> None:
        """Let the user say where the wideband sits."""
        self._open_settings(tr("Where the wideband sits"), WidebandPlaceTask(self._bridge.scene, self._drawer))

    def _open_settings(self, title: str, task: GatesTask | WidebandPlaceTask) -> None:
        self.word = "settings"
        task.stated.connect(partial(self._run, "settings"))
        if isinstance(task, GatesTask):
            task.wrong.connect(self._drawer.say_refused)
        self._drawer.put(title, task, first=task.first)

    def open_lanes(self) -> None:
        """Let the user choose lanes."""
        drive = self._bridge.scene.drive
        if drive is None:
            return
        self.word = ""
        task = LanesTask(drive.log, self._log.lanes_of(drive.log), self._drawer)
        task.chosen.connect(lambda lanes: self._log.choose_lanes(drive.log, lanes))
        self._drawer.put(tr("Lanes"), task, first=task.first)

    def show_text(self, title: str, lines: tuple[str, ...], go: QPushButton | None = None) -> None:
        """Show lines of text, in digits of one width, and a button under them if there is more to do."""
        self.word = ""
        text: QLabel = label("\n".join(lines), self._drawer, wrap=True)
        text.setTextInteractionFlags(
            Qt.TextInteractionFlag.TextSelectableByKeyboard | Qt.TextInteractionFlag.TextSelectableByMouse
        )
        text.setAccessibleName(title)
        self._drawer.put(title, text, *([] if go is None else [go]))

    def run(self) -> None:
        """Do what the open task is about."""
        task, draft = self._drawer.task, self._bridge.scene.draft
        try:
            if draft is not None and (isinstance(task, ApproveTask) or self.word in LEAVES):
                raise InputError(tr("A draft is shown that this would leave out."), tr("Apply or drop it first."))
            if isinstance(task, Form | CorrectTask) and task.undrawn:
                words = tr("The session changed: the draft of it as it is now is worked out first.")
                raise InputError(words, tr("Enter applies it once it is shown."))
            if isinstance(task, Form):
                self._run(self.word, task.arguments())
            elif isinstance(task, CorrectTask):
                if draft is not None and draft.word == "correct" and task.drafted == task.arguments():
                    self._runner.apply()
                else:  # the draft that is shown came from elsewhere, or from what was asked for before
                    self._runner.run("correct", task.arguments())
            elif isinstance(task, DriveTask) and task.arguments() and not task.contradiction:
                self._run("amend-log", task.arguments())
            elif isinstance(task, ApproveTask):
                if task.missing:
                    task.point_at_missing()
                    raise InputError(task.missing, "")
                self._runner.run("approve", task.arguments())
        except WorkbenchError as error:
            self._drawer.say_refused(error)

    def _run(self, word: str, arguments: Mapping[str, Any]) -> None:
        """Run a command, and know by which arguments."""
        self._asked = dict(arguments)
        self._runner.run(word, arguments)

    def apply(self) -> None:
        """Record the draft; where the open task drafted it, as that task says now."""
        draft = self._bridge.scene.draft
        if draft is not None and draft.word == self.word and isinstance(self._drawer.task, CorrectTask | Form):
            self.run()
        else:
            self._runner.apply()

    def _open_form(self, command: Command, preset: Mapping[str, Any]) -> None:
        form = Form(command, self._bridge.scene, self._drawer, preset)
        drafted, title = command.preview, tr(command.button)
        go = button(tr("Apply") if drafted else title, window_text(command.summary), self._drawer, "step")
        go.setAccessibleName(tr(command.title))
        go.clicked.connect(self.run)
        asks = form.first is not None or command.opens != "answer"  # else the answer is all there is
        go.setVisible(asks)
        self._drawer.put(tr(command.title), form, *([go] if asks else []), first=form.first or (go if asks else form))
        if drafted:
            form.edited.connect(self._soon.start)
            self._soon.start()
        elif command.opens == "answer":
            self.run()

    def _open_correct(self) -> None:
        task = CorrectTask(self._bridge.scene, self._drawer)
        task.gates_wanted.connect(self.open_gates)
        task.wanted.connect(partial(self._draft_correction, task))
        task.sourced.connect(self._choose)
        task.wrong.connect(partial(self._refuse_draft, task))
        go = button(tr("Apply the correction"), tr("Make a revision of it (Enter)."), self._drawer, "step")
        go.clicked.connect(self.run)
        self._drawer.put(tr("Correct"), task, go, first=task.first)

    def _draft_correction(self, task: CorrectTask, arguments: dict[str, Any]) -> None:
        """Show what a correction would do, as long as its task is open."""

        def show(answer: Answer[Any]) -> None:
            if self._drawer.task is task:
                self._warn_of(answer)
                task.undrawn = False
                task.show_answer(answer, arguments)

        if self._drawer.task is task:
            self._runner.draft("correct", arguments, show)

    def _warn_of(self, answer: Answer[Any]) -> None:
        """Say beside the button what of a draft nobody may overlook, where it is seen without scrolling."""
        self._drawer.say(join_phrases("\n", answer.warnings), "attention")

    def _refuse_draft(self, task: CorrectTask, error: WorkbenchError) -> None:
        """Show no draft of what cannot be asked for, and say what is wrong."""
        if self._drawer.task is task:
            self._runner.drop()
            task.show_none()
            self._drawer.say_refused(error)

    def _choose(self, source: str, drives: str, delay: str) -> None:
        self._chosen = True
        self._analyst.ask(source=source, from_=drives, delay=delay)

    def _give_back(self) -> None:
        """Show what all drives that fit say again: the choice belonged to the task that was left."""
        if self._chosen:
            self._chosen = False
            self._analyst.ask_all_that_fit()

    def _preview(self) -> None:
        task = self._drawer.task
        if not isinstance(task, Form) or not COMMANDS[self.word].preview:
            return
        try:
            arguments = task.arguments()
        except WorkbenchError as error:
            self._runner.drop()  # it is no answer to what stands there now
            self._drawer.say(str(error))
            return
        self._drawer.say("")

        def show(answer: Answer[Any]) -> None:
            task.undrawn = False
            self._drawer.say(draft_words(answer), "attention" if answer.warnings else "soft")

        self._runner.draft(self.word, arguments, show)

    def _on_answer(self, word: str, answer: Answer[Any]) -> None:
        if word == "approve":
            self._approving.forget()
        if word != self.word or self._drawer.task is None:
            return
        elsewhere, reads = not COMMANDS[word].takes_state, isinstance(answer.value, Log | Table)
        if isinstance(self._drawer.task, PullsTask):
            self._drawer.task.show_pulls(answer.data["pulls"], answer.lines)
        elif word == "amend-log" or isinstance(self._drawer.task, GatesTask):
            self._drawer.say(answer.lines[0] if word == "amend-log" and answer.lines else "")
        elif answer.change is not None or answer.stands or (elsewhere and not reads):
            self._drawer.leave()
        else:
            self._drawer.answer(*lines_and_rows(answer))
            if tells_of_session(COMMANDS[word]):
                self.renewal.keep(self.run)

    def _on_refusal(self, word: str, error: WorkbenchError) -> None:
        if word == self.word and self._drawer.task is not None:
            task, listed = self._drawer.task, error.details.get("objections")
            if isinstance(task, ApproveTask) and isinstance(listed, list):
                # The drives told more, or less, than the window knew when it listed the objections.
                found = [(str(each["name"]), str(each["sentence"])) for each in listed]
                self._approving.show(found)
                return
            if isinstance(task, CorrectTask):
                task.show_none()
            if isinstance(task, DriveTask):
                task.give_up()
            confirms = error.details.get("confirm")
            so_too = {**self._asked, str(confirms): True} if confirms else None
            self._drawer.say_refused(error, None if so_too is None else partial(self._run, word, so_too))
            if isinstance(task, Form) and task.accepting is not None and "accept" in error.details:
                task.accepting.setFocus(Qt.FocusReason.OtherFocusReason)

    def _on_scene(self, scene: Scene) -> None:
        path = "" if scene.state is None else scene.state.path
        if path != self._path:
            self._path = path
            self._drawer.leave()
        about = scene.focus.table, 0 if scene.head is None else scene.head.id
        if about != self._about:
            before, self._about = self._about, about
            self._turn_to(other_table=before[0] != about[0])
        if isinstance(self._drawer.task, DriveTask | LanesTask) and not self._drawer.task.stands(scene):
            self._drawer.leave()
        if isinstance(self._drawer.task, DriveTask) and self._drawer.task.is_of_another(scene):
            self.open_drive()
        if isinstance(self._drawer.task, Form):
            self._drawer.task.show_scene(scene)
        if isinstance(self._drawer.task, CorrectTask | GatesTask | DriveTask | CautionsTask | WidebandPlaceTask):
            self._drawer.task.show_scene(scene)
        if isinstance(self._drawer.task, ApproveTask):
            self._approving.show_scene(self._drawer.task)

    def _turn_to(self, *, other_table: bool) -> None:
        """Have the open task speak of the table and the revision that are shown, not of those it was opened on."""
        task, focus = self._drawer.task, QApplication.focusWidget()
        inside = focus is not None and self._drawer.isAncestorOf(focus)
        if isinstance(task, ApproveTask):
            self._approving.open()
        elif isinstance(task, CorrectTask):
            task.draft_again()
        elif other_table and isinstance(task, PullsTask | CautionsTask):
            self.open(self.word)
        elif isinstance(task, Form) and task.of_one_table:
            command = COMMANDS[self.word]
            if other_table:
                self._open_form(command, task.typed() if command.preview else {})
            elif command.preview:
                self._soon.start()
        if inside and self._drawer.task is not task:
            self._drawer.begin()

    def _on_closed(self) -> None:
        self.word = ""
        self._runner.drop()
        self._give_back()
