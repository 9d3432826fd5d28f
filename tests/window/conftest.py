"""A window without a screen, the virtual car's short drives, and a fixture that leaves nothing behind."""

import os
from collections.abc import Callable, Iterator
from pathlib import Path

os.environ["QT_QPA_PLATFORM"] = "offscreen"

import pytest
from evidence_once import evidence_once  # noqa: F401 - of all tests here
from PySide6.QtCore import QCoreApplication, QEvent, QSettings, QThreadPool
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot
from screen import Screen, let_go

from workbench.demo.drive import drive
from workbench.demo.engine import stale_table
from workbench.demo.recorder import csv_text
from workbench.demo.scenario import Scenario
from workbench.files.tables.tables import write_table_text
from workbench.window.scene.preferences import Memory
from workbench.window.shell.application import application
from workbench.window.shell.main_window import MainWindow

CARS = {
    "curve": Scenario(seed=7, minutes=4, pulls=1, start_coolant_c=84.0, rate_hz=10.0),
    "grid": Scenario(seed=11, kind="grid", minutes=4, pulls=1, start_coolant_c=84.0, rate_hz=5.0),
}


@pytest.fixture(scope="session")
def qapp() -> QApplication:
    """The application as the program makes it."""
    return application()


@pytest.fixture(scope="session")
def car_files(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with curve.csv, curve_drive.csv, grid.csv and grid_drive.csv."""
    folder = tmp_path_factory.mktemp("car")
    for kind, scenario in CARS.items():
        for name, text in (
            (f"{kind}.csv", write_table_text(stale_table(scenario))),
            (f"{kind}_drive.csv", csv_text(drive(scenario, number=1).log)),
        ):
            (folder / name).write_text(text, encoding="utf-8", newline="")
    return folder


@pytest.fixture
def with_drive(screen: Screen, settle: Callable[[], None], car_files: Path, tmp_path: Path) -> Screen:
    """The window on a curve with a drive, the evidence gathered and no task open."""
    screen.begin_from(car_files / "curve.csv", tmp_path / "car.session")
    screen.take([car_files / "curve_drive.csv"])
    settle()
    screen.leave_task()
    settle()
    return screen


@pytest.fixture(scope="session")
def next_drive(car_files: Path) -> Path:
    """Another drive of the car of curve.csv: the same one twice is refused."""
    path = car_files / "again.csv"
    path.write_text(csv_text(drive(CARS["curve"], number=2).log), encoding="utf-8", newline="")
    return path


@pytest.fixture(scope="session")
def asking_log(car_files: Path) -> Path:
    """A drive that is read only once a question is answered: its coolant stands at 20 degC though the engine ran."""
    head, *rows = (line.split(",") for line in (car_files / "curve_drive.csv").read_text("utf-8").splitlines())
    at = next(place for place, name in enumerate(head) if name.startswith("Coolant"))
    for row in rows:
        row[at] = "20"
    path = car_files / "asking.csv"
    path.write_text("\n".join(",".join(row) for row in (head, *rows)), encoding="utf-8", newline="")
    return path


@pytest.fixture
def path(tmp_path: Path) -> Path:
    """Where a session is made."""
    return tmp_path / "car.session"


@pytest.fixture
def window(qtbot: QtBot, qapp: QApplication, tmp_path: Path) -> Iterator[MainWindow]:
    """A window with nothing open; destroyed afterwards, and nothing may be left of it."""
    QSettings.setPath(QSettings.Format.IniFormat, QSettings.Scope.UserScope, str(tmp_path / "settings"))
    made = MainWindow(Memory())
    made.resize(1366, 768)
    made.show()
    qtbot.waitExposed(made)
    made.equip()._turns.finish()  # draws the icons
    yield made
    let_go(made)
    made.deleteLater()
    QCoreApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete)
    qapp.processEvents()
    left = [widget for widget in qapp.topLevelWidgets() if widget.isWindow() and widget.isVisible()]
    assert not left
    assert QThreadPool.globalInstance().activeThreadCount() == 0


@pytest.fixture
def settle(qtbot: QtBot, window: MainWindow) -> Callable[[], None]:
    """Waits until the window has come to rest."""
    return Screen(window, qtbot).settle


@pytest.fixture
def screen(window: MainWindow, qtbot: QtBot) -> Screen:
    """The window, to be used as a user does."""
    return Screen(window, qtbot)
