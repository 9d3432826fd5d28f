"""The application: made once, dressed, and run until the window is closed."""

import sys
from pathlib import Path

from PySide6.QtCore import QTimer
from PySide6.QtWidgets import QApplication

from workbench import __version__
from workbench.window.kit.crash_report import catch_all
from workbench.window.kit.gc_schedule import Collector
from workbench.window.kit.pyside_guard import guard_all
from workbench.window.scene.preferences import Memory
from workbench.window.shell.main_window import MainWindow
from workbench.window.words.translation import install


def application() -> QApplication:
    """Make the application, or give the one there is."""
    # The worker's thread hands over sooner than Python's own 5 ms, so that the window stays alive beside it.
    sys.setswitchinterval(0.001)
    there = QApplication.instance()
    made = there if isinstance(there, QApplication) else QApplication(sys.argv[:1])
    made.setApplicationName("calibration-workbench")
    made.setApplicationDisplayName("Calibration workbench")
    made.setApplicationVersion(__version__)
    made.setStyle("Fusion")
    guard_all()
    return made


def run(path: Path | None) -> int:
    """Show the window until it is closed."""
    made = application()
    install(made)
    window = MainWindow(Memory())
    collector = Collector(window)
    catch_all(window)
    window.show()
    QTimer.singleShot(0, window, lambda: window.open(path))
    code = made.exec()
    collector.stop()
    window.deleteLater()
    return code
