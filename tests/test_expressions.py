"""Expressions over channels: what is let through, what they give, and that holes stay holes."""

import numpy as np
import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from workbench.errors import InputError
from workbench.expressions import DEEPEST, Numbers, read_expression
from workbench.files.vocabulary.expression_units import brought_to, unit_of

TIME = np.arange(0.0, 10.0, 0.1)
RAMP, WAVE = 2.0 * TIME + 1.0, np.sin(TIME)
CHANNELS = {"a": RAMP, "wave": WAVE, "two words": 3.0 + 0.0 * TIME}
UNITS = {
    "rpm": "rpm", "air": "g/s", "press": "kPa", "trim": "%", "meas": "lambda", "cmd": "lambda", "temp": "degC",
    "air temp": "degC", "bare": "", "odd": "mg/str",
}  # fmt: skip


def value(text: str, channels: dict[str, np.ndarray] = CHANNELS) -> np.ndarray:
    return read_expression(text).worked_out(Numbers(channels, TIME))


def test_it_reckons_as_arithmetic_does() -> None:
    assert np.allclose(value("a * 2 - 'two words' / 3"), RAMP * 2 - 1)
    assert np.allclose(value("a × 2 − 'two words' ÷ 3"), RAMP * 2 - 1)
    assert np.allclose(value("-a + +a + 1 + 0 * a"), 1.0)
    assert np.allclose(value("max(a, 5, 'two words')"), np.maximum(RAMP, 5))
    assert np.allclose(value("min(a, 5)"), np.minimum(RAMP, 5))
    assert np.allclose(value("abs(wave) + sqrt(a)"), np.abs(WAVE) + np.sqrt(RAMP))
    assert np.allclose(value("where(a > 5 and not wave > 0 or a == 1, a, 0)"),
                       np.where((RAMP > 5) & ~(WAVE > 0) | (RAMP == 1), RAMP, 0))  # fmt: skip
    assert np.allclose(value("where(1 < a <= 5, 1, 0)"), (RAMP > 1) & (RAMP <= 5))
    assert np.allclose(value("kelvin(a)"), RAMP + 273.15)


def test_time_counts_in_seconds() -> None:
    assert np.allclose(value("derivative(a)"), 2.0)
    assert np.allclose(value("delay(a, 0.5)")[5:], RAMP[5:] - 1.0)
    assert np.isnan(value("delay(a, 0.5)")[:5]).all()
    assert np.allclose(value("delay(a, -0.5)")[:-5], RAMP[:-5] + 1.0)
    assert np.allclose(value("mean(a, 1)")[10:-10], RAMP[10:-10])
    assert np.std(value("mean(wave, 6.283)")[35:-35]) < 0.05 * np.std(WAVE)


@given(st.sets(st.integers(0, TIME.size - 1)), st.sampled_from(("a + wave", "max(a, wave)", "where(a > 5, wave, 1)",
       "a / wave", "not a > 3", "mean(a, 1) * wave")))  # fmt: skip
def test_what_is_not_known_makes_nothing_known(holes: set[int], text: str) -> None:
    punched = RAMP.copy()
    punched[list(holes)] = np.nan
    found = value(text, {"a": punched, "wave": WAVE})
    assert np.isnan(found[list(holes)]).all()
    assert not np.isinf(found).any()


@pytest.mark.parametrize(
    "text",
    ["", "1 + 2", "a +", "a b", "a ** 2", "a.real", "a[0]", "lambda: a", "[a]", "f'{a}'", "open('a')", "a if a else a",
     "mean(a)", "mean(a, a)", "mean(a, 1e9)", "min(a)", "where(a, a)", "delay(a, True)", "(a := 1)", "a // 2", "a & a",
     "max(*a, a)", "min(a, b=1)", "a == None", "True + a", "a\x00", "1e999 + a", "a" * 2000],
)  # fmt: skip
def test_nothing_else_is_let_through(text: str) -> None:
    with pytest.raises(InputError):
        read_expression(text)


def test_nesting_ends() -> None:
    read_expression("abs(" * (DEEPEST - 1) + "a" + ")" * (DEEPEST - 1))
    for deep in (DEEPEST, 190):
        with pytest.raises(InputError):
            read_expression("abs(" * deep + "a" + ")" * deep)
    with pytest.raises(InputError):
        read_expression("(" * 480 + "a" + ")" * 480)


@example("_<min")  # a function's name that is not called is a channel's
@given(st.text("abz01 ()+-*/<>=,.'\"andorwhemixt_[]{}:\\\n", max_size=60))
def test_any_text_is_read_or_refused(text: str) -> None:
    try:
        found = read_expression(text)
    except InputError:
        return
    value(text, dict.fromkeys(found.names, RAMP))


@pytest.mark.parametrize(
    ("text", "unit"),
    [
        ("rpm / 1000", "rpm"), ("rpm > 3000", ""), ("meas / cmd", ""), ("meas / cmd - 1", ""),
        ("meas * 1.02", "lambda"),
        ("meas - cmd", "lambda"), ("air * (1 + trim / 100)", "g/s"), ("trim + 2", "%"), ("trim / 100", ""),
        ("temp - 'air temp'", "degC"), ("where(rpm > 3000, air, 0)", "g/s"), ("mean(press, 2)", "kPa"),
        ("derivative(press)", "kPa/s"), ("kelvin(temp) / kelvin('air temp')", ""), ("max(press, 100)", "kPa"),
        ("odd * 2", "mg/str"), ("sqrt(bare)", ""), ("abs(-air)", "g/s"), ("derivative(temp)", "K/s"),
    ],
)  # fmt: skip
def test_units_follow(text: str, unit: str) -> None:
    assert unit_of(read_expression(text), UNITS) == unit


@pytest.mark.parametrize(
    "text",
    ["rpm + air", "press > temp", "air * trim", "temp * air", "bare + press", "trim - meas", "odd * air", "kelvin(rpm)",
     "where(rpm > 1, air, press)", "min(rpm, press)"],
)  # fmt: skip
def test_what_does_not_go_together_is_refused(text: str) -> None:
    with pytest.raises(InputError):
        unit_of(read_expression(text), UNITS)


def test_a_stated_unit_is_brought_to_its_base() -> None:
    assert brought_to("", "AFR", 14.7) == ("lambda", pytest.approx(1 / 14.7), 0.0)
    assert brought_to("", "degF", 14.7) == ("degC", pytest.approx(5 / 9), pytest.approx(-32 * 5 / 9))
    assert brought_to("kPa", "bar", 14.7) == ("kPa", 1.0, 0.0)
    unit = unit_of(read_expression("air * 1"), UNITS)
    assert brought_to(unit, "kg/h", 14.7) == ("g/s", 1.0, 0.0)
    turned = unit_of(read_expression("press / bare"), UNITS)
    assert brought_to(turned, "psi", 14.7)[0] == "kPa"
    for unit, stated in (("kPa", "rpm"), ("kPa", "%"), ("", "phi"), ("", "cubits"), ("degC", "kPa")):
        with pytest.raises(InputError):
            brought_to(unit, stated, 14.7)
