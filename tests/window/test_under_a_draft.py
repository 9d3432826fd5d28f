"""While a draft is shown: what was dangerous before stays said, what another program does is told, lean steps show."""

from dataclasses import replace

import pytest
from PySide6.QtWidgets import QLabel
from screen import Screen

from workbench.cli import main as command_line


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
