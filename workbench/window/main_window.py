"""The window: puts the parts together and routes what the user asks for; nothing is reachable through it."""

from pathlib import Path

from PySide6.QtCore import QByteArray, QEvent, Qt
from PySide6.QtGui import QCloseEvent, QDragEnterEvent, QDropEvent, QKeyEvent, QResizeEvent
from PySide6.QtWidgets import QApplication, QMainWindow, QStackedWidget

from workbench.errors import WorkbenchError
from workbench.window.acts import Acts
from workbench.window.bench import Bench
from workbench.window.bridge import Bridge
from workbench.window.controls import scrolled
from workbench.window.crash import report
from workbench.window.jobs import Jobs
from workbench.window.memory import Memory
from workbench.window.opening import Opening
from workbench.window.palette import Palette
from workbench.window.routes import Routes
from workbench.window.runner import Analyst, Runner
from workbench.window.scene import Scene
from workbench.window.start_page import StartPage
from workbench.window.style import LARGEST_PT, SMALLEST_PT, application_icon, dress, theme_named
from workbench.window.tasks import Tasks
from workbench.window.theme import THEMES
from workbench.window.wording import tr
from workbench.window.work_line import WorkLine


class MainWindow(QMainWindow):
    """One window on one session."""

    def __init__(self, memory: Memory) -> None:
        """Make it with nothing open."""
        super().__init__()
        self._memory = memory
        self.setWindowTitle(tr("Calibration workbench"))
        self.setWindowIcon(application_icon())
        self.setAcceptDrops(True)
        self.setMinimumSize(900, 560)
        self._jobs, self._bridge = Jobs(self), Bridge(self)
        runner = Runner(self._bridge, self._jobs, self)
        analyst = Analyst(self._bridge, self._jobs, self)
        self._stack = QStackedWidget(self)
        self._start, self._bench = StartPage(self._stack), Bench(self._jobs, self._stack)
        self._stack.addWidget(self._start)
        workspace = scrolled(self._bench, tr("Bench"), self._stack)
        workspace.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAsNeeded)
        self._stack.addWidget(workspace)
        self.setCentralWidget(self._stack)
        self._palette = Palette(self)
        tasks = Tasks(self._bridge, runner, analyst, self._bench.drawer, self._bench.log, self)
        self._opening = Opening(self._bridge, memory, self._bench.notice, self)
        self._acts = Acts(self, self._do)
        self._routes = Routes(self._bridge, runner, tasks, self._bench, self._opening, self._acts, self)
        self._connect(analyst)
        self._restore()

    def _connect(self, analyst: Analyst) -> None:
        self._bridge.shown.connect(self._on_scene)
        for moved in (self._bench.drawer.opened, self._bench.drawer.closed):
            moved.connect(lambda: self._on_scene(self._bridge.scene))
        self._jobs.broke.connect(lambda error: report(self, error))
        line = WorkLine(self)
        self.menuBar().setCornerWidget(line, Qt.Corner.TopRightCorner)
        self._jobs.working.connect(line.show_work)
        line.cancelled.connect(self._jobs.cancel)
        self._bench.strip.step.connect(self._routes.do)
        self._start.asked.connect(self._routes.do)
        self._start.chosen.connect(self._opening.open)
        analyst.puzzled.connect(self._on_puzzle)
        self._routes.window_act.connect(self._on_act)
        self._opening.refused.connect(self._on_refused_opening)

    def _do(self, name: str) -> None:
        self._routes.do(name)

    def open(self, path: Path | None) -> None:
        """Open a session file, or the one that was open last; a refusal is shown in the window."""
        if path is None:
            self._opening.open_last()
        else:
            self._opening.open(path)

    def changeEvent(self, event: QEvent) -> None:
        """Take in what another process wrote, when the user comes back to the window."""
        super().changeEvent(event)
        if event.type() == QEvent.Type.ActivationChange and self.isActiveWindow():
            try:
                self._bridge.reload()
            except WorkbenchError as error:
                self._bench.notice.say_refused(error)

    def _restore(self) -> None:
        self.resize(1366, 768)
        self.restoreGeometry(self._memory.bytes("geometry"))
        for name in ("middle", "left", "upper", "whole"):
            self._bench.restore(name, self._memory.bytes(name))
        self._dress(self._memory.text("theme", "light"), self._memory.number("points", 10))
        self._on_scene(self._bridge.scene)

    def _dress(self, name: str, points: int) -> None:
        theme, application = theme_named(name), QApplication.instance()
        self._memory.keep("theme", theme.name)
        self._memory.keep("points", max(SMALLEST_PT, min(LARGEST_PT, points)))
        if isinstance(application, QApplication):
            dress(application, theme, points)
        self._acts.dress(theme)
        self._start.dress(theme, round(points * 2.4))
        self._bench.dress(theme, self._bridge.scene)

    def _on_scene(self, scene: Scene) -> None:
        opened = scene.state is not None
        self._acts.enable(session=opened, draft=scene.draft is not None)
        self._bench.show_scene(scene)
        if not opened:
            self._start.show_recent(self._memory.recent)
        place = 1 if opened or self._bench.drawer.task is not None else 0
        if self._stack.currentIndex() != place:
            self._stack.setCurrentIndex(place)
            (self._bench.numbers.view if opened else self._start).setFocus(Qt.FocusReason.OtherFocusReason)
        name = Path(scene.state.path).stem if scene.state is not None else ""
        self.setWindowTitle(f"{name} – {tr('Calibration workbench')}" if name else tr("Calibration workbench"))

    def _on_puzzle(self, error: WorkbenchError | None) -> None:
        if error is not None:
            self._bench.notice.say_refused(error)

    def _on_refused_opening(self, error: WorkbenchError) -> None:
        self._start.show_refused(error)

    def _on_act(self, name: str) -> None:
        points = self._memory.number("points", 10)
        match name:
            case "theme":
                names = list(THEMES)
                now = names.index(theme_named(self._memory.text("theme", "light")).name)
                self._dress(names[(now + 1) % len(names)], points)
            case "larger" | "smaller":
                self._dress(self._memory.text("theme", "light"), points + (1 if name == "larger" else -1))
            case "search":
                self._palette.open(list(self._acts.actions.values()), QApplication.focusWidget())
            case "quit":
                self.close()

    def dragEnterEvent(self, event: QDragEnterEvent) -> None:
        """Take files."""
        if event.mimeData().hasUrls():
            event.acceptProposedAction()

    def dropEvent(self, event: QDropEvent) -> None:
        """Open sessions, add logs, or begin from a table."""
        self._routes.take([Path(url.toLocalFile()) for url in event.mimeData().urls() if url.isLocalFile()])

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Let Enter apply a draft and Esc drop it, wherever the keyboard is."""
        if self._bridge.scene.draft is not None and event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self._routes.do("apply")
        elif self._bridge.scene.draft is not None and event.key() == Qt.Key.Key_Escape:
            self._routes.do("drop")
        else:
            super().keyPressEvent(event)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Take the palette along."""
        super().resizeEvent(event)
        self._palette.place()

    def closeEvent(self, event: QCloseEvent) -> None:
        """Remember the layout, stop the work, let go of the session."""
        self._memory.keep("geometry", QByteArray(self.saveGeometry()))
        for name, state in self._bench.layout_bytes:
            self._memory.keep(name, state)
        self._memory.flush()
        self._jobs.finish()
        self._bridge.close()
        super().closeEvent(event)
