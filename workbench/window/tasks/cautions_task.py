"""The task of looking into cautions: each with its place in the log, and a reason where it may stand."""

import math
from functools import partial

from PySide6.QtCore import Qt, QTimer, Signal
from PySide6.QtWidgets import QApplication, QLineEdit, QVBoxLayout, QWidget

from workbench.model.log import Drive
from workbench.window.kit.controls import button, emptied, label, row
from workbench.window.scene.last_drawn import LastDrawn
from workbench.window.scene.scene import LogCaution, Scene
from workbench.window.words.wording import breakable, clock, number, tr


class CautionsTask(QWidget):
    """Lists them, those that are open first.

    Signals:
        acknowledged: name of a caution, and why it may stand.
        looked: number of a drive and the moment in its log, s.
    """

    acknowledged = Signal(str, str)
    looked = Signal(int, float)

    def __init__(self, scene: Scene, parent: QWidget) -> None:
        """Make the list."""
        super().__init__(parent)
        self._column = QVBoxLayout(self)
        self._column.setContentsMargins(0, 0, 0, 0)
        self._last = LastDrawn()
        self.first: QWidget = self
        self.show_scene(scene)

    def show_scene(self, scene: Scene) -> None:
        """List the cautions as they are now; a reason that is being typed is kept."""
        acknowledged = None if scene.state is None else scene.state.acknowledged
        if not self._last.is_other(scene.cautions, acknowledged):
            return
        focus = QApplication.focusWidget()
        inside = focus is not None and self.isAncestorOf(focus)
        typed = {line.objectName(): line.text() for line in self.findChildren(QLineEdit)}
        emptied(self._column)
        self.first = self
        if not scene.cautions:
            self._column.addWidget(label(tr("No cautions in the logs."), self, wrap=True))
        state = scene.state
        settled = [
            each for each in scene.cautions if state is not None and state.acknowledgement(each.drive, each.found)
        ]
        waiting = [each for each in scene.cautions if each not in settled]
        for each in sorted(waiting, key=lambda caution: caution.kind != "danger"):
            self._list(scene, each)
            self._ask(each, typed.get(each.name, ""))
        for each in settled:
            self._list(scene, each)
            known = None if state is None else state.acknowledgement(each.drive, each.found)
            if known is not None:
                words = tr("Acknowledged by {name}, {time}: {reason}")
                text = words.format(name=known.by, time=clock(known.time), reason=known.reason)
                self._column.addWidget(label(text, self, "soft", wrap=True))

        if inside:  # what is typed next goes into the next reason, and nowhere else
            QTimer.singleShot(0, self.first, self.first.setFocus)  # once it is shown

    def _list(self, scene: Scene, caution: LogCaution) -> None:
        """Describe what it is, and offer to look at its place."""
        drives = () if scene.state is None else scene.state.drives
        name = next((_driven(scene, drive) for drive in drives if drive.id == caution.drive), "")
        title = tr("Danger") if caution.kind == "danger" else tr("Doubt")
        heading = label(breakable(f"▲ {title} · {name}"), self, "attention", wrap=True)
        self._column.addWidget(heading)
        self._column.addWidget(label(caution.sentence, self, wrap=True))
        if math.isfinite(caution.at):
            words = tr("Show it in the log, at {time} s").format(time=number(caution.at, 1))
            look = button(words, tr("Move the log's cursor there."), self, "flat")
            look.clicked.connect(partial(self.looked.emit, caution.drive, caution.at))
            self._column.addLayout(row(look, None))

    def _ask(self, caution: LogCaution, typed: str) -> None:
        """Ask why it may stand."""
        reason = QLineEdit(typed, self)
        reason.setObjectName(caution.name)
        reason.setPlaceholderText(tr("your reason"))
        reason.setAccessibleName(tr("Reason for acknowledging: {sentence}").format(sentence=caution.sentence))
        go = button(tr("Acknowledge"), tr("Save the reason in the session; the caution is then no longer open."), self)
        go.setEnabled(bool(typed.strip()))
        reason.textChanged.connect(lambda text: go.setEnabled(bool(text.strip())))

        def say() -> None:
            if reason.text().strip():
                self.acknowledged.emit(caution.name, reason.text().strip())

        reason.returnPressed.connect(say)
        go.clicked.connect(say)
        self._column.addLayout(row(reason, go))
        self._column.setAlignment(Qt.AlignmentFlag.AlignTop)
        if self.first is self:
            self.first = reason


def _driven(scene: Scene, drive: Drive) -> str:
    """Name a drive with the revision that it was made with: what it warns of may be mended since."""
    made = None if scene.state is None else scene.state.history.driven(drive, scene.focus.table)
    words = tr("{name}, with revision {id} in the car")
    return drive.log.name if made is None else words.format(name=drive.log.name, id=made.id)
