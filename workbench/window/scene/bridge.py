"""The only listener of the session; tells all panels by one signal what to show."""

import threading
from collections.abc import Callable, Generator, Mapping
from dataclasses import replace
from typing import Any

from PySide6.QtCore import QObject, Signal

from workbench.commands.evidence.next_step import PredictionCheck
from workbench.errors import StaleError, WorkbenchError
from workbench.model.evidence import Evidence
from workbench.model.state import Change, State
from workbench.session import Session
from workbench.window.scene.scene import Draft, Focus, Layer, LogCaution, Nearest, Scene
from workbench.work import Cancelled, Progress

_Blocks = tuple[tuple[tuple[int, int], ...], ...]
SHORT_S = 0.25  # how long the window may wait for another program that is just writing


class Bridge(QObject):
    """Holds the session and the scene; nothing else in the window does.

    Attributes:
        scene: what is shown.
        looked_at: gives the fields of the focus that a session was left with.
        made_elsewhere: gives the numbers of the changes that another program wrote before a session was opened.
        foreign: numbers of the changes that another program wrote.
        overtook: whether what another program wrote took the place of a draft that was shown.

    Signals:
        shown: carries the new Scene whenever any part of it changed.
        taken_in: carries the states before and after what another program wrote, once that is shown.
        ahead: carries the same while that is not shown yet, since a draft would go by it.
    """

    shown = Signal(object)
    taken_in = Signal(object, object)
    ahead = Signal(object, object)
    _written = Signal(object, object, bool)  # session, state and whether another wrote it, from the thread that wrote

    def __init__(self, parent: QObject) -> None:
        """Begin with no session."""
        super().__init__(parent)
        self._session: Session | None = None
        self.foreign: frozenset[int] = frozenset()
        self.overtook = False
        self._ahead = 0  # sequence up to which it was told
        self._unsubscribe: Callable[[], None] = _nothing
        self.scene = Scene()
        self.looked_at: Callable[[State], Mapping[str, Any]] = lambda _: {}
        self.made_elsewhere: Callable[[State], frozenset[int]] = lambda _: frozenset()
        self._telling = self._applying = False
        self._writing, self._home = threading.RLock(), threading.get_ident()
        self._written.connect(self._on_written)

    def open(self, session: Session) -> None:
        """Show a session; one that was open is closed, without the start page in between."""
        shown = self.scene.state
        if shown is not None and shown.path == session.state.path:
            self.close()  # the panels tell sessions apart by their paths
        self._let_go()
        session.wait_for_others(SHORT_S)
        self._session, self.foreign = session, self.made_elsewhere(session.state)
        self._unsubscribe = session.subscribe(self._on_change)
        state = session.state
        table = state.table_name()
        layer: Layer = "ratio" if state.drives else "value"
        focus = Focus(table=table, cell=(0,) * len(state.table(table).axes), layer=layer)
        focus = _among_chosen(replace(focus, **self.looked_at(state)), ())
        self._show(Scene(state=state, focus=focus))

    def close(self) -> None:
        """Close the session."""
        if self._let_go():
            self._show(Scene())

    def _let_go(self) -> bool:
        """Close the session; tell whether there was one."""
        self._unsubscribe()
        self._unsubscribe = _nothing
        if self._session is None:
            return False
        with self._writing:
            self._session.close()
            self._session = None
        return True

    def record(self, change: Change) -> None:
        """Write a change down; the panels hear of it by `shown`.

        Raises:
            WorkbenchError: when the session refuses it; nothing is changed then, and a draft stays one, unless
                another process was first.
        """
        if self._session is None:
            return
        before, self.scene = self.scene, replace(self.scene, draft=None)
        written, self._applying = self.scene, before.draft is not None
        try:
            with self._writing:
                _record(self._session, change)
        except BaseException:
            if self.scene is written:  # nothing was shown meanwhile: what is on the screen still waits for a yes
                self.scene = before
            raise
        finally:
            self._applying = False

    @property
    def lost(self) -> WorkbenchError | None:
        """Why what was recorded is no longer on the disk where it was opened; None where it is, or none is open."""
        if self._session is None:
            return None
        try:
            with self._writing:
                self._session.find_file()
        except WorkbenchError as error:
            return error
        return None

    def recording(self, change: Change) -> Generator[Progress, None, None]:
        """Make the job that writes a change down elsewhere, since a long log takes a while; `shown` follows.

        Raises:
            WorkbenchError: when the session refuses the change; nothing is changed then.
        """
        session = self._session

        def write() -> Generator[Progress, None, None]:
            yield Progress(0, 1)
            with self._writing:
                if session is None or session is not self._session:
                    raise Cancelled
                _record(session, change)

        return write()

    def reload(self) -> bool:
        """Take in what another process wrote; tell whether there was any."""
        if self._session is None or not self._writing.acquire(blocking=False):
            return False
        try:
            return self._session.reload()
        finally:
            self._writing.release()

    def look_ahead(self) -> None:
        """Tell, once, of what another process wrote, without taking it in.

        Raises:
            WorkbenchError: when the file is not as it was.
        """
        shown = self.scene.state
        if self._session is None or shown is None or not self._writing.acquire(blocking=False):
            return
        try:
            found = self._session.ahead()
        finally:
            self._writing.release()
        if found is not None and found.sequence != self._ahead:
            self._ahead = found.sequence
            self.ahead.emit(shown, found)

    def focus(self, **parts: Any) -> None:
        """Look at something else; takes fields of Focus."""
        table = self.scene.table
        if table is not None and parts.get("table", self.scene.focus.table) == self.scene.focus.table:
            # A panel that still shows another table may speak of a cell that this one does not have.
            fits = len(parts.get("cell", self.scene.focus.cell)) == len(table.axes)
            parts = parts if fits else {k: v for k, v in parts.items() if k not in ("cell", "blocks")}
        focus = _among_chosen(replace(self.scene.focus, **parts), self.scene.focus.cell)
        if focus != self.scene.focus:
            scene = replace(self.scene, focus=focus)
            if focus.table != self.scene.focus.table and scene.table is not None:
                fresh = Focus(table=focus.table, cell=(0,) * len(scene.table.axes), drive=focus.drive)
                scene = replace(scene, focus=fresh, draft=None, evidence=None, by_choice=False)
                scene = replace(scene, own=None, judging=False, prediction=None, gathered_from=())
            self._show(scene)

    def put_evidence(
        self,
        evidence: Evidence | None,
        puzzle: str = "",
        nearest: Nearest | None = None,
        *,
        by_choice: bool = False,
        judging: bool = False,
        halted: bool = False,
    ) -> None:
        """Show what the logs say and to which cells their samples are nearest, or why they say nothing."""
        if evidence is not self.scene.evidence or puzzle != self.scene.puzzle or self.scene.overtaken or halted:
            scene = replace(self.scene, evidence=evidence, puzzle=puzzle, nearest=nearest or {})
            scene = replace(scene, gathered_from=scene.sources, halted=halted)
            self._show(replace(scene, by_choice=by_choice, own=None, judging=judging, prediction=None))

    def forget_evidence(self) -> None:
        """Show none, as before it was gathered."""
        scene = replace(self.scene, evidence=None, puzzle="", gathered_from=(), halted=False)
        self._show(replace(scene, own=None, judging=False, prediction=None))

    def put_own(self, own: Evidence | None, prediction: PredictionCheck | None = None) -> None:
        """Show what the drives made with the current revision say alone, and how well they were predicted."""
        if own is not self.scene.own or self.scene.judging:
            self._show(replace(self.scene, own=own, judging=False, prediction=prediction))

    def put_cautions(self, cautions: tuple[LogCaution, ...]) -> None:
        """Mark what in the logs calls for care."""
        if cautions != self.scene.cautions:
            self._show(replace(self.scene, cautions=cautions))

    def put_draft(self, draft: Draft | None) -> None:
        """Show what a change would make of the table that is worked on, or drop it; one that was overtaken is none."""
        if draft is not None and self.scene.state is not None and not draft.fits(self.scene.state):
            draft = None
        if draft is not self.scene.draft:
            scene = replace(self.scene, draft=draft)
            if draft is not None and scene.focus.before:  # an earlier revision was shown, which it is not of
                scene = replace(scene, focus=replace(scene.focus, before=False))
            self._show(scene)

    def _on_change(self, change: Change | None, state: State) -> None:
        if threading.get_ident() == self._home:
            self._take(state, foreign=change is None)
        else:
            self._written.emit(self._session, state, change is None)

    def _on_written(self, session: Session, state: State, foreign: bool) -> None:
        """Show what was written elsewhere, unless something newer is shown already."""
        shown = self.scene.state
        if session is self._session and (shown is None or shown.sequence < state.sequence):
            self._take(state, foreign=foreign)

    def _take(self, state: State, *, foreign: bool) -> None:
        before = self.scene.state
        new = foreign and before is not None and before.path == state.path and before.sequence < state.sequence
        self.overtook = new and (self._applying or self.scene.draft is not None)
        if new and before is not None:
            self.foreign |= frozenset(range(before.sequence + 1, state.sequence + 1))
        self._show(_with_state(self.scene, state))
        if new:
            self.taken_in.emit(before, state)

    def _show(self, scene: Scene) -> None:
        """Tell of a scene; what a listener changes in answer is told to all after that: the latest comes last."""
        self.scene = scene
        if self._telling:
            return
        self._telling = True
        try:
            sent = None
            while sent is not self.scene:
                sent = self.scene
                self.shown.emit(sent)
        finally:
            self._telling = False


def _record(session: Session, change: Change) -> None:
    """Write a change down; where another process was first, show what that wrote along with the refusal."""
    try:
        session.record(change)
    except StaleError:
        session.reload()
        raise


def _with_state(scene: Scene, state: State) -> Scene:
    """Show another state; cautions of a log that was read otherwise or taken back are no more."""
    before, kept = scene.state, set[int]()
    if before is not None and before.settings.limits == state.settings.limits:
        same = {id(each) for each in state.drives}
        kept = {each.id for each in before.drives if id(each) in same}
    cautions = tuple(each for each in scene.cautions if each.drive in kept)
    focus, shown = scene.focus, scene.drive
    if shown is not None and all(each.id != shown.id for each in state.drives):
        focus = replace(focus, cursor_s=None, span=None)  # they are moments of a log that is no more
    return replace(scene, state=state, draft=None, cautions=cautions, focus=focus)


def _nothing() -> None:
    """End no subscription."""


def _among_chosen(focus: Focus, before: tuple[int, ...]) -> Focus:
    """Let the current cell be a chosen one: what is shown is of the cells that a change goes into.

    Where it is none, the one before it stays, if that is chosen; else it is the nearest that is.
    """
    cell, blocks = focus.cell, focus.blocks
    if not cell or not blocks or any(len(block) != len(cell) for block in blocks):
        return focus
    for each in (cell, before):
        if len(each) == len(cell) and any(_inside(each, block) == each for block in blocks):
            return replace(focus, cell=each, blocks=_several(each, blocks))
    near = (_inside(cell, block) for block in blocks)
    cell = min(near, key=lambda each: sum(abs(i - j) for i, j in zip(each, focus.cell, strict=True)))
    return replace(focus, cell=cell, blocks=_several(cell, blocks))


def _inside(cell: tuple[int, ...], block: tuple[tuple[int, int], ...]) -> tuple[int, ...]:
    """Give the cell of a block that is nearest to a cell: itself where it lies in it."""
    return tuple(min(max(i, first), last) for i, (first, last) in zip(cell, block, strict=True))


def _several(cell: tuple[int, ...], blocks: _Blocks) -> _Blocks:
    """Give the blocks that are chosen; none where they are the current cell alone."""
    return () if blocks == (tuple((i, i) for i in cell),) else blocks
