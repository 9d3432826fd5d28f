"""The help: cautions and the job step by step, as the README tells them, readable and searchable without a network."""

from PySide6.QtGui import QTextCursor
from PySide6.QtWidgets import QLineEdit, QTextBrowser, QVBoxLayout, QWidget

from workbench.window.kit.controls import label, unwheeled
from workbench.window.kit.style import shipped_folder
from workbench.window.words.wording import tr

SECTIONS = ("Cautions first", "The job, step by step")
HEIGHT_EM = 32  # of the text


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
