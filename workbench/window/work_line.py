"""In the corner of the menu bar: what is being worked on, how far it is, and the button that stops it."""

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QProgressBar, QWidget

from workbench.window.controls import button, label, row
from workbench.window.wording import tr
from workbench.work import Progress


class WorkLine(QWidget):
    """Shown only while something runs.

    Signals:
        cancelled: the running work is to be stopped.
    """

    cancelled = Signal()

    def __init__(self, parent: QWidget) -> None:
        """Make it hidden."""
        super().__init__(parent)
        self.setAccessibleName(tr("Running work"))
        self._title = label("", self, "soft")
        self._bar = QProgressBar(self)
        self._bar.setTextVisible(False)
        self._bar.setFixedSize(120, 8)
        self._bar.setAccessibleName(tr("Progress"))
        self._stop = button(tr("Cancel"), tr("Stop the running work; nothing of it is kept."), self, "small")
        self._stop.clicked.connect(self.cancelled)
        self.setLayout(row(self._title, self._bar, self._stop))
        self.hide()

    def show_work(self, title: str, progress: Progress | None) -> None:
        """Show what runs, and how far it is."""
        self.setVisible(bool(title))
        self._title.setText(f"{title}…" if title else "")
        self._bar.setMaximum(progress.total if progress is not None else 0)
        self._bar.setValue(progress.done if progress is not None else 0)
        self.setToolTip(progress.text if progress is not None else "")
