import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from workbench.maths.signals.sample_hold import held_notes, renewal_period, renewals
from workbench.model.arrays import BoolArray, FloatArray
from workbench.model.log import Channel, Log
from workbench.model.packing import Column

ROWS = 3000
CLOCK = np.arange(ROWS) * 0.05


def quantised(values: FloatArray, step: float) -> FloatArray:
    return np.rint(values / step) * step


def engine_speed(seed: int = 1, rows: int = ROWS) -> FloatArray:
    walk = np.cumsum(np.random.default_rng(seed).normal(0, 8, rows))
    return quantised(2000 + walk - np.linspace(0, walk[-1], rows), 0.25)


def held(values: FloatArray, renewed: BoolArray) -> FloatArray:
    """Repeat a value until the next row on which it is renewed."""
    rows = np.arange(values.size)
    return values[np.maximum.accumulate(np.where(renewed, rows, 0))]


def every(rows: int, seed: int) -> BoolArray:
    """Renew every `rows` or `rows` + 1 rows, as a logger that asks in turn does."""
    due = np.cumsum(np.random.default_rng(seed).integers(rows, rows + 2, ROWS))
    marks = np.zeros(ROWS, dtype=bool)
    marks[0] = True
    marks[due[due < ROWS]] = True
    return marks


@given(st.integers(0, 10_000), st.integers(2, 40))
def test_the_renewals_of_a_held_channel_are_found(seed: int, rows: int) -> None:
    marks = every(rows, seed)
    values = held(engine_speed(seed), marks)
    assert renewal_period(values, CLOCK) == pytest.approx(0.05 * (rows + 0.5), rel=0.1)
    assert np.mean(renewals(values, CLOCK)[marks]) > 0.9
    assert np.sum(renewals(values, CLOCK)) == pytest.approx(np.sum(marks), rel=0.06)


def test_a_renewal_to_the_same_number_counts_once_a_period() -> None:
    values = held(engine_speed(3), every(4, 3))
    values[1000:1400] = values[1000]
    found = renewals(values, CLOCK)
    assert np.sum(found[1000:1400]) == pytest.approx(400 / 4.5, abs=4)


@pytest.mark.parametrize("step", [0.25, 1, 5, 20, 100])
def test_a_channel_read_at_every_row_is_not_held_however_coarse(step: float) -> None:
    wave = 2000 + 800 * np.sin(CLOCK / 7) + 60 * np.sin(CLOCK * 3.1)
    assert np.isnan(renewal_period(quantised(wave, step), CLOCK))
    assert renewals(quantised(wave, step), CLOCK).all()


@pytest.mark.parametrize("seed", range(5))
def test_a_swinging_trim_is_not_held(seed: int) -> None:
    """A two-point control that jumps at each crossing and ramps between; steps of 0.78125 % as in SAE J1979."""
    draw = np.random.default_rng(seed)
    trim, direction, wait, out = 0.0, 1.0, 0.0, np.empty(ROWS)
    for row in range(ROWS):
        wait -= 0.05
        if wait <= 0:
            direction, wait = -direction, draw.normal(0.5, 0.1)
            trim += 1.6 * direction
        trim += 0.05 * direction
        out[row] = trim
    assert np.isnan(renewal_period(quantised(out, 0.78125), CLOCK))


def test_a_slow_climb_is_not_held() -> None:
    assert np.isnan(renewal_period(quantised(20 + CLOCK / 2, 1), CLOCK))


def test_missing_values_are_no_renewals() -> None:
    values = held(engine_speed(2), every(5, 2))
    values[::7] = np.nan
    found = renewals(values, CLOCK)
    assert not found[::7].any()
    assert np.isfinite(renewal_period(values, CLOCK))


@pytest.mark.parametrize("values", [[], [1.0], [1.0, 1.0], [np.nan, np.nan]])
def test_little_or_nothing_is_not_held(values: list[float]) -> None:
    array, clock = np.array(values), np.arange(len(values)) * 1.0
    assert np.isnan(renewal_period(array, clock))
    assert renewals(array, clock).tolist() == np.isfinite(array).tolist()


def test_the_log_says_what_it_holds() -> None:
    channel = Channel("RPM", "rpm", Column(held(engine_speed(1), every(9, 1))))
    plain = Channel("MAP", "kPa", Column(engine_speed(5) / 30))
    log = Log("a.csv", "", Column(CLOCK), (channel, plain), {"engine_speed": "RPM", "manifold_pressure": "MAP"})
    (note,) = held_notes(log)
    assert "RPM" in note
    assert "MAP" not in note
    assert "0.48 s" in note
    assert held_notes(Log("a.csv", "", Column(CLOCK), (plain,), {"manifold_pressure": "MAP"})) == ()


def test_gaps_of_two_kinds_with_nothing_between_them_have_no_period() -> None:
    """Their mean is near no gap at all."""
    gaps = np.random.default_rng(1).permutation(np.repeat([2, 30, 60], [27, 3, 250]))
    marks = np.zeros(int(gaps.sum()) + 1, dtype=bool)
    marks[np.concatenate([[0], np.cumsum(gaps)])] = True
    values = np.cumsum(np.random.default_rng(2).normal(0, 9, marks.size))
    assert np.isnan(renewal_period(held(values, marks), np.arange(marks.size) * 0.05))
