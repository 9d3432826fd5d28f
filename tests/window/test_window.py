"""The window as a whole: every command within reach, every control named, nothing lost between runs."""

import re
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from PySide6.QtCore import QObject, Qt
from PySide6.QtGui import QAccessible, QAction, QGuiApplication, QKeySequence
from PySide6.QtWidgets import (
    QAbstractButton,
    QAbstractItemView,
    QApplication,
    QComboBox,
    QDoubleSpinBox,
    QLabel,
    QLineEdit,
    QPlainTextEdit,
    QPushButton,
    QWidget,
)
from pytestqt.qtbot import QtBot
from screen import Screen

from workbench.commands.declaring.registry import Answer
from workbench.commands.handbook import COMMANDS
from workbench.errors import FileError, StaleError
from workbench.model.cells import read_cells
from workbench.model.evidence import Target
from workbench.model.history import Approval
from workbench.model.state import Approved, SettingsSet
from workbench.session import Session
from workbench.window.kit import crash_report as crash
from workbench.window.panels.next_step import target_figures
from workbench.window.scene import file_dialogs
from workbench.window.scene.preferences import Memory
from workbench.window.scene.scene import EnginePoint
from workbench.window.shell.main_window import MainWindow
from workbench.window.tasks.approve_task import ApproveTask
from workbench.window.tasks.cautions_task import CautionsTask
from workbench.window.tasks.correct_task import CorrectTask
from workbench.window.tasks.form import Form
from workbench.window.tasks.pulls_task import PullsTask
from workbench.window.words.phrasing import window_text
from workbench.window.words.wording import read_number
from workbench.work import run

Settle = Callable[[], None]
CONTROLS = (QAbstractButton, QAbstractItemView, QComboBox, QDoubleSpinBox, QLineEdit, QPlainTextEdit)


@pytest.fixture
def opened(screen: Screen, car_files: Path, tmp_path: Path) -> Screen:
    """The window on a session of the curve, without a log."""
    screen.begin_from(car_files / "curve.csv", tmp_path / "car.session")
    screen.bench.finish()
    return screen


@pytest.fixture
def driven(opened: Screen, settle: Settle, car_files: Path) -> Screen:
    """The window on a session with a drive, the evidence gathered."""
    opened.take([car_files / "curve_drive.csv"])
    settle()
    assert opened.scene.evidence is not None
    opened.leave_task()
    return opened


def test_every_command_has_an_action_in_a_menu_with_its_own_shortcut(screen: Screen) -> None:
    menus = screen.window.menuBar().actions()  # held: older Qt bindings let go of what they hold
    every = [action for menu in menus for action in menu.menu().actions()]  # type: ignore[attr-defined]
    in_menus = [action for action in every if not action.isSeparator()]
    names = [action.objectName() for action in in_menus]
    assert len(COMMANDS) > 30
    assert set(COMMANDS) <= set(names)
    assert len(names) == len(set(names)) == len(screen.actions.records)
    keys = [a.shortcut().toString() for a in in_menus if not a.shortcut().isEmpty()]
    assert len(keys) == len(set(keys))
    assert all(action.statusTip() for action in in_menus)
    assert all(not action.icon().isNull() for action in in_menus if COMMANDS.get(action.objectName()))


def test_every_icon_of_a_command_is_drawn(window: MainWindow) -> None:
    for command in COMMANDS.values():
        picture = window.findChild(QAction, command.word).icon().pixmap(16, 16).toImage()
        painted = sum(picture.pixelColor(x, y).alpha() > 100 for x in range(16) for y in range(16))
        assert painted > 12, command.word


OWN_TASKS = {
    "correct": CorrectTask,
    "approve": ApproveTask,
    "acknowledge": CautionsTask,
    "cautions": CautionsTask,
    "pulls": PullsTask,
}
WITHOUT_TASK = ("new", "copy", "paste", "undo", "redo", "card")


@pytest.mark.parametrize("word", [word for word in COMMANDS if word not in WITHOUT_TASK])
def test_every_command_opens_its_own_task(word: str, opened: Screen) -> None:
    drawer = opened.drawer
    assert drawer.task is None
    opened.entry(word).trigger()
    assert opened.bench.side.shown is drawer
    assert isinstance(drawer.task, OWN_TASKS.get(word, Form))
    if word not in OWN_TASKS:
        assert drawer.accessibleName() == COMMANDS[word].title
        asked_for = [each for each in COMMANDS[word].parameters if each.flag != "table"]
        assert list(drawer.task._readers) == [each.name for each in asked_for]  # type: ignore[attr-defined]
    opened.window.grab()


@pytest.mark.parametrize("word", [word for word, command in COMMANDS.items() if command.opens == "answer"])
def test_what_changes_nothing_is_answered_at_once(word: str, driven: Screen, settle: Settle) -> None:
    driven.entry(word).trigger()
    settle()
    texts = [each.text() for each in driven.drawer.findChildren(QLabel) if each.isVisibleTo(driven.window)]
    state = driven.state
    arguments = {"a": 1, "b": 1} if word == "difference" else {}
    result = COMMANDS[word].function(state, **arguments)
    answer = result if isinstance(result, Answer) else run(result)
    if word in OWN_TASKS:  # it shows more than the lines
        assert isinstance(driven.task, OWN_TASKS[word])
        return
    first = answer.lines[0].split()
    assert any(text.split()[: len(first)] in (first, window_text(answer.lines[0]).split()) for text in texts), texts


def test_a_table_to_begin_from_is_asked_for(opened: Screen, monkeypatch: pytest.MonkeyPatch) -> None:
    asked: list[object] = []
    monkeypatch.setattr(file_dialogs, "ask_file", lambda *args: asked.append(args) or "")
    opened.entry("new").trigger()
    assert len(asked) == 1


def test_undo_and_redo_need_no_telling(opened: Screen, settle: Settle) -> None:
    opened.run("scale", {"by": 1.1})
    heads = [opened.head.id]
    for word in ("undo", "redo"):
        opened.entry(word).trigger()
        settle()
        heads.append(opened.head.id)
    assert heads == [2, 1, 2]
    assert opened.task is None


def test_the_palette_finds_a_command_by_words_and_does_it(opened: Screen, qtbot: QtBot) -> None:
    qtbot.keySequence(opened.window, "Ctrl+F")
    line = QApplication.focusWidget()
    qtbot.keyClicks(line, "smooth cells")
    qtbot.keyClick(line, Qt.Key.Key_Return)
    task = opened.task
    assert isinstance(task, Form)
    assert opened.drawer.accessibleName() == COMMANDS["smooth"].title


def test_the_palette_knows_the_words_of_the_command_line(opened: Screen, qtbot: QtBot) -> None:
    for word in COMMANDS:
        qtbot.keySequence(opened.window, "Ctrl+F")
        qtbot.keyClicks(QApplication.focusWidget(), word)
        assert opened.palette._list.currentItem().data(Qt.ItemDataRole.UserRole) == word
        qtbot.keyClick(QApplication.focusWidget(), Qt.Key.Key_Escape)


def named(widget: QWidget) -> str:
    interface = QAccessible.queryAccessibleInterface(widget)
    return interface.text(QAccessible.Text.Name) if interface is not None else widget.accessibleName()


def test_every_control_has_a_name_and_a_role(driven: Screen) -> None:
    for word in ("correct", "approve", "smooth", "export", "add-log"):
        driven.do(word)
        QApplication.processEvents()
        for control in driven.window.findChildren(QWidget):
            if not isinstance(control, CONTROLS) or not control.isVisibleTo(driven.window):
                continue
            if control.objectName().startswith("qt_") or isinstance(control.parent(), QDoubleSpinBox | QComboBox):
                continue
            if control.focusPolicy() == Qt.FocusPolicy.NoFocus:
                continue
            assert named(control), (word, control)
            interface = QAccessible.queryAccessibleInterface(control)
            assert interface.role() != QAccessible.Role.NoRole


def test_tab_reaches_every_panel_and_comes_back(driven: Screen, qtbot: QtBot) -> None:
    bench = driven.bench
    bench.numbers.view.setFocus()
    seen: set[QObject] = set()
    for _ in range(60):
        widget = QApplication.focusWidget()
        if widget in seen:
            break
        seen.add(widget)
        qtbot.keyClick(widget, Qt.Key.Key_Tab)
    for panel in (bench.numbers.view, bench.curve.plot.widget, bench.rail, bench.log.lanes.view, bench.strip._button):
        assert panel in seen, panel


def test_choosing_cells_lights_their_samples_and_pointing_at_the_log_finds_the_cell(
    driven: Screen, settle: Settle
) -> None:
    evidence = driven.scene.evidence
    cell = tuple(int(i) for i in np.unravel_index(int(np.argmax(evidence.samples)), evidence.samples.shape))
    driven.focus(cell=cell)
    settle()
    lanes = driven.bench.log.lanes
    lit = lanes.stack.plots[0].lit._spans
    assert len(lit.starts)
    samples = driven.scene.samples
    time = driven.scene.drive.log.time.values
    driven.focus(cursor_s=float(lit.starts[0]))
    settle()
    row = int(np.searchsorted(time, lit.starts[0]))
    position = samples.position[np.searchsorted(samples.rows, row)]
    assert driven.numbers._engine == EnginePoint(tuple(position))
    assert "kept" in driven.bench.log._reading.text()


def shown_numbers(screen: Screen, layer: str) -> np.ndarray:
    """Read a layer off the numbers as they are written there; NaN where no number stands."""
    cells = screen.numbers.cells
    column = cells.columns.index(layer)
    texts = [cells.data(cells.index(row, column)) for row in range(cells.rowCount())]
    numbers = [read_number(re.sub(r"[^\d.,+−-]", "", text)) for text in texts]
    return np.array([np.nan if number is None else number for number in numbers])


@pytest.fixture
def scaled(driven: Screen, settle: Settle) -> Screen:
    """The window on a session with a drive, three of its cells scaled since."""
    driven.run("scale", {"by": 1.1, "cells": read_cells("3:5")})
    settle()
    return driven


@pytest.mark.parametrize("layer", ["value", "change", "ratio", "half_width", "samples", "standing"])
def test_a_layer_shows_the_same_in_numbers_and_picture(scaled: Screen, settle: Settle, layer: str) -> None:
    scaled.do("layer-samples" if layer == "value" else "layer-value")  # so that there is something to change
    settle()
    scaled.do(f"layer-{layer}")
    settle()
    numbers, curve = scaled.numbers, scaled.bench.curve
    assert numbers.cells.layer == layer
    assert scaled.bench.picture.shown is curve
    x, line = curve._now.getData()
    assert x.tolist() == scaled.scene.table.axes[0].breakpoints.tolist()
    drawn = {
        "value": lambda: line,
        "change": lambda: line,
        "ratio": lambda: line,
        "half_width": lambda: (curve._band.high - curve._band.low) / 2 * 100,
    }
    written = shown_numbers(scaled, layer)
    if layer in drawn:
        np.testing.assert_allclose(written, drawn[layer](), atol=0.00051 if layer == "ratio" else 0.051)
    elif layer == "standing":
        undriven = np.isclose(scaled.scene.evidence.ratio, np.nan, equal_nan=True)
        ringed = np.isin(x, curve._rings.getData()[0])
        assert ringed.tolist() == undriven.tolist()
        assert 0 < ringed.sum() < ringed.size
    else:
        near = np.abs(curve._dots.getData()[0][:, None] - x).argmin(axis=1)
        assert near.size > 100
        assert set(near) <= set(np.flatnonzero(written > 0))
    if layer == "value":
        assert line[3:6] == pytest.approx(scaled.scene.reference.table.values[3:6] * 1.1)
    if layer == "change":
        assert line[3:6] == pytest.approx([10.0, 10.0, 10.0])


def test_dragging_the_wideband_states_another_delay(driven: Screen, settle: Settle) -> None:
    before = next(iter(driven.scene.evidence.delay.values()))
    driven.bench.log.delay_tried.emit(0.05)
    settle()
    assert next(iter(driven.scene.evidence.delay.values())) is before  # nothing before it is asked for
    notice = driven.bench.notice
    assert "does not use it yet" in notice.text
    assert "+0.05\N{NO-BREAK SPACE}s" in notice.text
    notice._accept.click()
    settle()
    after = next(iter(driven.scene.evidence.delay.values()))
    assert after.source == "stated"
    assert after.fixed_s == pytest.approx(before.fixed_s + 0.05, abs=6e-3)
    state = driven.state
    (kept,) = state.settings.delays
    assert (kept.drive, kept.fixed_s) == (0, pytest.approx(after.fixed_s))
    driven.do("undo")
    settle()
    assert "the wideband's delay of the car" in notice.text
    again = next(iter(driven.scene.evidence.delay.values()))
    assert (again.source, again.fixed_s) == (before.source, before.fixed_s)


def test_copied_cells_are_pasted_as_a_draft(opened: Screen) -> None:
    opened.focus(cell=(2,), blocks=(((2, 3),),))
    opened.do("copy")
    values = opened.scene.table.values
    assert [float(word) for word in QGuiApplication.clipboard().text().split()] == values[2:4].tolist()
    opened.focus(cell=(5,), blocks=())
    opened.do("paste")
    draft = opened.scene.draft
    assert draft.revision.table.values[5:7].tolist() == values[2:4].tolist()


def test_a_refused_entry_is_told_where_it_was_typed(opened: Screen, qtbot: QtBot) -> None:
    view = opened.numbers
    qtbot.keyClicks(view, "*")
    line = QApplication.focusWidget()
    qtbot.keyClicks(line, "-3")
    assert opened.scene.draft is None
    assert opened.bench.numbers._meaning.property("kind") in ("trouble", "soft")
    assert "Write" in opened.bench.numbers._meaning.text() or "above 0" in opened.bench.numbers._meaning.text()


def test_a_log_without_evidence_says_why(opened: Screen, settle: Settle, tmp_path: Path) -> None:
    log = tmp_path / "bare.csv"
    log.write_text("Time (s),Engine speed (rpm)\n" + "\n".join(f"{i / 10},{900 + i}" for i in range(50)))
    opened.take([log])
    settle()
    assert opened.scene.evidence is None
    assert opened.scene.puzzle
    assert opened.bench.evidence._advice.text() == opened.scene.puzzle


def test_two_processes_on_one_session_do_not_lose_anything(opened: Screen) -> None:
    path = Path(opened.state.path)
    with Session.open(path) as other:
        answer = COMMANDS["scale"].function(other.state, by=1.1)
        other.record(answer.change)
    assert opened.bridge.reload()
    assert opened.head.id == 2
    assert opened.bench.rail.model().rowCount() == 2


def test_a_refusal_shows_what_another_process_wrote_and_the_act_then_works(opened: Screen) -> None:
    late = COMMANDS["scale"].function(opened.state, by=1.2)
    with Session.open(Path(opened.state.path)) as other:
        other.record(COMMANDS["scale"].function(other.state, by=1.1).change)
    with pytest.raises(StaleError):
        opened.record(late.change)
    assert opened.head.id == 2
    opened.record(COMMANDS["scale"].function(opened.state, by=1.2).change)
    assert opened.head.id == 3


def test_what_another_process_wrote_is_shown_before_long(opened: Screen, qtbot: QtBot) -> None:
    opened.window._again.setInterval(20)
    with Session.open(Path(opened.state.path)) as other:
        other.record(COMMANDS["scale"].function(other.state, by=1.1).change)
    qtbot.waitUntil(lambda: opened.head.id == 2, timeout=20_000)
    assert opened.bench.rail.model().rowCount() == 2


def test_undo_asks_nothing_and_says_what_it_did(opened: Screen, qtbot: QtBot) -> None:
    qtbot.keySequence(opened.window, "Ctrl+Z")
    assert "nothing can be undone" in opened.notice.lower()


def test_the_next_start_is_as_the_last_end(opened: Screen, qtbot: QtBot, tmp_path: Path) -> None:
    opened.do("theme")
    opened.do("larger")
    theme, points = opened.bench.theme.name, opened.window._memory.number("points", 0)
    path = Path(opened.state.path)
    again = opened.start_again()
    try:
        assert Path(again.state.path) == path.resolve()
        assert again.bench.theme.name == theme
        assert again.window._memory.number("points", 0) == points
        assert again.window._memory.recent == [path.resolve()]
    finally:
        again.quit()


def test_a_start_has_the_text_size_that_was_kept_from_its_first_paint(window: MainWindow, qapp: QApplication) -> None:
    window._memory.keep("points", 18)
    qapp.setStyleSheet("")  # as a program just started has none
    again = MainWindow(Memory())
    try:
        labels = [label for label in again._start.findChildren(QLabel) if label.text()]
        assert len(labels) > 5
        assert min(label.font().pointSize() for label in labels) == 18
    finally:
        again.close()
        again.deleteLater()


def test_the_search_shows_its_icons_in_the_theme_s_ink(opened: Screen) -> None:
    palette = opened.palette
    opened.dress("light", 10)
    palette.open(list(opened.actions.actions.values()), None)
    opened.dress("dark", 10)
    opened.settle()
    shown = palette._list.item(0).icon().pixmap(32, 32).toImage()
    ink = [
        shown.pixelColor(x, y).lightness() for x in range(32) for y in range(32) if shown.pixelColor(x, y).alpha() > 200
    ]
    assert len(ink) > 20
    assert min(ink) > 150  # light ink on the dark sheet


def test_a_log_that_a_logger_has_finished_is_offered(
    opened: Screen, settle: Settle, qtbot: QtBot, car_files: Path, tmp_path: Path
) -> None:
    folder = tmp_path / "logger"
    folder.mkdir()
    opened.opening.watch(folder)
    opened.opening.watching._again.setInterval(20)
    (folder / "fresh.csv").write_bytes((car_files / "curve_drive.csv").read_bytes())
    notice = opened.bench.notice
    qtbot.waitUntil(lambda: "fresh.csv" in notice.text, timeout=5000)
    qtbot.mouseClick(notice._accept, Qt.MouseButton.LeftButton)
    settle()
    assert [drive.log.name for drive in opened.state.drives] == ["fresh.csv"]


def test_what_cannot_be_opened_is_told_on_the_start_page(screen: Screen, tmp_path: Path) -> None:
    bad = tmp_path / "bad.session"
    bad.write_text("no session")
    screen.window.open(bad)
    assert screen.scene.state is None
    assert str(bad) in screen.window._start._trouble.text() or "bad.session" in screen.window._start._trouble.text()
    assert not screen.window._start._trouble.isHidden()


def test_a_fault_is_kept_in_a_report_and_the_window_stays(
    opened: Screen, monkeypatch: pytest.MonkeyPatch, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(
        crash, "save", lambda report: (tmp_path / "fault.txt").write_text(report) and tmp_path / "fault.txt"
    )
    opened.run("scale", {"by": 1.0625})
    crash.report(opened.window, ZeroDivisionError("1.0625 made for a test"))
    kept = (tmp_path / "fault.txt").read_text()
    assert "ZeroDivisionError" in kept
    assert " scale by\n" in kept
    assert f"numpy {np.__version__}" in kept
    assert "1.0625" not in kept, "no data of the session"
    assert "made for a test" in capsys.readouterr().err
    box = next(widget for widget in QApplication.topLevelWidgets() if widget.windowTitle() == "Program error")
    assert str(tmp_path / "fault.txt") in box.informativeText()  # type: ignore[attr-defined]
    assert not box.isModal()
    box.close()
    assert opened.window.isVisible()


def test_nothing_is_cut_at_any_text_size(driven: Screen) -> None:
    for _ in range(14):
        driven.do("larger")
    QApplication.processEvents()
    assert driven.window.font().pointSize() == 24 or driven.window._memory.number("points", 0) == 24
    for button in driven.window.findChildren(QAbstractButton):
        if button.isVisibleTo(driven.window) and button.text():
            assert button.width() >= button.fontMetrics().horizontalAdvance(button.text()), button.text()
            assert button.height() >= button.fontMetrics().height(), button.text()


def test_the_bridge_records_through_the_session_only(opened: Screen) -> None:
    stale = COMMANDS["scale"].function(opened.state, by=1.1).change
    opened.record(stale)
    with pytest.raises(StaleError):
        opened.record(stale)
    assert opened.head.id == 2


def test_shortcuts_are_shown_on_one_page(opened: Screen) -> None:
    opened.do("keys")
    texts = {child.text() for child in opened.task.findChildren(QObject) if hasattr(child, "text")}
    for command in COMMANDS.values():
        if command.shortcut:
            assert QKeySequence(command.shortcut).toString(QKeySequence.SequenceFormat.NativeText) in texts


def test_a_gate_set_in_the_window_gathers_the_evidence_anew(driven: Screen, settle: Settle) -> None:
    before = driven.scene.evidence.samples_used
    driven.do("gates")
    task = driven.task
    task._soon.setInterval(10)
    task._fields["steady_per_s"].setValue(0.05)
    settle()
    settle()
    assert driven.state.settings.gates.steady_per_s == pytest.approx(0.05)
    assert driven.scene.evidence.samples_used < before
    assert driven.task is task


def test_the_sample_is_opened_as_a_copy(
    screen: Screen, monkeypatch: pytest.MonkeyPatch, tmp_path: Path, settle: Settle
) -> None:
    monkeypatch.setattr(screen.opening, "_folder", lambda: str(tmp_path))
    screen.window._start.asked.emit("sample")
    settle()
    state = screen.state
    assert Path(state.path).parent == tmp_path
    assert len(state.history.revisions) > 1


@pytest.mark.parametrize(("offer", "drives", "revisions"), [("table", 0, 1), ("drive", 1, 1), ("finished", 4, 4)])
def test_each_step_of_the_start_page_has_a_sample_to_try(
    screen: Screen,
    qtbot: QtBot,
    monkeypatch: pytest.MonkeyPatch,
    tmp_path: Path,
    settle: Settle,
    offer: str,
    drives: int,
    revisions: int,
) -> None:
    monkeypatch.setattr(screen.opening, "_folder", lambda: str(tmp_path))
    titles = {"table": "Try the sample table", "drive": "Try the sample drive", "finished": "Open the sample"}
    buttons = {each.text(): each for each in screen.window._start.findChildren(QPushButton)}
    assert set(titles.values()) <= set(buttons)
    qtbot.mouseClick(buttons[titles[offer]], Qt.MouseButton.LeftButton)
    settle()
    state = screen.state
    assert Path(state.path).parent == tmp_path
    assert (len(state.drives), len(state.history.revisions)) == (drives, revisions)


def test_a_second_table_is_chosen_from_the_list(opened: Screen, car_files: Path) -> None:
    opened.run("add-table", {"file": car_files / "grid.csv"})
    opened.focus(table="grid")
    scene = opened.scene
    assert scene.table.kind == "grid"
    assert scene.focus.cell == (0, 0)
    assert opened.bench.pictures.shown is opened.bench.grid
    assert opened.bench.numbers._tables.currentText() == "grid"


def test_a_stated_step_of_the_ecu_brings_its_own_layer(opened: Screen) -> None:
    opened.run("storage", {"step": 0.25})
    opened.focus(layer="storage")
    cells = opened.numbers.cells
    assert "storage" in cells.columns
    numbers = cells.pictures["storage"].numbers
    values = opened.scene.table.values
    np.testing.assert_allclose(numbers * values, np.round(values / 0.25) * 0.25, atol=1e-9)


def test_a_refusal_goes_when_the_session_moves_on(opened: Screen) -> None:
    """What was refused once must not stand over the log after the next act has worked."""
    notice = opened.bench.notice
    notice.say_refused(FileError("no such file", "look again"))
    assert notice.text == "no such file look again"
    opened.focus(layer="value")
    assert notice.text
    opened.record(SettingsSet(opened.state.settings))
    assert notice.text == ""


def test_what_only_the_drives_told_is_asked_for_again(driven: Screen, settle: Settle) -> None:
    """The list is made from what the window knows; where the command knows more, it is made anew."""
    driven.bridge.put_evidence(None)
    driven.do("approve")
    task = driven.task
    assert isinstance(task, ApproveTask)
    assert task.arguments()["accept"] == ()
    task.by.setText("A. Calibrator")
    driven.drawer.entered.emit()
    settle()
    task = driven.task
    assert isinstance(task, ApproveTask)
    assert {"part-throttle-outside", "full-throttle-outside"} <= task.listed
    assert driven.state.history.approvals == {}


def test_the_strip_promises_no_more_than_was_driven(driven: Screen) -> None:
    """What is only expected is not green, nor what is hardly known; the worst is the worst against its own target."""
    evidence = driven.scene.evidence
    good = Target(0.05, 1.0, 1.0, 0.03, (5,), 0.001, proven=1.0, measured=True)
    near = Target(0.01, 1.0, 1.0, 0.008, (7,), 0.001, proven=0.2, measured=True)
    seen = replace(evidence, part_target=good, full_target=near)
    part, full, worst = target_figures(seen, evidence.table)
    assert (part.value, part.kind) == ("all inside", "good")
    assert (full.value, full.kind) == ("all inside, uncertain", "figure")
    assert worst.caption == "Worst against its target"
    assert evidence.table.cell_name((7,)) in worst.value  # +0.8 of 1 % is worse than +3 of 5 %
    blurred = replace(near, proven=1.0, widest=0.026, widest_cell=(9,))
    _, full, _ = target_figures(replace(seen, full_target=blurred), evidence.table)
    assert (full.value, full.kind) == ("not shown yet: known to ±2.6\N{NARROW NO-BREAK SPACE}%", "figure")
    assert f"Least known is {evidence.table.cell_name((9,))}" in full.tip
    foretold = replace(good, measured=False), replace(near, measured=False)
    seen = replace(evidence, part_target=foretold[0], full_target=foretold[1])
    expected = target_figures(seen, evidence.table)
    assert [(each.value, each.kind) for each in expected[:2]] == [("all inside, expected", "figure")] * 2
    assert (expected[2].caption, expected[2].value) == ("Worst cell, expected", worst.value)


def test_what_was_exported_is_known_after_a_restart(driven: Screen, tmp_path: Path, settle: Settle) -> None:
    driven.run("correct", {})
    settle()
    assert driven.bench.strip._next.word == "export"
    driven.run("export", {"file": tmp_path / "try.csv", "draft": True})
    settle()
    assert driven.bench.strip._next.word == "add-log"
    told = driven.bench.rail.model().index(0, 0).data(Qt.ItemDataRole.AccessibleTextRole)
    assert "exported as a draft" in told
    driven.open(Path(driven.state.path))
    settle()
    assert driven.bench.strip._next.word == "add-log"


def test_a_lean_draft_does_not_leave_the_window_silently(opened: Screen, tmp_path: Path) -> None:
    opened.run("scale", {"by": 0.5})
    assert "lean the mixture at high load since revision 1" in opened.notice
    opened.bench.notice.hide()
    opened.run("export", {"file": tmp_path / "try.csv", "draft": True})
    assert "lean the mixture at high load since revision 1" in opened.notice


def test_a_session_that_is_only_read_is_exported_and_says_so(opened: Screen, tmp_path: Path) -> None:
    opened.bridge._session._store.read_only = "it is kept for reading"
    opened.run("export", {"file": tmp_path / "try.csv", "draft": True})
    assert (tmp_path / "try.draft.csv").exists()
    said = " ".join(label.text() for label in opened.bench.notice.findChildren(QLabel))
    assert "The file was written, but this could not be recorded" in said
    assert "kept for reading" in said


def test_a_field_for_several_numbers_gives_numbers(opened: Screen) -> None:
    opened.do("parts")
    form = opened.task
    assert isinstance(form, Form)
    boundary, names = form.findChildren(QLineEdit)[:2]
    table = opened.scene.table
    at = float(table.axes[0].breakpoints[2])
    boundary.setText(str(at))
    names.setText("low; high")
    assert form.arguments()["at"] == (at,)
    assert form.arguments()["name"] == ("low", "high")


def test_nobody_signs_by_leaving_a_field_as_it_was(driven: Screen, settle: Settle) -> None:
    driven.do("approve")
    settle()
    task = driven.task
    assert isinstance(task, ApproveTask)
    assert task.by.text() == ""
    approval = Approval("A. Calibrator", "", "2026-01-01T00:00:00+00:00")
    driven.record(Approved(driven.head.id, approval))
    driven.do("approve")
    settle()
    assert driven.task.by.text() == "A. Calibrator"
