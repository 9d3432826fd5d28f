"""What the window remembers between runs: theme, text size, layout, recent sessions."""

from pathlib import Path

from PySide6.QtCore import QByteArray, QSettings

RECENT = 8


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
        paths = [Path(line) for line in self.text("recent").split("\n") if line]
        return [path for path in paths if path.is_file()]

    def opened(self, path: Path) -> None:
        """Note that a session was opened."""
        here = path.resolve()
        rest = [other for other in self.recent if other != here]
        self.keep("recent", "\n".join(str(each) for each in [here, *rest][:RECENT]))

    def flush(self) -> None:
        """Write to disk now."""
        self._settings.sync()
