"""The page of keys: every act with its shortcut."""

from collections.abc import Mapping

from PySide6.QtCore import Qt
from PySide6.QtGui import QAction, QKeySequence
from PySide6.QtWidgets import QGridLayout, QWidget

from workbench.window.kit.controls import label
from workbench.window.words.wording import tr

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
