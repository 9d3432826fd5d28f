"""Work that is too long for one turn of the event loop, done piece by piece; what the user does comes in between."""

from collections import deque
from collections.abc import Callable

from PySide6.QtCore import QCoreApplication, QObject, QTimer


class _Pace(QObject):
    """Lets one thing be done per turn of the event loop, whoever has something to do: each in its turn."""

    def __init__(self, parent: QObject | None) -> None:
        super().__init__(parent)
        self._waiting: dict[int, Callable[[], None]] = {}
        self._turn = QTimer(self)
        self._turn.timeout.connect(self._next)

    def join(self, key: int, step: Callable[[], None]) -> None:
        if key not in self._waiting:
            self._waiting[key] = step
            self._turn.start(0)

    def leave(self, key: int) -> None:
        self._waiting.pop(key, None)

    def _next(self) -> None:
        if not self._waiting:
            self._turn.stop()
            return
        key = next(iter(self._waiting))
        self._waiting.pop(key)()


class Turns(QObject):
    """Does one thing per turn of the event loop, in the order they were put."""

    def __init__(self, parent: QObject) -> None:
        """Begin with nothing to do; what is still to be done goes with the parent."""
        super().__init__(parent)
        self._acts: deque[Callable[[], None]] = deque()
        application = QCoreApplication.instance()
        there = None if application is None else application.findChild(_Pace)
        pace = self._pace = _Pace(application) if there is None else there
        key = self._key = id(self)
        self.destroyed.connect(lambda: pace.leave(key))

    def put(self, *acts: Callable[[], None]) -> None:
        """Queue more calls, to be made one per turn of the event loop."""
        self._acts.extend(acts)
        if self._acts:
            self._pace.join(self._key, self._step)

    def drop(self) -> None:
        """Discard the calls that are still queued."""
        self._acts.clear()

    def finish(self) -> None:
        """Do what is still to be done, now."""
        while self._acts:
            self._acts.popleft()()

    @property
    def waiting(self) -> bool:
        """Whether calls are still queued."""
        return bool(self._acts)

    def _step(self) -> None:
        if self._acts:
            act = self._acts.popleft()
            if self._acts:
                self._pace.join(self._key, self._step)
            act()
