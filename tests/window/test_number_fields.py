"""A number out of its field's bounds is refused in the field's own unit: never cut to one that nobody typed."""

from collections.abc import Callable
from pathlib import Path

import pytest
from screen import Screen

Settle = Callable[[], None]


@pytest.fixture
def opened(screen: Screen, settle: Settle, car_files: Path, tmp_path: Path) -> Screen:
    """The window on a session of the curve with a drive."""
    screen.begin_from(car_files / "curve.csv", tmp_path / "car.session")
    screen.take([car_files / "curve_drive.csv"])
    settle()
    screen.leave_task()
    return screen


@pytest.mark.parametrize(
    ("field", "typed", "refused"),
    [
        ("Share", "500", "Share: 500 % is not between 0 % and 100 %."),
        ("Share", "-5", "Share: -5 % is not between 0 % and 100 %."),
        ("Limit", "0", "Limit: ±0 % is not between 0.1 % and 100 %."),
        ("Limit", "150", "Limit: ±150 % is not between 0.1 % and 100 %."),
        ("Share", "1e3", "Share: 1000 % is not between 0 % and 100 %."),
        ("Share", "5x0", "Share: 5x0 is not a number."),
    ],
)
def test_correct_refuses_what_is_out_of_bounds(
    opened: Screen, settle: Settle, field: str, typed: str, refused: str
) -> None:
    opened.do("correct")
    settle()
    settle()
    assert opened.scene.draft is not None
    opened.fill(field, typed)
    opened.press("Return", opened.field(field))
    settle()
    settle()
    said = [
        text.replace("\N{MINUS SIGN}", "-").replace("\u202f", " ").replace("\u2009", " ").replace("\u00a0", " ")
        for text in opened.texts
    ]
    assert any(refused in text.replace("\u200b", "") for text in said), said
    assert opened.head.id == 1, "Enter recorded something that was not asked for"
    assert opened.scene.draft is None, "a draft is shown that is not what stands in the field"
    assert not any("as a ratio" in text for text in said)
    opened.fill(field, "50")
    opened.press("Tab", opened.field(field))
    settle()
    settle()
    assert opened.scene.draft is not None
    assert not any(refused in text for text in opened.texts)


def test_a_form_refuses_it_too(opened: Screen, settle: Settle) -> None:
    opened.do("settings")
    settle()
    opened.fill("Part throttle", "500")
    opened.press("Return", opened.field("Part throttle"))
    settle()
    assert opened.state.settings.part_throttle_target == 0.05
    assert any("Part throttle: 500" in text for text in opened.texts)
    opened.fill("Part throttle", "2,5")
    opened.press("Return", opened.field("Part throttle"))
    settle()
    assert opened.state.settings.part_throttle_target == 0.025


def test_every_share_of_the_settings_is_a_percentage(opened: Screen, settle: Settle) -> None:
    opened.do("settings")
    settle()
    opened.fill("Wideband tolerance", "2")
    opened.press("Return", opened.field("Wideband tolerance"))
    settle()
    assert opened.state.settings.wideband_tolerance == 0.02
    assert opened.state.settings.part_throttle_target == 0.05


@pytest.mark.parametrize(
    ("typed", "held"), [("80,5", 80.5), ("-300", None), ("1e1", 10.0), ("8o", None), ("900", 900.0)]
)
def test_no_key_is_swallowed_in_a_limit(opened: Screen, settle: Settle, typed: str, held: float | None) -> None:
    before = opened.state.settings.gates.warm_c
    opened.do("gates")
    settle()
    opened.fill("Warm from, °C", typed)
    opened.press("Return", opened.field("Warm from, °C"))
    settle()
    assert opened.state.settings.gates.warm_c == (before if held is None else held)
    if held is None:
        assert any("Warm from, °C: " in text for text in opened.texts)


def test_a_decimal_comma_is_one_in_the_fuel(opened: Screen, settle: Settle) -> None:
    opened.do("settings")
    settle()
    opened.fill("Air-fuel ratio at lambda 1", "14,5")
    opened.press("Return", opened.field("Air-fuel ratio at lambda 1"))
    settle()
    assert opened.state.settings.stoichiometric_afr == 14.5
