"""Work that is too long for one turn of the event loop, done piece by piece; what the user does comes in between."""

from collections import deque
from collections.abc import Callable

from PySide6.QtCore import QObject, QTimer


class Turns(QObject):
    """Does one thing per turn of the event loop, in the order they were put."""

    def __init__(self, parent: QObject) -> None:
        """Begin with nothing to do; what is still to be done goes with the parent."""
        super().__init__(parent)
        self._acts: deque[Callable[[], None]] = deque()
        self._turn = QTimer(self)
        self._turn.setSingleShot(True)
        self._turn.setInterval(0)
        self._turn.timeout.connect(self._step)

    def put(self, *acts: Callable[[], None]) -> None:
        """Have some more things done, one per turn."""
        self._acts.extend(acts)
        if self._acts:
            self._turn.start()

    def drop(self) -> None:
        """Leave undone what is still to be done."""
        self._acts.clear()
        self._turn.stop()

    def finish(self) -> None:
        """Do what is still to be done, now."""
        while self._acts:
            self._step()

    @property
    def waiting(self) -> bool:
        """Whether something is still to be done."""
        return bool(self._acts)

    def _step(self) -> None:
        if self._acts:
            act = self._acts.popleft()
            if self._acts:
                self._turn.start()
            act()
