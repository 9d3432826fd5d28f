"""Look-up as an ECU does it, against libraries and worked values."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.interpolate import RegularGridInterpolator

from workbench.maths.table.interpolation import FEW, PIECE, look_up, nearest, place, spread
from workbench.model.arrays import FloatArray
from workbench.model.table import Axis, Table

CURVE = Table("c", "v", "", (Axis("x", "", np.array([0.0, 10, 20, 40])),), np.array([1.0, 3, 2, 6]))
GRID = Table(
    "g",
    "v",
    "",
    (Axis("x", "", np.array([500.0, 1000, 2000])), Axis("y", "", np.array([20.0, 60, 100]))),
    np.array([[40.0, 50, 60], [60, 80, 85], [70, 95, 100]]),
)


def test_a_curve_reads_as_numpy_interp_does() -> None:
    """numpy 2.4.6 `interp`, computed here."""
    x = np.linspace(-10, 60, 1001)
    np.testing.assert_allclose(look_up(CURVE, x[:, None]), np.interp(x, [0, 10, 20, 40], [1, 3, 2, 6]), atol=1e-15)


@pytest.mark.parametrize(
    ("x", "value"), [(-5, 1), (0, 1), (5, 2), (10, 3), (12.5, 2.75), (20, 2), (30, 4), (40, 6), (99, 6)]
)
def test_worked_values_of_a_curve(x: float, value: float) -> None:
    """AUTOSAR SWS IFL (document 398): formulas from memory, values recomputed with numpy.interp."""
    assert look_up(CURVE, np.array([[x]]))[0] == value


@pytest.mark.parametrize(
    ("x", "y", "value"),
    [
        (750, 40, 57.5),
        (1500, 80, 90.0),
        (1250, 70, 85.0),
        (1000, 60, 80),
        (400, 10, 40),
        (2500, 120, 100),
        (750, 150, 72.5),
    ],
)
def test_worked_values_of_a_grid(x: float, y: float, value: float) -> None:
    """AUTOSAR SWS IFL map look-up (formula from memory), values checked with scipy's RegularGridInterpolator."""
    assert look_up(GRID, np.array([[x, y]]))[0] == pytest.approx(value, abs=1e-12)


def test_a_grid_reads_as_scipy_does_inside() -> None:
    """scipy RegularGridInterpolator, computed here."""
    inside = np.random.default_rng(3).uniform([500, 20], [2000, 100], (500, 2))
    reference = RegularGridInterpolator([axis.breakpoints for axis in GRID.axes], GRID.values)
    np.testing.assert_allclose(look_up(GRID, inside), reference(inside), rtol=1e-13)


@given(st.lists(st.tuples(st.floats(-1e4, 1e4), st.floats(-1e3, 1e3)), min_size=1, max_size=20))
def test_spreading_agrees_with_looking_up(points: list[tuple[float, float]]) -> None:
    position = np.array(points)
    nodes = spread(GRID.axes, position)
    np.testing.assert_allclose(nodes.weight.sum(axis=1), 1.0, rtol=1e-12)
    assert nodes.weight.min() >= 0
    mixed = np.sum(nodes.weight * GRID.values.ravel()[nodes.cell], axis=1)
    np.testing.assert_allclose(mixed, look_up(GRID, position), rtol=1e-12)


def test_a_single_breakpoint_is_read_everywhere() -> None:
    flat = Table("f", "v", "", (Axis("x", "", np.array([5.0])),), np.array([7.0]))
    assert look_up(flat, np.array([[1.0], [9.0]])).tolist() == [7.0, 7.0]


def test_the_nearest_breakpoint() -> None:
    assert nearest(CURVE.axes, np.array([[4.0], [6.0], [31.0], [-3.0]])).tolist() == [0, 1, 3, 0]


AXES = st.lists(st.floats(-1e4, 1e4), min_size=1, max_size=40, unique=True).map(np.sort)
CROWDED = st.lists(st.integers(0, 30), min_size=3, max_size=12, unique=True).map(lambda n: np.exp2(np.sort(n)))


@given(AXES | CROWDED, st.lists(st.floats(-2e4, 2e4), max_size=30))
def test_bins_find_the_interval_that_a_search_finds(points: FloatArray, more: list[float]) -> None:
    """numpy's searchsorted over the inner breakpoints, at them, a rounding step beside them, beyond the ends."""
    near = [points, np.nextafter(points, np.inf), np.nextafter(points, -np.inf), np.array([*more, -np.inf, np.inf])]
    x = np.tile(np.concatenate(near), 1 + FEW // 4)
    below, ratio = place(Axis("x", "", points), x)
    np.testing.assert_array_equal(below, np.searchsorted(points[1:-1], x, side="right"))
    if points.size > 1:
        expected = (x - points[below]) / (points[below + 1] - points[below])
        np.testing.assert_array_equal(ratio, np.clip(expected, 0, 1))


def test_a_missing_position_has_a_missing_ratio_among_many_as_among_few() -> None:
    for copies in (1, FEW + 1):
        assert np.isnan(place(CURVE.axes[0], np.full(copies, np.nan))[1]).all()
        assert np.isnan(look_up(GRID, np.tile([[600.0, np.nan]], (copies, 1)))).all()


@pytest.mark.parametrize("samples", [PIECE - 1, PIECE, 2 * PIECE + 3])
def test_pieces_make_no_difference(samples: int) -> None:
    position = np.random.default_rng(4).uniform([300, 0], [2300, 120], (samples, 2))
    some = np.r_[0:40, PIECE - 40 : min(PIECE + 40, samples), samples - 40 : samples]
    whole, part = spread(GRID.axes, position), spread(GRID.axes, position[some])
    np.testing.assert_array_equal(whole.cell[some], part.cell)
    np.testing.assert_array_equal(whole.weight[some], part.weight)
    np.testing.assert_array_equal(look_up(GRID, position)[some], look_up(GRID, position[some]))
    np.testing.assert_array_equal(nearest(GRID.axes, position)[some], nearest(GRID.axes, position[some]))
