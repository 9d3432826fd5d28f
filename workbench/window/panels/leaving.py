"""Asks before a session is left of which something would be lost: what is nowhere on the disk, or a draft."""

from collections.abc import Callable, Mapping
from functools import partial
from pathlib import Path
from typing import NamedTuple

from PySide6.QtCore import QObject, Qt, Signal
from PySide6.QtWidgets import QMessageBox, QPushButton, QWidget

from workbench.commands.declaring.registry import COMMANDS, Answer
from workbench.errors import WorkbenchError
from workbench.session import looks_like_session
from workbench.window.kit.message_bar import Notice
from workbench.window.panels.history_rail import reach_words
from workbench.window.scene.bridge import Bridge
from workbench.window.scene.command_runner import Runner
from workbench.window.words.phrasing import window_text
from workbench.window.words.wording import tr

SAVE = "save-copy"


class _Saved(NamedTuple):
    """A copy of a session, and what it holds."""

    session: str
    changes: int
    copy: Path


class Leaving(QObject):
    """Lets every way out of a session pass, or asks first; Escape stays.

    Signals:
        going_on: path of a copy to go on with.
        saving: a copy of the session is to be saved.
    """

    going_on = Signal(object)
    saving = Signal()

    def __init__(self, bridge: Bridge, runner: Runner, notice: Notice, window: QWidget) -> None:
        """Begin with nothing asked, and no copy known of."""
        super().__init__(window)
        self._bridge, self._runner, self._notice, self._window = bridge, runner, notice, window
        self._saved: _Saved | None = None
        self._passing = False
        self.box: QMessageBox | None = None  # the question that is open

    @property
    def lost(self) -> WorkbenchError | None:
        """Why what was recorded is nowhere on the disk any more; None where it is there, or in a copy."""
        state, saved = self._bridge.scene.state, self._saved
        if state is None:
            return None
        known = saved is not None and (saved.session, saved.changes) == (state.path, state.sequence)
        return None if known and saved is not None and looks_like_session(saved.copy) else self._bridge.lost

    def then(self, act: Callable[[], object], stayed: Callable[[], object] = lambda: None) -> None:
        """Do what leaves the session: at once where nothing would be lost, else once the user said so.

        Args:
            act: leaves the session; it may itself come by here.
            stayed: called where the user stays instead.
        """
        if self.may(act, stayed):
            act()

    def may(self, act: Callable[[], object], stayed: Callable[[], object] = lambda: None) -> bool:
        """Tell whether the session may be left now; where not, the user is asked, and `act` done once that is said."""
        if self._passing:
            return True
        if self.box is not None:  # one question at a time; it is still open
            stayed()
            self.box.activateWindow()
            return False
        lost = self.lost
        if lost is not None:
            self._ask_lost(lost, act, stayed)
        elif self._bridge.scene.draft is not None:
            self._ask_draft(act, stayed)
        else:
            return True
        return False

    def _pass(self, act: Callable[[], object]) -> None:
        """Leave without being asked again on the way."""
        self._passing = True
        try:
            act()
        finally:
            self._passing = False

    def _ask_lost(self, lost: WorkbenchError, act: Callable[[], object], stayed: Callable[[], object]) -> None:
        words = tr("All that was recorded in it is only in this window now. Leaving loses it.")
        if self._bridge.scene.draft is not None:
            words = f"{words} {self._draft_words()}"
        save, leave = tr("Save a copy…"), tr("Leave and lose it")
        self._ask(window_text(lost.message), words, {save: self._save, leave: partial(self._pass, act)}, stayed, save)

    def _ask_draft(self, act: Callable[[], object], stayed: Callable[[], object]) -> None:
        words = tr("Leaving drops it, unless it is applied first.")
        ways = {
            tr("Apply it and leave"): partial(self._apply, act, stayed),
            tr("Drop it and leave"): partial(self._drop, act),
        }
        self._ask(self._draft_words(), words, ways, stayed)

    def _draft_words(self) -> str:
        draft = self._bridge.scene.draft
        if draft is None:
            return ""
        reach = reach_words(draft.revision.multipliers) or tr(COMMANDS[draft.word].title)
        return tr("A draft is open that was not applied ({reach}).").format(reach=reach)

    def _ask(
        self,
        text: str,
        more: str,
        ways: Mapping[str, Callable[[], object]],
        stayed: Callable[[], object],
        first: str = "",
    ) -> None:
        """Ask, with a button that stays besides; what is not chosen is not done."""
        box = self.box = QMessageBox(self._window)
        box.setIcon(QMessageBox.Icon.Warning)
        box.setWindowTitle(tr("Leave the session?"))
        box.setAccessibleName(tr("Leave the session?"))
        box.setText(text)
        box.setInformativeText(more)
        box.setTextFormat(Qt.TextFormat.PlainText)
        acts: dict[QPushButton, Callable[[], object]] = {}
        for words, does in ways.items():
            acts[made := box.addButton(words, QMessageBox.ButtonRole.ActionRole)] = does
            made.setAccessibleName(words)
            if words == first:
                box.setDefaultButton(made)
        stay = box.addButton(tr("Stay"), QMessageBox.ButtonRole.RejectRole)
        box.setEscapeButton(stay)
        if not first:
            box.setDefaultButton(stay)

        def answer(_: int) -> None:
            chosen, self.box = box.clickedButton(), None
            box.deleteLater()
            next((does for made, does in acts.items() if made is chosen), stayed)()

        box.finished.connect(answer)
        box.open()

    def _save(self) -> None:
        self._notice.hide()
        self.saving.emit()

    def _drop(self, act: Callable[[], object]) -> None:
        self._runner.drop()
        self._pass(act)

    def _apply(self, act: Callable[[], object], stayed: Callable[[], object]) -> None:
        """Record the draft as it is shown, and leave; where that is refused, stay with it."""
        refused: list[str] = []
        heard = self._runner.refused.connect(lambda word, _: refused.append(word))
        self._runner.apply()
        self._runner.refused.disconnect(heard)
        if refused:
            stayed()
        else:
            self._pass(act)

    def hear(self, word: str, answer: Answer[object]) -> None:
        """Offer to go on with a copy that was saved, in place of what was said of the session before."""
        state, copy = self._bridge.scene.state, answer.value
        if word != SAVE or state is None or not isinstance(copy, Path):
            return
        self._saved = _Saved(state.path, state.sequence, copy)
        self._notice.offer(answer.lines[0], tr("Go on with the copy"), partial(self.going_on.emit, copy))
