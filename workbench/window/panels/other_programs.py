"""What another program does to the session that is open: it is told by name, and nobody takes it back unasked."""

from collections.abc import Callable

from PySide6.QtCore import QObject

from workbench.commands.record.undoing import acts_since, deed_words
from workbench.model.state import State
from workbench.phrases import join_phrases
from workbench.window.kit.message_bar import Notice
from workbench.window.scene.bridge import Bridge
from workbench.window.words.phrasing import window_text
from workbench.window.words.wording import tr


class OtherPrograms(QObject):
    """Listens to what comes from elsewhere."""

    def __init__(self, bridge: Bridge, notice: Notice, parent: QObject) -> None:
        """Take where it is heard, and where it is said."""
        super().__init__(parent)
        self._bridge, self._notice = bridge, notice
        bridge.taken_in.connect(self._tell)
        bridge.ahead.connect(self._tell_ahead)

    def _tell(self, before: State, after: State) -> None:
        """Say what another program did, since figures on the screen moved by it; it stays until it is closed."""
        if acts := acts_since(before, after):
            words = tr("Another program changed this session: {acts}.")
            if self._bridge.overtook:
                words = tr(
                    "The draft was not applied: another program changed this session since. What changed: {acts}. "
                    "Look at the table as it is now and draft it again; an open task shows its draft anew."
                )
            self._notice.warn(words.format(acts=window_text(join_phrases("; ", acts))))

    def _tell_ahead(self, before: State, after: State) -> None:
        """Say what another program did while a draft is shown, which is of what was there before."""
        if acts := acts_since(before, after):
            words = tr(
                "Another program changed this session: {acts}. The draft is of what was there before: Esc drops it."
            )
            self._notice.warn(words.format(acts=window_text(join_phrases("; ", acts))))

    def asks_before_undo(self, then: Callable[[], None]) -> bool:
        """Ask where undo would take back what another program did; tell whether it is asked.

        Args:
            then: undoes it, once that is wanted.
        """
        state = self._bridge.scene.state
        deed = state.done[-1] if state is not None and state.done else None
        if state is None or deed is None or deed.sequence not in self._bridge.foreign:
            return False
        words = tr("Another program did what would be undone: {what}.").format(
            what=window_text(deed_words(state, deed))
        )
        self._notice.offer(words, tr("Undo it all the same"), then)
        self._notice.take_keyboard()
        return True
