"""What can be done: one record for menu, shortcut, palette, page of keys and buttons, and a QAction made from each."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import partial

from PySide6.QtCore import Qt
from PySide6.QtGui import QAction, QKeySequence
from PySide6.QtWidgets import QMainWindow, QMenu, QWidget

from workbench.window.kit.idle_queue import Turns
from workbench.window.kit.style import icon
from workbench.window.kit.theme import Theme
from workbench.window.scene.scene import Scene
from workbench.window.shell.menu_order import SAYINGS, in_groups, in_order
from workbench.window.words.wording import tr

AT_ONCE = 8  # icons
MENUS = ("Session", "Log", "Evidence", "Table", "History", "View", "Help")  # those of commands come beside these


def always(_: Scene) -> bool:
    """Tell that it can be done whatever is shown."""
    return True


def in_session(scene: Scene) -> bool:
    """Return whether a session is open."""
    return scene.state is not None


def with_outside(scene: Scene) -> bool:
    """Return whether a table from elsewhere is shown."""
    return bool(scene.focus.outside)


def with_questions(scene: Scene) -> bool:
    """Return whether a log leaves something open, or does not count."""
    unused = scene.fitting_evidence is not None and bool(scene.fitting_evidence.unused)
    return scene.state is not None and (unused or any(drive.log.questions for drive in scene.state.drives))


def with_draft(scene: Scene) -> bool:
    """Return whether a draft waits for a yes."""
    return scene.draft is not None


@dataclass(frozen=True)
class Action:
    """Something that can be done in the window.

    Attributes:
        name: as the code calls it; a command's is its word.
        title: for people.
        menu: where it sits.
        shortcut: portable key sequence, or empty.
        tip: what and why, as a sentence.
        trigger: does it.
        icon: file in icons/, without its ending.
        enabled: tells by the scene whether it can be done now.
    """

    name: str
    title: str
    menu: str
    shortcut: str
    tip: str
    trigger: Callable[[], object]
    icon: str = ""
    enabled: Callable[[Scene], bool] = in_session


class Actions:
    """Keeps the records by name, with the QAction of each."""

    def __init__(self, window: QMainWindow, before: Callable[[], None]) -> None:
        """Begin with none; `before` is called before any of them is done."""
        self.records: dict[str, Action] = {}
        self.actions: dict[str, QAction] = {}
        self._window, self._before = window, before

    def put(self, records: Iterable[Action]) -> None:
        """Make the menus of these, in their order."""
        menus: dict[str, QMenu] = {}
        listed = tuple(records)
        bar = self._window.menuBar()
        bar.setNativeMenuBar(False)
        for menu in (*MENUS, *(record.menu for record in listed)):
            if menu not in menus:
                menus[menu] = bar.addMenu(tr(menu))
        for record in listed:
            self.records[record.name] = record
            self.actions[record.name] = self._made(record)
        for title, made in menus.items():
            groups = in_groups(title, [record.name for record in listed if record.menu == title])
            for i, group in enumerate(groups):
                if i:
                    made.addSeparator()
                made.addActions([self.actions[name] for name in group])

    def _made(self, record: Action) -> QAction:
        action = QAction(record.title, self._window)
        action.setObjectName(record.name)
        action.setStatusTip(record.tip)
        action.setProperty("sayings", tr(SAYINGS[record.name]) if record.name in SAYINGS else "")
        keys = QKeySequence(record.shortcut)
        shown = f" ({keys.toString(QKeySequence.SequenceFormat.NativeText)})" if record.shortcut else ""
        action.setToolTip(record.tip + shown)
        if record.shortcut:
            action.setShortcut(keys)
        action.triggered.connect(lambda _=False, name=record.name: self.do(name))
        return action

    def do(self, name: str) -> None:
        """Do what the record of that name says."""
        self._before()
        self.records[name].trigger()

    def dress(self, theme: Theme, turns: Turns) -> None:
        """Draw the icons in the theme's ink, a few per turn: each takes several sizes, and menus are closed."""
        names = [record.name for record in self.records.values() if record.icon]
        turns.put(*(partial(self._dress, theme, names[i : i + AT_ONCE]) for i in range(0, len(names), AT_ONCE)))

    def _dress(self, theme: Theme, names: Sequence[str]) -> None:
        for name in names:
            self.actions[name].setIcon(icon(self.records[name].icon, theme))

    def enable(self, scene: Scene) -> None:
        """Enable what can be done now."""
        for name, record in self.records.items():
            self.actions[name].setEnabled(record.enabled(scene))

    def in_order(self) -> list[QAction]:
        """Return all actions as they stand in the menus, from the first menu on."""
        listed = self.by_menu()
        return [action for menu in sorted(listed, key=_place) for action in listed[menu]]

    def by_menu(self) -> Mapping[str, list[QAction]]:
        """Return all actions by the menu they sit in."""
        names: dict[str, list[str]] = {}
        for name, record in self.records.items():
            names.setdefault(record.menu, []).append(name)
        return {menu: [self.actions[name] for name in in_order(menu, listed)] for menu, listed in names.items()}

    def menu_of(self, names: Sequence[str], parent: QWidget) -> QMenu:
        """Make a menu of some of them, as a click with the other button shows it; an empty name parts groups."""
        made = QMenu(parent)
        made.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        for name in names:
            if not name:
                made.addSeparator()
            elif name in self.actions:
                made.addAction(self.actions[name])
        return made


def _place(menu: str) -> int:
    return MENUS.index(menu) if menu in MENUS else len(MENUS)
