"""A field for a number: what is out of its bounds can be typed and is refused in the field's own unit, never cut."""

from PySide6.QtCore import QSize
from PySide6.QtGui import QValidator, QWheelEvent
from PySide6.QtWidgets import QDoubleSpinBox, QWidget

from workbench.errors import InputError
from workbench.window.kit.controls import unwheeled
from workbench.window.words.wording import read_number, tr

WIDEST = 1e12  # what can be typed at all; bounds lie far within
MEASURED = 18  # letters of the widest number by which Qt asks for room


class Number(QDoubleSpinBox):
    """A field for a number, written with as few digits as it needs."""

    def __init__(self, parent: QWidget, low: float = -WIDEST, high: float = WIDEST) -> None:
        """Make it empty."""
        super().__init__(parent)
        self._low, self._high = low, high
        self._unread = ""  # what was typed and is no number
        self.setRange(-WIDEST, WIDEST)
        unwheeled(self)
        self.lineEdit().textEdited.connect(self._on_edited)

    def checked(self) -> float:
        """Return the number that stands there.

        Raises:
            InputError: naming the field, what stands in it and its bounds, when it is out of them, or no number.
        """
        if self._unread:
            words = tr("{name}: {text} is not a number.").format(name=self.accessibleName(), text=self._unread)
            raise InputError(words, tr("Write it with digits, as in 12 or 0.97."))
        if self._low <= self.value() <= self._high:
            return self.value()
        low, high = (self.written(end) + self.suffix() for end in self._ends)
        words = tr("{name}: {value} is not between {low} and {high}.")
        raise InputError(words.format(name=self.accessibleName(), value=self.text(), low=low, high=high))

    @property
    def _ends(self) -> tuple[float, float]:
        return self._low, self._high

    def validate(self, text: str, position: int) -> tuple[QValidator.State, str, int]:
        """Take every key: what is no number in the end is refused, not left out of what was typed.

        A decimal comma is one where the point is the decimal sign.
        """
        if self.locale().decimalPoint() == ".":
            text = text.replace(",", ".")
        number = read_number(self._bare(text))
        return (QValidator.State.Intermediate if number is None else QValidator.State.Acceptable), text, position

    def valueFromText(self, text: str) -> float:
        """Read what was typed, as everywhere in the window."""
        number = read_number(self._bare(text))
        return self.value() if number is None else number

    def fixup(self, text: str) -> str:
        """Keep what is no number where it was typed; it is refused when it is asked for."""
        self._unread = self._bare(text)
        return text

    def setValue(self, value: float) -> None:
        """Show a number in place of whatever stands there."""
        self._unread = ""
        super().setValue(value)

    def _on_edited(self, _: str) -> None:
        self._unread = ""

    def _bare(self, text: str) -> str:
        return text.strip().removeprefix(self.prefix().strip()).removesuffix(self.suffix().strip()).strip()

    def stepBy(self, steps: int) -> None:
        """Step within the bounds."""
        self._unread = ""
        super().stepBy(steps)
        self.setValue(min(max(self.value(), self._low), self._high))

    def wheelEvent(self, event: QWheelEvent) -> None:
        """Leave the wheel to the page: who scrolls past does not mean to change it."""
        event.ignore()

    def textFromValue(self, value: float) -> str:
        """Write a number without trailing zeros; what is no number stays as it was typed."""
        return self._unread or self.written(value)

    def written(self, value: float) -> str:
        """Write a number as it stands in the field."""
        text, point = super().textFromValue(value), self.locale().decimalPoint()
        return text.rstrip(self.locale().zeroDigit()).removesuffix(point) if point in text else text

    def sizeHint(self) -> QSize:
        """Ask for room for the numbers within its bounds, with all decimals."""
        hint, measure = super().sizeHint(), self.fontMetrics().horizontalAdvance
        any_number = (self.prefix() + self.written(-WIDEST) + self.suffix())[:MEASURED]
        longest = max((self.prefix() + self.written(end) + self.suffix() for end in self._ends), key=len)
        decimals = "." + "8" * min(self.decimals(), 3)
        return QSize(hint.width() - measure(any_number) + measure(longest) + measure(decimals), hint.height())

    def minimumSizeHint(self) -> QSize:
        """Require its full size."""
        return self.sizeHint()


def number_field(
    name: str, value: float, low: float, high: float, parent: QWidget, *, decimals: int = 2, step: float = 0.05
) -> Number:
    """Make a field for a number; arrow keys step it."""
    made = Number(parent, low, high)
    made.setAccessibleName(name)
    made.setDecimals(decimals)
    made.setSingleStep(step)
    made.setValue(value)
    made.setKeyboardTracking(False)
    made.lineEdit().setTextMargins(8, 0, 8, 0)  # Qt's style sheets leave the text of such a field at its edge
    return made
