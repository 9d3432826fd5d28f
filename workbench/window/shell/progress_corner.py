"""In the corner of the menu bar: what is being worked on, how far it is, and the button that stops it."""

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QMenuBar, QProgressBar, QSizePolicy, QWidget

from workbench.window.kit.controls import button, row
from workbench.window.kit.elided_label import LEAST, Elided
from workbench.window.words.wording import tr
from workbench.work import Progress

BAR_PX = 120
TITLE_EM = 12  # lines of text


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
        self._title = Elided(self, Qt.AlignmentFlag.AlignRight, soft=True)
        self._bar = QProgressBar(self)
        self._bar.setTextVisible(False)
        self._bar.setFixedSize(BAR_PX, 8)
        self._bar.setAccessibleName(tr("Progress"))
        self._stop = button(tr("Cancel"), tr("Cancel the running work without saving any of it."), self, "small")
        self._stop.clicked.connect(self.cancelled)
        for part in (self._title, self._stop):
            part.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Fixed)
        line = row(self._title, self._bar, self._stop)
        line.setContentsMargins(0, 3, 8, 3)
        self.setLayout(line)
        self.hide()

    def show_work(self, title: str, progress: Progress | None) -> None:
        """Show what runs, and how far it is."""
        if title and self.isHidden():
            self._make_room()
        self._title.name(f"{title}…" if title else "")
        self.setVisible(bool(title))
        self._bar.setMaximum(progress.total if progress is not None else 0)
        self._bar.setValue(progress.done if progress is not None else 0)
        self.setToolTip(progress.text if progress is not None else "")

    def _make_room(self) -> None:
        """Give the title one width for all that may run: a menu bar looks at what is in its corner only once."""
        most, menus = TITLE_EM * self.fontMetrics().height(), self.parentWidget()
        if isinstance(menus, QMenuBar):
            taken = sum(menus.actionGeometry(each).width() for each in menus.actions())
            most = min(most, menus.width() - taken - BAR_PX - self._stop.sizeHint().width() - 40)
        self._title.setFixedWidth(max(most, LEAST))
