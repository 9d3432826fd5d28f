"""A folder that a logger writes into: a log is offered once it has stopped growing."""

from pathlib import Path

from PySide6.QtCore import QFileSystemWatcher, QObject, QTimer, Signal

LOG_SUFFIXES = (".csv", ".txt", ".log", ".tsv", ".mf4", ".mdf", ".asc", ".blf", ".gz", ".zip", ".xlsx", ".ods")
QUIET_MS = 1500


class FolderWatch(QObject):
    """Watches one folder.

    Signals:
        finished: path of a log that appeared and has stopped growing.
    """

    finished = Signal(object)

    def __init__(self, parent: QObject) -> None:
        """Watch nothing yet."""
        super().__init__(parent)
        self._watcher = QFileSystemWatcher(self)
        self._watcher.directoryChanged.connect(lambda _: self._look())
        self._again = QTimer(self)
        self._again.setSingleShot(True)
        self._again.setInterval(QUIET_MS)
        self._again.timeout.connect(self._look)
        self._folder: Path | None = None
        self._known: set[Path] = set()
        self._growing: dict[Path, int] = {}

    @property
    def folder(self) -> Path | None:
        """The folder that is watched."""
        return self._folder

    def watch(self, folder: Path | None) -> None:
        """Watch another folder from now on, or none; what lies there already is left alone."""
        for old in self._watcher.directories():
            self._watcher.removePath(old)
        self._folder, self._growing = folder, {}
        self._known = set(_logs(folder)) if folder is not None else set()
        if folder is not None:
            self._watcher.addPath(str(folder))

    def _look(self) -> None:
        if self._folder is None:
            return
        sizes = {path: size for path, size in _logs(self._folder).items() if path not in self._known}
        for path, size in sizes.items():
            if size > 0 and self._growing.get(path) == size:
                self._known.add(path)
                self.finished.emit(path)
        self._growing = {path: size for path, size in sizes.items() if path not in self._known}
        if self._growing:
            self._again.start()


def _logs(folder: Path) -> dict[Path, int]:
    """Return the logs of a folder with their sizes; a folder that is gone holds none."""
    found = {}
    try:
        for path in folder.iterdir():
            if path.suffix.lower() in LOG_SUFFIXES and path.is_file():
                found[path] = path.stat().st_size
    except OSError:
        return found
    return found
