"""Tables from files and other sessions beside the one worked on: asked for, shown, left again."""

from pathlib import Path

from PySide6.QtCore import QObject
from PySide6.QtWidgets import QFileDialog

from workbench.commands.declaring.kinds import Reference, TableName
from workbench.model.table import Table
from workbench.window.scene.bridge import Bridge
from workbench.window.scene.command_runner import Runner
from workbench.window.scene.scene import Layer, Outside
from workbench.window.shell.workspace import Bench
from workbench.window.table.beside import short_name
from workbench.window.words.wording import tr


class OutsideTables(QObject):
    """Brings them in through the command that compares, so that window and command line say the same."""

    def __init__(self, bridge: Bridge, runner: Runner, bench: Bench, parent: QObject) -> None:
        """Take what they are asked with and shown in."""
        super().__init__(parent)
        self._bridge, self._runner, self._bench = bridge, runner, bench

    def ask(self) -> None:
        """Ask for a file with a table, or another session, and show it beside the table and in its picture."""
        state = self._bridge.scene.state
        folder = "" if state is None else str(Path(state.path).parent)
        found, _ = QFileDialog.getOpenFileName(self._bench, tr("A table, or another session"), folder)
        if found:
            self.compare(found)

    def compare(self, reference: str) -> None:
        """Compare a table that is named as on the command line, such as other.session:3, with the one worked on."""
        scene = self._bridge.scene
        if scene.head is not None:
            named = {"a": Reference(reference), "b": Reference(str(scene.head.id))}
            self._runner.run("difference", {**named, "table": TableName(scene.focus.table)})

    def show(self, name: str, table: Table) -> None:
        """Show a table from elsewhere; say by which letter."""
        scene = self._bridge.scene
        if scene.head is None or not table.same_axes(scene.head.table):
            return
        kept = tuple(each for each in scene.focus.outside if each.name != name)
        layer: Layer = "change" if scene.focus.layer == "change" else "value"
        self._bridge.focus(outside=(*kept, Outside(name, table)), before=False, layer=layer)
        words = tr("{letter} is {name}. “Stop comparing with files” in the menu History takes it away again.")
        self._bench.notice.say(words.format(letter=short_name(-len(kept) - 1), name=name))

    def leave(self) -> None:
        """Show no table from elsewhere any more."""
        self._bridge.focus(outside=())
