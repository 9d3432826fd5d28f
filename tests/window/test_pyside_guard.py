"""A fault inside a call of Qt's is an exception, not the end of the program; run apart, since it may be just that."""

import subprocess
import sys

from screen import Screen

from workbench.window.kit.pyside_guard import HOUSE, guard_all
from workbench.window.table.table_model import TableModel

FALLEN = """
from PySide6.QtCore import QAbstractTableModel
from PySide6.QtWidgets import QApplication, QTableView
from workbench.window.kit.pyside_guard import guard

class Model(QAbstractTableModel):
    rows = 5
    def rowCount(self, *_): return self.rows
    def columnCount(self, *_): return self.rows
    def data(self, *_): return None
    def headerData(self, section, *_): return [None] * 5 and [][section] if self.rows > 5 else None

guard(Model)
application = QApplication([])
view, model = QTableView(), Model()
view.setModel(model)
view.show()
application.processEvents()
model.beginResetModel()
model.rows = 7
try:
    model.endResetModel()
except IndexError:
    print("told")
"""


def test_a_fault_in_an_override_is_told() -> None:
    done = subprocess.run(
        [sys.executable, "-c", FALLEN],
        capture_output=True,
        text=True,
        check=False,
        env={"QT_QPA_PLATFORM": "offscreen"},
    )
    assert (done.returncode, done.stdout.strip()) == (0, "told"), done.stderr


def test_every_override_of_the_window_is_guarded(screen: Screen) -> None:
    if sys.version_info >= (3, 12):
        assert not hasattr(TableModel.headerData, "guarded")
        return
    guard_all()
    missing = []
    for name, module in list(sys.modules.items()):
        for kind in vars(module).values() if name.startswith(HOUSE) else ():
            if isinstance(kind, type) and kind.__module__ == name:
                missing += [
                    f"{kind.__name__}.{each}"
                    for each in ("event", "eventFilter", "paintEvent", "resizeEvent", "data", "headerData", "sizeHint")
                    if each in vars(kind) and not hasattr(vars(kind)[each], "guarded") and kind.__mro__[1] is not object
                ]
    assert not missing
    assert screen.numbers.cells.headerData.guarded  # type: ignore[attr-defined]
    assert hasattr(TableModel.rowCount, "guarded")
