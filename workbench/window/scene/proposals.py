"""What the fields of a form begin with, and how those that nobody touched follow what that is made from."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from PySide6.QtGui import QGuiApplication
from PySide6.QtWidgets import QCheckBox, QComboBox, QDoubleSpinBox, QLineEdit, QWidget

from workbench.commands.report.reports import free_path
from workbench.model.ecu_format import Storage
from workbench.model.history import Revision
from workbench.window.scene.scene import Scene

STANDING = {
    "settings": frozenset({"part_throttle", "full_throttle", "afr", "wideband_tolerance"}),
    "storage": frozenset({"step", "offset", "bits", "low", "high"}),
}  # shown as they stand, not proposed


def proposed(word: str, scene: Scene, revision: int | None = None) -> dict[str, Any]:
    """Give what the form of a command proposes, by its parameters.

    Args:
        word: the command.
        scene: what is shown.
        revision: the one that is chosen in the form; None for the current one.
    """
    head, state = scene.head, scene.state
    if state is None or head is None:
        return {}
    session, now = Path(state.path), state.settings
    wanted = head if revision is None else next((r for r in state.history.revisions if r.id == revision), head)
    presets: dict[str, Callable[[], dict[str, Any]]] = {
        "export": lambda: _export(session, wanted, draft=wanted.id not in state.history.approvals),
        "report": lambda: {"file": free_path(state, wanted)},
        "card": lambda: {"file": session.with_name("next_drive.pdf")},
        "save-copy": lambda: {"file": session.with_name(f"{session.stem}_copy{session.suffix}")},
        "multiply-by-paste": lambda: {"text": QGuiApplication.clipboard().text()},
        "amend-log": lambda: {"log": scene.drive.id if scene.drive is not None else None},
        "settings": lambda: {
            "part_throttle": now.part_throttle_target,
            "full_throttle": now.full_throttle_target,
            "afr": now.stoichiometric_afr,
            "wideband_tolerance": now.wideband_tolerance,
        },
        "storage": lambda: _kept(state.ecu_format(head.table.name).storage),
    }
    if word in presets:
        return presets[word]()
    before = scene.reference.id if scene.reference is not None else 1
    return {"revision": head.parent, "a": before, "b": head.id}


def _kept(storage: Storage | None) -> dict[str, Any]:
    """Give what the fields of the ECU's storage stand at; choices stay at 'unchanged'."""
    return {} if storage is None else {name: getattr(storage, name) for name in STANDING["storage"]}


def _export(session: Path, revision: Revision, *, draft: bool) -> dict[str, Any]:
    """Propose the file under the name that it will have: a draft's says that it is one."""
    name = f"{revision.table.name}_revision_{revision.id}{'.draft' if draft else ''}.csv"
    return {"file": session.with_name(name), "draft": draft}


@dataclass
class _Field:
    """A field that was given a value, and how it looked then."""

    widget: QWidget
    factor: float
    looked: object


class Proposals:
    """Fields that hold what was proposed, or what stands in the session, until the user touches them."""

    def __init__(self) -> None:
        """Begin with none."""
        self._fields: dict[str, _Field] = {}

    def add(self, name: str, widget: QWidget, factor: float = 1.0) -> None:
        """Watch a field that holds what was proposed; a number stands in it times the factor."""
        inner = widget if isinstance(widget, QCheckBox | QDoubleSpinBox | QLineEdit) else widget.findChild(QLineEdit)
        listed = isinstance(widget, QComboBox) or widget.findChild(QComboBox) is not None  # a choice is the user's own
        if isinstance(inner, QWidget) and not listed:
            self._fields[name] = _Field(inner, factor, _look(inner))

    def touched(self, name: str) -> bool:
        """Tell whether a field holds anything else than it was given."""
        field = self._fields.get(name)
        return field is None or _look(field.widget) != field.looked

    def take(self, name: str) -> None:
        """Take what stands in a field for what it was given: it was recorded."""
        self._fields[name].looked = _look(self._fields[name].widget)

    def follow(self, now: Mapping[str, Any]) -> bool:
        """Show what is proposed now in the fields that nobody touched; tell whether any shows something else."""
        moved = False
        for name, field in self._fields.items():
            if name in now and not self.touched(name):
                _put(field.widget, now[name], field.factor)
                moved = moved or _look(field.widget) != field.looked
                field.looked = _look(field.widget)
        return moved


def _look(widget: QWidget) -> object:
    """What stands in a field, as it is seen: also what is just being typed."""
    if isinstance(widget, QCheckBox):
        return widget.isChecked()
    return widget.text() if isinstance(widget, QDoubleSpinBox | QLineEdit) else None


def _put(widget: QWidget, value: Any, factor: float) -> None:
    """Show a value without telling of it."""
    blocked = widget.blockSignals(True)
    if isinstance(widget, QCheckBox):
        widget.setChecked(bool(value))
    elif isinstance(widget, QDoubleSpinBox):
        widget.setValue(float(value) * factor)
    elif isinstance(widget, QLineEdit):
        widget.setText("" if value is None else str(value))
    widget.blockSignals(blocked)
