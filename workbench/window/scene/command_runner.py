"""Runs commands: by the same functions as the command line, quick ones at once, long ones on the worker's thread."""

from collections.abc import Callable, Generator, Mapping
from functools import partial
from pathlib import Path
from typing import Any, TypeVar

from PySide6.QtCore import QObject, QTimer, Signal

from workbench.commands.declaring.kinds import TableName
from workbench.commands.declaring.registry import COMMANDS, Answer
from workbench.commands.evidence.evidence import prediction_of
from workbench.commands.evidence.gathering import from_drives_with, own_drives
from workbench.commands.evidence.next_step import PredictionCheck
from workbench.errors import WorkbenchError
from workbench.maths.questions import look_for_cautions
from workbench.model.evidence import Evidence
from workbench.model.history import Revision
from workbench.model.state import DriveAdded, State
from workbench.window.kit.crash_report import note_command
from workbench.window.kit.worker import Jobs
from workbench.window.scene.bridge import Bridge
from workbench.window.scene.large_files import in_job, is_large, takes_long
from workbench.window.scene.scene import LogCaution, Nearest, Scene, draft_of, nearest_cells
from workbench.window.words.phrasing import window_text
from workbench.window.words.wording import tr
from workbench.work import Progress

T = TypeVar("T")
SOON_MS = 150  # what has changed is drawn by then; drawing beside a solve takes twice as long


class Runner(QObject):
    """Calls commands and has their changes recorded.

    Signals:
        answered: word and Answer[Any] of a command whose change, if any, was recorded.
        refused: word and WorkbenchError.
    """

    answered = Signal(str, object)
    refused = Signal(str, object)

    def __init__(self, bridge: Bridge, jobs: Jobs, parent: QObject) -> None:
        """Work on the bridge's scene."""
        super().__init__(parent)
        self._bridge, self._jobs = bridge, jobs
        self._cancel_draft: Callable[[], None] = lambda: None

    def run(self, word: str, arguments: Mapping[str, Any]) -> None:
        """Run a command and record what it changes."""
        self._call(word, arguments, lambda answer: self._finish(word, answer))

    def ask(self, word: str, arguments: Mapping[str, Any], then: Callable[[Answer[Any]], None]) -> Callable[[], None]:
        """Run a command that changes nothing, for its answer alone; give what cancels it."""
        return self._call(word, arguments, then)

    def draft(
        self, word: str, arguments: Mapping[str, Any], on_answer: Callable[[Answer[Any]], None] | None = None
    ) -> None:
        """Run a command and show its revision as a draft; a draft that is still being worked out is given up."""
        self._cancel_draft()

        def show(answer: Answer[Any]) -> None:
            self._bridge.put_draft(draft_of(word, answer))
            if on_answer is not None:
                on_answer(answer)

        # What was drafted before is no answer to what was asked now.
        self._cancel_draft = self._call(word, arguments, show, lambda: self._bridge.put_draft(None))

    def read(
        self, path: Path, what: Callable[[], T], then: Callable[[T], None], refused: Callable[[WorkbenchError], None]
    ) -> None:
        """Read something of a file, aside where that takes long; nothing is recorded."""
        if is_large(path):
            title = tr("Reading {name}").format(name=path.name)
            self._jobs.start(title, in_job(what, path.name), then, refused)
            return
        try:
            found = what()
        except WorkbenchError as error:
            refused(error)
            return
        then(found)

    def drop(self) -> None:
        """Give up the draft."""
        self._cancel_draft()
        self._bridge.put_draft(None)

    def apply(self) -> None:
        """Record the draft."""
        draft = self._bridge.scene.draft
        if draft is not None:
            self._finish(draft.word, draft.answer)

    def _call(
        self,
        word: str,
        arguments: Mapping[str, Any],
        then: Callable[[Answer[Any]], None],
        failed: Callable[[], None] = lambda: None,
    ) -> Callable[[], None]:
        command, state = COMMANDS[word], self._bridge.scene.state
        note_command(word, arguments)

        def refuse(error: WorkbenchError) -> None:
            failed()
            self.refused.emit(word, error)

        if command.takes_state and state is None:
            refusal = WorkbenchError(tr("No session is open."), tr("Open one, or start one from a table."))
            refuse(refusal)
            return lambda: None
        call = partial(command.function, *([state] if command.takes_state else []), **arguments)
        try:
            result = in_job(call, tr(command.title)) if takes_long(command, arguments) else call()
        except WorkbenchError as error:
            refuse(error)
            return lambda: None
        if isinstance(result, Generator):

            def deliver(answer: Answer[Any]) -> None:
                now = self._bridge.scene.state
                if state is None or (now is not None and now.path == state.path):
                    then(answer)
                elif answer.change is not None:  # it must not end up in another session
                    words = (
                        tr("The session was closed before this finished: {title}."),
                        tr("Open it again and repeat the command."),
                    )
                    self.refused.emit(word, WorkbenchError(words[0].format(title=tr(command.title)), words[1]))

            return self._jobs.start(command.title, _packed(result), deliver, refuse)
        then(result)
        return lambda: None

    def _finish(self, word: str, answer: Answer[Any]) -> None:
        if isinstance(answer.change, DriveAdded):
            job = self._bridge.recording(answer.change)
            done, refused = (lambda _: self.answered.emit(word, answer)), (lambda error: self.refused.emit(word, error))
            self._jobs.start(tr("Saving the log"), job, done, refused)
            return
        try:
            if answer.change is not None:
                self._bridge.record(answer.change)
        except WorkbenchError as error:
            try:
                answer = answer.unrecorded(error)
            except WorkbenchError:
                self.refused.emit(word, error)
                return
        self.answered.emit(word, answer)


def _packed(job: Generator[Progress, None, Answer[Any]]) -> Generator[Progress, None, Answer[Any]]:
    """Deflate the columns of new logs on the worker's thread, so that recording them takes no time."""
    answer = yield from job
    if isinstance(answer.change, DriveAdded):
        for drive in answer.change.drives:
            columns = (drive.log.time, *(channel.column for channel in drive.log.channels))
            for done, column in enumerate(columns):
                column.pack()
                yield Progress(done, len(columns), drive.log.name)
    return answer


def _with_nearest(
    job: Generator[Progress, None, Answer[Any]],
) -> Generator[Progress, None, tuple[Answer[Any], Nearest]]:
    """Find the cells nearest to all samples on the worker's thread too, so that showing them takes no time."""
    answer = yield from job
    if not isinstance(answer.value, Evidence):
        return answer, {}
    found = answer.value
    return answer, {kept.drive: nearest_cells(found.table, kept.position) for kept in found.kept if len(kept.position)}


def _look_for_cautions(state: State, table: str) -> Generator[Progress, None, tuple[LogCaution, ...]]:
    """Look for cautions on the worker's thread: that goes through whole logs."""
    found: list[LogCaution] = []
    looks = look_for_cautions(state.history, state.drives, state.table_name(table), state.settings)
    for done in range(len(state.drives)):
        yield Progress(done, len(state.drives))
        looked = next(looks)
        found += [
            LogCaution(looked.drive.id, each.kind, window_text(each.sentence), each.moment, each)
            for each in looked.cautions
        ]
    return tuple(found)


def _judgement(
    state: State, head: Revision, own: tuple[int, ...]
) -> Generator[Progress, None, tuple[Evidence | None, PredictionCheck | None]]:
    """Find what the drives made with a revision say alone, and whether they came as the last correction predicted."""
    found = yield from from_drives_with(state, head, own)
    return found, (yield from prediction_of(state, head.table.name, "both", ""))


class Analyst(QObject):
    """Has the evidence gathered anew whenever the table, its drives or the gates are others.

    Signals:
        puzzled: a WorkbenchError: why there is no evidence; None when there is some.
    """

    puzzled = Signal(object)

    def __init__(self, bridge: Bridge, jobs: Jobs, parent: QObject) -> None:
        """Watch the bridge."""
        super().__init__(parent)
        self._bridge, self._jobs = bridge, jobs
        self._arguments: dict[str, Any] = {}
        self._key: tuple[object, ...] = ()
        self._answered: tuple[object, ...] = ()  # the key that evidence, or a refusal, came for
        self._path = ""
        self._cancel: Callable[[], None] = lambda: None
        self._cancel_look: Callable[[], None] = lambda: None
        self._cancel_judging: Callable[[], None] = lambda: None
        self._looked: tuple[object, ...] = ()  # what the cautions that are shown, or looked for, are of
        self._soon = QTimer(self)
        self._soon.setSingleShot(True)
        self._soon.setInterval(SOON_MS)
        self._soon.timeout.connect(self._gather)
        bridge.shown.connect(self._on_shown)

    def ask(self, **arguments: Any) -> None:
        """Gather with other drives, another source or a stated delay from now on."""
        self._arguments |= arguments
        self._on_shown(self._bridge.scene)

    def again(self) -> None:
        """Gather once more, as after it was cancelled."""
        self._key = self._answered = ()
        self._bridge.forget_evidence()  # hears of it too, and begins

    def ask_all_that_fit(self) -> None:
        """Gather from all drives that fit from now on, with the source and the delay that the logs give."""
        self._arguments = {}
        self._on_shown(self._bridge.scene)

    def _on_shown(self, scene: Scene) -> None:
        state, head = scene.state, scene.head
        path = "" if state is None else state.path
        if path != self._path:  # what was chosen is of another session
            self._path, self._arguments = path, {}
        key: tuple[object, ...] = ()
        if state is not None and head is not None and state.drives:
            key = (state.path, head.id, state.drives, state.settings, tuple(sorted(self._arguments.items())))
        if key != self._key:
            self._key = key
            self._cancel()
            self._cancel_judging()
            if key:
                self._soon.start()
            else:
                self._cancel_look()
                self._looked = ()
            if not key and (scene.evidence is not None or scene.cautions):
                self._bridge.put_evidence(None)
                self._bridge.put_cautions(())

    def _look(self, state: State, table: str) -> None:
        """Look for cautions, unless the same logs were looked through for them already: a revision changes none."""
        looked: tuple[object, ...] = (state.path, state.drives, state.settings, state.table_name(table))
        if looked == self._looked:
            return
        self._looked = looked
        self._cancel_look()
        marked = False

        def mark(found: tuple[LogCaution, ...]) -> None:
            nonlocal marked
            marked = True
            if looked == self._looked:
                self._bridge.put_cautions(found)

        def end() -> None:
            if not marked and looked == self._looked:
                self._looked = ()  # it was cancelled, or could not be done: look again the next time

        job = _look_for_cautions(state, table)
        self._cancel_look = self._jobs.start(tr("Looking for cautions"), job, mark, lambda _: None, end)

    def _judge(self, key: tuple[object, ...], own: tuple[int, ...]) -> None:
        """Have the current revision judged by its own drives alone, as a report judges it."""
        state, head = self._bridge.scene.state, self._bridge.scene.head
        if state is None or head is None:
            return

        def put(found: tuple[Evidence | None, PredictionCheck | None]) -> None:
            if key == self._key:
                self._bridge.put_own(*found)

        job = _judgement(state, head, own)
        title = tr("Judging the revision by its own drives")
        end = partial(self._end, key, lambda: self._bridge.scene.judging)
        self._cancel_judging = self._jobs.start(title, job, put, lambda _: put((None, None)), end)

    def _end(self, key: tuple[object, ...], waits: Callable[[], bool]) -> None:
        """Say that nothing is known where what the window waits for did not come: it was cancelled."""
        if key == self._key and waits():
            words = tr("Gathering the evidence was stopped: what the logs say of this table is not known.")
            self._bridge.put_evidence(None, words, halted=True)

    def _gather(self) -> None:
        scene, state = self._bridge.scene, self._bridge.scene.state
        if not self._key or state is None:
            return
        key, command = self._key, COMMANDS["evidence"]

        def show(found: tuple[Answer[Any], Nearest]) -> None:
            answer, nearest = found
            if key == self._key and isinstance(answer.value, Evidence):
                self._answered = key
                self.puzzled.emit(None)
                by_choice = self._arguments.get("from_", "all") != "all"
                now, head = self._bridge.scene.state, self._bridge.scene.head
                own = () if by_choice or now is None or head is None else own_drives(now, head, answer.value)
                self._bridge.put_evidence(answer.value, nearest=nearest, by_choice=by_choice, judging=bool(own))
                if own:
                    self._judge(key, own)

        def refuse(error: WorkbenchError) -> None:
            if key == self._key:
                self._answered = key
                self._bridge.put_evidence(None, window_text(str(error)))
                self.puzzled.emit(error)

        try:
            job = command.function(state, table=TableName(scene.focus.table), **self._arguments)
        except WorkbenchError as error:
            refuse(error)
            return
        if isinstance(job, Generator):
            end = partial(self._end, key, lambda: self._answered != key)
            self._cancel = self._jobs.start(tr("Gathering the evidence"), _with_nearest(job), show, refuse, end)
            self._look(state, scene.focus.table)
