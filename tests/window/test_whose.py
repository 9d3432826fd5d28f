"""Whose figures they are: of which revision, of the draft or the table before it, of this program or another one."""

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication, QLabel
from screen import Screen
from showing import seen

from workbench.cli import main as command_line

Settle = Callable[[], None]


@pytest.fixture
def driven(with_drive: Screen, settle: Settle) -> Screen:
    with_drive.focus(layer="value", cell=(20,), blocks=())
    settle()
    return with_drive


def heads(screen: Screen) -> list[str]:
    cells = screen.numbers.cells
    return [cells.headerData(each, Qt.Orientation.Horizontal) for each in range(cells.columnCount())]


def texts(screen: Screen) -> list[str]:
    return [each.text() for each in seen(screen.bench.evidence) if isinstance(each, QLabel)]


def test_a_change_says_since_which_revision(driven: Screen, settle: Settle) -> None:
    driven.run("scale", {"by": 1.02})
    driven.run("scale", {"by": 1.03})
    settle()
    assert "since 1" in heads(driven)
    driven.focus(against=2)
    settle()
    assert "since 2" in heads(driven)
    tip = driven.numbers.cells.headerData(1, Qt.Orientation.Horizontal, Qt.ItemDataRole.ToolTipRole)
    assert tip == "Change of each cell since revision 2, in percent."


def test_what_a_draft_leaves_as_it_was_says_so(driven: Screen, settle: Settle) -> None:
    """A corrected value stood beside the ratio of the one before it, and 'raise it' under a table that was raised."""
    assert "ratio" in heads(driven)
    driven.draft("correct", {})
    settle()
    assert driven.scene.draft is not None
    assert "ratio*" in heads(driven)
    said = texts(driven)
    assert any(each.startswith("Evidence for") and each.endswith("before the draft") for each in said)
    assert any(each.startswith("Before the draft: ") for each in said)
    driven.do("drop")
    settle()
    assert "ratio*" not in heads(driven)
    assert not any("before the draft" in each.lower() for each in texts(driven))


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("settings", "--part-throttle", "0.03"), "the session's settings (the target at part throttle)"),
        (("settings", "--gate", "warm_c=70"), "the session's settings (the gates)"),
        (("settings", "--wideband", "before"), "the session's settings (where the wideband sits)"),
        (("leave-out", "1:10..20", "--because", "a test"), "(10.0 to 20.0\N{NO-BREAK SPACE}s left out)"),
        (("scale", "--by", "1.01"), "revision 2 of 'curve' (scale)"),
    ],
)
def test_what_another_program_did_is_named_and_not_taken_back_unasked(
    driven: Screen, settle: Settle, words: tuple[str, ...], told: str
) -> None:
    driven.change_elsewhere(*words)
    assert driven.notice.startswith("Another program changed this session: ")
    assert told in driven.notice
    done = driven.state.done
    driven.do("undo")
    settle()
    assert driven.state.done == done
    assert told in driven.notice
    assert getattr(QApplication.focusWidget(), "text", str)() == "Undo it all the same"
    driven.click("Undo it all the same")
    settle()
    assert len(driven.state.done) == len(done) - 1


def test_what_was_done_here_is_taken_back_at_once(driven: Screen, settle: Settle) -> None:
    driven.change_elsewhere("settings", "--part-throttle", "0.03")
    driven.run("scale", {"by": 1.02})
    settle()
    driven.do("undo")
    settle()
    assert driven.state.head("curve").id == 1
    driven.do("undo")
    settle()
    assert driven.state.settings.part_throttle_target == 0.03


def test_what_another_program_did_is_asked_about_after_the_session_was_opened_anew(
    driven: Screen, settle: Settle
) -> None:
    path = Path(driven.state.path)
    driven.close_session()
    assert command_line(["settings", str(path), "--part-throttle", "0.03"]) == 0
    for _ in range(2):  # it is remembered as another's
        driven.open(path)
        settle()
        driven.do("undo")
        settle()
        assert "the target at part throttle" in driven.notice
        assert driven.state.settings.part_throttle_target == 0.03
        driven.close_session()


def test_the_one_stretch_that_counts_again_is_named(driven: Screen, settle: Settle) -> None:
    for seconds in ("10..20", "30..40"):
        driven.change_elsewhere("leave-out", f"1:{seconds}", "--because", "a test")
    assert "30.0 to 40.0\N{NO-BREAK SPACE}s left out" in driven.notice
    assert "10.0" not in driven.notice
    assert command_line(["undo", driven.state.path]) == 0
    driven.reload()
    settle()
    assert "30.0 to 40.0\N{NO-BREAK SPACE}s left out) taken back" in driven.notice


def test_a_roll_back_looks_like_what_it_went_back_to(driven: Screen, settle: Settle) -> None:
    """Imported values were marked as inferred, and one whose factor is not exact stood as a spike of the history."""
    driven.run("correct", {})
    settle()
    driven.run("roll-back", {"revision": 1})
    settle()
    head = driven.state.head("curve")
    moved = driven.state.history.moved(head)
    values = driven.state.history.revision(2).table.values
    assert moved == pytest.approx(head.table.values / values)
    assert np.isfinite(moved).all()
    numbers = driven.numbers.cells
    shown = [numbers.data(numbers.index(row, 0)) for row in range(numbers.rowCount())]
    assert not [each for each in shown if "≈" in each]
    driven.run("roll-back", {"revision": 2})
    settle()
    shown = [numbers.data(numbers.index(row, 0)) for row in range(numbers.rowCount())]
    assert [each for each in shown if "≈" in each]
