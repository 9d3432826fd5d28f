"""Long work on one thread of its own; progress and results come back to the window's thread by signals."""

import threading
import time
from collections.abc import Callable, Generator
from typing import Any

from PySide6.QtCore import QObject, QRunnable, QThreadPool, QTimer, Signal

from workbench.errors import WorkbenchError
from workbench.work import Cancelled, Progress, run

TELL_EVERY_S = 0.04
BEAT_MS = 5


class _Relay(QObject):
    """Carries what a task has to say over to the window's thread."""

    progressed = Signal(object)
    ended = Signal(object, object)


class _Task(QRunnable):
    """One job on its way."""

    def __init__(self, job: Generator[Progress, None, Any], relay: _Relay) -> None:
        super().__init__()
        self.setAutoDelete(False)
        self.stop = threading.Event()
        self._job, self._relay, self._reported = job, relay, 0.0

    def run(self) -> None:
        result, trouble = None, None
        try:
            result = run(self._job, self._report, self.stop.is_set)
        except Exception as caught:  # noqa: BLE001 - whatever it is, the window's thread must hear of it
            trouble = caught
        self._relay.ended.emit(result, trouble)

    def _report(self, progress: Progress) -> None:
        if time.monotonic() - self._reported >= TELL_EVERY_S:
            self._reported = time.monotonic()
            self._relay.progressed.emit(progress)


class Jobs(QObject):
    """Runs one job at a time and keeps the others waiting.

    Signals:
        working: title of the job that runs, and its latest Progress or None; an empty title when all is done.
        broke: an exception that is a fault of the program.
    """

    working = Signal(str, object)
    broke = Signal(object)

    def __init__(self, parent: QObject) -> None:
        """Make the pool; it has one thread."""
        super().__init__(parent)
        self._pool = QThreadPool(self)
        self._pool.setMaxThreadCount(1)
        self._tasks: list[tuple[str, _Task, _Relay]] = []

    def start(
        self,
        title: str,
        job: Generator[Progress, None, Any],
        done: Callable[[Any], None],
        refused: Callable[[WorkbenchError], None],
        ended: Callable[[], None] = lambda: None,
    ) -> Callable[[], None]:
        """Run a job; the callbacks are called on the window's thread.

        Args:
            title: what the user reads while it runs; empty where nothing is to be read.
            job: must not touch the window or the session, only frozen values.
            done: takes its result.
            refused: takes the refusal, if it ends with one.
            ended: is called at the end, also when it was cancelled.

        Returns:
            a function that cancels it.
        """
        relay = _Relay(self)
        task = _Task(job, relay)
        entry = (title, task, relay)

        def finish(result: Any, trouble: BaseException | None) -> None:
            self._tasks.remove(entry)
            relay.deleteLater()
            self._tell()
            if isinstance(trouble, WorkbenchError):
                refused(trouble)
            elif trouble is None:
                done(result)
            elif not isinstance(trouble, Cancelled):
                self.broke.emit(trouble)
            ended()

        if title:
            relay.progressed.connect(lambda progress: self.working.emit(title, progress))
        relay.ended.connect(finish)
        self._tasks.append(entry)
        self._tell()
        self._pool.start(task)
        return task.stop.set

    @property
    def busy(self) -> bool:
        """Whether a job runs or waits."""
        return bool(self._tasks)

    def cancel(self) -> None:
        """Ask all jobs to stop at their next step."""
        for _, task, _ in self._tasks:
            task.stop.set()

    def finish(self) -> None:
        """Stop everything and wait for the thread, before the window goes."""
        self.cancel()
        self._pool.waitForDone()

    def _tell(self) -> None:
        self.working.emit(next((title for title, _, _ in self._tasks if title), ""), None)


class Heartbeat(QObject):
    """Measures how long the window's thread was away from its events."""

    def __init__(self, parent: QObject) -> None:
        """Start beating."""
        super().__init__(parent)
        self.longest_s = 0.0
        self._last = time.perf_counter()
        self._timer = QTimer(self)
        self._timer.timeout.connect(self._beat)
        self._timer.start(BEAT_MS)

    def restart(self) -> None:
        """Forget what was measured."""
        self._last, self.longest_s = time.perf_counter(), 0.0

    def _beat(self) -> None:
        now = time.perf_counter()
        self.longest_s = max(self.longest_s, now - self._last)
        self._last = now
