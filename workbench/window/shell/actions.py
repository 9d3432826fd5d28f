"""Every command and every act of the window as one QAction each: menus, shortcuts, palette and page of keys."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import partial

from PySide6.QtGui import QAction, QKeySequence
from PySide6.QtWidgets import QMainWindow, QMenu

from workbench.commands.declaring.registry import COMMANDS
from workbench.window.kit.idle_queue import Turns
from workbench.window.kit.style import icon
from workbench.window.kit.theme import Theme
from workbench.window.words.phrasing import told
from workbench.window.words.wording import tr

AT_ONCE = 8  # icons
MENUS = ("Session", "Log", "Evidence", "Table", "History", "View", "Help")


@dataclass(frozen=True)
class Action:
    """Something the window itself does.

    Attributes:
        name: as the code calls it.
        title: for people.
        menu: where it sits.
        shortcut: portable key sequence, or empty.
        tip: what and why, as a sentence.
        icon: file in icons/, without its ending.
        needs_session: whether it works on an open session.
    """

    name: str
    title: str
    menu: str
    shortcut: str
    tip: str
    icon: str = ""
    needs_session: bool = True


ACTIONS = (
    Action("start", "Start page", "Session", "Ctrl+W", "Close the session and show the start page.", "app"),
    Action("open", "Open a session…", "Session", "Ctrl+O", "Open a session file.", "open", needs_session=False),
    Action("paste-table", "New session from the clipboard", "Session", "Ctrl+Shift+P",
        "Begin a session from a table copied in a spreadsheet.", "paste", needs_session=False),
    Action("watch", "Watch a folder for logs…", "Log", "Ctrl+Shift+W",
        "Offer each new log written to the folder.", "folder-watch"),
    Action("drive", "Log details", "Log", "Ctrl+Shift+L",
        "Channels, roles and assumptions.", "inspect"),
    Action("lanes", "Choose lanes", "Log", "", "Choose which channels are drawn.", "log"),
    Action("gates", "Gates…", "Evidence", "Ctrl+Shift+G",
        "Limits of the gates, and the samples each rejected.", "settings"),
    Action("apply", "Apply the draft", "Table", "Ctrl+Shift+Return", "Record the draft as a revision.", "approve"),
    Action("drop", "Drop the draft", "Table", "", "Discard it and keep the table (Esc).", "close"),
    Action("entry", "Type a change of the chosen cells", "Table", "F2",
        "12.5 sets, +3 % changes, *0.97 scales.", "set"),
    Action("copy-all", "Copy all values", "Table", "Ctrl+Shift+C", "Without axes, for pasting elsewhere.", "copy"),
    Action("story", "History of this cell", "History", "Ctrl+Shift+H", "All revisions that changed it.", "history"),
    Action("compare", "Compare with the chosen revision", "History", "", "Show the changes since it.", "difference"),
    Action("flick", "Toggle before / after", "History", "F4", "Show the compared revision, and back.", "difference"),
    Action("next", "Do the next step", "View", "F5", "Do what the top strip proposes.", "next", needs_session=False),
    Action("search", "Search all commands", "View", "Ctrl+F", "By any of their words.", "search", needs_session=False),
    Action("go-numbers", "Go to the numbers", "View", "Alt+1", "Move the keyboard focus there."),
    Action("go-picture", "Go to the picture", "View", "Alt+2", "Move the keyboard focus there."),
    Action("go-history", "Go to the history", "View", "Alt+3", "Move the keyboard focus there."),
    Action("go-log", "Go to the log", "View", "Alt+4", "Move the keyboard focus there."),
    Action("go-worst", "Go to the worst cell", "View", "Ctrl+G", "The one farthest from its target."),
    Action("layer-value", "Show values", "View", "Ctrl+1", "What the ECU looks up."),
    Action("layer-change", "Show changes", "View", "Ctrl+2", "Against the compared revision."),
    Action("layer-ratio", "Show airflow ratios", "View", "Ctrl+3", "Measured over table airflow."),
    Action("layer-half_width", "Show the 95 % interval", "View", "Ctrl+4", "Half the 95 % interval."),
    Action("layer-samples", "Show samples", "View", "Ctrl+5", "Samples per cell."),
    Action("layer-standing", "Show standing", "View", "Ctrl+6", "Proven, thin or undriven."),
    Action("theme", "Next theme", "View", "Ctrl+T", "Light, dark or direct sun.", "theme", needs_session=False),
    Action("larger", "Larger text", "View", "Ctrl++", "Up to 24 pt.", needs_session=False),
    Action("smaller", "Smaller text", "View", "Ctrl+-", "Down to 9 pt.", needs_session=False),
    Action("keys", "Keys", "Help", "F1", "All shortcuts on one page.", "keys", needs_session=False),
    Action("quit", "Quit", "Session", "Ctrl+Q", "Everything is saved already.", "close", needs_session=False),
)  # fmt: skip


class Actions:
    """Makes the actions and keeps them by name; a command's action is named by its word."""

    def __init__(self, window: QMainWindow, trigger: Callable[[str], None]) -> None:
        """Make all actions; `trigger` is called with the name of the one that was chosen."""
        self.actions: dict[str, QAction] = {}
        self._icons: dict[str, str] = {}
        self._session_bound: set[str] = set()
        menus: dict[str, QMenu] = {}
        bar = window.menuBar()
        bar.setNativeMenuBar(False)
        for name in (*MENUS, *(c.menu for c in COMMANDS.values())):
            if name not in menus:
                menus[name] = bar.addMenu(tr(name))
        entries = [
            (c.word, c.title, c.menu, c.shortcut, c.summary, c.icon or c.word, c.takes_state) for c in COMMANDS.values()
        ] + [(a.name, a.title, a.menu, a.shortcut, a.tip, a.icon, a.needs_session) for a in ACTIONS]
        for name, title, menu, shortcut, why, picture, bound in entries:
            action = QAction(tr(title), window)
            action.setObjectName(name)
            tip = told(why) if name in COMMANDS else tr(why)
            action.setStatusTip(tip)
            shown = f" ({QKeySequence(shortcut).toString(QKeySequence.SequenceFormat.NativeText)})" if shortcut else ""
            action.setToolTip(tip + shown)
            if shortcut:
                action.setShortcut(QKeySequence(shortcut))
            action.triggered.connect(lambda _=False, named=name: trigger(named))
            menus[menu].addAction(action)
            self.actions[name] = action
            self._icons[name] = picture
            if bound:
                self._session_bound.add(name)

    def dress(self, theme: Theme, turns: Turns) -> None:
        """Have the icons drawn in the theme's ink, a few per turn: each takes several sizes, and menus are closed."""
        names = [name for name, picture in self._icons.items() if picture]
        turns.put(*(partial(self._dress, theme, names[i : i + AT_ONCE]) for i in range(0, len(names), AT_ONCE)))

    def _dress(self, theme: Theme, names: Sequence[str]) -> None:
        for name in names:
            self.actions[name].setIcon(icon(self._icons[name], theme))

    def enable(self, *, session: bool, draft: bool) -> None:
        """Enable what can be done now."""
        for name in self._session_bound:
            self.actions[name].setEnabled(session)
        for name in ("apply", "drop"):
            self.actions[name].setEnabled(draft)

    def in_order(self) -> list[QAction]:
        """Give all actions as they stand in the menus, from the first menu on."""
        listed = self.by_menu()
        return [action for menu in sorted(listed, key=_place) for action in listed[menu]]

    def by_menu(self) -> Mapping[str, list[QAction]]:
        """Give all actions by the menu they sit in."""
        found: dict[str, list[QAction]] = {}
        titles = {c.word: c.menu for c in COMMANDS.values()} | {a.name: a.menu for a in ACTIONS}
        for name, action in self.actions.items():
            found.setdefault(titles[name], []).append(action)
        return found


def _place(menu: str) -> int:
    return MENUS.index(menu) if menu in MENUS else len(MENUS)
