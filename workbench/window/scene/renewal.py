"""What was told of the session is told anew when that changes: an answer that stays on the screen must stay true."""

from collections.abc import Callable

from PySide6.QtCore import QObject, SignalInstance

from workbench.commands.declaring.registry import Command
from workbench.window.scene.bridge import Bridge
from workbench.window.scene.scene import Scene

Subject = Callable[[Scene], tuple[object, ...]]


def of_session(scene: Scene) -> tuple[object, ...]:
    """Return what an answer of a command is about: the session as it was recorded, and which table is looked at."""
    state = scene.state
    return () if state is None else (state.path, state.sequence, scene.focus.table)


def of_evidence(scene: Scene) -> tuple[object, ...]:
    """Return what the notes on the evidence are about."""
    return (scene.current, scene.outdated)


def tells_of_session(command: Command) -> bool:
    """Return whether the answer of a command that changed nothing describes the session as it is."""
    return command.opens == "answer" or command.word in ("evidence", "cell-samples")


class Renewal(QObject):
    """Remembers how to tell once more what is on the screen."""

    def __init__(self, bridge: Bridge, parent: QObject, *turned: SignalInstance) -> None:
        """Watch the scene; what was told is gone when the page is turned."""
        super().__init__(parent)
        self._bridge = bridge
        self._tell: Callable[[], None] | None = None
        self._subject: Subject = of_session
        self._told: tuple[object, ...] = ()
        bridge.shown.connect(self._on_scene)
        for each in turned:
            each.connect(self.drop)

    def keep(self, tell: Callable[[], None], subject: Subject = of_session) -> None:
        """Have something told anew whenever its subject is another than now; takes the place of what was kept."""
        self._tell, self._subject, self._told = tell, subject, subject(self._bridge.scene)

    def drop(self) -> None:
        """Forget it: it is no longer on the screen."""
        self._tell = None

    def _on_scene(self, scene: Scene) -> None:
        tell, now = self._tell, self._subject(scene)
        if tell is not None and now != self._told:
            self._told = now
            tell()
