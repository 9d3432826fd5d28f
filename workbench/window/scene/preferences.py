"""What the window remembers between runs: theme, text size, layout, recent sessions."""

import os
from pathlib import Path

from PySide6.QtCore import QByteArray, QSettings

from workbench.window.kit.style import LARGEST_PT, SMALLEST_PT

RECENT = 8
USUAL_PT = 10


class Memory:
    """A thin cover over the settings file of the user."""

    def __init__(self) -> None:
        """Use the application's own settings."""
        self._settings = QSettings(
            QSettings.Format.IniFormat, QSettings.Scope.UserScope, "calibration-workbench", "window"
        )

    def text(self, name: str, default: str = "") -> str:
        """Read a text."""
        return str(self._settings.value(name, default))

    def number(self, name: str, default: int) -> int:
        """Read a whole number; the default where what is there is none."""
        try:
            return int(str(self._settings.value(name, default)))
        except ValueError:
            return default

    @property
    def points(self) -> int:
        """The size of the text, in points that a screen can show."""
        return max(SMALLEST_PT, min(LARGEST_PT, self.number("points", USUAL_PT)))

    def file(self, name: str) -> Path | None:
        """Read the path of a file or a folder; None where there is none of that name."""
        text = self.text(name)
        return Path(text) if text and os.path.exists(text) else None  # noqa: PTH110 - Path's own raises at odd names

    def bytes(self, name: str) -> QByteArray:
        """Read a layout."""
        value = self._settings.value(name)
        return value if isinstance(value, QByteArray) else QByteArray()

    def keep(self, name: str, value: str | int | QByteArray) -> None:
        """Write something down."""
        self._settings.setValue(name, value)

    @property
    def recent(self) -> list[Path]:
        """Sessions opened lately, newest first, that are still there."""
        lines = self.text("recent").split("\n")[: 10 * RECENT]
        return [Path(line) for line in lines if os.path.isfile(line)]  # noqa: PTH113 - Path's own raises at odd names

    def opened(self, path: Path) -> None:
        """Note that a session was opened."""
        here = path.resolve()
        rest = [other for other in self.recent if other != here]
        self.keep("recent", "\n".join(str(each) for each in [here, *rest][:RECENT]))

    def flush(self) -> None:
        """Write to disk now."""
        self._settings.sync()
