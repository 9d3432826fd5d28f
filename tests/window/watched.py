"""The program with an ear for its watcher: run as a process of its own, told by lines what to do beside keys and mouse.

`python watched.py SESSION SETTINGS` opens a session. Each line on standard input is answered by one line on standard
output, once the window has come to rest and the X server has drawn it:

settle                 nothing else
do NAME                the act or command of that name
look JSON              look at something: fields of the focus
take JSON              take files, as if they were dropped
dress THEME POINTS     theme and text size
reload                 take in what another process wrote
alone NAME             one panel alone, or all by no name
press WORDS            the first button of the bench whose text ends so
repaint                paint everything again
anew                   forget what was drawn, and draw and paint everything again
state                  answers the state as JSON
figures                answers what the numbers, the open task, the message and the history show, as JSON
"""

import json
import os
import sys
import threading
import time
from collections.abc import Callable
from pathlib import Path

os.environ["QT_QPA_PLATFORM"] = "xcb"
sys.path.insert(0, str(Path(__file__).parents[2]))
sys.path.insert(1, str(Path(__file__).parent))

from PySide6.QtCore import QEvent, QObject, QSettings, Qt, QTimer, Signal
from PySide6.QtGui import QGuiApplication
from PySide6.QtWidgets import QApplication, QLabel, QPushButton
from showing import SOON_MS, is_busy

from workbench.window.panels.revision_rows import Entry
from workbench.window.scene.last_drawn import LastDrawn
from workbench.window.scene.preferences import Memory
from workbench.window.shell.application import application
from workbench.window.shell.main_window import MainWindow

CALM = 8  # turns of the event loop in which nothing comes up
TURN_S = 0.004
AWAY = (
    *("quit", "start", "card", "open", "new", "sample", "sample-table", "sample-log", "paste-table", "watch"),
    "compare-file",
)


class Quiet(QObject):
    """Keeps tips away: they come and go by a clock."""

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:  # noqa: N802 - Qt's own name
        """Drop what would show a tip."""
        del watched
        return event.type() == QEvent.Type.ToolTip


class Ear(QObject):
    """Hears lines on a thread of its own."""

    heard = Signal(str)

    def __init__(self, window: MainWindow) -> None:
        """Listen."""
        super().__init__()
        self._window = window
        self.heard.connect(self._on_heard, Qt.ConnectionType.QueuedConnection)
        threading.Thread(target=self._listen, daemon=True).start()

    def _listen(self) -> None:
        for line in sys.stdin:
            self.heard.emit(line.strip())

    def _on_heard(self, line: str) -> None:
        try:
            answer = self._do(*line.partition(" ")[::2])
        except Exception as error:  # noqa: BLE001 - told to who watches, whatever it is
            answer = f"failed: {error!r}"
        sys.stdout.write(answer + "\n")
        sys.stdout.flush()

    def _do(self, word: str, rest: str) -> str:
        workshop = self._window.equip()
        theme, _, points = rest.partition(" ")
        acts: dict[str, Callable[[], object]] = {
            "do": lambda: workshop.do(rest),
            "look": lambda: workshop.bridge.focus(**{name: _tuples(value) for name, value in json.loads(rest).items()}),
            "take": lambda: workshop.take([Path(each) for each in json.loads(rest)]),
            "dress": lambda: workshop.dress(theme, int(points)),
            "reload": workshop.reload,
            "anew": self._anew,
            "alone": lambda: workshop.bench.room.bring(rest),
            "press": lambda: self._press(rest),
            "repaint": self._repaint,
        }
        if word in acts:
            acts[word]()
        self._settle()
        if word in ("state", "figures"):
            return json.dumps(self._state() if word == "state" else self._figures())
        return "done"

    def _press(self, words: str) -> None:
        buttons = self._window.equip().bench.findChildren(QPushButton)
        next(each for each in buttons if each.text().endswith(words)).click()

    def _settle(self) -> None:
        calm, end = 0, time.monotonic() + 120
        while calm < CALM and time.monotonic() < end:
            QApplication.processEvents()
            time.sleep(TURN_S)
            calm = 0 if is_busy(self._window) else calm + 1
        for timer in self._window.findChildren(QTimer):
            if timer.isActive() and timer.isSingleShot() and timer.interval() > SOON_MS:
                timer.stop()  # what goes by itself after a while stays as long as it is looked at
        QGuiApplication.sync()

    def _anew(self) -> None:
        workshop = self._window.equip()
        LastDrawn.forget_all()
        workshop.bench.show_scene(workshop.bridge.scene)
        workshop.bench.finish()
        self._settle()
        self._repaint()

    @staticmethod
    def _repaint() -> None:
        for widget in QApplication.allWidgets():
            if widget.isVisible():
                widget.update()
        for widget in QApplication.topLevelWidgets():
            if widget.isVisible():
                widget.repaint()  # a window that has come to a stop would not hear of what is merely wished for

    def _figures(self) -> dict[str, object]:
        bench = self._window.equip().bench
        cells, drawer = bench.numbers.view.cells, bench.drawer
        columns = {str(cells._heading(each)): cells.pictures[each].texts.ravel().tolist() for each in cells.columns}
        return {
            "columns": columns,
            "task": [each.text() for each in drawer.findChildren(QLabel) if each.isVisible() and each.text()],
            "notice": bench.notice.text,
            "history": {
                each.revision.id: list(each.marks()) for each in bench.rail._entries.rows if isinstance(each, Entry)
            },
        }

    def _state(self) -> dict[str, object]:
        scene = self._window.equip().bridge.scene
        return {
            "sequence": None if scene.state is None else scene.state.sequence,
            "table": scene.focus.table,
            "layer": scene.focus.layer,
            "draft": scene.draft is not None,
            "evidence": scene.evidence is not None,
            "task": type(self._window.equip().bench.drawer.task).__name__,
            "focus": type(QApplication.focusWidget()).__name__,
        }


def _tuples(value: object) -> object:
    return tuple(_tuples(each) for each in value) if isinstance(value, list) else value


def stay(window: MainWindow) -> None:
    """Have nothing done, whatever key or click asks for it, that leaves the session or waits for a file's name."""
    window.equip().bench.report.clicked.disconnect()  # it opens another program
    acts = window.equip().acts
    does = acts.do

    def do(name: str) -> None:
        if name not in AWAY:
            does(name)

    acts.do = do  # type: ignore[method-assign]


def main() -> None:
    """Open a session and listen."""
    QGuiApplication.setAttribute(Qt.ApplicationAttribute.AA_DontUseNativeDialogs)
    QSettings.setPath(QSettings.Format.IniFormat, QSettings.Scope.UserScope, sys.argv[2])
    made = application()
    made.setCursorFlashTime(0)  # a cursor that blinks is no difference
    made.setDoubleClickInterval(1)  # a list waits for so long, and 0.1 s more, before it follows a click
    quiet = Quiet()
    made.installEventFilter(quiet)
    window = MainWindow(Memory())
    window.show()
    window.open(Path(sys.argv[1]))
    stay(window)
    ear = Ear(window)
    made.exec()
    del ear, quiet


if __name__ == "__main__":
    main()
