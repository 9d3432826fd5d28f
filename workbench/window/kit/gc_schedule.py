"""When Python looks for what nothing refers to any more: seldom, and never through whole libraries.

Its own way is to go through all objects now and then, libraries included; once scipy and pandas are there that takes
a tenth of a second, on whichever thread comes by, and the window stands still.
"""

import gc
import sys

from PySide6.QtCore import QObject, QTimer

LOOK_MS = 1000
GROWN = 40  # modules imported since the last look, from which on a library must have come
SELDOM = 1000  # collections of the middle generation before one of the oldest
COLLECT_EVERY = 60  # looks


class Collector(QObject):
    """Keeps libraries out of the collections, and collects the rest once a minute."""

    def __init__(self, parent: QObject) -> None:
        """Take over from Python's own way."""
        super().__init__(parent)
        self._thresholds, self._modules, self._looks = gc.get_threshold(), 0, 0
        gc.set_threshold(*self._thresholds[:2], SELDOM)
        self._timer = QTimer(self)
        self._timer.timeout.connect(self.look)
        self._timer.start(LOOK_MS)
        self.look()

    def look(self) -> None:
        """Set aside what came with a library; it stays as long as the program does."""
        self._looks += 1
        if len(sys.modules) >= self._modules + GROWN:
            self._modules = len(sys.modules)
            gc.freeze()
        elif self._looks % COLLECT_EVERY == 0:
            gc.collect()

    def stop(self) -> None:
        """Give back to Python's own way."""
        self._timer.stop()
        gc.set_threshold(*self._thresholds)
        gc.unfreeze()
