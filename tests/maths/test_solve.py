"""The solver against certified fits, published smoothers and robust estimates."""

from dataclasses import replace
from importlib.resources import files

import numpy as np
import pytest

from workbench.maths.solve.design import Design, Equations
from workbench.maths.solve.normal_equations import normal_sums
from workbench.maths.solve.reml import VARIES
from workbench.maths.solve.roughness import BUMP, cost_of_bump, penalty
from workbench.maths.solve.solve import huber_weights, solve, spread_of
from workbench.maths.table.interpolation import spread
from workbench.model.arrays import FloatArray
from workbench.model.table import Axis

BARE = 0.0


def equations(
    axes: tuple[Axis, ...], position: FloatArray, ratio: FloatArray, reading: FloatArray | None = None
) -> Equations:
    cells = int(np.prod([len(axis) for axis in axes]))
    ones = np.ones(ratio.size)
    design = Design(axes, np.ones(cells), position, ones if reading is None else reading)
    return Equations(design, ratio, ones, np.arange(ratio.size))


def norris() -> FloatArray:
    text = (files("scipy") / "stats/tests/data/nist_linregress/Norris.dat").read_text()
    return np.array([[float(word) for word in line.split()] for line in text.splitlines()[60:96]])


def solve_least_squares(problem: Equations) -> FloatArray:
    """Penalty off; a Huber limit that no residual reaches is had by weights of 1."""
    sums = normal_sums(problem, np.ones(problem.ratio.size))
    return 1 + np.linalg.solve(sums.square.dense(), sums.right)


def test_nist_norris_through_the_normal_sums() -> None:
    """NIST StRD Norris, certified B0 -0.262323073774029, B1 1.00211681802045; data in the scipy wheel."""
    y, x = norris().T
    axis = Axis("x", "", np.array([0.0, 1000.0]))
    low, high = solve_least_squares(equations((axis,), x[:, None], y))
    assert low == pytest.approx(-0.262323073774029, rel=1e-9)
    assert (high - low) / 1000 == pytest.approx(1.00211681802045, rel=1e-9)


@pytest.mark.parametrize(
    ("x", "y", "slope"),
    [
        (np.arange(60.0, 71), np.arange(130.0, 141), 2.07438016528926),
        (np.array([4.0, 5, 6]), np.array([3.0, 4, 4]), 0.727272727272727),
    ],
)
def test_nist_lines_through_the_origin(x: FloatArray, y: FloatArray, slope: float) -> None:
    """NIST StRD NoInt1 and NoInt2, certified slopes."""
    alone = Axis("x", "", np.array([0.0]))
    found = solve_least_squares(equations((alone,), x[:, None], y, reading=1 / x))
    assert found[0] == pytest.approx(slope, rel=1e-9)


def test_hat_basis_recovers_what_made_the_data() -> None:
    """Linear algebra: bilinear least squares on noiseless data is exact; averages of nearest cells are not."""
    axes = (Axis("x", "", np.array([0.0, 1])), Axis("y", "", np.array([0.0, 1])))
    position = np.random.default_rng(1).uniform(0, 1, (400, 2))
    nodes = spread(axes, position)
    truth = np.array([1.02, 0.97, 1.05, 1.00])
    ratio = np.sum(nodes.weight * truth[nodes.cell], axis=1)
    roughness, free = penalty(axes)
    found = solve(equations(axes, position, ratio), roughness, free, smoothing=BARE)
    np.testing.assert_allclose(found.multipliers, truth, atol=1e-9)
    nearest = np.argmax(nodes.weight, axis=1)
    means = [ratio[nodes.cell[np.arange(400), nearest] == k].mean() for k in range(4)]
    assert np.max(np.abs(means - truth)) > 0.004


def test_the_penalty_is_whittakers_on_even_breakpoints() -> None:
    """Eilers 2003 (Whittaker smoother, d = 2): y = 1 3 2 5 4 6, lambda 1 -> 1.25 2.25 3 4 4.75 5.75."""
    y = np.array([1.0, 3, 2, 5, 4, 6])
    axis = Axis("x", "", np.arange(-1.0, 5.0))
    roughness = penalty((axis,))[0].dense()
    scale = np.eye(6)[:4] * 0
    for k in range(4):
        scale[k, k : k + 3] = (1, -2, 1)
    plain = scale.T @ scale
    factor = plain[0, 0] / roughness[0, 0]
    np.testing.assert_allclose(roughness * factor, plain, atol=1e-12)
    for strength, smooth in (
        (1, [1.25, 2.25, 3, 4, 4.75, 5.75]),
        (10, [1.2813439, 2.18055176, 3.05162524, 3.94837476, 4.81944824, 5.7186561]),
    ):
        found = np.linalg.solve(np.eye(6) + strength * roughness * factor, y)
        np.testing.assert_allclose(found, smooth, atol=1e-7)


def test_a_straight_line_over_the_logarithm_costs_nothing() -> None:
    points = np.array([1500.0, 1700, 2100, 3000, 4700, 9000])
    whole, free = penalty((Axis("x", "Hz", points),))
    roughness = whole.dense()
    line = 0.9 + 0.05 * np.log(points)
    assert line @ roughness @ line == pytest.approx(0, abs=1e-10)
    assert free == 6 - np.linalg.matrix_rank(roughness)


def test_huber_on_the_chem_data() -> None:
    """Analytical Methods Committee 1989 'chem' data; MASS::huber (k 1.5, fixed scale) gives 3.206724."""
    text = "2.2 2.2 2.4 2.4 2.5 2.7 2.8 2.9 3.03 3.03 3.1 3.37 3.4 3.4 3.4 3.5 3.6 3.7 3.7 3.7 3.7 3.77 5.28 28.95"
    data = np.array([float(word) for word in text.split()])
    scale, middle = 0.5263238, float(np.median(data))
    for _ in range(100):
        weight = huber_weights(data - middle, scale * 1.5 / 1.345)
        middle = float(weight @ data / weight.sum())
    assert middle == pytest.approx(3.2067238, abs=1e-6)


def test_the_weighted_median_is_the_inverted_distribution_function() -> None:
    """numpy 2.4.6 quantile(method='inverted_cdf', weights=...): 10 20 30 40 with weights 1 1 1 5 -> 40."""
    values, weight = np.array([10.0, 20, 30, 40]), np.array([1.0, 1, 1, 5])
    expected = np.quantile(values, 0.5, method="inverted_cdf", weights=weight)
    assert spread_of(values, weight) == pytest.approx(1.4826 * float(expected))
    assert expected == 40


def test_outliers_move_the_result_little_and_the_interval_covers() -> None:
    random = np.random.default_rng(5)
    axis = Axis("x", "Hz", np.geomspace(1500, 11000, 30))
    truth = 1 + 0.08 * np.sin(np.linspace(0, 4, 30))
    position = np.exp(random.uniform(np.log(1500), np.log(11000), 6000))
    nodes = spread((axis,), position[:, None])
    ratio = np.sum(nodes.weight * truth[nodes.cell], axis=1) + random.normal(0, 0.01, 6000)
    ratio[::50] += 0.3
    roughness, free = penalty((axis,))
    found = solve(equations((axis,), position[:, None], ratio), roughness, free)
    assert np.max(np.abs(found.multipliers - truth)) < 0.004
    inside = np.abs(found.multipliers - truth) < 1.96 * found.deviation
    assert inside.mean() > 0.85
    assert found.sigma == pytest.approx(0.01, rel=0.1)


def test_a_local_bump_survives_where_data_is_rich() -> None:
    random = np.random.default_rng(6)
    axis = Axis("x", "Hz", np.geomspace(1500, 11000, 40))
    truth = np.full(40, 0.9)
    truth[20:22] += 0.03
    position = np.exp(random.uniform(np.log(1500), np.log(11000), 16000))
    nodes = spread((axis,), position[:, None])
    ratio = np.sum(nodes.weight * truth[nodes.cell], axis=1) + random.normal(0, 0.01, position.size)
    roughness, free = penalty((axis,))
    found = solve(equations((axis,), position[:, None], ratio), roughness, free)
    assert np.max(np.abs(found.multipliers - truth)[18:24]) < 0.007


@pytest.mark.parametrize("sizes", [(30,), (12, 9)])
def test_a_bump_costs_what_the_penalty_makes_of_it(sizes: tuple[int, ...]) -> None:
    axes = tuple(Axis("x", "", np.linspace(1.0, 2.0, size)) for size in sizes)
    roughness, _ = penalty(axes)
    place = np.stack(np.meshgrid(*(np.linspace(0, 1, size) for size in sizes), indexing="ij"), axis=-1)
    place = place.reshape(-1, len(sizes))
    costs = []
    for centre in place[:: max(1, len(place) // 100)]:
        wide = [max(0.05, 1 / (size - 1)) for size in sizes]  # no narrower than its breakpoints are apart
        bump = BUMP * np.exp(-0.5 * np.sum(((place - centre) / wide) ** 2, axis=1))
        costs.append(bump @ roughness.dense() @ bump)
    assert cost_of_bump(axes, roughness) == pytest.approx(np.mean(costs), rel=1e-9)


def test_where_readings_ask_for_no_bend_a_bump_stays_possible() -> None:
    """The likelihood alone takes a line for certain, and each cell for as well known as all of them together."""
    random = np.random.default_rng(2)
    axis = Axis("x", "Hz", np.geomspace(1500, 11000, 30))
    position = np.repeat(axis.breakpoints, 40)
    roughness, free = penalty((axis,))
    told = equations((axis,), position[:, None], 0.95 + random.normal(0, 0.03, position.size))
    told = replace(told, unit=0.03)
    alone, expecting = (solve(told, roughness, free, bump=bump) for bump in (0.0, cost_of_bump((axis,), roughness)))
    usual = 0.03**2 / cost_of_bump((axis,), roughness)
    assert alone.smoothing > usual * np.exp(3 * VARIES)
    assert expecting.smoothing < usual * np.exp(3 * VARIES)
    assert np.median(expecting.deviation / alone.deviation) > 1.2
    assert np.max(np.abs(expecting.multipliers - 0.95)) < 3 * np.max(expecting.deviation)


def test_cells_without_data_continue_their_neighbours() -> None:
    axis = Axis("x", "", np.arange(10.0))
    position = np.repeat(np.arange(5.0), 40)
    ratio = 1.1 + np.random.default_rng(7).normal(0, 0.002, position.size)
    roughness, free = penalty((axis,))
    found = solve(equations((axis,), position[:, None], ratio), roughness, free)
    np.testing.assert_allclose(found.multipliers, 1.1, atol=0.02)
    assert found.deviation[9] > 3 * found.deviation[2]
