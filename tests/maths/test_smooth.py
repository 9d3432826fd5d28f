"""Smoothing and rising sequences against published values and their own promises."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from workbench.errors import InputError
from workbench.maths.table.smooth import kept_rising, penalty_of, rising, smoothed
from workbench.model.table import Axis, Table

Y = np.array([1.0, 3, 2, 5, 4, 6])


def curve_of(values: np.ndarray, points: np.ndarray | None = None) -> Table:
    where = np.arange(values.size, dtype=float) if points is None else points
    return Table("t", "value", "", (Axis("x", "", where),), values)


def whittaker(values: np.ndarray, strong: float, weight: np.ndarray | None = None) -> np.ndarray:
    chosen = np.ones(values.size, dtype=bool)
    return smoothed(curve_of(values), chosen, strong / (1 + strong), weight=weight)


def test_published_values() -> None:
    """Whittaker's smoother (Eilers, Analytical Chemistry 75 (2003) 3631); values worked with numpy and agreeing with
    hpfilter of statsmodels 0.15.0 to 1e-8."""
    assert whittaker(Y, 1) == pytest.approx([1.25, 2.25, 3, 4, 4.75, 5.75], abs=1e-12)
    assert whittaker(Y, 10) == pytest.approx(
        [1.2813439, 2.18055176, 3.05162524, 3.94837476, 4.81944824, 5.7186561], abs=1e-8
    )
    line = [1.28571429, 2.17142857, 3.05714286, 3.94285714, 4.82857143, 5.71428571]
    assert smoothed(curve_of(Y), np.ones(6, dtype=bool), 1.0) == pytest.approx(line, abs=1e-8)
    weight = np.array([1.0, 1, 0, 1, 1, 1])
    expected = [1.53512988, 2.48011146, 3.37158005, 4.20801152, 4.98788173, 5.78886541]
    assert whittaker(Y, 10, weight) == pytest.approx(expected, abs=1e-8)


VALUES = arrays(np.float64, 8, elements=st.floats(-1000, 1000))
STEPS = arrays(np.float64, 8, elements=st.floats(0.2, 5))
STRENGTHS = st.floats(0, 0.999)


@given(VALUES, STRENGTHS)
def test_sum_and_first_moment_are_kept(values: np.ndarray, strength: float) -> None:
    drawn = smoothed(curve_of(values), np.ones(8, dtype=bool), strength)
    assert drawn.sum() == pytest.approx(values.sum(), abs=1e-6)
    assert (drawn * np.arange(8)).sum() == pytest.approx((values * np.arange(8)).sum(), abs=1e-5)


@given(st.floats(-100, 100), st.floats(-100, 100), STEPS, st.floats(0, 1))
def test_a_straight_line_stays(start: float, slope: float, steps: np.ndarray, strength: float) -> None:
    points = np.cumsum(steps)
    values = start + slope * points
    drawn = smoothed(curve_of(values, points), np.ones(8, dtype=bool), strength)
    assert drawn == pytest.approx(values, abs=1e-7 * (1 + np.abs(values).max()))


@given(st.floats(-100, 100), STEPS, st.floats(0, 1))
def test_a_constant_stays_to_the_last_bit(value: float, steps: np.ndarray, strength: float) -> None:
    values = np.full(8, value)
    table = curve_of(values, np.cumsum(steps))
    assert smoothed(table, np.ones(8, dtype=bool), strength).tolist() == values.tolist()


def test_many_cells_are_solved_as_few_are() -> None:
    chance = np.random.default_rng(5)
    values = chance.normal(size=230)
    drawn = smoothed(curve_of(values), np.ones(230, dtype=bool), 0.8)
    inner = np.zeros(230, dtype=bool)
    inner[:200] = True
    assert smoothed(curve_of(values), inner, 0.8)[:160] == pytest.approx(drawn[:160], abs=1e-6)


@given(VALUES, STRENGTHS, st.integers(0, 7), st.integers(0, 7))
def test_only_chosen_cells_that_are_free_move(values: np.ndarray, strength: float, one: int, other: int) -> None:
    chosen = np.zeros(8, dtype=bool)
    chosen[min(one, other) : max(one, other) + 1] = True
    held = chosen & (np.arange(8) == one)
    drawn = smoothed(curve_of(values), chosen, strength, held=held)
    still = ~chosen | held
    assert drawn[still].tolist() == values[still].tolist()


def test_stronger_is_straighter_and_a_grid_plane_stays() -> None:
    roughness = [np.abs(np.diff(whittaker(Y, strong), 2)).sum() for strong in (0, 0.1, 1, 10, 100)]
    assert roughness == sorted(roughness, reverse=True)
    rows, columns = np.array([0.0, 1, 3, 4]), np.array([0.0, 2, 3, 5, 9])
    plane = 3 + 2 * rows[:, None] - columns[None, :]
    table = Table("t", "v", "", (Axis("r", "", rows), Axis("c", "", columns)), plane)
    everywhere = np.ones(plane.shape, dtype=bool)
    assert smoothed(table, everywhere, 0.9) == pytest.approx(plane, abs=1e-9)
    bump = replace(table, values=plane + np.eye(4, 5))
    assert np.abs(smoothed(bump, everywhere, 0.9) - plane).max() < 0.6


def test_impossible_wishes_are_refused() -> None:
    for strength in (-0.1, 1.1, float("nan")):
        with pytest.raises(InputError, match="strength"):
            penalty_of(strength)
    with pytest.raises(InputError, match="Too few"):
        smoothed(curve_of(Y), np.ones(6, dtype=bool), 0.5, weight=np.zeros(6))


def test_pooled_values() -> None:
    """The example of isoreg in R's stats package, and a weighted one agreeing with scikit-learn 1.9.1."""
    assert rising(np.array([1.0, 0, 4, 3, 3, 5, 4, 2, 0])).tolist() == [0.5, 0.5, 3, 3, 3, 3, 3, 3, 3]
    weight = np.array([1.0, 3, 1, 2, 2, 1])
    assert rising(np.array([1.0, 2, 1, 4, 3, 6]), weight).tolist() == [1, 1.75, 1.75, 3.5, 3.5, 6]


@given(VALUES, arrays(np.float64, 8, elements=st.floats(0.01, 10)))
def test_rising_is_the_least_that_rises(values: np.ndarray, weight: np.ndarray) -> None:
    from scipy.optimize import isotonic_regression

    drawn = rising(values, weight)
    assert (np.diff(drawn) >= 0).all()
    assert rising(drawn, weight).tolist() == drawn.tolist()
    assert rising(np.sort(values), weight).tolist() == np.sort(values).tolist()
    assert (weight * drawn).sum() == pytest.approx((weight * values).sum(), abs=1e-6)
    assert drawn == pytest.approx(isotonic_regression(values, weights=weight).x, abs=1e-6)


@given(VALUES, arrays(np.bool_, 8))
def test_free_cells_rise_between_the_others(values: np.ndarray, free: np.ndarray) -> None:
    whole = np.sort(values)
    start = np.where(free, values, whole)
    drawn = kept_rising(start, free)
    assert (np.diff(drawn) >= 0).all()
    assert drawn[~free].tolist() == whole[~free].tolist()
