"""The window: the start page at once, the rest after the first paint; nothing is reachable through it."""

from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QByteArray, QEvent, QSize, Qt, QTimer
from PySide6.QtGui import QCloseEvent, QDragEnterEvent, QDropEvent, QFontMetrics, QKeyEvent, QPaintEvent, QResizeEvent
from PySide6.QtWidgets import QApplication, QMainWindow, QStackedWidget

from workbench.window.kit.pyside_guard import guard_all
from workbench.window.kit.style import application_icon, dress, theme_named
from workbench.window.scene.preferences import Memory
from workbench.window.shell.start_page import StartPage
from workbench.window.words.wording import tr

if TYPE_CHECKING:
    from workbench.window.shell.controller import Workshop

LOOK_AGAIN_MS = 2000
WIDEST, HIGHEST = 1600, 1000  # px, at the first start
FRAME = QSize(12, 48)  # px that a window manager takes for borders and title; common, no source


def first_size(window: QMainWindow) -> QSize:
    """Give a size that fits the screen the window is on, its frame counted in."""
    screen = window.screen().availableSize()
    return QSize(min(WIDEST, screen.width() - FRAME.width()), min(HIGHEST, screen.height() - FRAME.height()))


class MainWindow(QMainWindow):
    """One window on one session."""

    def __init__(self, memory: Memory) -> None:
        """Show the start page; nothing is open."""
        super().__init__()
        self._memory = memory
        self.setWindowTitle(tr("Calibration workbench"))
        self.setWindowIcon(application_icon())
        self.setAcceptDrops(True)
        self.setMinimumSize(900, 560)
        self.menuBar().setNativeMenuBar(False)
        # Before anything is made: what is there already would keep the desktop's text size.
        theme, points = theme_named(memory.text("theme", "light")), memory.points
        application = QApplication.instance()
        if isinstance(application, QApplication):
            dress(application, theme, points)
        self._stack = QStackedWidget(self)
        self._start = StartPage(self._stack)
        self._stack.addWidget(self._start)
        self.setCentralWidget(self._stack)
        self._start.asked.connect(self._on_asked)
        self._start.chosen.connect(self.open)
        self.resize(first_size(self))
        self.restoreGeometry(memory.bytes("geometry"))
        # The menus come with the rest; their room is kept, so that nothing jumps.
        self.menuBar().setMinimumHeight(QFontMetrics(QApplication.font()).height() + 8)
        self._start.dress(theme, round(points * 2.4))
        self._start.show_recent(memory.recent)
        self._workshop: Workshop | None = None
        self._painted = False
        self._again = QTimer(self)
        self._again.timeout.connect(self._look_again)
        self._again.start(LOOK_AGAIN_MS)

    def equip(self) -> "Workshop":
        """Make all that works on a session, unless it is there already."""
        if self._workshop is None:
            # It takes longer to import than the first paint may take.
            from workbench.window.shell.controller import Workshop as Made

            guard_all()
            self._workshop = Made(self, self._stack, self._start, self._memory)
        return self._workshop

    def open(self, path: Path | None) -> None:
        """Open a session file, or the one that was open last; a refusal is shown in the window."""
        self.equip().open(path)

    def _on_asked(self, name: str) -> None:
        self.equip().do(name)

    def paintEvent(self, event: QPaintEvent) -> None:
        """Build the rest once the window is visible."""
        super().paintEvent(event)
        if not self._painted:
            self._painted = True
            QTimer.singleShot(0, self, self._on_painted)

    def _on_painted(self) -> None:
        self.equip()

    def _look_again(self) -> None:
        """Take in what another process wrote meanwhile, or tell of it where a draft would go by that."""
        if self._workshop is not None:
            self._workshop.look_again()

    def changeEvent(self, event: QEvent) -> None:
        """Take in what another process wrote, when the user comes back to the window."""
        super().changeEvent(event)
        if event.type() == QEvent.Type.ActivationChange and self.isActiveWindow() and self._workshop is not None:
            self._workshop.reload()

    def dragEnterEvent(self, event: QDragEnterEvent) -> None:
        """Take files."""
        if event.mimeData().hasUrls():
            event.acceptProposedAction()

    def dropEvent(self, event: QDropEvent) -> None:
        """Open sessions, add logs, or begin from a table."""
        self.equip().take([Path(url.toLocalFile()) for url in event.mimeData().urls() if url.isLocalFile()])

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Let Enter apply a draft and Esc drop it, wherever the keyboard is; Esc also brings all panels back."""
        drafts = self._workshop is not None and self._workshop.has_draft
        if drafts and event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self.equip().do("apply")
        elif drafts and event.key() == Qt.Key.Key_Escape:
            self.equip().do("drop")
        elif event.key() == Qt.Key.Key_Escape and self._workshop is not None and self._workshop.bench.room.alone:
            self.equip().do("alone")
        else:
            super().keyPressEvent(event)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Take the palette along."""
        super().resizeEvent(event)
        if self._workshop is not None:
            self._workshop.place()

    def closeEvent(self, event: QCloseEvent) -> None:
        """Remember the layout, stop the work, let go of the session; ask first where something would be lost."""
        if self._workshop is not None and not self._workshop.may_close(self.close):
            event.ignore()
            return
        self._memory.keep("geometry", QByteArray(self.saveGeometry()))
        if self._workshop is not None:
            self._workshop.leave()
        self._memory.flush()
        super().closeEvent(event)
