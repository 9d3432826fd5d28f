"""Why the next step is the next is read whole, not only told on pointing; and it takes no rows from the table."""

from collections.abc import Callable

import pytest
from PySide6.QtWidgets import QApplication, QToolTip
from screen import Screen

from workbench.window.panels.reason_line import ReasonLine


@pytest.fixture
def driven(with_drive: Screen, settle: Callable[[], None]) -> Screen:
    with_drive.run("correct", {})
    settle()
    return with_drive


def why_of(screen: Screen) -> ReasonLine:
    return screen.bench.strip.findChildren(ReasonLine)[0]


def test_the_reason_is_read_beside_the_step_or_under_it(driven: Screen, settle: Callable[[], None]) -> None:
    for wide, high in ((1366, 768), (1920, 1080)):
        driven.window.resize(wide, high)
        for theme, points in (("light", 9), ("dark", 10), ("sun", 14), ("dark", 24)):
            driven.dress(theme, points)
            settle()
            _check_read(driven)


def _check_read(driven: Screen) -> None:
    strip, why = driven.bench.strip, why_of(driven)
    reason = strip._next.reason
    assert reason.startswith("No drive was made with revision 2 yet")
    assert " ".join(why.lines) == reason
    assert why.height() >= len(why.lines) * why.fontMetrics().lineSpacing()
    assert why.isVisible()
    assert why.toolTip() == reason
    assert strip.rect().contains(why.geometry())
    others = [place for place, _, _ in strip._figures if place.isVisible()]
    assert not [each for each in (*others, strip._button) if each.geometry().intersects(why.geometry())]
    assert all(why.fontMetrics().horizontalAdvance(line) <= why.width() for line in why.lines)


def test_the_reason_is_told_whole_to_who_comes_by_keys(driven: Screen, settle: Callable[[], None]) -> None:
    driven.window.activateWindow()
    why = why_of(driven)
    driven.bench.strip._button.setFocus()
    driven.press("Tab")
    assert QApplication.focusWidget() is why
    assert QToolTip.text() == driven.bench.strip._next.reason
    assert driven.bench.strip._next.reason in why.accessibleName()
    QToolTip.hideText()


def test_where_nothing_is_to_be_said_no_room_is_taken(driven: Screen) -> None:
    strip, why = driven.bench.strip, why_of(driven)
    high = strip.height_for(strip.width())
    why.say("")
    assert why.isHidden()
    assert strip.height_for(strip.width()) <= high
    why.say("Because.")
    assert why.lines == ["Because."]


@pytest.mark.parametrize("points", [9, 10])
def test_twenty_low_rows_are_seen_on_a_small_screen_whatever_was_looked_at(
    driven: Screen, settle: Callable[[], None], points: int
) -> None:
    """Measured before its texts had their places, a cell without evidence kept the panel 60 px too tall."""
    driven.dress("sun", points)
    driven.bench.set_dense(dense=True)
    for beside in ((), (1,)):
        driven.focus(beside=beside)
        for cell in (0, 20, 0, 21):
            driven.focus(cell=(cell,))
            settle()
            view, evidence = driven.numbers, driven.bench.evidence
            assert view.viewport().height() >= 20 * view.verticalHeader().defaultSectionSize()
            assert not driven.bench.room.crowded
        assert evidence.minimumHeight() == max(_need(driven, cell, settle) for cell in (0, 20, 21))


def _need(driven: Screen, cell: int, settle: Callable[[], None]) -> int:
    """Measure what the texts and figures of a cell take; its pictures are seen where there is room."""
    driven.focus(cell=(cell,))
    settle()
    evidence = driven.bench.evidence
    pictures = evidence._pictures
    high = evidence.height_for(evidence.width())
    return high if pictures.isHidden() else high - pictures.height() - evidence.column.spacing()
