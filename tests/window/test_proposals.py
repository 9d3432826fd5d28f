"""What nobody touched in a form follows the session; what was touched stays; only that is written."""

import json
from collections.abc import Callable
from pathlib import Path

import pytest
from PySide6.QtWidgets import QComboBox
from screen import Screen
from showing import seen

from workbench.cli import main as command_line
from workbench.model.state import Settings

Settle = Callable[[], None]


@pytest.fixture
def opened(screen: Screen, settle: Settle, car_files: Path, path: Path) -> Screen:
    """The window on a session of the curve with three revisions."""
    screen.begin_from(car_files / "curve.csv", path)
    settle()
    for factor in (1.01, 1.02):
        screen.run("scale", {"by": factor})
    settle()
    return screen


def settings(screen: Screen) -> Settings:
    return screen.state.settings


def text(screen: Screen, label: str) -> str:
    return str(screen.field(label).text())  # type: ignore[attr-defined]


def choose_revision(screen: Screen, number: int) -> None:
    """Choose a revision in the open form."""
    assert screen.task is not None
    box = next(each for each in seen(screen.task) if isinstance(each, QComboBox))
    box.setCurrentIndex(box.findData(number))


@pytest.mark.parametrize("word", ["export", "report"])
def test_a_proposed_name_names_the_revision_that_is_written(
    opened: Screen, settle: Settle, tmp_path: Path, word: str
) -> None:
    opened.do(word)
    settle()
    assert opened.task is not None
    assert "revision_3" in text(opened, "File")
    choose_revision(opened, 2)
    assert "revision_2" in text(opened, "File")
    choose_revision(opened, 3)
    opened.run("undo", {})
    settle()
    choose_revision(opened, 1)
    assert "revision_1" in text(opened, "File")


def test_the_name_follows_undo_elsewhere(opened: Screen, settle: Settle, tmp_path: Path) -> None:
    opened.do("export")
    settle()
    opened.change_elsewhere("undo")
    assert opened.head.id == 2
    assert "revision_2" in text(opened, "File")
    opened.go()
    settle()
    paper = json.loads((tmp_path / "curve_revision_2.draft.csv.provenance.json").read_text())
    assert paper["revision"] == 2


def test_a_name_that_was_typed_stays_and_is_held_against_the_revision(
    opened: Screen, settle: Settle, tmp_path: Path
) -> None:
    opened.do("export")
    settle()
    opened.fill("File", "mine_revision_3.csv")
    choose_revision(opened, 2)
    assert text(opened, "File") == "mine_revision_3.csv"
    opened.go()
    settle()
    assert any("would hold revision 2" in each for each in opened.texts)
    assert not list(tmp_path.glob("mine*"))
    opened.fill("File", "mine.csv")
    opened.go()
    settle()
    assert (tmp_path / "mine.draft.csv").is_file()


def test_the_export_of_another_car_is_not_replaced(opened: Screen, settle: Settle, car_files: Path, path: Path) -> None:
    other = path.with_name("other.session")
    assert command_line(["new", str(other), str(car_files / "curve.csv")]) == 0
    for factor in ("1.3", "1.3"):
        assert command_line(["scale", str(other), "--by", factor, "--cells", "all"]) == 0
    file = path.with_name("curve_revision_3.draft.csv")
    assert command_line(["export", str(other), str(file), "--draft"]) == 0
    before = file.read_bytes()
    opened.do("export")
    settle()
    opened.go()
    settle()
    assert any("other.session" in each and "Replace an existing file" in each for each in opened.texts)
    assert file.read_bytes() == before


def test_a_draft_on_the_screen_is_not_exported_as_something_else(
    opened: Screen, settle: Settle, tmp_path: Path
) -> None:
    opened.do("export")
    settle()
    opened.numbers.setFocus()
    opened.type("+", opened.numbers)
    opened.type("2 %")
    settle()
    assert opened.scene.draft is not None
    opened.go()
    settle()
    assert not list(tmp_path.glob("*.draft.csv"))
    assert any("draft" in each and "apply or drop" in each.lower() for each in opened.texts)
    assert opened.scene.draft is not None
    opened.do("drop")
    opened.go()
    settle()
    assert list(tmp_path.glob("*.draft.csv"))


PART, FULL = "Part throttle", "Full throttle"


def test_targets_that_nobody_touched_are_not_written(opened: Screen, settle: Settle) -> None:
    opened.do("settings")
    settle()
    opened.change_elsewhere("settings", "--part-throttle", "0.03")
    assert text(opened, PART).startswith("3")
    opened.fill(FULL, "2")
    opened.press("Return", opened.field(FULL))
    settle()
    assert settings(opened).part_throttle_target == 0.03
    assert settings(opened).full_throttle_target == 0.02


def test_what_is_being_typed_is_not_taken_away(opened: Screen, settle: Settle) -> None:
    opened.do("settings")
    settle()
    opened.fill(PART, "4")
    opened.change_elsewhere("settings", "--part-throttle", "0.03", "--afr", "13.9")
    assert text(opened, PART).startswith("4")
    opened.press("Return", opened.field(PART))
    settle()
    assert settings(opened).part_throttle_target == 0.04
    assert settings(opened).stoichiometric_afr == 13.9


def test_nothing_touched_writes_nothing(opened: Screen, settle: Settle) -> None:
    opened.do("settings")
    settle()
    assert command_line(["settings", opened.state.path, "--part-throttle", "0.03"]) == 0  # not seen by the window yet
    before = opened.state.sequence
    opened.go()
    settle()
    opened.reload()
    settle()
    assert settings(opened).part_throttle_target == 0.03
    assert opened.state.sequence == before + 1


WARM, RUNNING = "Warm from, °C", "Running from, rpm"


def set_gate(screen: Screen, settle: Settle, label: str, value: str) -> None:
    """Type a limit and press Enter, as a user does."""
    screen.fill(label, value)
    screen.press("Return", screen.field(label))
    settle()


def test_gates_follow_undo_and_only_what_was_touched_is_written(opened: Screen, settle: Settle) -> None:
    opened.do("gates")
    settle()
    warm = text(opened, WARM)
    set_gate(opened, settle, WARM, "85")
    assert settings(opened).gates.warm_c == 85
    opened.do("undo")
    settle()
    assert settings(opened).gates.warm_c != 85
    assert opened.task is not None
    assert text(opened, WARM) == warm
    set_gate(opened, settle, RUNNING, "555")
    assert settings(opened).gates.running_rpm == 555
    assert settings(opened).gates.warm_c == float(warm)


def test_gates_follow_another_program(opened: Screen, settle: Settle) -> None:
    opened.do("gates")
    settle()
    opened.change_elsewhere("settings", "--gate", "warm_c=81", "--gate", "running_rpm=500")
    assert (text(opened, WARM), text(opened, RUNNING)) == ("81", "500")
    set_gate(opened, settle, "Rejected after purge, s", "4")
    gates = settings(opened).gates
    assert (gates.warm_c, gates.running_rpm, gates.after_purge_s) == (81, 500, 4)


def test_a_limit_finer_than_its_field_is_not_rounded_by_opening_it(opened: Screen, settle: Settle) -> None:
    opened.change_elsewhere("settings", "--gate", "settled=0.00345")
    opened.do("gates")
    settle()
    assert text(opened, "Trims stand still within, ratio") == "0.00345"
    set_gate(opened, settle, WARM, "82")
    assert settings(opened).gates.settled == 0.00345


def test_a_limit_that_is_being_typed_is_not_taken_away(opened: Screen, settle: Settle) -> None:
    opened.do("gates")
    settle()
    opened.fill(WARM, "8")
    opened.change_elsewhere("settings", "--gate", "running_rpm=500")
    opened.focus(cell=(3,))
    settle()
    assert (text(opened, WARM), text(opened, RUNNING)) == ("8", "500")
    opened.type("4", opened.field(WARM))
    opened.press("Return", opened.field(WARM))
    opened.leave_task()
    settle()
    assert (settings(opened).gates.warm_c, settings(opened).gates.running_rpm) == (84, 500)


def test_the_ecus_storage_opens_as_it_is_set_and_only_what_was_touched_is_written(
    opened: Screen, settle: Settle
) -> None:
    """It opened empty, as if no step were set."""
    opened.change_elsewhere("storage", "--step", "0.05", "--bits", "12", "--signed")
    opened.do("storage")
    settle()
    assert (text(opened, "Step"), text(opened, "Bits")) == ("0.05", "12")
    opened.change_elsewhere("storage", "--bits", "14")
    assert text(opened, "Bits") == "14"
    opened.fill("Step", "0.1")
    opened.press("Return", opened.field("Step"))
    settle()
    storage = opened.state.ecu_format("curve").storage
    assert storage is not None
    assert (storage.step, storage.bits, storage.signed) == (0.1, 14, True)
