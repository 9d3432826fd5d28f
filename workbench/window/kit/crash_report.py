"""When the program itself is at fault: what happened is kept in a report, and the work goes on."""

import platform
import sys
import tempfile
import traceback
from collections import deque
from collections.abc import Iterable
from contextlib import suppress
from datetime import UTC, datetime
from pathlib import Path
from types import TracebackType

from numpy import __version__ as numbers
from PySide6 import __version__ as binding
from PySide6.QtCore import QStandardPaths, Qt
from PySide6.QtGui import QGuiApplication
from PySide6.QtWidgets import QMessageBox, QWidget

from workbench import __version__
from workbench.window.words.wording import tr

LAST = 12  # commands that a report names
OF_THE_PROGRAM = (AttributeError, ImportError, NameError)  # their texts name parts of the program
_done: deque[str] = deque(maxlen=LAST)


def note_command(word: str, names: Iterable[str]) -> None:
    """Remember that a command was run, for a report: its word and which arguments it had, never their values."""
    _done.append(" ".join((f"{datetime.now(UTC):%H:%M:%S}", word, *sorted(names))))


def report_of(error: BaseException) -> str:
    """Write what a maintainer needs to know: versions, the last commands, and where in the program it failed.

    No data of the session: of an error only its kind is kept, unless its text speaks of the program alone, since it
    may quote what it failed over.
    """
    versions = f"Python {platform.python_version()}, PySide6 {binding}, numpy {numbers}, {platform.platform()}"
    lines = [
        f"Calibration workbench {__version__}, {versions}",
        "",
        "The last commands (time in UTC, word, arguments):",
    ]
    lines += [f"  {each}" for each in _done] or ["  none"]
    cause: BaseException | None = error
    while cause is not None:
        text = f": {cause}" if isinstance(cause, OF_THE_PROGRAM) else ""
        lines += [
            "",
            f"{type(cause).__name__}{text}",
            *(line.rstrip() for line in traceback.format_tb(cause.__traceback__)),
        ]
        cause = cause.__cause__ or cause.__context__
    return "\n".join(lines) + "\n"


def save(report: str) -> Path:
    """Keep a report among the user's data, else in the temporary folder; an empty path where neither can."""
    name = f"fault_{datetime.now(UTC):%Y%m%d_%H%M%S_%f}.txt"
    for find in (_users_folder, tempfile.gettempdir):
        try:
            folder = Path(find())
            folder.mkdir(parents=True, exist_ok=True)
            (folder / name).write_text(report, encoding="utf-8", errors="backslashreplace")
        except OSError:  # nobody's home, a full disk, or no folder at all that can be written to
            continue
        return folder / name
    return Path()


def _users_folder() -> str:
    place = QStandardPaths.writableLocation(QStandardPaths.StandardLocation.AppLocalDataLocation)
    return place or tempfile.gettempdir()


def show(window: QWidget, report: str, path: Path) -> QMessageBox:
    """Inform the user; nothing recorded is lost, and the window stays open."""
    box = QMessageBox(window)
    box.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
    box.setIcon(QMessageBox.Icon.Warning)
    box.setWindowTitle(tr("Program error"))
    box.setText(tr("The program failed. Every revision is safe in the session file."))
    box.setInformativeText(tr("Report saved: {path}").format(path=path) if path.name else tr("Copy the report."))
    box.setDetailedText(report)
    copy = box.addButton(tr("Copy report"), QMessageBox.ButtonRole.ActionRole)
    box.addButton(tr("Continue"), QMessageBox.ButtonRole.AcceptRole)
    copy.clicked.connect(lambda: QGuiApplication.clipboard().setText(report))
    box.setModal(False)
    box.show()
    return box


def report(window: QWidget, error: BaseException) -> None:
    """Keep a report of a fault and tell of it."""
    text = report_of(error)
    path = save(text)
    with suppress(OSError, ValueError, AttributeError):  # a terminal that was closed, is full, or was never there
        sys.stderr.write(text + "".join(traceback.format_exception_only(error)))
    show(window, text, path)


def catch_all(window: QWidget) -> None:
    """Report every uncaught exception in the window instead of on a terminal nobody sees."""

    def caught(kind: type[BaseException], error: BaseException, trace: TracebackType | None) -> None:
        if issubclass(kind, KeyboardInterrupt):
            sys.__excepthook__(kind, error, trace)
        else:
            report(window, error)

    sys.excepthook = caught
