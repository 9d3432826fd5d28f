"""While a draft is shown: what was dangerous before stays said, what another program does is told, lean steps show."""

from dataclasses import replace

import pytest
from PySide6.QtWidgets import QLabel
from screen import Screen

from workbench.cli import main as command_line
from workbench.window.panels.revision_rows import Entry


@pytest.fixture
def driven(with_drive: Screen) -> Screen:
    return with_drive


def figures(screen: Screen) -> dict[str, str]:
    """What the strip on top says, by caption."""
    labels = [each.text() for each in screen.bench.strip.findChildren(QLabel) if each.isVisible()]
    return dict(zip(labels[::2], labels[1::2], strict=False))


def meaning(screen: Screen) -> tuple[str, str]:
    """What stands beside the line in which changes are typed, and its kind."""
    words = screen.bench.numbers._meaning
    return words.text(), str(words.property("kind"))


def test_the_danger_and_the_objections_stay_on_top(driven: Screen) -> None:
    before, why = figures(driven), driven.bench.strip._why._text
    objections = next(caption for caption in before if caption.startswith("Objections"))
    assert why.startswith("Danger")
    driven.focus(cell=(3,), blocks=())
    driven.bench.numbers.begin("+1 %")
    driven.settle()
    assert driven.scene.draft is not None
    assert figures(driven)[objections] == before[objections]
    now = driven.bench.strip._why._text
    assert now.startswith("A draft is shown: Enter applies it, Esc drops it.")
    assert now.endswith(why)


def test_what_another_program_does_is_said_and_the_draft_stays(driven: Screen) -> None:
    driven.focus(cell=(3,), blocks=())
    driven.bench.numbers.begin("+1 %")
    driven.settle()
    draft = driven.scene.draft
    assert draft is not None
    assert command_line(["settings", driven.state.path, "--part-throttle", "0.03"]) == 0
    driven.window._look_again()  # as the window does every other second
    assert driven.scene.draft is draft
    assert "the target at part throttle" in driven.notice
    assert "Esc drops it" in driven.notice
    driven.do("drop")
    driven.window._look_again()
    assert driven.state.settings.part_throttle_target == 0.03


def test_a_typed_step_that_leans_high_load_says_so_before_enter(driven: Screen) -> None:
    driven.focus(cell=(len(driven.scene.table.values) - 3,), blocks=())
    driven.bench.numbers.begin("-4 %")
    driven.settle()
    words, kind = meaning(driven)
    assert "Leaner at high load: " in words
    assert kind == "trouble"
    driven.do("drop")
    driven.bench.numbers.begin("+4 %")
    words, kind = meaning(driven)
    assert "eaner at high load" not in words
    assert kind == "attention"
    driven.do("drop")
    driven.bench.numbers.begin("-4 %")
    driven.do("apply")
    driven.focus(cell=(3,), blocks=())
    driven.bench.numbers.begin("+1 %")
    assert driven.scene.draft is not None
    assert driven.scene.draft.answer.warnings  # of the cell that was leant before
    assert "eaner at high load" not in meaning(driven)[0]


def test_a_correction_that_leans_says_so_beside_its_button(driven: Screen) -> None:
    driven.do("correct")
    driven.settle()
    draft = driven.scene.draft
    assert draft is not None
    said = driven.drawer._message
    assert not said.isVisible()
    leaning = replace(draft.answer, warnings=("1 cell leans the mixture at high load.",))
    driven._shop.routes._tasks._warn_of(leaning)
    assert said.isVisible()
    assert said.property("kind") == "attention"
    assert "leans the mixture at high load" in said.text().replace("\u200b", "")
    assert said.parentWidget() is driven.drawer, "it would scroll away with the fields"


def test_an_approval_that_fell_is_not_vouched_for_on_top_nor_in_the_history(driven: Screen) -> None:
    """Both still called it approved, in green, while the next step said that it fell."""
    objected = list(driven.bench.strip._next.objections)
    assert (
        command_line(["approve", driven.state.path, "--by", "A", *(f"--accept={each}=seen" for each in objected)]) == 0
    )
    driven.reload()
    driven.settle()
    assert figures(driven)["Revision"] == "1, approved"
    assert command_line(["leave-out", driven.state.path, "1:10..20", "--because", "another car in front"]) == 0
    driven.reload()
    driven.settle()
    assert figures(driven)["Revision"].startswith("1, approval fell")
    entry = driven.bench.rail._entries.rows[0]
    assert isinstance(entry, Entry)
    marks = entry.marks()
    assert marks[0] == "! approval by A fell: it rested on drives that no longer count"
    assert not any(mark.startswith("approved by") for mark in marks)
    assert command_line(["export", driven.state.path, f"{driven.state.path}.csv"]) == 1


def test_applying_what_another_program_overtook_says_what_happened_and_what_to_do(driven: Screen) -> None:
    """The draft went, and only what the other program had done was said."""
    driven.focus(cell=(3,), blocks=())
    driven.bench.numbers.begin("+1 %")
    driven.settle()
    assert driven.scene.draft is not None
    assert command_line(["scale", driven.state.path, "--by", "1.01"]) == 0
    driven.do("apply")
    driven.settle()
    assert driven.state.head().id == 2, "the other program's, and no draft on top of it"
    assert driven.notice.startswith("The draft was not applied: another program changed this session since")
    assert "revision 2 of 'curve' (scale)" in driven.notice
    assert "draft it again" in driven.notice
    assert meaning(driven)[0].endswith("Not applied. Enter drafts it again."), "what happened is said once"
    assert command_line(["scale", driven.state.path, "--by", "1.01"]) == 0
    driven.window._look_again()
    assert driven.notice.startswith("Another program changed this session: "), "no draft was lost this time"
