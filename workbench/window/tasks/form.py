"""A form for any command, made from its signature and docstring."""

import inspect
import re
from collections.abc import Mapping
from contextlib import suppress
from typing import Any, get_origin

import numpy as np
from PySide6.QtWidgets import (
    QCheckBox,
    QComboBox,
    QVBoxLayout,
    QWidget,
)

from workbench.commands.declaring.arguments import bare_type, choices_of
from workbench.commands.declaring.kinds import Kind, Reference, TableName
from workbench.commands.declaring.registry import Command, Parameter
from workbench.errors import InputError
from workbench.model.cells import Cells
from workbench.window.kit.controls import button, choice, label, labelled, with_button
from workbench.window.scene import file_dialogs
from workbench.window.scene.proposals import STANDING, Proposals, proposed
from workbench.window.scene.scene import Scene
from workbench.window.tasks.form_fields import Fields, Missing, Read
from workbench.window.words.phrasing import (
    LEAN_STEP,
    allow_lean_step,
    field_name,
    parameter_help,
    window_text,
)
from workbench.window.words.wording import CHOICE_WORDS, plural, revision_words, tr

BY_HAND = ("add", "scale", "scale-percent", "ramp", "smooth", "blend", "copy")  # to what is chosen, be it one cell
_ASKED = 0  # no revision's number: which is meant is still to be said
_BREAKS = re.compile(r",(?=\w)")  # after which an example may go on in the next line


class Form(Fields):
    """The fields of one command."""

    def __init__(
        self, command: Command, scene: Scene, parent: QWidget, preset: Mapping[str, Any] | None = None
    ) -> None:
        """Make a field for every parameter that the focus does not give; what is preset is no proposal."""
        super().__init__(parent)
        given = {**proposed(command.word, scene), **(preset or {})}
        self._proposals, self._preset = Proposals(), frozenset(preset or {})
        self._command, self._scene = command, scene
        self._readers: dict[str, Read] = {}
        self.undrawn = False  # whether the session is another since; the draft of it comes before it is applied
        self._cells: tuple[QComboBox, list[tuple[str, object]], int] | None = None
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(4)
        column.addWidget(label(window_text(command.summary), self, "soft", wrap=True))
        self.first: QWidget | None = None
        unsaid: QWidget | None = None
        self.accepting: QWidget | None = None  # what allows a step that was refused
        for parameter in command.parameters:
            if parameter.type is TableName:
                continue
            field, self._readers[parameter.name] = self._field(parameter, given.get(parameter.name))
            if parameter.name not in self._preset:
                self._proposals.add(parameter.name, field, 100.0 if parameter.kind is Kind.SHARE else 1.0)
            name, meaning = field_name(parameter), parameter_help(parameter)
            column.addSpacing(4)
            if not isinstance(field, QCheckBox):
                column.addWidget(labelled(name, field, self))
            column.addWidget(field)
            if field is self.accepting:
                meaning = tr("Without it, a draft that leans the mixture at high load is refused.")
            if meaning:
                field.setToolTip(meaning)
                column.addWidget(label(_BREAKS.sub(",\u200b", meaning), self, "soft", wrap=True))
            field.setAccessibleDescription(meaning)
            given_here = parameter.name in self._preset  # what is still to be said has the keyboard
            unsaid = unsaid or (None if given_here else field)
            self.first = unsaid or self.first or field

    def arguments(self) -> dict[str, Any]:
        """Read the form; fields left as they were by default, or as they stand in the session, are not passed.

        Raises:
            InputError: when a field cannot be read, or must be filled and is empty.
        """
        found: dict[str, Any] = {}
        for parameter in self._command.parameters:
            if parameter.type is TableName:
                found[parameter.name] = TableName(self._scene.focus.table)
                continue
            try:
                value = self._readers[parameter.name]()
            except Missing:
                if parameter.required:
                    empty, meant = tr("{name} is empty.").format(name=field_name(parameter)), parameter_help(parameter)
                    raise InputError(empty, meant) from None
                continue
            standing = parameter.name in STANDING.get(self._command.word, ())
            if standing and not self._proposals.touched(parameter.name):
                continue  # what is not said stays as it is by then, whoever changed it
            if value != parameter.default or parameter.required:
                found[parameter.name] = value
        return found

    @property
    def of_one_table(self) -> bool:
        """Whether the command works on the table that is shown."""
        return any(parameter.type is TableName for parameter in self._command.parameters)

    def typed(self) -> dict[str, Any]:
        """Read what would mean the same in another table: all but its cells and revisions, and what is not filled."""
        found: dict[str, Any] = {}
        for parameter in self._command.parameters:
            if parameter.name not in self._readers or parameter.kind is Kind.REVISION:
                continue
            if bare_type(parameter.type) is Cells:
                continue
            with suppress(Missing, InputError):
                found[parameter.name] = self._readers[parameter.name]()
        return found

    def show_scene(self, scene: Scene) -> None:
        """Follow the session, and the cells that are chosen; where they are what is asked for, that is an edit."""
        before, self._scene = self._scene, scene
        self._follow(scene)
        if self._command.preview and scene.state is not before.state:
            self.undrawn = True
            self.edited.emit()
        if scene.cells == before.cells and scene.table is before.table:
            return
        if self._cells is not None:
            box, items, at = self._cells
            items[at] = self._chosen_cells()
            box.setItemText(at, items[at][0])
            if box.currentIndex() == at:
                self.edited.emit()

    def _follow(self, scene: Scene) -> None:
        """Propose anew what nobody touched: for the revision that is chosen, from the session as it is."""
        chosen = None
        with suppress(Missing, InputError, KeyError):
            chosen = self._readers["revision"]()
        if self._proposals.follow(proposed(self._command.word, scene, chosen)):
            self.edited.emit()

    def _field(self, parameter: Parameter, preset: Any) -> tuple[QWidget, Read]:
        given = preset if preset is not None else parameter.default
        start = None if given is inspect.Parameter.empty else given
        if parameter.name == "accept":  # what a form may refuse is a lean step; approving has a task of its own
            self.accepting, ticked = self._tick(allow_lean_step(), on=bool(start))
            return self.accepting, lambda: (LEAN_STEP,) if ticked() else ()
        return self._of_kind(parameter, start) or self._of_type(parameter, start)

    def _of_kind(  # noqa: PLR0911 - one for each kind
        self, parameter: Parameter, start: Any
    ) -> tuple[QWidget, Read] | None:
        """Make the field that the kind of a parameter asks for; None where its type alone tells."""
        name, several = field_name(parameter), get_origin(bare_type(parameter.type)) is tuple
        match parameter.kind:
            case Kind.REVISION if several:
                return self._revision_of_each(name, parameter, start or ())
            case Kind.REVISION if parameter.type is Reference:
                return self._reference(name, parameter, start)
            case Kind.REVISION | Kind.BRANCH:
                box, read = self._choice(name, self._revisions(parameter), start)
                box.currentIndexChanged.connect(lambda _: self._follow(self._scene))
                return box, read
            case Kind.DRIVE:
                return self._choice(name, self._drives(parameter), start)
            case Kind.CHANNEL:
                return self._choice(name, self._channels(), start)
            case Kind.BLOCK:
                return self._lines(name, str(start or ""))
            case Kind.EXISTING_FILE | Kind.NEW_FILE | Kind.FOLDER:
                return self._path(name, start, parameter.kind, several=several)
        return None

    def _of_type(self, parameter: Parameter, start: Any) -> tuple[QWidget, Read]:
        kind, name = bare_type(parameter.type), field_name(parameter)
        if kind is Cells:
            return self._cells_field(required=parameter.required)
        if kind is bool and parameter.default is None:
            return self._choice(name, [self._unset, (tr("yes"), True), (tr("no"), False)], start)
        if kind is bool:
            return self._tick(name, on=bool(start))
        if words := choices_of(kind):
            unsaid = [self._unset] if parameter.default is None else []
            return self._choice(name, [*unsaid, *((tr(CHOICE_WORDS.get(word, word)), word) for word in words)], start)
        if kind is float and isinstance(start, float | int):
            return self._number(name, float(start), parameter)
        return self._text(name, kind, start)

    def _revision_of_each(self, name: str, parameter: Parameter, start: tuple[int, ...]) -> tuple[QWidget, Read]:
        """Let the user choose a revision of each table."""
        state = self._scene.state
        tables = () if state is None else state.history.table_names
        whole, boxes = QWidget(self), list[QComboBox]()
        column = QVBoxLayout(whole)
        column.setContentsMargins(0, 0, 0, 0)
        for table in tables:
            listed = self._revisions(parameter, table)
            if state is not None and self._command.word == "add-log" and not state.may_be_in_car(table):
                listed[0] = (tr("which was in the car?"), _ASKED)
            chosen = next((number for _, number in listed if number in start), listed[0][1])
            if len(tables) > 1:
                column.addWidget(label(table, self, "soft"))
            box = choice(name if len(tables) == 1 else f"{name}: {table}", listed, self)
            box.setCurrentIndex(max(box.findData(chosen), 0))
            box.currentIndexChanged.connect(lambda _: self.edited.emit())
            column.addWidget(box)
            boxes.append(box)
        if boxes:
            whole.setFocusProxy(boxes[0])

        def read() -> Any:
            if any(box.currentData() == _ASKED for box in boxes):
                words = tr("Which revision was in the car is not said, and the current one was never exported.")
                raise InputError(words, tr("Choose it at “{name}”.").format(name=name))
            return tuple(box.currentData() for box in boxes if box.currentData() is not None)

        return whole, read

    def _reference(self, name: str, parameter: Parameter, start: Any) -> tuple[QWidget, Read]:
        """Let the user choose a revision, or write any other table: a branch, a file, or other.session:3."""
        place = QWidget(self)
        listed = self._revisions(parameter, self._scene.focus.table)
        box: QComboBox = choice(name, listed, place)
        box.setEditable(True)
        box.setInsertPolicy(QComboBox.InsertPolicy.NoInsert)
        values = {text: str(value) for text, value in listed}
        chosen = next((text for text, value in values.items() if value == str(start)), str(start or ""))
        box.setEditText(chosen)
        box.editTextChanged.connect(lambda _: self.edited.emit())
        look = button(tr("Browse…"), tr("Browse your files."), place)

        def browse() -> None:
            found = file_dialogs.ask_file(self, tr("A table, or another session"), str(self._beside))
            if found:
                box.setEditText(found)

        look.clicked.connect(browse)
        with_button(place, box, look)
        if (line := box.lineEdit()) is not None:
            line.setCursorPosition(0)  # what a text begins with tells most of it

        def read() -> Any:
            text = box.currentText().strip()
            if not text:
                raise Missing
            return Reference(values.get(text, text))

        return place, read

    def _revisions(self, parameter: Parameter, table: str = "") -> list[tuple[str, object]]:
        state = self._scene.state
        revisions = () if state is None else tuple(reversed(state.history.revisions))
        revisions = tuple(each for each in revisions if table in ("", each.table.name))
        listed: list[tuple[str, object]] = (
            [] if state is None else [(revision_words(state, r), r.id) for r in revisions]
        )
        if parameter.required:
            return listed
        unset = tr(parameter.called.unset) if parameter.called.unset else tr("the current one")
        return [(unset, None), *listed]

    def _drives(self, parameter: Parameter) -> list[tuple[str, object]]:
        state = self._scene.state
        listed: list[tuple[str, object]] = (
            [] if state is None else [(f"{drive.id}  {drive.log.name}", drive.id) for drive in state.drives]
        )
        return listed if parameter.required else [(tr(parameter.called.unset or "none"), None), *listed]

    def _channels(self) -> list[tuple[str, object]]:
        """List the channels of all logs as they were read, those of the log that is looked at first."""
        state, drive = self._scene.state, self._scene.drive
        drives = [*([] if drive is None else [drive]), *(() if state is None else state.drives)]
        names = dict.fromkeys(channel.name for each in drives for channel in each.as_read.channels)
        return [(name, name) for name in names]

    @property
    def _unset(self) -> tuple[str, object]:
        return tr("unchanged"), None

    def _cells_field(self, *, required: bool) -> tuple[QWidget, Read]:
        table = self._scene.table
        chosen = 0 if table is None else int(self._scene.chosen().sum())
        several = required or chosen > (0 if self._command.word in BY_HAND else 1)
        items: list[tuple[str, object]] = [(tr("all cells"), Cells())]
        items.insert(0 if several else 1, self._chosen_cells())
        box, read = self._choice(tr("Cells"), items, None)
        self._cells = box, items, 0 if several else 1
        return box, read

    def _chosen_cells(self) -> tuple[str, object]:
        chosen, table = self._scene.cells, self._scene.table
        marked = np.argwhere(self._scene.chosen()) if table is not None else np.zeros((0, 0))
        ends = [] if table is None else [table.cell_name(tuple(map(int, marked[at]))) for at in (0, -1) if len(marked)]
        words = plural(len(marked), tr("the chosen cell ({first})"), tr("the {n} chosen cells ({first} to {last})"))
        return words.format(n=len(marked), first="".join(ends[:1]), last="".join(ends[1:])), chosen
