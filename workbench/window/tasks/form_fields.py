"""The fields of a form: each is a control and what reads it."""

from collections.abc import Callable
from pathlib import Path
from typing import Any, get_args, get_origin

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QCheckBox, QComboBox, QLineEdit, QPlainTextEdit, QWidget

from workbench.commands.declaring.kinds import Kind
from workbench.commands.declaring.registry import Parameter
from workbench.window.kit.controls import button, choice, tick, unwheeled, with_button
from workbench.window.kit.number_field import number_field
from workbench.window.scene import file_dialogs
from workbench.window.scene.scene import Scene
from workbench.window.words.phrasing import number_in
from workbench.window.words.wording import THIN_SPACE, tr

Read = Callable[[], Any]


class Missing(Exception):  # noqa: N818 - it is no error to be still writing
    """A field that must be filled is empty."""


class Fields(QWidget):
    """Makes them.

    Signals:
        edited: something in one of them changed.
    """

    edited = Signal()
    _scene: Scene

    def _tick(self, name: str, *, on: bool) -> tuple[QWidget, Read]:
        box: QCheckBox = tick(name, self, on=on)
        box.toggled.connect(lambda _: self.edited.emit())
        return box, box.isChecked

    def _choice(self, name: str, items: list[tuple[str, object]], start: Any) -> tuple[QComboBox, Read]:
        box: QComboBox = choice(name, items, self)
        box.setSizeAdjustPolicy(QComboBox.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon)
        values = [value for _, value in items]
        if start in values:
            box.setCurrentIndex(values.index(start))
        box.currentIndexChanged.connect(lambda _: self.edited.emit())

        def read() -> Any:
            value = items[box.currentIndex()][1] if items else None
            if value is None:
                raise Missing
            return value

        return box, read

    def _number(self, name: str, start: float, parameter: Parameter) -> tuple[QWidget, Read]:
        bounds = parameter.bounds
        low, high = (bounds.low, bounds.high) if bounds is not None else (-1e9, 1e9)
        high = min(high, 1e9)
        share = parameter.kind is Kind.SHARE
        if share:  # written in percent, as everywhere in the window
            start, low, high = start * 100, low * 100, high * 100
        decimals, step = (1, 5.0) if share else (4, 1.0)
        box = number_field(name, start, low, high, self, decimals=decimals, step=step)
        box.setSuffix(THIN_SPACE + "%" if share else "")
        box.valueChanged.connect(lambda _: self.edited.emit())
        return box, lambda: round(box.checked() / 100, 6) if share else box.checked()

    def _path(self, name: str, start: Any, kind: Kind, *, several: bool) -> tuple[QWidget, Read]:
        place = QWidget(self)
        line = QLineEdit(place)
        line.setAccessibleName(name)
        line.setPlaceholderText(tr("several with ;") if several else "")
        first = start if not isinstance(start, tuple | list) else "; ".join(str(each) for each in start)
        line.setText(str(first) if first else "")
        look = button(tr("Browse…"), tr("Browse your files."), place)
        look.clicked.connect(lambda: self._browse(line, kind, several=several))
        line.textChanged.connect(lambda _: self.edited.emit())
        with_button(place, line, look)

        def read() -> Any:
            if not line.text().strip():
                raise Missing
            folder = self._beside
            paths = tuple(folder / Path(part.strip()).expanduser() for part in line.text().split(";") if part.strip())
            return paths if several else paths[0]

        return place, read

    @property
    def _beside(self) -> Path:
        """The folder of the session, in which a name alone lies."""
        state = self._scene.state
        return Path() if state is None else Path(state.path).parent

    def _browse(self, line: QLineEdit, kind: Kind, *, several: bool) -> None:
        named = line.text().split(";")[0].strip()
        start = "" if self._scene.state is None and not named else str(self._beside / Path(named).expanduser())
        folder, new = kind is Kind.FOLDER, kind is Kind.NEW_FILE
        found = file_dialogs.ask(self, start, folder=folder, new=new, several=several)
        if any(found):
            line.setText("; ".join(found))

    def _lines(self, name: str, start: str) -> tuple[QWidget, Read]:
        sheet = QPlainTextEdit(start, self)
        unwheeled(sheet)
        sheet.setAccessibleName(name)
        sheet.setTabChangesFocus(True)
        sheet.setFixedHeight(4 * self.fontMetrics().lineSpacing() + 16)
        sheet.textChanged.connect(self.edited)
        return sheet, sheet.toPlainText

    def _text(self, name: str, kind: Any, start: Any) -> tuple[QWidget, Read]:
        line = QLineEdit(self)
        line.setAccessibleName(name)
        several = get_origin(kind) is tuple
        line.setPlaceholderText(tr("several with ;") if several else "")
        parts = start if several else [start]
        line.setText("; ".join(str(part) for part in parts or [] if part is not None))
        line.textChanged.connect(lambda _: self.edited.emit())

        inner = get_args(kind)[0] if several else kind

        def one(text: str) -> Any:
            return text if inner not in (int, float) else number_in(text, name, whole=inner is int)

        def read() -> Any:
            text = line.text().strip()
            if several:
                return tuple(one(part.strip()) for part in text.split(";") if part.strip())
            if not text and kind is not str:
                raise Missing
            return one(text)

        return line, read
