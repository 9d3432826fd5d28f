"""The user's own gates: what each asks of a channel, and a row to add one."""

from functools import partial

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QGridLayout, QLineEdit, QVBoxLayout, QWidget

from workbench.model.gate import ChannelGate
from workbench.window.kit.controls import button, choice, emptied, label, labelled
from workbench.window.scene.scene import Scene
from workbench.window.tasks.log_tasks import with_unit
from workbench.window.words.phrasing import window_text
from workbench.window.words.wording import read_number, tr


class ChannelGates(QWidget):
    """Lists the gates on channels, each with a button that takes it away, and takes a new one.

    Signals:
        stated: arguments for the settings command.
    """

    stated = Signal(object)

    def __init__(self, parent: QWidget) -> None:
        """Make it empty."""
        super().__init__(parent)
        self._shown: object = None
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        self._listed = QVBoxLayout()
        column.addLayout(self._listed)
        words = tr("Samples count only while the channel reads within the range. Leave an end empty for none.")
        column.addWidget(label(words, self, "soft", wrap=True))
        self._channel = choice(tr("Channel of the gate"), [], self)
        self._ends = [QLineEdit(self) for _ in range(3)]
        grid = QGridLayout()
        grid.addWidget(labelled(tr("Channel"), self._channel, self), 0, 0)
        grid.addWidget(self._channel, 0, 1)
        names = (tr("From"), tr("To"), tr("Rejected after, s"))
        for row, (name, field) in enumerate(zip(names, self._ends, strict=True), 1):
            field.setAccessibleName(name)
            field.textChanged.connect(self._on_typed)
            field.returnPressed.connect(self._add)
            grid.addWidget(labelled(name, field, self), row, 0)
            grid.addWidget(field, row, 1)
        grid.setColumnStretch(1, 1)
        column.addLayout(grid)
        self._go = button(tr("Add this gate"), tr("Record the gate; undo takes it away."), self)
        self._go.clicked.connect(self._add)
        column.addWidget(self._go)
        self._on_typed()

    def show_scene(self, scene: Scene) -> None:
        """Show the gates there are, and the channels of the log that is looked at."""
        gates = () if scene.state is None else scene.state.settings.gates.channels
        log = None if scene.drive is None else scene.drive.log
        if (gates, log) == self._shown:
            return
        self._shown = gates, log
        emptied(self._listed)
        for gate in gates:
            words = tr("Rejected where {gate}").format(gate=window_text(gate.name))
            if gate.hold_s:
                words = tr("{gate}, and for {seconds} s after").format(gate=words, seconds=f"{gate.hold_s:g}")
            self._listed.addWidget(label(words, self, wrap=True))
            away = button(tr("Remove"), tr("Take this gate away; undo brings it back."), self, "flat")
            away.setAccessibleName(tr("Remove the gate on {channel}").format(channel=gate.channel))
            away.clicked.connect(partial(self._remove, gate))
            self._listed.addWidget(away)
        chosen = self._channel.currentData()
        self._channel.clear()
        for channel in () if log is None else log.channels:
            self._channel.addItem(with_unit(channel), channel.name)
        self._channel.setCurrentIndex(max(self._channel.findData(chosen), 0))
        self._on_typed()

    def _numbers(self) -> list[float | None] | None:
        """Read the fields; None where one cannot be read, or no range is given."""
        typed = [field.text().strip() for field in self._ends]
        found = [read_number(text) if text else None for text in typed]
        if any(text and number is None for text, number in zip(typed, found, strict=True)):
            return None
        low, high, _ = found
        return found if (low is not None or high is not None) and (None in (low, high) or low <= high) else None  # type: ignore[operator]

    def _on_typed(self) -> None:
        self._go.setEnabled(self._numbers() is not None and self._channel.currentData() is not None)

    def _add(self) -> None:
        numbers = self._numbers()
        if numbers is not None and self._channel.currentData() is not None:
            ends = ":".join("" if number is None else f"{number:.10g}" for number in numbers)
            self.stated.emit({"gate_channel": (f"{self._channel.currentData()}={ends}",)})
            for field in self._ends:
                field.clear()

    def _remove(self, gate: ChannelGate, *_: object) -> None:
        self.stated.emit({"gate_channel": (f"{gate.channel}=",)})
