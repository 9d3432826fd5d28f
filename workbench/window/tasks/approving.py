"""Opens the task of approving, lists its objections anew as the evidence changes, and keeps what was typed."""

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

from PySide6.QtWidgets import QApplication

from workbench.commands.evidence.next_step import against
from workbench.model.evidence import Evidence
from workbench.window.kit.controls import button
from workbench.window.kit.task_panel import Drawer
from workbench.window.scene.bridge import Bridge
from workbench.window.scene.command_runner import Runner
from workbench.window.tasks.approve_task import ApproveTask
from workbench.window.tasks.remedies import Remedies
from workbench.window.words.wording import spoken, tr


@dataclass
class Begun:
    """What was typed for an approval that was not given yet.

    Attributes:
        session: path of the session that it was typed for.
        by, note: as they were typed.
        reasons: by what they were given for: number of the revision, name and sentence of the objection.
        waiting: by name of the objection, what was typed and not ticked.
        asked: names of the objections that were listed last.
    """

    session: str = ""
    by: str = ""
    note: str = ""
    reasons: dict[tuple[int, str, str], str] = field(default_factory=dict)
    waiting: dict[str, str] = field(default_factory=dict)
    asked: set[str] = field(default_factory=set)


class Approving:
    """Knows what the open task of approving was made from."""

    def __init__(self, bridge: Bridge, runner: Runner, drawer: Drawer, go: Callable[[], None]) -> None:
        """Take the parts, and what approves."""
        self._bridge, self._runner, self._drawer, self._go = bridge, runner, drawer, go
        self._weighed: Evidence | None = None  # what the list of objections was made from
        self._mendable: list[Any] = []
        self._begun = Begun()

    def open(self) -> None:
        """Ask for what an approval needs; reasons that were typed for the same objections stand there again."""
        self.show(self._objections())

    def show_scene(self, task: ApproveTask) -> None:
        """List the objections anew where other evidence brings others."""
        found = self._bridge.scene.fitting_evidence
        if found is None or found is self._weighed:
            return
        listed = self._objections()
        if {name for name, _ in listed} != task.listed:
            focus = QApplication.focusWidget()
            inside = focus is not None and self._drawer.isAncestorOf(focus)
            self.show(listed)
            if inside:
                self._drawer.begin()

    def _objections(self) -> list[tuple[str, str]]:
        """List what the window knows against approving, as (name, sentence)."""
        state, head = self._bridge.scene.state, self._bridge.scene.head
        self._weighed = self._bridge.scene.fitting_evidence
        found = () if state is None or head is None else against(state, head, self._weighed)
        self._mendable = [each for each in found if each.remedies]
        return [(each.name, each.sentence) for each in found]

    def forget(self) -> None:
        """Forget what was typed: the approval was given."""
        self._begun = Begun()

    def show(self, listed: list[tuple[str, str]]) -> None:
        """Ask for an approval against these objections, as (name, sentence)."""
        scene = self._bridge.scene
        path = "" if scene.state is None else scene.state.path
        if self._begun.session != path:
            self._begun = Begun(path)
        remedies = {each.name: Remedies(scene, each, self._drawer) for each in self._mendable}
        for each in remedies.values():
            each.chosen.connect(self._mend)
        # What one click mends stands first, where it is seen without scrolling.
        ordered = sorted(listed, key=lambda each: each[0] not in remedies)
        revision = 0 if scene.head is None else scene.head.id
        given = {name: self._begun.reasons.get((revision, name, sentence), "") for name, sentence in listed}
        reasons = {name: reason for name, reason in given.items() if reason}
        before = {name: reason for (_, name, _), reason in self._begun.reasons.items() if name not in reasons}
        earlier = {name: reason for name, reason in before.items() if name in given}
        gone, self._begun.asked = [name for name in before if name in self._begun.asked - given.keys()], {*given}
        # Nobody signs by leaving a field as it was, but who signed in this session before may go on doing so.
        signed = [] if scene.state is None else [each.by for each in scene.state.history.approvals.values()]
        by = self._begun.by or (signed[-1] if signed else "")
        task = ApproveTask(scene, ordered, by, self._drawer, reasons, {**earlier, **self._begun.waiting}, remedies)
        task.note.setText(self._begun.note)
        sentences = dict(listed)

        def keep() -> None:
            self._begun.by, self._begun.note = task.by.text(), task.note.text()
            now = {(revision, name, sentence) for name, sentence in listed}
            kept = {key: text for key, text in self._begun.reasons.items() if key not in now}
            typed = {(revision, name, sentences[name]): text for name, text in task.reasons.items() if text.strip()}
            self._begun.reasons, self._begun.waiting = {**kept, **typed}, task.waiting
            self._drawer.say(task.missing)

        go = button(tr("Approve"), tr("Approve this revision under your name."), self._drawer, "step")
        go.clicked.connect(self._go)
        task.edited.connect(keep)
        head = scene.head
        words = tr("Approve revision {id} of {table}")
        title = tr("Approve") if head is None else words.format(id=head.id, table=head.table.name)
        self._drawer.put(title, task, go, first=task.first)
        self._drawer.say("\n".join((*_what_changed([*earlier], gone), task.missing)))

    def _mend(self, word: str, arguments: dict[str, Any]) -> None:
        """Do what mends an objection; approving begins anew with what it made."""
        self._drawer.leave()
        self._runner.run(word, arguments)


def _what_changed(earlier: list[str], gone: list[str]) -> list[str]:
    """Say what became of reasons that were typed before the objections changed; nothing where none was."""
    lines = []
    if earlier:
        words = tr("Read again, and tick again where your reason still holds: {names}.")
        lines.append(words.format(names=spoken(", ".join(earlier))))
    if gone:
        lines.append(tr("No objections any more: {names}.").format(names=spoken(", ".join(gone))))
    return lines
