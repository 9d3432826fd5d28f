"""Colours, contrast, numbers and entries: what can be checked of a look without eyes."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from PySide6.QtCore import QLocale
from PySide6.QtWidgets import QLabel, QWidget
from pytestqt.qtbot import QtBot

from workbench.errors import InputError
from workbench.model.arrays import FloatArray
from workbench.window.kit.controls import Pairs, choice
from workbench.window.kit.theme import (
    DARK,
    LIGHT,
    SUN,
    THEMES,
    Theme,
    amount_ramp,
    change_ramp,
    contrast,
    lab,
    linear,
    rgb,
)
from workbench.window.table.cell_entry import read_entry
from workbench.window.words.wording import decimals_for, number, percent, read_number, share

WRITTEN_ON = (("ink", "card"), ("ink", "ground"), ("soft", "card"), ("soft", "ground"), ("ink", "wash"),
              ("soft", "wash"), ("accent", "card"), ("attention", "card"), ("accent", "wash"),
              ("attention", "wash"), ("on_accent", "accent"),
              ("on_attention", "attention"), ("ink", "above"), ("ink", "below"), ("ink", "field"))  # fmt: skip

# Viénot, Brettel and Mollon 1999, "Digital video colourmaps for checking the legibility of displays by dichromats":
# linear RGB of a screen as deuteranopes and protanopes see it (matrices as widely published; from memory).
SEEN_BY = {
    "protanope": np.array([[0.11238, 0.88762, 0.0], [0.11238, 0.88762, 0.0], [0.00401, -0.00401, 1.0]]),
    "deuteranope": np.array([[0.29275, 0.70725, 0.0], [0.29275, 0.70725, 0.0], [-0.02234, 0.02234, 1.0]]),
}


@pytest.mark.parametrize("theme", THEMES.values(), ids=list(THEMES))
def test_text_stands_out_as_wcag_asks(theme: Theme) -> None:
    """WCAG 2.1 success criterion 1.4.3: 4.5:1; for direct sun 1.4.6: 7:1. Control edges 1.4.11: 3:1."""
    least = 7.0 if theme is SUN else 4.5
    for ink, ground in WRITTEN_ON:
        assert contrast(getattr(theme, ink), getattr(theme, ground)) >= least, (ink, ground)
    assert contrast(theme.edge, theme.card) >= 3.0


def test_contrast_of_black_on_white_is_21() -> None:
    """WCAG 2.1: the largest ratio there is."""
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)
    assert contrast("#777777", "#ffffff") == pytest.approx(4.48, abs=0.01)  # the well-known near miss


def test_oklab_of_white_is_1_0_0() -> None:
    """Ottosson 2020: white has lightness 1 and no colour."""
    np.testing.assert_allclose(lab(np.ones(3)), [1, 0, 0], atol=1e-4)


def seen(colours: FloatArray, matrix: FloatArray) -> FloatArray:
    """Give OKLab of sRGB colours as someone with that kind of sight sees them."""
    light = np.clip(linear(colours) @ matrix.T, 0, 1)
    back = np.where(light <= 0.0031308, 12.92 * light, 1.055 * light ** (1 / 2.4) - 0.055)
    return lab(back)


@pytest.mark.parametrize("theme", THEMES.values(), ids=list(THEMES))
def test_steps_of_colour_maps_look_even(theme: Theme) -> None:
    for ramp in (amount_ramp(theme), change_ramp(theme)[:129], change_ramp(theme)[128:]):
        steps = np.linalg.norm(np.diff(lab(ramp), axis=0), axis=1)
        assert steps.max() < 1.35 * np.median(steps)
        assert steps.min() > 0.65 * np.median(steps)


@pytest.mark.parametrize("kind", SEEN_BY)
@pytest.mark.parametrize("theme", THEMES.values(), ids=list(THEMES))
def test_colour_maps_are_told_apart_by_colour_blind_eyes(theme: Theme, kind: str) -> None:
    heat = seen(amount_ramp(theme), SEEN_BY[kind])
    assert (np.diff(heat[:, 0]) * (1 if theme.dark else -1) > 0).all()  # lightness alone tells the order
    change = seen(change_ramp(theme), SEEN_BY[kind])
    assert np.linalg.norm(change[0] - change[-1]) > 0.05  # raised and lowered cells do not look alike


def test_themes_differ() -> None:
    assert {LIGHT.ground, DARK.ground, SUN.ground} == {theme.ground for theme in THEMES.values()}
    assert rgb("#ff8000").tolist() == pytest.approx([1, 128 / 255, 0])


@pytest.mark.parametrize(
    ("text", "word", "amount"),
    [
        ("12.5", "set", 12.5),
        ("=12.5", "set", 12.5),
        ("= -4", "set", -4),
        ("+3%", "scale", 1.03),
        ("-3 %", "scale", 0.97),
        ("−3 %", "scale", 0.97),
        ("*0.97", "scale", 0.97),
        ("×0.97", "scale", 0.97),
        ("x 0.97", "scale", 0.97),
        ("/1.25", "scale", 0.8),
        ("*98%", "scale", 0.98),
        ("+0.4", "add", 0.4),
        ("-0.4", "add", -0.4),
    ],
)
def test_an_entry_says_what_it_means(text: str, word: str, amount: float) -> None:
    entry = read_entry(text)
    assert (entry.word, entry.amount) == (word, pytest.approx(amount))
    assert entry.meaning


def test_a_note_follows_a_semicolon() -> None:
    assert read_entry("*0.97 ; lean at cruise").note == "lean at cruise"


@pytest.mark.parametrize("text", ["", "abc", "1 2 3", "+", "nan", "inf", "/0", "12,5,0"])
def test_what_is_no_entry_is_refused_with_the_notation(text: str) -> None:
    with pytest.raises(InputError) as refusal:
        read_entry(text)
    assert refusal.value.hint


@given(st.floats(allow_nan=False, allow_infinity=False, min_value=-1e6, max_value=1e6))
def test_a_number_written_is_read_again(value: float) -> None:
    assert read_number(number(value, 4)) == pytest.approx(value, abs=5.1e-5)


def test_numbers_follow_the_locale() -> None:
    before = QLocale()
    QLocale.setDefault(QLocale(QLocale.Language.German))
    try:
        assert number(1234.5, 1) == "1.234,5"
        assert read_number("1.234,5") == 1234.5
        assert read_number("0.97") == 0.97  # a point that is no grouping is a decimal sign for everyone
    finally:
        QLocale.setDefault(before)


def test_figures_are_never_flattered() -> None:
    assert share(0.9999).startswith("99")
    assert share(1.0).startswith("100")
    assert percent(float("nan")) == "–"
    assert number(-0.0001, 2) == "0.00"
    assert decimals_for(np.array([2.13, 9.2, 290.0])) == 2
    assert decimals_for(np.zeros(3)) == 2


def test_a_list_shows_what_stands_in_place_of_a_choice(qtbot: QtBot) -> None:
    place = QWidget()
    qtbot.addWidget(place)
    box = choice("Driven on", [("1  Imported", 1)], place)
    box.resize(200, 32)
    box.setCurrentIndex(-1)
    empty = box.grab().toImage()
    box.setPlaceholderText("not brought in then")
    assert box.grab().toImage() != empty


@pytest.mark.parametrize(("points", "above"), [(10, False), (18, True)])
def test_fields_stand_under_their_names_where_they_would_be_cut(points: int, above: bool, qtbot: QtBot) -> None:
    place = QWidget()
    qtbot.addWidget(place)
    pairs = Pairs()
    place.setLayout(pairs)
    caption, field = QLabel("Undriven cells", place), choice("Undriven cells", [("continue the correction", 1)], place)
    pairs.add(caption, field)
    font = place.font()
    font.setPointSize(points)
    place.setFont(font)
    place.resize(380, 200)
    pairs.fit(place.width(), place.fontMetrics().height())
    pairs.activate()
    assert (field.y() > caption.y() + 2 and field.x() <= caption.x() + 2) == above
