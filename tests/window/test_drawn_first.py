"""What Enter applies has been drawn: after another program changed the session, the new draft comes first."""

from collections.abc import Callable
from pathlib import Path

import pytest
from screen import Screen

from workbench.cli import main as command_line

Settle = Callable[[], None]


@pytest.fixture
def opened(screen: Screen, settle: Settle, car_files: Path, tmp_path: Path) -> Screen:
    """The window on a session of the curve with a drive."""
    screen.begin_from(car_files / "curve.csv", tmp_path / "car.session")
    screen.take([car_files / "curve_drive.csv"])
    settle()
    screen.leave_task()
    return screen


@pytest.mark.parametrize("name", ["correct", "scale"])
def test_a_draft_that_another_program_overtook_is_drawn_anew_before_enter_applies_it(
    opened: Screen, settle: Settle, name: str
) -> None:
    opened.do(name)
    settle()
    if name == "scale":
        opened.fill("By", "1.5")
    settle()
    first = opened.scene.draft
    assert first is not None
    assert command_line(["settings", opened.state.path, "--gate", "warm_c=85"]) == 0
    opened.go()  # refused: another program was first
    assert opened.head.id == 1
    opened.go()
    assert opened.head.id == 1, "a draft was applied that was never drawn"
    settle()
    settle()
    drawn = opened.scene.draft
    assert drawn is not None
    assert drawn is not first
    opened.go()
    settle()
    assert opened.head.id == 2
    assert opened.head.table.values.tolist() == drawn.revision.table.values.tolist()
