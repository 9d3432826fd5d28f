"""The help: cautions and the job as the README tells them, searchable without a network; and the page of keys."""

from collections.abc import Mapping

from PySide6.QtCore import Qt
from PySide6.QtGui import QAction, QKeySequence, QTextCursor
from PySide6.QtWidgets import QGridLayout, QLineEdit, QTextBrowser, QVBoxLayout, QWidget

from workbench.window.kit.controls import label, unwheeled
from workbench.window.kit.style import shipped_folder
from workbench.window.words.wording import tr

SECTIONS = ("Cautions first", "The job, step by step")
HEIGHT_EM = 32  # of the text
PLACES = (
    ("Numbers", (("digits, + - * /", "begin a change"), ("Shift and arrows", "choose several cells"))),
    ("Curve", (("arrows left, right", "walk"), ("arrows up, down", "nudge by half a percent"),
               ("drag a point", "draft a value"))),
    ("Grid picture", (("arrows", "walk"), ("Alt and arrows", "nudge by half a percent"))),
    ("Log", (("arrows left, right", "move the cursor, with Ctrl faster"), ("Page up, Page down", "move along"),
             ("+  -  0", "zoom in, out, show all"), ("[  ]", "begin and end a stretch"),
             ("Shift and drag", "choose a stretch"), ("Esc", "drop the stretch"),
             ("up, down", "choose a lane"), ("Shift ↑ ↓", "make the lane higher, lower"),
             ("Ctrl ↑ ↓", "zoom its scale; the wheel over its figures too"),
             ("Ctrl Shift ↑ ↓", "move its scale"), ("A", "set height and scale back"),
             ("drag a border", "share the room out anew"),
             (",  .", "try another delay, Esc puts it back; or drag its handle"))),
    ("History", (("Enter", "compare with a revision"), ("Backspace", "roll back to it"),
                 ("Shift ↑ ↓", "show several together"),
                 ("arrows left, right", "fold and unfold a branch"))),
    ("Draft", (("Enter", "apply"), ("Esc", "drop"))),
)  # fmt: skip


class HelpTask(QWidget):
    """Shows the text, with a line to search it by."""

    def __init__(self, parent: QWidget) -> None:
        """Read the text and show its beginning."""
        super().__init__(parent)
        self.setAccessibleName(tr("Help"))
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        self._wanted = QLineEdit(self)
        self._wanted.setPlaceholderText(tr("Search the help"))
        self._wanted.setAccessibleName(tr("Search the help"))
        self._wanted.setClearButtonEnabled(True)
        self._none = label("", self, "attention", wrap=True)
        self._none.hide()
        self._text = QTextBrowser(self)
        unwheeled(self._text)
        self._text.setAccessibleName(tr("Help"))
        self._text.setOpenLinks(False)
        self._text.setMarkdown(help_text())
        self._text.setMinimumHeight(HEIGHT_EM * self.fontMetrics().height())
        for part in (self._wanted, self._none, self._text):
            column.addWidget(part)
        self._wanted.textEdited.connect(self._search_anew)
        self._wanted.returnPressed.connect(self._search_on)
        self.setFocusProxy(self._wanted)

    def _search_anew(self) -> None:
        self._text.moveCursor(QTextCursor.MoveOperation.Start)
        self._search_on()

    def _search_on(self) -> None:
        """Go to the next place that holds the words, from the beginning again after the last."""
        words = self._wanted.text().strip()
        found = not words or self._text.find(words)
        if not found:
            self._text.moveCursor(QTextCursor.MoveOperation.Start)
            found = self._text.find(words)
        self._none.setText("" if found else tr("The help does not mention {words}.").format(words=words))
        self._none.setVisible(not found)


def help_text() -> str:
    """Return the sections of the README that a user needs, as Markdown; empty where it did not come along."""
    path = shipped_folder("README.md")
    if not path.is_file():
        return ""
    parts = path.read_text(encoding="utf-8").split("\n## ")
    return "\n".join(f"## {part}\n" for part in parts if part.partition("\n")[0] in SECTIONS)


class KeysTask(QWidget):
    """Lists them, by menu."""

    def __init__(self, by_menu: Mapping[str, list[QAction]], parent: QWidget) -> None:
        """Make the list."""
        super().__init__(parent)
        self.setAccessibleName(tr("Keys"))
        grid = QGridLayout(self)
        grid.setContentsMargins(0, 0, 0, 0)
        grid.setVerticalSpacing(1)
        at = 0
        listed = [
            (
                menu,
                [
                    (action.shortcut().toString(QKeySequence.SequenceFormat.NativeText), action.text())
                    for action in actions
                    if not action.shortcut().isEmpty()
                ],
            )
            for menu, actions in by_menu.items()
        ]
        for title, keys in [*((tr(t), [(tr(k), tr(w)) for k, w in ks]) for t, ks in PLACES), *listed]:
            if keys:
                if at:
                    grid.setRowMinimumHeight(at, self.fontMetrics().height() // 2)
                grid.addWidget(label(tr(title), self, "title", wrap=True), at + 1, 0, 1, 2)
                at += 2
            for key, what in keys:
                grid.addWidget(label(key, self), at, 0, Qt.AlignmentFlag.AlignTop)
                grid.addWidget(label(what, self, "soft", wrap=True), at, 1)
                at += 1
        grid.setColumnStretch(1, 1)
