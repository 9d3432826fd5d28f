"""The empty state: what the job is, recent sessions, the sample, and ways to bring a table in."""

from collections.abc import Sequence
from datetime import UTC, datetime
from itertools import pairwise
from pathlib import Path

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QFont
from PySide6.QtWidgets import (
    QApplication,
    QHBoxLayout,
    QLabel,
    QListWidget,
    QListWidgetItem,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from workbench.errors import WorkbenchError
from workbench.window.kit.controls import Card, button, label, scrolled, unwheeled
from workbench.window.kit.style import pixmap
from workbench.window.kit.theme import Theme
from workbench.window.words.phrasing import window_text
from workbench.window.words.wording import tr

HEADING = 1.5  # times the text
WIDEST_EM = 86  # lines of text; wider than that it would be hard to take in
STEPS = (
    ("table", "Import the table",
     "The ECU's airflow curve or volumetric-efficiency grid: a CSV, or copied from a spreadsheet.",
     "sample-table", "Try the sample table"),
    ("add-log", "Add the log of a drive",
     "Any logger's file with trims, a wideband or both. Its channels are recognised and listed.",
     "sample-log", "Try the sample drive"),
    ("approve", "Correct, approve, export",
     "Each cell's error with its uncertainty, undriven cells marked; objections first, then the table to flash.",
     "sample", "Open the sample"),
)  # fmt: skip


class StartPage(QWidget):
    """Shown while no session is open.

    Signals:
        chosen: path of a session to open.
        asked: name of an act: open, new, paste-table, or one that tries a sample.
    """

    chosen = Signal(object)
    asked = Signal(str)

    def __init__(self, parent: QWidget) -> None:
        """Lay out the page."""
        super().__init__(parent)
        self.setAccessibleName(tr("Start"))
        self._inside = QWidget(self)
        middle = QVBoxLayout(self._inside)
        middle.setContentsMargins(24, 20, 24, 20)
        cards = QHBoxLayout()
        cards.setSpacing(16)
        cards.addWidget(self._begin_card(), 3)
        cards.addWidget(self._recent_card(), 2)
        middle.addStretch(1)
        middle.addLayout(cards)
        middle.addStretch(2)
        outer = QVBoxLayout(self)
        outer.setContentsMargins(0, 0, 0, 0)
        place = scrolled(self._inside, tr("Start"), self)  # large text may need more than the window has
        place.setAlignment(Qt.AlignmentFlag.AlignHCenter)
        outer.addWidget(place)
        for before, after in pairwise([*self._buttons, *self._samples]):  # the job itself comes first with the keyboard
            QWidget.setTabOrder(before, after)

    def _begin_card(self) -> Card:
        card = Card(tr("The job"), self)
        card.column.setContentsMargins(24, 20, 24, 20)
        card.column.setSpacing(10)
        claim = tr("From a drive log and a table to a table you can defend")
        self._heading = label(claim, card, "title", wrap=True)
        card.column.addWidget(self._heading)
        self._pictures: list[tuple[QLabel, str]] = []
        self._samples: list[QPushButton] = []
        for picture, title, text, sample, offer in STEPS:
            line = QHBoxLayout()
            line.setSpacing(14)
            sign = QLabel(card)
            self._pictures.append((sign, picture))
            line.addWidget(sign, 0, Qt.AlignmentFlag.AlignTop)
            words = QVBoxLayout()
            words.setSpacing(0)
            words.addWidget(label(tr(title), card, "title", wrap=True))
            words.addWidget(label(tr(text), card, "soft", wrap=True))
            line.addLayout(words, 1)
            self._samples.append(self._asking(sample, tr(offer), tr("Invented data of the virtual car."), card, "flat"))
            under = QHBoxLayout()  # beside the words it would take the room that their longest needs in large text
            under.addWidget(self._samples[-1])
            under.addStretch(1)
            words.addSpacing(6)
            words.addLayout(under)
            card.column.addSpacing(14)
            card.column.addLayout(line)
        card.column.addSpacing(26)
        self._trouble = label("", card, "attention", wrap=True)
        self._trouble.hide()
        card.column.addWidget(self._trouble)
        self._buttons = []
        for name, title, tip in (
            ("new", tr("New from a table"), tr("Choose the table's file, or drop it here.")),
            ("paste-table", tr("Paste a table"), tr("Begin from a table copied in a spreadsheet.")),
        ):
            self._buttons.append(self._asking(name, title, tip, card, "step" if name == "new" else ""))
        line = QHBoxLayout()
        for made in self._buttons:
            line.addWidget(made)
        line.addStretch(1)
        card.column.addLayout(line)
        card.column.addSpacing(10)
        hint = tr("Or drop a table, session or log anywhere in this window. F1 lists all keys.")
        card.column.addWidget(label(hint, card, "soft", wrap=True))
        card.column.addSpacing(26)
        caution = tr("A wrong table can destroy an engine. A lean step at high load needs your explicit acceptance.")
        card.column.addWidget(label(caution, card, "trouble", wrap=True))
        return card

    def _asking(self, name: str, title: str, tip: str, card: Card, kind: str) -> QPushButton:
        """Make a button that asks for an act."""
        made = button(title, tip, card, kind)
        made.clicked.connect(lambda: self.asked.emit(name))
        return made

    def _recent_card(self) -> Card:
        card = Card(tr("Recent sessions"), self)
        card.column.setContentsMargins(16, 14, 16, 14)
        card.column.addWidget(label(tr("Recent sessions"), card, "title"))
        self._recent = QListWidget(card)
        unwheeled(self._recent)
        self._recent.setAccessibleName(tr("Recent sessions"))
        self._recent.itemActivated.connect(lambda item: self.chosen.emit(Path(item.data(Qt.ItemDataRole.UserRole))))
        self._recent.itemClicked.connect(lambda item: self.chosen.emit(Path(item.data(Qt.ItemDataRole.UserRole))))
        self._none = label(tr("None yet. Opened sessions are listed here."), card, "soft", wrap=True)
        card.column.addWidget(self._none)
        card.column.addWidget(self._recent, 1)
        card.column.addStretch(0)  # takes the room only where no list does
        opened = button(tr("Open a session…"), tr("A session is one file that holds one car's job."), card)
        opened.clicked.connect(lambda: self.asked.emit("open"))
        card.column.addWidget(opened)
        return card

    def show_recent(self, paths: Sequence[Path]) -> None:
        """List sessions that are still there."""
        self._recent.clear()
        for path in paths:
            words = tr("{name}, {date}\nin {folder}")
            item = QListWidgetItem(words.format(name=path.stem, date=_written(path), folder=path.parent), self._recent)
            item.setData(Qt.ItemDataRole.UserRole, str(path))
            item.setToolTip(str(path))
        self._none.setVisible(not paths)
        self._recent.setVisible(bool(paths))

    def show_refused(self, error: WorkbenchError) -> None:
        """Show why something could not be opened, and the remedy."""
        self._trouble.setText(window_text(str(error)))
        self._trouble.setVisible(True)

    def dress(self, theme: Theme, side: int) -> None:
        """Draw the pictures in the theme's accent, and the heading larger than the text."""
        font = QApplication.font()
        font.setPointSizeF(font.pointSizeF() * HEADING)
        font.setWeight(QFont.Weight.DemiBold)
        self._heading.setFont(font)
        self._inside.setMaximumWidth(WIDEST_EM * self.fontMetrics().height())
        for sign, picture in self._pictures:
            sign.setPixmap(pixmap(picture, theme.accent, side))

    def begin(self) -> None:
        """Put the keyboard on the first button."""
        self._buttons[0].setFocus()


def _written(path: Path) -> str:
    """Tell the day on which a file was written last, in local time."""
    return datetime.fromtimestamp(path.stat().st_mtime, tz=UTC).astimezone().date().isoformat()
