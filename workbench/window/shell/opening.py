"""Ways into a session: open, recent, sample, from a table file, from the clipboard; and folders to watch."""

import tempfile
from functools import partial
from pathlib import Path

from PySide6.QtCore import QObject, QStandardPaths, Signal
from PySide6.QtGui import QGuiApplication
from PySide6.QtWidgets import QWidget

from workbench.commands.declaring.registry import Answer
from workbench.commands.table.tables import MadeSession, new
from workbench.errors import InputError, WorkbenchError
from workbench.phrases import join_phrases
from workbench.session import Session, copy_shipped, looks_like_session
from workbench.window.kit.message_bar import Notice
from workbench.window.kit.style import shipped_folder
from workbench.window.kit.worker import Jobs
from workbench.window.log.folder_watch import FolderWatch
from workbench.window.panels.leaving import Leaving
from workbench.window.scene import file_dialogs
from workbench.window.scene.bridge import Bridge
from workbench.window.scene.large_files import in_job, is_large
from workbench.window.scene.preferences import Memory
from workbench.window.words.wording import tr

SUFFIX = ".session"
SAMPLE_TABLE, SAMPLE_LOG = "airflow_stale.csv", "part_throttle_drive.csv"


class Opening(QObject):
    """Opens and begins sessions.

    Signals:
        refused: a WorkbenchError while no session is open.
        sample_wanted: folder in which the sample is to be made.
        log_found: path of a log to add to the session that was just begun.
    """

    refused = Signal(object)
    sample_wanted = Signal(object)
    log_found = Signal(object)

    def __init__(self, bridge: Bridge, memory: Memory, notice: Notice, leaving: Leaving, parent: QWidget) -> None:
        """Begin with nothing open."""
        super().__init__(parent)
        self._leaving = leaving
        self._bridge, self._memory, self._notice, self._window = bridge, memory, notice, parent
        self.watching = FolderWatch(self)
        self.reading = Jobs(self)  # apart from other work, behind which a session would wait
        watched = memory.file("watched")
        if watched is not None and watched.is_dir():
            self.watching.watch(watched)

    def open(self, path: Path) -> None:
        """Open a session file; a large one is read aside, and shown once it is read."""
        if is_large(path):
            title = tr("Opening {name}").format(name=path.name)
            self.reading.start(
                title,
                in_job(partial(Session.open, path), path.name),
                lambda session: self._show(path, session),
                self._refuse,
            )
            return
        try:
            session = Session.open(path)
        except WorkbenchError as error:
            self._refuse(error)
            return
        self._show(path, session)

    def _show(self, path: Path, session: Session) -> None:
        """Show a session that was read, once the one that is open may be left."""
        self._leaving.then(partial(self._take, path, session), session.close)

    def _take(self, path: Path, session: Session) -> None:
        self._memory.opened(path)
        self._memory.keep("open", str(path.resolve()))
        self._bridge.open(session)
        if session.read_only:
            self._notice.say(session.read_only)

    def leave(self) -> None:
        """Close the session; the next start begins at the start page."""
        self._leaving.then(self._close)

    def _close(self) -> None:
        self._memory.keep("open", "")
        self._bridge.close()

    def open_last(self) -> None:
        """Open the session that was open when the window was closed, if it is still there."""
        last = self._memory.file("open")
        if last is not None and last.is_file():
            self.open(last)

    def choose(self) -> None:
        """Ask for a session file."""
        found = file_dialogs.ask_file(self._window, tr("Open a session"), self._folder())
        if found:
            self.open(Path(found))

    def choose_table(self) -> None:
        """Ask for the file of a table."""
        found = file_dialogs.ask_file(self._window, tr("The table that is in the ECU now"), self._folder())
        if found:
            self.begin_from(Path(found))

    def begin_from(self, table: Path, session: Path | None = None) -> None:
        """Begin a session from a table's file, beside it unless said otherwise; a large one is read aside."""
        self._leaving.then(partial(self._begin_from, table, session))

    def _begin_from(self, table: Path, session: Path | None) -> None:
        path = session or free_path(table.with_suffix(SUFFIX))
        if is_large(table):
            title = tr("Reading {name}").format(name=table.name)
            self.reading.start(
                title, in_job(partial(new, path, table), table.name), lambda made: self._begun(path, made), self._refuse
            )
            return
        self._begin(path, table)

    def _begin(self, path: Path, table: Path) -> None:
        try:
            made = new(path, table)
        except WorkbenchError as error:
            self._refuse(error)
            return
        self._begun(path, made)

    def _begun(self, path: Path, made: Answer[MadeSession]) -> None:
        self.open(path)
        state = self._bridge.scene.state
        if state is not None and state.path == str(path):
            saved = tr("Saved as it goes on in {path}.").format(path=path)
            self._notice.say(join_phrases("\n", (saved, *made.lines[1:])))

    def paste(self) -> None:
        """Begin a session from a table on the clipboard."""
        text = QGuiApplication.clipboard().text()
        if not text.strip():
            self._refuse(InputError(tr("The clipboard holds no text."), tr("Copy the table from a spreadsheet first.")))
            return
        self._leaving.then(partial(self._paste, text))

    def _paste(self, text: str) -> None:
        with tempfile.TemporaryDirectory() as folder:
            file = Path(folder) / "pasted.csv"
            file.write_text(text, encoding="utf-8")
            self._begin(free_path(Path(self._folder()) / f"pasted{SUFFIX}"), file)

    def open_sample(self) -> None:
        """Open a copy of the ready sample session, or have the sample made where it did not come along."""
        self._leaving.then(self._open_sample)

    def _open_sample(self) -> None:
        found = sorted(shipped_folder("sample_sessions").glob(f"*{SUFFIX}"))
        if not found:
            self.sample_wanted.emit(free_path(Path(self._folder()) / "workbench_sample"))
            return
        copy = free_path(Path(self._folder()) / found[0].name)
        try:
            copy_shipped(found[0], copy)
        except WorkbenchError as error:
            self._refuse(error)
            return
        self.open(copy)

    def try_table(self) -> None:
        """Begin a session from the sample's table."""
        found = shipped_folder("sample_sessions") / SAMPLE_TABLE
        if found.is_file():
            self.begin_from(found, free_path(Path(self._folder()) / f"sample{SUFFIX}"))
        else:
            self.open_sample()

    def try_log(self) -> None:
        """Begin a session from the sample's table, and add its drive."""
        self._leaving.then(self._try_log)

    def _try_log(self) -> None:
        self.try_table()
        found = shipped_folder("sample_sessions") / SAMPLE_LOG
        if found.is_file() and self._bridge.scene.state is not None:
            self.log_found.emit(found)

    def choose_folder(self) -> None:
        """Ask for a folder whose new logs are offered."""
        found = file_dialogs.ask_folder(self._window, tr("Watch a folder"), self._folder())
        if found:
            self.watch(Path(found))

    def watch(self, folder: Path) -> None:
        """Offer logs that appear in a folder from now on."""
        self.watching.watch(folder)
        self._memory.keep("watched", str(folder))
        self._notice.say(tr("Watching {folder} for new logs.").format(folder=folder))

    def is_session(self, path: Path) -> bool:
        """Tell a session file by how it begins."""
        return looks_like_session(path)

    def _folder(self) -> str:
        """Give the folder of the session that is open, else of the one opened last, else that of documents."""
        state = self._bridge.scene.state
        last = Path(state.path) if state is not None else next(iter(self._memory.recent), None)
        if last is not None and last.parent.is_dir():
            return str(last.parent)
        documents = QStandardPaths.writableLocation(QStandardPaths.StandardLocation.DocumentsLocation)
        return documents if documents and Path(documents).is_dir() else str(Path.home())

    def _refuse(self, error: WorkbenchError) -> None:
        if self._bridge.scene.state is None:
            self.refused.emit(error)
        else:
            self._notice.say_refused(error)


def free_path(path: Path) -> Path:
    """Find a name that is not taken."""
    free, n = path, 2
    while free.exists():
        free = path.with_name(f"{path.stem} {n}{path.suffix}")
        n += 1
    return free
