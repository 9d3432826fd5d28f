"""What the marks over the lanes mean; how many cautions there are can be clicked, or entered with the keyboard."""

from collections.abc import Sequence

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent, QMouseEvent
from PySide6.QtWidgets import QLabel, QWidget

from workbench.window.kit.theme import Theme, laid_over
from workbench.window.log.lane_data import Prepared
from workbench.window.log.lane_stack import LIT
from workbench.window.scene.scene import Scene
from workbench.window.words.wording import plural, tr

LEGEND_TIPS = (
    "Samples rejected by a gate: point at one to see which.",
    "Accepted samples nearest to the chosen cells.",
    "The ECU controlled the mixture by its own sensor, by the logged loop state.",
    "Accepted samples at full throttle.",
    "A risk to the engine or to the evidence: point at it to read more.",
)


class Entry(QLabel):
    """One mark and what it means.

    Signals:
        asked: more of it is asked for.
    """

    asked = Signal()

    def __init__(self, parent: QWidget) -> None:
        """Make it empty."""
        super().__init__(parent)
        self.setProperty("kind", "soft")
        self.setTextFormat(Qt.TextFormat.RichText)
        self._opens = False

    def make_opener(self) -> None:
        """Have it clicked, or entered with the keyboard."""
        self._opens = True
        self.setCursor(Qt.CursorShape.PointingHandCursor)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        """Ask for more."""
        if self._opens and self.rect().contains(event.position().toPoint()):
            self.asked.emit()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Ask for more by Enter or the space bar."""
        if self._opens and event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter, Qt.Key.Key_Space):
            self.asked.emit()
        else:
            super().keyPressEvent(event)


def make_legend(parent: QWidget) -> list[Entry]:
    """Make its entries; the last one opens the cautions that it counts."""
    made = [Entry(parent) for _ in LEGEND_TIPS]
    made[-1].make_opener()
    return made


def write_legend(legend: Sequence[Entry], prepared: Prepared, cautions: str, theme: Theme) -> None:
    """Write what is drawn, and mark in each entry whether it is to be seen."""
    judged = prepared.samples is not None
    entries = (
        ("▇", theme.wash, tr("gated"), judged),
        ("▇", laid_over(theme.accent, theme.card, LIT), tr("chosen cells"), judged),
        ("▒", theme.soft, tr("closed loop"), len(prepared.closed.starts) > 0),
        ("▇", theme.attention, tr("full throttle"), len(prepared.full.starts) > 0),
        ("▲", theme.ink, f"<u>{cautions}</u> ›", bool(cautions)),
    )
    for part, tip, (sign, colour, text, shown) in zip(legend, LEGEND_TIPS, entries, strict=True):
        part.setText(f"<span style='color:{colour}'>{sign}</span> {text}")
        part.setToolTip(tr(tip))
        part.setProperty("shown", shown)
    legend[-1].setAccessibleName(cautions)


def cautions_named(scene: Scene, marked: int) -> str:
    """Count the cautions of the log that is seen, and say where somebody looked into all; empty where there are none.

    Args:
        scene: what is seen.
        marked: how many are marked in the log.
    """
    state, drive = scene.state, scene.drive
    if not marked or state is None or drive is None:
        return ""
    here = [each for each in scene.cautions if each.drive == drive.id]
    words = plural(marked, "1 caution", "{n} cautions").format(n=marked)
    still = any(state.acknowledgement(each.drive, each.found) is None for each in here)
    return words if still else tr("{cautions}, acknowledged").format(cautions=words)
