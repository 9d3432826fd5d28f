"""Tasks about a log: what was understood of it with roles to change, and which channels its lanes show."""

from collections.abc import Sequence
from functools import partial
from typing import Any

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QFocusEvent, QResizeEvent
from PySide6.QtWidgets import QComboBox, QGridLayout, QVBoxLayout, QWidget

from workbench.model.history import History
from workbench.model.log import ROLES, Channel, Drive, Log, Role
from workbench.window.kit.controls import Choice, Pairs, choice, label, labelled
from workbench.window.kit.elided_label import Elided
from workbench.window.kit.idle_queue import Turns
from workbench.window.scene.scene import Scene
from workbench.window.tasks.log_questions import LogQuestions
from workbench.window.words.phrasing import window_text
from workbench.window.words.wording import ROLE_WORDS, count, duration, operation, plain, plural, tr

LANES = 6
AT_ONCE = 4  # channels
ROLE_LETTERS = 9  # of a role that are seen at least; at large text there is no room for more
Lanes = tuple[tuple[str, ...], ...]
UNIT_SIGNS = {"degC": "°C", "degF": "°F"}


def with_unit(channel: Channel) -> str:
    """Name a channel with its unit, unless the name says it already."""
    known = channel.unit.lower() in channel.name.lower().split()
    return channel.name if known else f"{channel.name} {UNIT_SIGNS.get(channel.unit, channel.unit)}".strip()


def _recognised() -> dict[str, str]:
    """Give the words for where the wideband was found to sit."""
    return {
        "before": tr("recognised: before"),
        "after": tr("recognised: after"),
        "unknown": tr("not known: choose"),
    }


class RoleBox(Choice):
    """A list of all roles that is filled when it is first entered: a log has many channels."""

    def __init__(self, channel: str, role: Role | None, parent: QWidget) -> None:
        """Show the role of a channel."""
        super().__init__(parent)
        self._role = role
        self.setAccessibleName(tr("Role of {channel}").format(channel=channel))
        self.setSizeAdjustPolicy(QComboBox.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon)
        self.setMinimumContentsLength(ROLE_LETTERS)
        self.addItem(tr(ROLE_WORDS[role]) if role else tr("no role"), role or "")

    def fill(self) -> None:
        """List all roles, once."""
        if self.count() == 1:
            self.blockSignals(True)
            self.clear()
            self.addItem(tr("no role"), "")
            for role in ROLES:
                self.addItem(tr(ROLE_WORDS[role]), role)
            self.setCurrentIndex(max(self.findData(self._role or ""), 0))
            self.blockSignals(False)

    def show_role(self, role: Role | None) -> None:
        """Show another role, without telling of it."""
        self._role = role
        self.blockSignals(True)
        if self.count() == 1:
            self.setItemText(0, tr(ROLE_WORDS[role]) if role else tr("no role"))
            self.setItemData(0, role or "")
        else:
            self.setCurrentIndex(max(self.findData(role or ""), 0))
        self.blockSignals(False)

    def focusInEvent(self, event: QFocusEvent) -> None:
        """Fill the list."""
        self.fill()
        super().focusInEvent(event)

    def showPopup(self) -> None:
        """Fill the list."""
        self.fill()
        super().showPopup()


class DriveTask(QWidget):
    """Shows rows, rate, channels with roles and assumptions of a log; what is said otherwise waits for a yes.

    Signals:
        edited: something else was chosen, or what was chosen was given up.
        answered: arguments of amend-log that answer a question about the log.
        scaling_wanted: name of a channel whose scaling is to be stated.
    """

    edited = Signal()
    answered = Signal(object)
    scaling_wanted = Signal(str)

    def __init__(self, scene: Scene, drive: Drive, parent: QWidget) -> None:
        """Make the list."""
        super().__init__(parent)
        self._drive, self._scene = drive, scene
        self._driven_on: list[QComboBox] = []
        log = drive.log
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        time = log.time.values
        facts = plural(log.rows, "1 row.", "{rows} rows at {rate} Hz, {length}.").format(
            rows=count(log.rows),
            rate=plain(round(log.rate_hz, 1)),
            length=duration(float(time[-1] - time[0])) if log.rows else "–",
        )
        column.addWidget(label(facts, self, wrap=True))
        self._questions = LogQuestions(self)
        self._questions.answered.connect(self.answered)
        self._questions.scaling_wanted.connect(self.scaling_wanted)
        column.addWidget(self._questions)
        self._pairs = Pairs()
        self._first_field = self._revisions(scene)
        self._places = places = choice(
            tr("Wideband"),
            [(tr("recognise it"), "auto"), (tr("before the catalyst"), "before"), (tr("after the catalyst"), "after")],
            self,
        )
        places.setCurrentIndex(("auto", "before", "after").index(drive.wideband))
        places.currentIndexChanged.connect(self.edited)
        position = labelled(tr("Wideband position"), places, self)
        position.setWordWrap(True)
        self._pairs.add(position, places)
        column.addLayout(self._pairs)
        column.addWidget(label(tr("Channels and their roles"), self, "title", wrap=True))
        self._boxes: dict[str, RoleBox] = {}
        self._units: dict[str, Elided] = {}
        self._channels = Pairs()
        self._channels.setVerticalSpacing(2)
        column.addLayout(self._channels)
        self.turns = Turns(self)
        self.turns.put(*(partial(self._add_channels, first) for first in range(0, len(log.channels), AT_ONCE)))
        self._assumed = label(tr("Assumptions"), self, "title", wrap=True)
        self._notes = label("", self, "soft", wrap=True)
        column.addWidget(self._assumed)
        column.addWidget(self._notes)
        self._show(log)
        self._say_recognised(scene)

    def stands(self, scene: Scene) -> bool:
        """Tell whether its log is still in the session."""
        return scene.state is not None and any(each.id == self._drive.id for each in scene.state.drives)

    def is_of_another(self, scene: Scene) -> bool:
        """Tell whether another log is looked at by now, and nothing was said otherwise of this one."""
        return scene.drive is not None and scene.drive.id != self._drive.id and not self.arguments()

    def show_scene(self, scene: Scene) -> None:
        """Show the roles as they are now, after they were changed or that was refused."""
        self._scene = scene
        drives = () if scene.state is None else scene.state.drives
        drive = next((each for each in drives if each.id == self._drive.id), None)
        if drive is not None:
            if drive is not self._drive:
                self._drive = drive
                self.give_up()
            self._say_recognised(scene)

    def give_up(self) -> None:
        """Show what is recorded instead of what was chosen."""
        self._show(self._drive.log)
        self._places.blockSignals(True)
        self._places.setCurrentIndex(self._places.findData(self._drive.wideband))
        self._places.blockSignals(False)
        for box, number in self._stated():
            box.blockSignals(True)
            box.setCurrentIndex(-1 if number is None else box.findData(number))
            box.blockSignals(False)
        self.edited.emit()

    def arguments(self) -> dict[str, Any]:
        """Return what is said otherwise as arguments for the command; without any it is as it was."""
        stated: dict[str, Any] = {}
        moved = self._moved_roles()
        if moved:
            words = [
                f"{role}={self._player(role)}" for role in sorted(moved, key=lambda role: bool(self._player(role)))
            ]
            stated["role"] = tuple(words)
        if self._places.currentData() != self._drive.wideband:
            stated["wideband"] = self._places.currentData()
        if on := tuple(box.currentData() for box, number in self._stated() if box.currentData() not in (None, number)):
            stated["on"] = on
        return {"log": self._drive.id, **stated} if stated else {}

    @property
    def meaning(self) -> str:
        """Describe what applying it would do; empty where nothing is said otherwise."""
        stated = self.arguments()
        if not stated:
            return ""
        lines = [self._role_words(role) for role in self._moved_roles()]
        if "wideband" in stated:
            lines.append(tr("Wideband position: {place}.").format(place=self._places.currentText()))
        if "on" in stated:
            numbers = ", ".join(str(number) for number in stated["on"])
            lines.append(tr("Driven on revision {revisions}.").format(revisions=numbers))
        many = 0 if self._scene.fitting_evidence is None else len(self._scene.fitting_evidence.drives)
        gathered = plural(
            max(many, 1),
            "Applying this re-evaluates the logs; the table keeps its values. Undo restores the settings.",
            "Applying this re-evaluates {n} drives; the table keeps its values. Undo restores the settings.",
        )
        return "\n".join([*lines, gathered.format(n=many)])

    @property
    def contradiction(self) -> str:
        """Name which role two channels would play; empty where none."""
        for role in self._moved_roles():
            names = [name for name, box in self._boxes.items() if box.currentData() == role]
            if len(names) > 1:
                words = tr("{one} and {other} cannot both be {role}: choose one of them.")
                return words.format(one=names[0], other=names[1], role=tr(ROLE_WORDS[role]))
        return ""

    def _player(self, role: Role) -> str:
        """Return which channel is chosen for a role; empty for none."""
        return next((name for name, box in self._boxes.items() if box.currentData() == role), "")

    def _moved_roles(self) -> list[Role]:
        """List the roles that another channel is chosen for than plays them, or none."""
        played = self._drive.log.roles
        there = {box.currentData() for box in self._boxes.values()} - {""}
        listed = [role for role in ROLES if role in there or played.get(role) in self._boxes]
        chosen = {name: box.currentData() for name, box in self._boxes.items()}
        return [
            role
            for role in listed
            if {name for name, each in chosen.items() if each == role} != ({played[role]} if role in played else set())
        ]

    def _role_words(self, role: Role) -> str:
        before, now = self._drive.log.roles.get(role, ""), self._player(role)
        if not now:
            return tr("{channel} is no longer {role}.").format(channel=before, role=tr(ROLE_WORDS[role]))
        if not before:
            return tr("{channel} becomes {role}.").format(channel=now, role=tr(ROLE_WORDS[role]))
        words = tr("{channel} becomes {role}, in place of {before}.")
        return words.format(channel=now, role=tr(ROLE_WORDS[role]), before=before)

    def _stated(self) -> list[tuple[QComboBox, int | None]]:
        """Return the boxes of the revisions, each with the one that is recorded."""
        state = self._scene.state
        if state is None:
            return []
        found = []
        for table, box in zip(state.history.table_names, self._driven_on, strict=False):
            driven = state.history.driven(self._drive, table)
            found.append((box, None if driven is None else driven.id))
        return found

    def _say_recognised(self, scene: Scene) -> None:
        """Describe where the wideband was found to sit, once that is known."""
        found = "" if scene.fitting_evidence is None else scene.fitting_evidence.wideband.get(self._drive.id, "")
        words = _recognised()
        stated = self._drive.wideband != "auto"
        self._places.setItemText(0, tr("recognise it") if stated else words.get(found, tr("recognise it")))

    def _show(self, log: Log, channels: Sequence[Channel] | None = None) -> None:
        played = {name: role for role, name in log.roles.items()}
        shown = [channel.name for channel in (log.channels if channels is None else channels)]
        for name, box in self._boxes.items():
            if name not in shown:
                continue  # what was chosen meanwhile stays
            role = played.get(name)
            box.show_role(role)
            why = window_text(log.guesses.get(role, "stated")) if role else tr("Choose the role of this channel.")
            box.setToolTip(why)
        self._questions.show_drive(self._drive)
        for channel in log.channels:
            if channel.name in self._units:
                self._units[channel.name].name(with_unit(channel))
        self._assumed.setVisible(bool(log.notes))
        self._notes.setVisible(bool(log.notes))
        self._notes.setText("\n".join(f"· {window_text(note)}" for note in log.notes))

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Have fields under their names where there is little room."""
        super().resizeEvent(event)
        self._fit()

    @property
    def first(self) -> QWidget:
        """What the keyboard begins at: the first answer to a question where one is open."""
        return self._questions.first or self._first_field

    def _revisions(self, scene: Scene) -> QComboBox:
        """Ask for the revision of each table, that of the drive's own first; give the first box."""
        boxes = []
        history = History((), {}, {}, {}) if scene.state is None else scene.state.history
        for table in history.table_names:
            listed = [(f"{r.id}  {operation(r)}", r.id) for r in reversed(history.revisions) if r.table.name == table]
            words = tr("Driven on") if len(history.table_names) == 1 else tr("Driven on, {table}").format(table=table)
            box = choice(words, listed, self, tr("The revision that was in the car."))
            box.setSizeAdjustPolicy(QComboBox.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon)
            driven = history.driven(self._drive, table)
            box.setPlaceholderText(tr("not brought in then"))
            box.setCurrentIndex(-1 if driven is None else box.findData(driven.id))
            box.currentIndexChanged.connect(self.edited)
            name = labelled(words, box, self)
            name.setWordWrap(True)
            self._pairs.add(name, box)
            boxes.append(box)
        self._driven_on = boxes
        return boxes[0]

    def _add_channels(self, first: int) -> None:
        """List a few of the channels: a log has so many that the window would stand still over all of them."""
        for channel in self._drive.log.channels[first : first + AT_ONCE]:
            unit, box = Elided(self, Qt.AlignmentFlag.AlignLeft), RoleBox(channel.name, None, self)
            box.currentIndexChanged.connect(self.edited)
            self._units[channel.name], self._boxes[channel.name] = unit, box
            self._channels.add(unit, box)
        self._show(self._drive.log, self._drive.log.channels[first : first + AT_ONCE])
        self._fit()

    def _fit(self) -> None:
        """Have fields under their names where side by side either would be cut: it may not tell which bank it is of."""
        wide, line = self.width(), self.fontMetrics().height()
        names = max((each.whole_width for each in self._units.values()), default=0)
        roles = max((each.whole_width for each in self._boxes.values()), default=0)
        need = names + roles + self._channels.horizontalSpacing()
        self._channels.setColumnMinimumWidth(0, names if need <= wide else 0)
        self._channels.fit(wide, line, need)
        fields = [box.whole_width for box in self._driven_on if isinstance(box, Choice)]
        if isinstance(self._places, Choice):  # what is found later must not move what one is about to press
            fields += [self._places.width_of(words) for words in _recognised().values()]
        self._pairs.fit(wide, line, self._pairs.captions_width + max(fields, default=0))


class LanesTask(QWidget):
    """Lets one choose the channels of each lane.

    Signals:
        chosen: names of the channels of each lane.
    """

    chosen = Signal(object)

    def __init__(self, log: Log, now: Lanes, parent: QWidget) -> None:
        """Make the boxes."""
        super().__init__(parent)
        self._log = log
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        for words in (
            tr("Channels in one lane share a scale."),
            tr("Drag the border between two lanes to make one higher."),
            tr("The wheel over a lane's figures zooms its scale; a double click resets it."),
        ):
            column.addWidget(label(words, self, "soft", wrap=True))
        grid = QGridLayout()
        channels = [(tr("nothing"), ""), *((with_unit(c), c.name) for c in log.channels)]
        self._boxes: list[list[QComboBox]] = []
        for lane in range(LANES):
            names = now[lane] if lane < len(now) else ()
            boxes = []
            grid.addWidget(label(tr("Lane {n}").format(n=lane + 1), self, "soft"), lane * 4, 0)
            for place in range(max(3, len(names))):
                box = choice(tr("Lane {n}, channel {m}").format(n=lane + 1, m=place + 1), channels, self)
                box.setSizeAdjustPolicy(QComboBox.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon)
                box.setCurrentIndex(max(box.findData(names[place] if place < len(names) else ""), 0))
                box.currentIndexChanged.connect(self._on_choice)
                grid.addWidget(box, lane * 4 + place, 1)
                boxes.append(box)
            self._boxes.append(boxes)
        grid.setColumnStretch(1, 1)
        column.addLayout(grid)
        self.first = self._boxes[0][0]
        self._reveal()

    def stands(self, scene: Scene) -> bool:
        """Tell whether its log is still in the session."""
        drives = () if scene.state is None else scene.state.drives
        return any(each.log.sha256 == self._log.sha256 for each in drives)

    def _on_choice(self) -> None:
        self._reveal()
        self.chosen.emit(self.lanes())

    def _reveal(self) -> None:
        """Show of every lane what it holds, and one place more."""
        for boxes in self._boxes:
            held = max((i + 1 for i, box in enumerate(boxes) if box.currentData()), default=0)
            for i, box in enumerate(boxes):
                box.setVisible(i <= held)

    def lanes(self) -> Lanes:
        """Read the boxes; lanes without a channel are left out."""
        rows = (tuple(box.currentData() for box in boxes if box.currentData()) for boxes in self._boxes)
        return tuple(row for row in rows if row)
