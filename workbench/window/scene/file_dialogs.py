"""Asking for files and folders, without reading a byte of them.

A file dialog may look into files to tell their kind, within this process. On POSIX systems closing any descriptor of a
file drops every lock that the process has on it (POSIX.1-2017, fcntl), and with them the hold that a session has on its
own file: the next program would take itself for the last, and remove changes that still wait beside it. So here kinds
are told by names alone, and where the system's own dialog would run in this process Qt's is used.
"""

import sys

from PySide6.QtCore import QFileInfo
from PySide6.QtGui import QAbstractFileIconProvider, QIcon
from PySide6.QtWidgets import QFileDialog, QStyle, QWidget

from workbench.window.words.wording import tr

Mode, Accept = QFileDialog.FileMode, QFileDialog.AcceptMode


class ByName(QAbstractFileIconProvider):
    """Tells the kind of a file by its name."""

    def __init__(self, style: QStyle) -> None:
        """Take the pictures of a folder and a file."""
        super().__init__()
        self._folder = style.standardIcon(QStyle.StandardPixmap.SP_DirIcon)
        self._file = style.standardIcon(QStyle.StandardPixmap.SP_FileIcon)

    def icon(self, of: QFileInfo | QAbstractFileIconProvider.IconType) -> QIcon:
        """Give the picture of a folder or of a file."""
        plain = of.isDir() if isinstance(of, QFileInfo) else of is not QAbstractFileIconProvider.IconType.File
        return self._folder if plain else self._file

    def type(self, info: QFileInfo) -> str:
        """Name the kind."""
        if info.isDir():
            return tr("folder")
        return tr("{suffix} file").format(suffix=info.suffix()) if info.suffix() else tr("file")


def ask_file(parent: QWidget, title: str, start: str = "") -> str:
    """Ask for a file that is there; empty where none was chosen."""
    return next(iter(_ask(parent, title, start, Mode.ExistingFile)), "")


def ask_files(parent: QWidget, title: str, start: str = "") -> list[str]:
    """Ask for files that are there."""
    return _ask(parent, title, start, Mode.ExistingFiles)


def ask_new_file(parent: QWidget, title: str, start: str = "") -> str:
    """Ask where to write; empty where nothing was chosen."""
    return next(iter(_ask(parent, title, start, Mode.AnyFile, accept=Accept.AcceptSave)), "")


def ask_folder(parent: QWidget, title: str, start: str = "") -> str:
    """Ask for a folder; empty where none was chosen."""
    return next(iter(_ask(parent, title, start, Mode.Directory)), "")


def ask(parent: QWidget, start: str, *, folder: bool, new: bool, several: bool) -> list[str]:
    """Ask for what a field takes; a list of one where it takes one, which is empty where nothing was chosen."""
    if several:
        return ask_files(parent, tr("Which files"), start)
    if folder:
        return [ask_folder(parent, tr("Which folder"), start)]
    return [ask_new_file(parent, tr("Where to"), start) if new else ask_file(parent, tr("Which file"), start)]


def _ask(
    parent: QWidget, title: str, start: str, mode: QFileDialog.FileMode, accept: QFileDialog.AcceptMode | None = None
) -> list[str]:
    dialog = made(parent, title, start, mode)
    if accept is not None:
        dialog.setAcceptMode(accept)
    if mode is Mode.Directory:
        dialog.setOption(QFileDialog.Option.ShowDirsOnly)
    chosen = dialog.selectedFiles() if dialog.exec() else []
    dialog.deleteLater()
    return chosen


class Asking(QFileDialog):
    """A dialog that keeps what tells the kinds of files: Qt does not own it."""

    def __init__(self, parent: QWidget, title: str, folder: str) -> None:
        """Begin in a folder."""
        super().__init__(parent, title, folder)
        self._kinds = ByName(self.style())
        if sys.platform.startswith("linux"):  # a desktop's own runs in this process, and looks into the files
            self.setOption(QFileDialog.Option.DontUseNativeDialog)
            self.setIconProvider(self._kinds)


def made(parent: QWidget, title: str, start: str, mode: QFileDialog.FileMode) -> QFileDialog:
    """Make a dialog that begins at a folder, or with the name of a file in it."""
    at = QFileInfo(start)
    dialog = Asking(parent, title, start if not start or at.isDir() else at.path())
    dialog.setFileMode(mode)
    if start and not at.isDir():
        dialog.selectFile(at.fileName())
    return dialog
