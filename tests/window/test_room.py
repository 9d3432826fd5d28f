"""How the bench shares its room, and that what it says to do is what Enter or a button does."""

import re
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pyqtgraph
import pytest
from PySide6.QtCore import QPoint, QRect, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QCheckBox, QLabel, QPushButton, QWidget
from pytestqt.qtbot import QtBot
from screen import Screen

from workbench.commands.evidence.next_step import NextStep
from workbench.window.kit.plots import space_ticks
from workbench.window.kit.style import TOUCH
from workbench.window.panels.next_step import against
from workbench.window.tasks.correct_task import CorrectTask
from workbench.work import Progress


@pytest.fixture
def driven(with_drive: Screen, settle: Callable[[], None]) -> Screen:
    with_drive.focus(layer="value", cell=(20,), blocks=())
    settle()
    return with_drive


def test_eight_rows_as_high_as_a_finger_and_all_columns_fit_a_small_screen(driven: Screen) -> None:
    view = driven.numbers
    assert view.verticalHeader().defaultSectionSize() >= TOUCH
    assert view.viewport().height() >= 8 * TOUCH
    assert view.horizontalScrollBar().maximum() == 0


@pytest.mark.parametrize("points", [9, 12, 18, 24])
def test_no_column_of_a_curve_is_hidden_at_any_text_size(
    driven: Screen, settle: Callable[[], None], points: int
) -> None:
    driven.dress("light", points)
    settle()
    view = driven.numbers
    assert view.horizontalScrollBar().maximum() == 0
    assert view.viewport().height() >= 8 * view.verticalHeader().defaultSectionSize()


def test_another_table_is_shown_from_its_chosen_cell(
    driven: Screen, settle: Callable[[], None], car_files: Path, tmp_path: Path
) -> None:
    driven.focus(cell=(40,))
    driven.window.resize(1366, 733)
    driven.begin_from(car_files / "grid.csv", tmp_path / "grid.session")
    settle()
    assert driven.numbers.horizontalScrollBar().maximum() == 0, "columns of a grid are cut on a small screen"
    assert driven.numbers.verticalScrollBar().value() == 0
    assert driven.scene.focus.cell == (0, 0)


def test_the_entry_line_never_claims_a_draft_that_came_from_elsewhere(
    driven: Screen, settle: Callable[[], None]
) -> None:
    numbers = driven.bench.numbers
    numbers.begin("+3%")
    assert numbers._line.text() == "+3%"
    assert "+3" in numbers._meaning.text()
    driven.do("correct")
    settle()
    assert driven.scene.draft is not None
    assert driven.scene.draft.word == "correct"
    assert numbers._line.text() == ""
    assert "+3" not in numbers._meaning.text()


def test_the_button_of_the_correction_applies_the_correction_whatever_was_typed_since(
    driven: Screen, settle: Callable[[], None]
) -> None:
    driven.do("correct")
    settle()
    assert isinstance(driven.task, CorrectTask)
    driven.bench.numbers.begin("+3%")
    driven.drawer.entered.emit()
    settle()
    assert driven.head is not None
    assert driven.head.operation == "correct"


def test_while_a_task_has_its_own_button_the_strip_steps_back(driven: Screen, settle: Callable[[], None]) -> None:
    assert driven.bench.strip._button.property("kind") == "step"
    driven.do("correct")
    settle()
    assert driven.bench.strip._button.property("kind") == ""
    driven.do("keys")
    assert driven.bench.strip._button.property("kind") == "step"


def test_the_strip_is_as_high_as_its_rows_after_its_texts_have_changed(
    driven: Screen, settle: Callable[[], None]
) -> None:
    driven.run("correct", {})
    settle()
    strip = driven.bench.strip
    assert strip.height() == strip.height_for(strip.width())


def test_what_speaks_against_a_trial_is_seen_without_pointing_at_anything() -> None:
    step = NextStep("Export a draft", "export", "Look into them first.", {"objections": "falling-curve"})
    (figure,) = against(step)
    assert (figure.value, figure.kind, figure.tip) == ("falling curve", "attention", "Look into them first.")
    assert against(NextStep("Export a draft", "export", "", {"objections": ""})) == []


@pytest.mark.parametrize(("low", "high"), [(57.0, 104.0), (0.79, 1.31), (-120.0, 5500.0)])
def test_an_axis_shows_two_figures_at_least_where_they_fit(low: float, high: float, qtbot: QtBot) -> None:
    del qtbot
    axis, size = pyqtgraph.AxisItem("left"), 70.0
    font = pyqtgraph.QtGui.QFont()
    font.setPixelSize(13)
    space_ticks(axis, font, upright=True, lead=2.4)
    ((_, shown),) = axis.tickValues(low, high, size)
    assert len(shown) >= 2
    assert all(low <= each <= high for each in shown)
    assert min(np.diff(shown)) / (high - low) * size >= 13


def walked(driven: Screen) -> list[str]:
    """Press Tab until the keyboard is back where it was; give the names of what it came by."""
    first = here = QApplication.focusWidget()
    names = []
    while here is not None and len(names) < 60:
        QTest.keyClick(here, Qt.Key.Key_Tab)
        QApplication.processEvents()
        here = QApplication.focusWidget()
        assert isinstance(here, QWidget)
        assert not here.visibleRegion().isEmpty(), here.accessibleName()
        names.append(here.accessibleName())
        if here is first:
            break
    return names


def test_tab_comes_by_every_control_and_none_is_out_of_sight(driven: Screen, settle: Callable[[], None]) -> None:
    driven.window.activateWindow()
    driven.numbers.setFocus()
    names = walked(driven)
    for name in ("Layer", "Numbers of the table", "Change the chosen cells", "Picture of the curve", "Drive", "Lanes"):
        assert name in names
    assert all(names)
    driven.do("correct")
    settle()
    names = walked(driven)
    order = ("Source", "Drives", "Share", "Share, as a slider", "Limit", "Cells", "Note", "Thin cells too")
    assert [name for name in names if name in order] == [*order[1:], order[0]]


def test_a_message_of_one_session_is_not_shown_over_another(
    driven: Screen, settle: Callable[[], None], car_files: Path, tmp_path: Path
) -> None:
    driven.run("correct", {})
    settle()
    assert "Revision 2" in driven.notice
    driven.begin_from(car_files / "grid.csv", tmp_path / "other.session")
    assert "Revision 2" not in driven.notice


def test_pointing_at_a_caution_does_not_make_the_lanes_lower(driven: Screen, settle: Callable[[], None]) -> None:
    log, (caution, *_) = driven.bench.log, [each for each in driven.scene.cautions if each.at == each.at]
    high = log.lanes.height()
    driven.focus(cursor_s=caution.at)
    settle()
    assert caution.sentence[:20] in log._reading.text()
    assert log.lanes.height() == high
    driven.focus(cursor_s=None)
    assert all(part.isVisible() for part in log._legend if part.property("told"))


def test_the_number_of_cautions_at_the_log_opens_them(driven: Screen, settle: Callable[[], None]) -> None:
    """A danger was announced by words that nobody could click, and went on to be after somebody had looked into it."""
    told = driven.bench.log._legend[-1]
    assert "1 caution" in told.text()
    driven.focus(cursor_s=None)
    told.setFocus()
    driven.press("Return", told)
    settle()
    assert type(driven.task).__name__ == "CautionsTask"
    (caution,) = [each for each in driven.scene.cautions if each.at == each.at]
    driven.run("acknowledge", {"caution": caution.name, "because": "looked into"})
    settle()
    assert "1 caution, acknowledged" in told.text()


def test_a_message_shows_the_whole_name_of_a_file(driven: Screen, settle: Callable[[], None]) -> None:
    said = "Card for the driver written to /folder/own_efficiency_stale_next_drive_revision_1.pdf."
    driven.bench.notice.say(said)
    settle()
    label = driven.bench.notice._text
    pieces = re.split("[ \N{ZERO WIDTH SPACE}]", label.text())
    assert max(label.fontMetrics().horizontalAdvance(piece) for piece in pieces) < label.width()
    assert driven.notice == said


def test_a_message_covers_nothing(driven: Screen, settle: Callable[[], None]) -> None:
    bench = driven.bench
    bench.notice.say("What happened is said here, in a sentence that takes more than one line of text. " * 2)
    settle()
    said = QRect(bench.notice.mapTo(driven.window, QPoint()), bench.notice.size())
    for panel in (bench.strip, bench.numbers, bench.picture, bench.evidence, bench.rail_card, bench.log):
        assert not said.intersects(QRect(panel.mapTo(driven.window, QPoint()), panel.size())), panel.accessibleName()


def test_a_scale_of_what_is_never_negative_begins_at_zero(driven: Screen, settle: Callable[[], None]) -> None:
    box, values = driven.bench.curve.plot.box, driven.scene.table.values
    assert -0.05 * values.max() < box.viewRange()[1][0] <= 0
    driven.focus(layer="change")
    settle()
    assert box.viewRange()[1][0] < 0


def test_the_number_of_samples_gives_way_to_the_standing_where_text_is_large(
    driven: Screen, settle: Callable[[], None]
) -> None:
    driven.dress("light", 24)
    driven.do("correct")
    settle()
    view = driven.numbers
    hidden = [layer for i, layer in enumerate(view.cells.columns) if view.isColumnHidden(i)]
    assert hidden == ["samples"]
    assert view.horizontalScrollBar().maximum() == 0
    driven.focus(layer="samples")
    settle()
    hidden = [layer for i, layer in enumerate(view.cells.columns) if view.isColumnHidden(i)]
    assert hidden == ["half_width"]  # what is looked at stays, and so does the standing's sign
    assert view.horizontalScrollBar().maximum() == 0
    driven.focus(layer="value")
    driven.dress("light", 10)
    settle()
    assert not any(view.isColumnHidden(i) for i in range(view.cells.columnCount()))


def test_a_long_answer_is_shown_at_once_and_not_cut(driven: Screen, settle: Callable[[], None]) -> None:
    driven.run("correct", {})
    settle()
    driven.do("difference")
    settle()
    answer = driven.drawer._answer
    assert answer.text().count("<tr>") > 20
    assert answer.height() >= answer.heightForWidth(answer.width())
    assert (
        answer.parentWidget()
        .parentWidget()
        .rect()
        .contains(answer.mapTo(answer.parentWidget().parentWidget(), QPoint()))
    )
    assert driven.notice.startswith("Revision 2")  # and is not said again there


def test_what_runs_is_named_whole_beside_its_bar_and_its_button(driven: Screen) -> None:
    line = driven.window.menuBar().cornerWidget(Qt.Corner.TopRightCorner)
    for title in ("Drawing the log", "Gathering the evidence"):  # the second one while the first is shown
        driven.jobs.working.emit(title, Progress(3, 10))
        QApplication.processEvents()
    assert line._title.shown == "Gathering the evidence…"  # type: ignore[attr-defined]
    assert line._title.geometry().right() < line._bar.geometry().left()  # type: ignore[attr-defined]
    assert line._bar.geometry().right() < line._stop.geometry().left()  # type: ignore[attr-defined]
    assert line._stop.width() >= line._stop.sizeHint().width()  # type: ignore[attr-defined]
    driven.jobs.working.emit("", None)


def test_what_has_the_keyboard_is_seen_whole_and_a_long_text_from_its_beginning(
    driven: Screen, settle: Callable[[], None]
) -> None:
    """A box of which half was out of sight stayed so; notes longer than their place began in the middle."""
    driven.window.activateWindow()
    driven.do("export")
    settle()
    for _ in range(6):
        driven.press("Tab")
        focus = QApplication.focusWidget()
        assert focus is not None
        assert focus.visibleRegion().boundingRect() == focus.rect(), focus.accessibleName()
    driven.dress("light", 24)
    settle()
    driven.bench.evidence.more.emit()
    settle()
    bar = driven.drawer._place.verticalScrollBar()
    assert bar.value() == 0 < bar.maximum()


def test_a_task_is_shown_from_its_beginning_and_tab_leads_into_it(driven: Screen, settle: Callable[[], None]) -> None:
    """With large letters the first box of approving lies below what there is to read of a cliff."""
    driven.run("correct", {"undriven": "leave"})
    settle()
    driven.dress("light", 24)
    settle()
    driven.do("approve")
    settle()
    place = driven.drawer._place
    heading = next(each for each in place.findChildren(QLabel) if each.text().startswith("<b>Cliff.</b> "))
    assert place.verticalScrollBar().value() == 0 < place.verticalScrollBar().maximum()
    assert heading.visibleRegion().boundingRect().topLeft() == heading.rect().topLeft()
    assert QApplication.focusWidget() is place
    driven.press("Tab")
    focus = QApplication.focusWidget()
    assert isinstance(focus, QPushButton)
    assert focus.text() in ("Carry on", "Let it fade", "Blend")
    assert focus.visibleRegion().boundingRect() == focus.rect()
    driven.dress("light", 10)
    driven.do("approve")
    settle()
    assert isinstance(QApplication.focusWidget(), QCheckBox)
