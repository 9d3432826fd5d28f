"""All that works on a session: ties bridge, runner, bench, tasks and acts together."""

from collections.abc import Callable, Iterator
from functools import partial
from pathlib import Path

from PySide6.QtCore import QCoreApplication, QEvent, QObject, Qt, QTimer
from PySide6.QtGui import QFontMetrics
from PySide6.QtWidgets import QApplication, QMainWindow, QStackedWidget

from workbench.commands.handbook import MODULES
from workbench.errors import WorkbenchError
from workbench.window.kit.controls import scrolled
from workbench.window.kit.crash_report import report
from workbench.window.kit.idle_queue import Turns
from workbench.window.kit.plots import set_up
from workbench.window.kit.style import LARGEST_PT, SMALLEST_PT, dressing, theme_named
from workbench.window.kit.theme import THEMES, Theme
from workbench.window.kit.worker import Jobs
from workbench.window.panels.leaving import Leaving
from workbench.window.scene.bridge import Bridge
from workbench.window.scene.command_runner import Analyst, Runner
from workbench.window.scene.preferences import Memory
from workbench.window.scene.scene import Scene
from workbench.window.shell.actions import Actions
from workbench.window.shell.dispatch import Routes
from workbench.window.shell.menus import OfWindow, all_actions
from workbench.window.shell.opening import Opening
from workbench.window.shell.palette import Palette
from workbench.window.shell.preload import fetch
from workbench.window.shell.progress_corner import WorkLine
from workbench.window.shell.start_page import StartPage
from workbench.window.shell.view_state import Recall
from workbench.window.shell.workspace import SPLITTERS, Bench
from workbench.window.tasks.tasks import Tasks
from workbench.window.words.wording import tr

DENSE = "dense"  # as the height of rows is remembered
FETCH_MS = 300  # once the window stands; a session that was open last is on its way by then


class Workshop(QObject):
    """Made once per window, after its first paint."""

    def __init__(self, window: QMainWindow, stack: QStackedWidget, start: StartPage, memory: Memory) -> None:
        """Put the bench beside the start page, and the menus into the window."""
        super().__init__(window)
        if not MODULES:  # importing them declares the commands
            raise RuntimeError("no commands")
        set_up()
        self._window, self._stack, self.start, self._memory = window, stack, start, memory
        self.jobs, self.bridge = Jobs(self), Bridge(self)
        runner = Runner(self.bridge, self.jobs, self)
        analyst = Analyst(self.bridge, self.jobs, self)
        self.bench = Bench(self.jobs, stack)
        self._at: tuple[str, int] | None = None  # session and change that are shown
        self._puzzle = ""  # why there was no evidence, as the notice said it
        workspace = scrolled(self.bench, tr("Bench"), stack)
        workspace.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAsNeeded)
        stack.addWidget(workspace)
        self.palette = Palette(window)
        tasks = Tasks(self.bridge, runner, analyst, self.bench.drawer, self.bench.log, self)
        self._recall = Recall(self.bridge, self.bench.log, memory, self)
        self.leaving = Leaving(self.bridge, runner, self.bench.notice, window)
        self.opening = Opening(self.bridge, memory, self.bench.notice, self.leaving, window)
        self.acts = Actions(window, self.bench.finish)  # what is asked for may speak of what a panel shows
        self.routes = Routes(self.bridge, runner, tasks, self.bench, self.opening, self.acts, self)
        own = OfWindow(
            self._search, self._next_theme, self._resize_text, window.close, self._next_row_height, analyst.again
        )
        runner.answered.connect(self.leaving.hear)  # after the routes: it has the last word on a saved copy
        self.acts.put(all_actions(self.routes, self.opening, self.bench, own))
        self._connect(analyst)
        for name in SPLITTERS:
            self.bench.restore(name, memory.bytes(name))
        theme = theme_named(memory.text("theme", "light"))
        self.bench.set_dense(dense=memory.text("rows") == DENSE)
        self._turns, self._dressing = Turns(self), Turns(self)
        self.acts.dress(theme, self._turns)
        self.bench.dress(theme)
        self._on_scene(self.bridge.scene)
        QTimer.singleShot(FETCH_MS, self, self._fetch)

    def _fetch(self) -> None:
        self.jobs.start("", fetch(), lambda _: None, lambda _: None)

    def _connect(self, analyst: Analyst) -> None:
        self.bridge.shown.connect(self._on_scene)
        for moved in (self.bench.drawer.opened, self.bench.drawer.closed):
            moved.connect(self._turn_page)
        for jobs in (self.jobs, self.opening.reading):
            jobs.broke.connect(lambda error: report(self._window, error))
        line = WorkLine(self._window)
        self._window.menuBar().setCornerWidget(line, Qt.Corner.TopRightCorner)
        self.jobs.working.connect(line.show_work)
        self.opening.reading.working.connect(line.show_work)
        line.cancelled.connect(self.jobs.cancel)
        analyst.puzzled.connect(self._on_puzzle)
        self.opening.refused.connect(self.start.show_refused)
        self.leaving.going_on.connect(self.opening.open)
        self.leaving.saving.connect(lambda: self.acts.do("save-copy"))
        self.opening.log_found.connect(lambda log: self.routes.take([log]))

    def do(self, name: str) -> None:
        """Do what the action of a name does."""
        self.acts.do(name)

    def open(self, path: Path | None) -> None:
        """Open a session file, or the one that was open last."""
        if path is None:
            self.opening.open_last()
        else:
            self.opening.open(path)

    def take(self, paths: list[Path]) -> None:
        """Take files that were dropped."""
        self.routes.take(paths)

    @property
    def has_draft(self) -> bool:
        """Whether a draft waits for a yes."""
        return self.bridge.scene.draft is not None

    def reload(self) -> None:
        """Take in what another process wrote."""
        self._look(self.bridge.reload)

    def look_again(self) -> None:
        """Do so unasked; while a draft waits for a yes, which would go by it, only tell of it."""
        self._look(self.bridge.look_ahead if self.has_draft else self.bridge.reload)

    def _look(self, at: Callable[[], object]) -> None:
        try:
            at()
        except WorkbenchError as error:
            if self.leaving.lost is not None:  # else it is in a copy, and that was said
                self.routes.say_refused(error)

    def place(self) -> None:
        """Move what stands over the window along with it."""
        self.palette.place()

    def may_close(self, close: Callable[[], object]) -> bool:
        """Tell whether the window may close now; where it is asked first, it is closed once that is answered."""
        return self.leaving.may(close)

    def leave(self) -> None:
        """Remember the layout, stop the work, let go of the session."""
        for name, state in self.bench.layout_bytes:
            self._memory.keep(name, state)
        self._recall.save()
        self.jobs.finish()
        self.opening.reading.finish()
        self.bridge.close()

    def dress(self, name: str, points: int) -> None:
        """Put everything into a theme and a text size at once, and remember both."""
        self._dressing.finish()
        for step in self._steps(name, points):
            step()

    def _dress_by_turns(self, name: str, points: int) -> None:
        """Do the same a step per turn, so that no turn takes long; the window shows it when all is done."""
        self._dressing.finish()
        self._window.setUpdatesEnabled(False)
        self._dressing.put(*self._steps(name, points), self._show_dressed)

    def _show_dressed(self) -> None:
        """Let the window paint again, and have it do so.

        A request to paint that comes to a window whose updates are off is used up, yet what it was for stays marked;
        and Qt asks for no painting while something is marked, as that was asked for already. So it is asked for here.
        """
        self._window.setUpdatesEnabled(True)
        wish = QEvent(QEvent.Type.UpdateRequest)
        QCoreApplication.postEvent(self._window, wish, Qt.EventPriority.LowEventPriority.value)

    def _steps(self, name: str, points: int) -> Iterator[Callable[[], None]]:
        """Yield the steps of putting everything into a theme and a text size; both are remembered from here on."""
        theme, application = theme_named(name), QApplication.instance()
        self._memory.keep("theme", theme.name)
        self._memory.keep("points", max(SMALLEST_PT, min(LARGEST_PT, points)))
        if isinstance(application, QApplication):
            yield from dressing(application, theme, points)
        yield partial(self._dress_frame, theme, points)
        yield from self.bench.dressing(theme)

    def _dress_frame(self, theme: Theme, points: int) -> None:
        self._window.menuBar().setMinimumHeight(QFontMetrics(QApplication.font()).height() + 8)
        self._turns.drop()
        self.acts.dress(theme, self._turns)
        self._turns.put(self.palette.redraw)
        self.start.dress(theme, round(points * 2.4))

    def _on_scene(self, scene: Scene) -> None:
        at = (scene.state.path, scene.state.sequence) if scene.state is not None else None
        if at != self._at:
            if at is None or self._at is None or at[0] != self._at[0]:
                self.bench.notice.hide()  # what it says is of another session
                QTimer.singleShot(0, self, lambda: self.routes.outside.recall(self._recall.outside))
            self._at = at
            self.bench.notice.forget_refusal()
        self.acts.enable(scene)
        self.bench.show_scene(scene)
        self._turn_page()
        name = Path(scene.state.path).stem if scene.state is not None else ""
        title = tr("Calibration workbench")
        self._window.setWindowTitle(f"{name} – {title}" if name else title)

    def _turn_page(self) -> None:
        """Show the start page, or the bench where there is a session or a task at hand."""
        opened = self.bridge.scene.state is not None
        if not opened:
            self.start.show_recent(self._memory.recent)
        place = 1 if opened or self.bench.drawer.task is not None else 0
        if self._stack.currentIndex() != place:
            self._stack.setCurrentIndex(place)
            if opened:
                self.bench.numbers.view.setFocus(Qt.FocusReason.OtherFocusReason)
            elif place == 0:
                self.start.begin()

    def _on_puzzle(self, error: WorkbenchError | None) -> None:
        notice = self.bench.notice
        state = self.bridge.scene.state
        asks = state is not None and any(each.log.questions for each in state.drives)
        if error is not None and asks:
            return  # the next step asks it, and its answers stand in the log's details: said here too, it covers them
        if error is not None:
            notice.say_refused(error)
            self._puzzle = notice.text
        elif self._puzzle and notice.text == self._puzzle:
            notice.hide()  # it has been solved

    def _next_theme(self) -> None:
        names, theme = list(THEMES), theme_named(self._memory.text("theme", "light"))
        self._dress_by_turns(names[(names.index(theme.name) + 1) % len(names)], self._memory.points)

    def _resize_text(self, by: int) -> None:
        self._dress_by_turns(self._memory.text("theme", "light"), self._memory.points + by)

    def _next_row_height(self) -> None:
        dense = self._memory.text("rows") != DENSE
        self._memory.keep("rows", DENSE if dense else "")
        self.bench.set_dense(dense=dense)

    def _search(self) -> None:
        self._turns.finish()  # it shows the icons
        self.palette.open(self.acts.in_order(), QApplication.focusWidget())
