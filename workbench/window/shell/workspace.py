"""The bench: strip, numbers, picture over evidence, history or task with a message under it, and the log below."""

from collections.abc import Callable
from functools import partial

from PySide6.QtCore import QByteArray, QEvent, QObject, QPoint, Qt, QTimer
from PySide6.QtGui import QResizeEvent, QShowEvent
from PySide6.QtWidgets import QApplication, QScrollArea, QSplitter, QVBoxLayout, QWidget

from workbench.model.log import Drive
from workbench.window.kit.controls import Card, button, label, row, set_low, unwheeled
from workbench.window.kit.idle_queue import Turns
from workbench.window.kit.message_bar import Notice
from workbench.window.kit.task_panel import Drawer, PanelColumn
from workbench.window.kit.theme import LIGHT, Theme
from workbench.window.kit.worker import Jobs
from workbench.window.log.log_view import LogView
from workbench.window.panels.evidence_panel import EvidencePanel
from workbench.window.panels.history_rail import HistoryRail
from workbench.window.panels.status_strip import StatusStrip
from workbench.window.scene.scene import Scene, engine_point
from workbench.window.shell.panel_room import PanelRoom
from workbench.window.table.numbers_card import NumbersCard
from workbench.window.table.picture_card import PictureCard
from workbench.window.words.wording import tr

BESIDE_EM = 66  # lines of text that the bench is wide, from which on the picture stands beside the numbers
CURVE, GRID = 52, 64  # % of the room beside the history that numbers have at most: columns are seen, not scrolled
SIDE_EM = 26  # lines of text that the column on the right is wide
ALONE = 64  # % of the height that the log has beside a task, where it was to be alone
LOG_LINES = 13  # of text that the log takes where the page is scrolled
GRID = (
    60  # % of the room beside the history that the numbers of a grid have at most: its columns are seen, not scrolled
)
MARGINS = 12  # px above and below the panels
SIDE = 12  # px at the right of them, as wide as the bar of a page that is scrolled
SPLITTERS = ("table", "known", "upper", "whole")  # as their places are kept

Panel = StatusStrip | NumbersCard | PictureCard | EvidencePanel | HistoryRail | LogView


class Bench(QWidget):
    """Lays the panels out and shows a scene in all of them."""

    def __init__(self, jobs: Jobs, parent: QWidget) -> None:
        """Make all panels."""
        super().__init__(parent)
        self.setObjectName("bench")
        self.theme: Theme = LIGHT
        self._arranged = self._to_stand = self._dense = False
        self._kept: dict[str, QByteArray] = {}
        self._by_hand: set[str] = set()  # splitters that stand as the user set them
        self._needed, self._driven = 0, False  # the width that the numbers need; whether there is a log
        self.strip = StatusStrip(self)
        self.numbers = NumbersCard(self)
        self.picture = PictureCard(self)
        self.curve, self.grid, self.pictures = self.picture.curve, self.picture.grid, self.picture.pictures
        self.evidence = EvidencePanel(self)
        self.rail_card = Card(tr("History"), self)
        words = tr("Write the report of the current revision as PDF beside the session, and open it.")
        self.report = button(tr("Report"), words, self.rail_card, "flat")
        self.rail_card.column.addLayout(row(label(tr("History"), self.rail_card, "title"), None, self.report))
        self.rail = HistoryRail(self.rail_card)
        unwheeled(self.rail)
        self.rail_card.column.addWidget(self.rail, 1)
        self.drawer = Drawer(self)
        self._side = QWidget(self)
        self.side, self.notice = PanelColumn(self._side), Notice(self._side)
        self.side.add(self.rail_card)
        self.side.add(self.drawer)
        self.log = LogView(jobs, self)
        self._panels: tuple[Panel, ...] = (self.strip, self.numbers, self.picture, self.evidence, self.rail, self.log)
        self._scene, self._turns = Scene(), Turns(self)
        self._late: list[Panel] = []  # that do not show the scene yet
        self._lay_out()
        self.room = PanelRoom(
            {
                "numbers": self.numbers,
                "picture": self.picture,
                "evidence": self.evidence,
                "history": self._side,
                "log": self.log,
            },
            (
                (self._known, ("picture", "evidence")),
                (self._table, ("numbers", "picture", "evidence")),
                (self._upper, ("numbers", "picture", "evidence", "history")),
            ),
            self,
        )
        self._column.insertWidget(1, self.room.bar)
        self._listen()

    def _listen(self) -> None:
        """Share the room out anew whenever what it depends on changes."""
        self._later = QTimer(self)  # once all have taken in what is required of them
        self._later.setSingleShot(True)
        self._later.timeout.connect(self._arrange_again)
        self._whole.installEventFilter(self)
        self._anew = QTimer(self)
        self._anew.setSingleShot(True)
        self._anew.timeout.connect(self._share_anew)
        for asked in (self.evidence.asked, self.picture.asked, self.log.refitted):
            asked.connect(self._anew.start)
        self.room.changed.connect(self._show_strip)
        self.room.changed.connect(self.arrange)
        self.room.changed.connect(self._later.start)
        for moved in (self.drawer.opened, self.drawer.closed, self.notice.turned):
            moved.connect(self._show_panels)
            moved.connect(self._fit)
        self.drawer.opened.connect(lambda: QTimer.singleShot(0, self, self._show_task))  # once it is laid out
        self.drawer.opened.connect(self.notice.forget_refusal)  # one has gone on, and the task wants the room
        self.drawer.opened.connect(self.notice.give_way)
        self.strip.refitted.connect(lambda: QTimer.singleShot(0, self, self._keep_task))

    def _lay_out(self) -> None:
        self._known = self._splitter(Qt.Orientation.Vertical, (self.picture, 100), (self.evidence, 0))
        self._table = self._splitter(Qt.Orientation.Horizontal, (self.numbers, 44), (self._known, 56))
        side = QVBoxLayout(self._side)
        side.setContentsMargins(0, 0, 0, 0)
        side.setSpacing(8)
        side.addWidget(self.side, 1)
        side.addWidget(self.notice)
        self.notice.come_after(self.log.lanes.handle)  # it offers what was tried there
        side.addStretch(0)  # takes what is left where a task may be no higher
        self._upper = self._splitter(Qt.Orientation.Horizontal, (self._table, 76), (self._side, 24))
        self._whole = self._splitter(Qt.Orientation.Vertical, (self._upper, 66), (self.log, 34))
        for name, splitter in self._splitters():
            splitter.splitterMoved.connect(lambda *_, named=name: self._by_hand.add(named))
        self._column = column = QVBoxLayout(self)
        column.setContentsMargins(8, 4, 8, 8)
        column.setSpacing(8)
        column.addWidget(self.strip)
        column.addWidget(self._whole, 1)

    def _splitter(self, way: Qt.Orientation, *parts: tuple[QWidget, int]) -> QSplitter:
        made = QSplitter(way, self)
        made.setHandleWidth(8)
        made.setChildrenCollapsible(False)
        for i, (part, share) in enumerate(parts):
            made.addWidget(part)
            made.setStretchFactor(i, share)
        made.setSizes([share * 10 for _, share in parts])
        return made

    def arrange(self) -> None:
        """Share the room out as it suits most, where the user did not: to the numbers what their columns need."""
        wide, high = self.width(), self._whole.height() - self._whole.handleWidth()
        line = self.fontMetrics().height()
        state = self._scene.state
        self._driven = state is not None and bool(state.drives)
        if self._driven:
            log = self.log.least_height if self._dense else min(high * 38 // 100, max(high * 34 // 100, line * 15))
        else:  # what to log is said in a few lines; the table has the rest
            log = self.log.height_for(wide)
        if self.room.alone == "log":  # a task is seen all the same, but the log is what one wants to see
            log = high * ALONE // 100
        self._spare_log()
        self._share("whole", high - log, log)
        # On a small screen the names of channels and roles need more than a quarter.
        side = max(wide * 24 // 100, min(wide * 28 // 100, line * SIDE_EM))
        self._share("upper", wide - side, side)
        self._share_known()
        # Large text leaves no room for the picture beside the numbers.
        beside = wide >= BESIDE_EM * line
        way = Qt.Orientation.Horizontal if beside else Qt.Orientation.Vertical
        if self._table.orientation() != way:
            self._table.setOrientation(way)
            self._by_hand.discard("table")
        self._needed = self.numbers.need
        left, most = self._table.width() - self._table.handleWidth(), CURVE if self.numbers.view.cells.curve else GRID
        numbers = max(left * 40 // 100, min(left * most // 100, self._needed))
        self._share("table", *((numbers, left - numbers) if beside else (1, 1)))
        self._fit_bar()

    def _share_known(self) -> None:
        """Give the evidence the height of its pictures too, where the picture of the table has enough without it."""
        high = self._known.height() - self._known.handleWidth()
        least, liked = self.evidence.minimumHeight(), self.evidence.liked_height
        evidence = liked if high - liked >= self.picture.minimumHeight() else least
        self._share("known", max(high - evidence, 1), evidence)

    def _spare_log(self) -> None:
        """Require what its lanes need for the log; more of it only where the page is scrolled anyway.

        What each panel needs follows from the width of the window and from what is said, from nothing that was shared
        out: else the window would stand in one way or in another by what was shown before.
        """
        room, line = self.parentWidget(), self.fontMetrics().height()
        if not self._driven or room is None:
            self.log.setMinimumHeight(self.log.height_for(self.width()))
            return
        least = self.log.least_height
        others = self.minimumSizeHint().height() - self.log.minimumHeight() - self.room.bar_height
        self.log.setMinimumHeight(least if room.height() - others >= least else max(line * LOG_LINES, least))

    def _share_anew(self) -> None:
        """Share the room with the log anew: a panel asks for another height."""
        if self._arranged and self._driven:
            self._spare_log()
            self._share_known()
            QTimer.singleShot(0, self, self._fit_bar)  # once the splitters have taken in what is required

    def _show_panels(self) -> None:
        # What is asked, warned of or refused is seen as a task is, whatever panel has the room alone.
        asked = self.drawer.task is not None or self.notice.waits
        self.room.show(opened=self._scene.state is not None, task=asked)
        self._show_strip()
        self._fit_bar()

    def _show_strip(self) -> None:
        """Show the strip, unless its large figures would push a panel that is alone off the screen."""
        large = self.width() < BESIDE_EM * self.fontMetrics().height()
        self.strip.setVisible(self._scene.state is not None and not (self.room.alone and large))

    def _fit_bar(self) -> None:
        """Offer the panels by name where they do not all fit."""
        room = self.parentWidget()
        if room is not None:
            self.room.fit(self.minimumSizeHint().height(), room.height())
            # Where the page is scrolled, a task with its button is still seen whole.
            self.side.setMaximumHeight(max(room.height() - MARGINS, self.side.minimumSizeHint().height()))

    def _keep_width(self) -> None:
        """Have panels as wide whether the page is scrolled or not: its bar stands in the margin beside them."""
        room = self.parentWidget()
        area = None if room is None else room.parentWidget()
        taken = 0 if area is None else area.width() - self.width()
        margins = self._column.contentsMargins()
        right = max(SIDE - taken, 0)
        if right != margins.right():
            margins.setRight(right)
            self._column.setContentsMargins(margins)

    def _show_task(self) -> None:
        """Scroll the page to the task that was opened, its button first."""
        room = self.parentWidget()
        area = None if room is None else room.parentWidget()
        if isinstance(area, QScrollArea) and self.drawer.isVisible():
            top = self.drawer.mapTo(self, QPoint(0, 0))
            area.ensureVisible(top.x(), top.y() + self.drawer.height(), 0, 0)
            area.ensureVisible(top.x(), top.y(), 0, 0)

    def _keep_task(self) -> None:
        """Keep the task that has the keyboard in sight: what stands over it has moved it."""
        focus = QApplication.focusWidget()
        if focus is not None and self.drawer.isAncestorOf(focus):
            self._show_task()

    def set_dense(self, *, dense: bool) -> None:
        """Have rows low, for the desk, or high, for a finger."""
        self._dense = dense
        self.numbers.view.set_dense(dense=dense)
        for panel in (self.numbers, self.evidence, self.log):
            set_low(panel, low=dense)
        self.numbers.redress()
        if self._arranged:
            self.arrange()

    def _share(self, name: str, *sizes: int) -> None:
        if name not in self._by_hand:
            dict(self._splitters())[name].setSizes(list(sizes))

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Share the room out anew."""
        super().resizeEvent(event)
        self._keep_width()
        self._later.start()

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Share the room of the panels out anew where it is another, be it by the strip alone."""
        if event.type() == QEvent.Type.Resize:
            self._later.start()
        return super().eventFilter(watched, event)

    def _arrange_again(self) -> None:
        if self._arranged:
            self.arrange()

    def showEvent(self, event: QShowEvent) -> None:
        """Share the room out when it is first shown."""
        super().showEvent(event)
        if not self._arranged:
            self._arranged = self._to_stand = True
            if (room := self.parentWidget()) is not None:
                room.installEventFilter(self)  # where the page is scrolled, it alone gets another size
            QTimer.singleShot(0, self, self._stand)

    def show_scene(self, scene: Scene) -> None:
        """Show a scene in every panel: at once what the user did, one per turn what a job or another session brought.

        Without a session only the task at hand is seen.
        """
        before, self._scene = self._scene, scene
        opened = scene.state is not None
        self._show_panels()
        if not opened or path_of(scene) != path_of(before) or scene.evidence is not before.evidence:
            self._turns.drop()
            self._late = list(self._panels) if opened else []
            self._turns.put(*[self._show_next] * len(self._late))
            # Painted between the turns, each panel that moves the others would have all of them painted again.
            self.setUpdatesEnabled(not self._late)
        elif drives_of(scene) is not drives_of(before):  # panels that wait already keep their turn
            more = [panel for panel in self._panels if panel not in self._late]
            self._late += more
            self._turns.put(*[self._show_next] * len(more))
        else:
            for panel in self._panels:
                if panel not in self._late:
                    panel.show_scene(scene, self.theme)
            self._fit()

    def finish(self) -> None:
        """Show the scene in the panels that do not show it yet, now."""
        self._turns.finish()

    def _show_next(self) -> None:
        try:
            self._late.pop(0).show_scene(self._scene, self.theme)
            self._fit()
            self._stand()
        finally:
            self.setUpdatesEnabled(not self._late)

    def _fit(self) -> None:
        """Give the panels the room they need for what they show, and mark where the engine was in all that show it."""
        if self._scene.state is None:
            return
        self.strip.hush(self.drawer.acts)
        # Tasks take more room than the history.
        least = self.fontMetrics().height() * (12 if self.drawer.task is None else 15)
        self.side.setMinimumWidth(max(least, self.drawer.need))
        now = (self.numbers.need, bool(self._scene.state.drives))
        if self._arranged and not self._to_stand and now != (self._needed, self._driven):
            self.arrange()
        if not self._late:
            point = engine_point(self._scene)
            self.numbers.view.show_engine(point)
            self.picture.shown.show_engine(point)

    def dress(self, theme: Theme) -> None:
        """Take over theme and text size, at once; as `dressing`."""
        for step in self.dressing(theme):
            step()

    def dressing(self, theme: Theme) -> tuple[Callable[[], None], ...]:
        """Return the steps of taking over theme and text size, none of which takes long."""

        def begin() -> None:
            self.theme = theme
            self.numbers.redress()

        def arrange() -> None:
            if self._arranged:
                self.arrange()

        def show(panel: Panel) -> None:
            if self._scene.state is not None and panel not in self._late:
                panel.show_scene(self._scene, self.theme)

        panels = tuple(partial(show, panel) for panel in self._panels)
        return begin, arrange, self._show_panels, *panels, self._fit, self.picture.redress, self.log.redress

    @property
    def layout_bytes(self) -> list[tuple[str, QByteArray]]:
        """How the splitters stand, by name."""
        if not self._arranged:  # nothing was shared out: what was kept stays
            return list(self._kept.items())
        # What is shared out by need is worked out anew.
        return [(n, part.saveState() if n in self._by_hand else QByteArray()) for n, part in self._splitters()]

    def restore(self, name: str, state: QByteArray) -> None:
        """Restore the splitter's saved position, once the window has its size."""
        if not state.isEmpty():
            self._kept[name] = state

    def _stand(self) -> None:
        """Share the room out once, when all panels show what they need it for."""
        if self._late or not self._to_stand:
            return
        self._to_stand = False
        self.arrange()
        for name, splitter in self._splitters():
            if name in self._kept:
                splitter.restoreState(self._kept[name])
                self._by_hand.add(name)
        self.arrange()

    def _splitters(self) -> list[tuple[str, QSplitter]]:
        return list(zip(SPLITTERS, (self._table, self._known, self._upper, self._whole), strict=True))


def drives_of(scene: Scene) -> tuple[Drive, ...]:
    """Return the drives of the session that a scene shows."""
    return () if scene.state is None else scene.state.drives


def path_of(scene: Scene) -> str:
    """Return the path of the session that a scene shows; empty where it shows none."""
    return "" if scene.state is None else scene.state.path
