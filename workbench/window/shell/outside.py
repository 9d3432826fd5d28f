"""Tables from files and other sessions beside the one worked on: asked for, shown, left again."""

from collections.abc import Sequence
from functools import partial
from pathlib import Path
from typing import Any

from PySide6.QtCore import QObject
from PySide6.QtWidgets import QInputDialog

from workbench.commands.declaring.kinds import Reference, TableName
from workbench.commands.declaring.registry import Answer
from workbench.commands.record.comparisons import Difference, difference
from workbench.commands.record.references import file_of
from workbench.errors import WorkbenchError
from workbench.model.state import State
from workbench.model.table import Table
from workbench.session import Session, looks_like_session
from workbench.window.scene import file_dialogs
from workbench.window.scene.bridge import Bridge
from workbench.window.scene.command_runner import Runner
from workbench.window.scene.scene import Layer, Outside
from workbench.window.shell.workspace import Bench
from workbench.window.table.beside import short_name
from workbench.window.words.phrasing import window_text
from workbench.window.words.wording import revision_words, tr


def _state_of(path: Path) -> State:
    with Session.open(path) as other:
        return other.state


class OutsideTables(QObject):
    """Brings them in through the command that compares, so that window and command line say the same."""

    def __init__(self, bridge: Bridge, runner: Runner, bench: Bench, parent: QObject) -> None:
        """Take what they are asked with and shown in."""
        super().__init__(parent)
        self._bridge, self._runner, self._bench = bridge, runner, bench

    def ask(self) -> None:
        """Ask for a file with a table, or another session and its revision, and show it beside the table."""
        state = self._bridge.scene.state
        folder = "" if state is None else str(Path(state.path).parent)
        found = file_dialogs.ask_file(self._bench, tr("A table, or another session"), folder)
        if found and looks_like_session(Path(found)):
            self._ask_revision(Path(found))
        elif found:
            self.compare(found)

    def _ask_revision(self, path: Path) -> None:
        """Ask which revision of another session is meant, once it has been read."""
        then = partial(self._ask_revision_of, path)
        self._runner.read(path, partial(_state_of, path), then, self._bench.notice.say_refused)

    def _ask_revision_of(self, path: Path, state: State) -> None:
        """Ask which revision of another session is meant; the current one is offered first."""
        focused = self._bridge.scene.focus.table
        names = state.history.table_names
        table = focused if focused in names else names[0]
        head = state.head(table)
        listed = {tr("{id}, the current one").format(id=head.id): head.id}
        for each in reversed(state.history.revisions):
            if each.table.name == table and each is not head:
                listed[revision_words(state, each)] = each.id
        chosen, sure = next(iter(listed)), True
        if len(listed) > 1:
            question = tr("Which revision of {name}?").format(name=path.name)
            chosen, sure = QInputDialog.getItem(self._bench, tr("Another session"), question, list(listed), 0, False)
        if sure:
            self.compare(f"{path}:{listed[chosen]}")

    def compare(self, reference: str) -> None:
        """Compare a table that is named as on the command line, such as other.session:3, with the one worked on."""
        scene = self._bridge.scene
        if scene.head is not None:
            self._runner.run("difference", self._against_head(scene.head.id, reference))

    def _against_head(self, head: int, reference: str) -> dict[str, Any]:
        table = TableName(self._bridge.scene.focus.table)
        return {"a": Reference(reference), "b": Reference(str(head)), "table": table}

    def show(self, name: str, table: Table) -> None:
        """Show a table from elsewhere; say by which letter."""
        scene = self._bridge.scene
        if scene.head is None or not table.same_axes(scene.head.table):
            return
        layer: Layer = "change" if scene.focus.layer == "change" else "value"
        kept = self._put(name, table)
        self._bridge.focus(before=False, layer=layer)
        words = tr(
            "{letter} is {name}. It stays when the session is opened again, until “Stop comparing with files” in the "
            "menu History takes it away."
        )
        self._bench.notice.say(words.format(letter=short_name(-kept), name=name))

    def _put(self, name: str, table: Table) -> int:
        """Put a table beside the others, or in the place of an older state of it; return how many there are."""
        kept = tuple(each for each in self._bridge.scene.focus.outside if each.name != name)
        self._bridge.focus(outside=(*kept, Outside(name, table)))
        return len(kept) + 1

    def recall(self, names: Sequence[str]) -> None:
        """Show again what was compared with when the session was left, as it is now; say what is gone."""
        scene = self._bridge.scene
        if not names or scene.state is None or scene.head is None:
            return
        name, path = names[0], scene.state.path

        def goes_on() -> bool:
            now = self._bridge.scene.state
            return now is not None and now.path == path

        def show(answer: Answer[Difference]) -> None:
            found = answer.value
            if goes_on():
                if isinstance(found.earlier.name, str):
                    self._put(found.earlier.name, found.later.table.with_values(found.cells.earlier))
                self.recall(names[1:])

        def tell(error: WorkbenchError) -> None:
            if goes_on():
                gone = tr("{name} is no longer shown beside the table.").format(name=name)
                self._bench.notice.say_refused(WorkbenchError(f"{gone} {window_text(error.message)}"))
                self.recall(names[1:])

        compare = partial(difference, scene.state, **self._against_head(scene.head.id, name))
        self._runner.read(file_of(name), compare, show, tell)

    def leave(self) -> None:
        """Show no table from elsewhere any more."""
        self._bridge.focus(outside=())
