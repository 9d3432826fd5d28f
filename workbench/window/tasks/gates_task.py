"""The task of setting the gates: each limit in words, and what each gate took away."""

from PySide6.QtCore import QTimer, Signal
from PySide6.QtWidgets import QGridLayout, QVBoxLayout, QWidget

from workbench.errors import InputError
from workbench.model.gate import Gates, limits_of
from workbench.window.kit.controls import label, labelled
from workbench.window.kit.number_field import Number, number_field
from workbench.window.scene.proposals import Proposals
from workbench.window.scene.scene import Scene
from workbench.window.tasks.channel_gates import ChannelGates
from workbench.window.tasks.correct_task import gate_words
from workbench.window.words.wording import tr

SETTLE_MS = 600
NAMES = {
    "warm_c": "Warm from, °C",
    "running_rpm": "Running from, rpm",
    "lambda_low": "Wideband range from, lambda",
    "lambda_high": "Wideband range to, lambda",
    "settle_s": "Rejected after loop change, s",
    "after_cut_s": "Rejected after a fuel cut, s",
    "after_purge_s": "Rejected after purge, s",
    "steady_per_s": "Fastest change of airflow, 1/s",
    "steady_in_manifold_per_s": "The same for tables over manifold pressure, 1/s",
    "steady_for_trims_per_s": "Fastest change for trims alone, 1/s",
    "film": "Fuel film up to, part of the fuel",
    "purge_percent": "Purge up to, %",
    "trim_limit_percent": "Trim is clipped at, %",
    "full_throttle_percent": "Full throttle from, %",
    "settle_for_trims_s": "Settling for trims alone, s",
    "settled": "Trims stand still within, ratio",
    "rich_command": "Rich command under, lambda",
}


class GatesTask(QWidget):
    """Shows and sets all limits.

    Signals:
        stated: arguments for the command.
        wrong: an InputError: a field holds what cannot be.
    """

    stated = Signal(object)
    wrong = Signal(object)

    def __init__(self, scene: Scene, parent: QWidget) -> None:
        """Make a field for every limit there is."""
        super().__init__(parent)
        self._fields: dict[str, Number] = {}
        self._untouched = Proposals()  # the limits as the session holds them by now, until they are touched
        self._soon = QTimer(self)
        self._soon.setSingleShot(True)
        self._soon.setInterval(SETTLE_MS)
        self._soon.timeout.connect(self._state)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.addWidget(
            label(
                tr("A sample is accepted only if it passes all gates; changing a limit re-evaluates the logs."),
                self,
                "soft",
                wrap=True,
            )
        )
        grid = QGridLayout()
        grid.setColumnStretch(0, 1)
        for row, (limit, value) in enumerate(_limits(scene).items()):
            name = tr(NAMES.get(limit, limit.replace("_", " ")))
            field = number_field(name, value, 0.0, 999_999.0, self, decimals=5, step=max(abs(value) / 20, 0.01))
            field.valueChanged.connect(lambda _: self._soon.start())
            field.editingFinished.connect(self._end)
            self._fields[limit] = field
            self._untouched.add(limit, field)
            caption = labelled(name, field, self)
            caption.setWordWrap(True)
            grid.addWidget(caption, row, 0)
            grid.addWidget(field, row, 1)
        column.addLayout(grid)
        column.addWidget(label(tr("Gates on channels"), self, "title", wrap=True))
        self._own = ChannelGates(self)
        self._own.stated.connect(self.stated)
        self._own.show_scene(scene)
        column.addWidget(self._own)
        column.addWidget(label(tr("Rejected by gates"), self, "title", wrap=True))
        self._counts = label(gate_words(scene), self, "soft", wrap=True)
        column.addWidget(self._counts)
        self.first: QWidget = next(iter(self._fields.values()))

    def show_scene(self, scene: Scene) -> None:
        """Show what the gates take now, and the limits as they are by now where nobody is changing them."""
        now = _limits(scene)
        for name in (name for name, field in self._fields.items() if field.text() == field.written(now[name])):
            self._untouched.take(name)  # it was written: what is seen is what the session holds
        self._untouched.follow(now)
        self._own.show_scene(scene)
        self._counts.setText(gate_words(scene))

    def _end(self) -> None:
        """Record at once what was typed and left: the panel may be closed before long."""
        self._soon.stop()
        self._state()

    def _state(self) -> None:
        touched = [name for name in self._fields if self._untouched.touched(name)]
        try:
            words = tuple(f"{name}={self._fields[name].checked():.10g}" for name in touched)
        except InputError as error:
            self.wrong.emit(error)
            return
        if words:
            self.stated.emit({"gate": words})


def _limits(scene: Scene) -> dict[str, float]:
    return limits_of(Gates() if scene.state is None else scene.state.settings.gates)
