"""Laws of the sums behind the solve: pieces change nothing, and the band says what all entries say."""

import tracemalloc
from collections.abc import Callable, Iterator
from dataclasses import replace
from importlib import import_module

import numpy as np
import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from threadpoolctl import threadpool_limits

from workbench.maths.solve.arrow_matrix import ArrowMatrix, combined, nearby, regular
from workbench.maths.solve.design import Design, Equations, NuisanceEffect, Shifts
from workbench.maths.solve.factoring import factored
from workbench.maths.solve.normal_equations import node_sums, normal_sums
from workbench.maths.solve.reml import most_likely_weight
from workbench.maths.solve.roughness import first_differences, penalty, second_differences, stretch
from workbench.maths.solve.solve import huber_weights, solve, spread_of, variance_inflation
from workbench.maths.table.interpolation import PIECE, spread, spread_in_pieces
from workbench.model.arrays import FloatArray
from workbench.model.table import Axis


@pytest.fixture(autouse=True, scope="module")
def one_thread() -> Iterator[None]:
    """As the solve does: threads of the linear algebra wait for each other on matrices of this size."""
    import_module("scipy.linalg")  # what is not loaded yet cannot be limited
    with threadpool_limits(limits=1):
        yield


SHAPES = st.lists(st.integers(1, 7), min_size=1, max_size=2).map(tuple)
SEEDS = st.integers(0, 2**32 - 1)


def axes_of(shape: tuple[int, ...]) -> tuple[Axis, ...]:
    return tuple(Axis("x", "", 10 + np.arange(n) ** 1.3) for n in shape)


def made_up(shape: tuple[int, ...], samples: int, effects: int, seed: int) -> Equations:
    """Samples of every kind: beyond the ends, on breakpoints, with weights and effects; all invented."""
    random = np.random.default_rng(seed)
    axes = axes_of(shape)
    ends = np.array([axis.breakpoints[[0, -1]] for axis in axes])
    position = random.uniform(ends[:, 0] - 1, ends[:, 1] + 1, (samples, len(axes)))
    position[::7] = np.rint(position[::7])
    values, reading = random.uniform(5, 9, int(np.prod(shape))), random.uniform(5, 9, samples)
    design = Design(axes, values, position, reading)
    further = tuple(
        NuisanceEffect(random.normal(0, 0.3, samples)[k::3][: samples - k], k, 0.01 if k % 2 else np.inf)
        for k in range(effects)
    )
    ratio = design.nominal() * (1 + 0.05 * np.sin(position[:, 0])) + random.normal(0, 0.01, samples)
    groups = seed % 4
    shifts = Shifts(random.integers(0, groups + 1, samples), random.uniform(0.5, 2, samples), np.full(groups, 0.01))
    blocks = np.arange(samples) // 9
    return Equations(design, ratio, random.uniform(0.1, 1, samples), blocks, further, shifts if groups else None)


def rows_of(equations: Equations) -> FloatArray:
    """All coefficients written out, shape (samples, cells + effects)."""
    design = equations.design
    nodes = spread(design.axes, design.position)
    whole = np.zeros((design.samples, design.values.size))
    share = nodes.weight * design.values[nodes.cell] / design.reading[:, None]
    np.add.at(whole, (np.arange(design.samples)[:, None], nodes.cell), share)
    moved = np.zeros((len(equations.effects), design.samples))
    for column, effect in zip(moved, equations.effects, strict=True):
        column[effect.first : effect.first + effect.moved.size] = effect.moved
    if equations.shifts is None:
        return np.concatenate([whole, moved.T], axis=1)
    groups = np.arange(equations.shifts.count)
    shifted = (equations.shifts.group[:, None] == groups) * equations.shifts.share[:, None]
    return np.concatenate([whole, moved.T, shifted], axis=1)


@given(SHAPES, st.integers(1, 60), st.integers(0, 2), SEEDS)
def test_sums_are_those_of_the_whole_matrix(shape: tuple[int, ...], samples: int, effects: int, seed: int) -> None:
    """numpy's matrix products, computed here."""
    equations = made_up(shape, samples, effects, seed)
    whole, robust = rows_of(equations), np.random.default_rng(seed).uniform(0, 1, samples)
    sums = normal_sums(equations, robust)
    weighted = (equations.weight * robust)[:, None] * whole
    y = equations.ratio - whole[:, : equations.design.values.size].sum(axis=1)
    np.testing.assert_allclose(sums.square.dense(), weighted.T @ whole, atol=1e-11)
    np.testing.assert_allclose(sums.right, weighted.T @ y, atol=1e-11)
    np.testing.assert_allclose(sums.total, (equations.weight * robust * y) @ y, atol=1e-12)
    cells = equations.design.values.size
    assert sums.weight == pytest.approx(weighted[:, :cells].sum(), abs=1e-11)
    columns = [equations.weight * robust, equations.ratio]
    by_cell = node_sums(equations.design, lambda rows: [column[rows] for column in columns], 2)
    np.testing.assert_allclose(by_cell, [column @ whole[:, :cells] for column in columns], atol=1e-11)
    multipliers = np.random.default_rng(seed).uniform(0.8, 1.2, equations.design.values.size)
    expected = whole[:, : multipliers.size] @ multipliers
    np.testing.assert_allclose(equations.design.predicted(multipliers), expected, rtol=1e-13)
    np.testing.assert_allclose(equations.design.nominal(), whole[:, : multipliers.size].sum(axis=1), rtol=1e-13)


@given(SHAPES, st.integers(1, 300), st.integers(0, 2), st.integers(1, 301), SEEDS)
def test_pieces_of_any_size_make_the_same_sums(
    shape: tuple[int, ...], samples: int, effects: int, piece: int, seed: int
) -> None:
    equations = made_up(shape, samples, effects, seed)
    once, often = (normal_sums(equations, np.ones(samples), size) for size in (samples, piece))
    np.testing.assert_allclose(often.square.dense(), once.square.dense(), rtol=1e-12, atol=1e-12)
    np.testing.assert_allclose(often.right, once.right, rtol=1e-12, atol=1e-12)
    cells = often.square.cells
    np.testing.assert_array_equal(often.square.near, once.square.near)
    np.testing.assert_array_equal(often.square.border, once.square.border)
    np.testing.assert_array_equal(often.right[:cells], once.right[:cells])
    assert often.weight == pytest.approx(once.weight, rel=1e-12)
    assert often.total == pytest.approx(once.total, rel=1e-12)


def test_a_solve_does_not_ask_in_which_piece_a_sample_lies() -> None:
    samples = PIECE + 2000
    told = made_up((5, 6), samples, 2, 3)
    order = np.random.default_rng(1).permutation(samples)
    assert told.shifts is not None
    moved = rows_of(told)[order, 30 : 30 + len(told.effects)].T
    shifts = replace(told.shifts, group=told.shifts.group[order], share=told.shifts.share[order])
    design = replace(told.design, position=told.design.position[order], reading=told.design.reading[order])
    effects = tuple(
        NuisanceEffect(column, 0, effect.expected_size) for column, effect in zip(moved, told.effects, strict=True)
    )
    mixed = Equations(design, told.ratio[order], told.weight[order], told.block[order], effects, shifts)
    roughness, free = penalty(design.axes)
    once, again = (solve(each, roughness, free) for each in (told, mixed))
    np.testing.assert_allclose(again.multipliers, once.multipliers, atol=1e-9)
    np.testing.assert_allclose(again.deviation, once.deviation, rtol=1e-7)
    np.testing.assert_allclose(again.residual, once.residual[order], atol=1e-9)
    np.testing.assert_allclose(again.robust, once.robust[order], rtol=1e-7)
    np.testing.assert_allclose(again.amount, once.amount, rtol=1e-7)


@given(SHAPES)
def test_the_penalty_is_a_thin_plate_s(shape: tuple[int, ...]) -> None:
    """Kronecker products of the differences along each axis, the twist twice (Wahba 1990, 2.4), computed here."""
    axes = axes_of(shape)

    def scaled(matrix: FloatArray) -> FloatArray:
        square: FloatArray = matrix.T @ matrix
        return square / np.mean(np.diag(square)) if square.any() else square

    squares = [scaled(second_differences(stretch(axis))) for axis in axes]
    whole = squares[0]
    if len(axes) == 2:
        whole = np.kron(squares[0], np.eye(shape[1])) + np.kron(np.eye(shape[0]), squares[1])
        if min(shape) > 1:
            whole = whole + 2 * np.kron(*[scaled(first_differences(stretch(axis))) for axis in axes])
    found, free = penalty(axes)
    np.testing.assert_allclose(found.dense(), whole, atol=1e-12)
    assert free == whole.shape[0] - np.linalg.matrix_rank(whole, tol=1e-9)


def arrow(cells: int, reach: int, effects: int, seed: int) -> ArrowMatrix:
    """A positive matrix: heavy on its diagonal."""
    random = np.random.default_rng(seed)
    band = random.normal(0, 1, (reach + 1, cells))
    for k in range(1, reach + 1):
        band[k, max(cells - k, 0) :] = 0
    border = random.normal(0, 1, (effects, cells))
    corner = random.normal(0, 1, (effects, effects))
    band[0] = 2 * reach + 2 + effects + 3 * cells
    corner += corner.T + np.eye(effects) * (4 * cells + 4 * effects)
    return replace(nearby(dict(enumerate(band))), border=border, corner=corner)


@example(300, 2, 2, 0)
@example(300, 70, 3, 0)
@example(256, 64, 0, 0)
@given(st.integers(1, 30), st.integers(0, 9), st.integers(0, 3), SEEDS)
def test_factors_along_the_band_are_those_of_all_entries(cells: int, reach: int, effects: int, seed: int) -> None:
    """numpy's inverse and determinant, computed here."""
    matrix = arrow(cells, min(reach, cells - 1), effects, seed)
    right = np.random.default_rng(seed).normal(0, 1, matrix.size)
    whole = matrix.dense()
    for dense in (True, False):
        factors = factored(matrix, dense=dense)
        np.testing.assert_allclose(factors.solve(right), np.linalg.solve(whole, right), atol=1e-11)
        assert factors.explained(right) == pytest.approx(float(right @ np.linalg.solve(whole, right)), rel=1e-10)
        np.testing.assert_allclose(factors.inverse_diagonal(), np.diag(np.linalg.inv(whole)), rtol=1e-9)
        np.testing.assert_allclose(factors.log_determinant(), np.linalg.slogdet(whole)[1], rtol=1e-11)


@given(st.floats(-2, 2), st.floats(-2, 2), SEEDS)
def test_matrices_add_as_their_entries_do(one: float, other: float, seed: int) -> None:
    first, second = arrow(9, 4, 2, seed), arrow(9, 2, 2, seed + 1)
    expected = one * first.dense() + other * second.dense()
    np.testing.assert_allclose(combined((one, first), (other, second)).dense(), expected, atol=1e-12)
    by = np.arange(11.0)
    np.testing.assert_allclose(first.raised(by).dense(), first.dense() + np.diag(by), atol=1e-12)
    np.testing.assert_array_equal(np.diag(first.dense()), first.diagonal)


@pytest.mark.parametrize(("shape", "effects"), [((25,), 0), ((8, 7), 0), ((9, 6), 2)])
def test_the_penaltys_weight_is_the_same_along_the_band(shape: tuple[int, ...], effects: int) -> None:
    equations = made_up(shape, 4000, effects, 8)
    roughness, free = penalty(equations.design.axes)
    sums = normal_sums(equations, np.ones(4000))
    wide = roughness.with_effects(np.zeros(effects))
    dense, along = (
        most_likely_weight(sums.square, sums.right, sums.total, wide, free=free + effects, worth=3990, dense=way)
        for way in (True, False)
    )
    assert along == pytest.approx(dense, rel=1e-5)  # the search itself ends at 5 % of it
    fits = [
        factored(regular(combined((1.0, sums.square), (dense, wide))), dense=way).solve(sums.right)
        for way in (True, False)
    ]
    np.testing.assert_allclose(fits[1], fits[0], atol=1e-9)


@pytest.mark.parametrize(("smoothing", "digits"), [(2.0, 1e-9), (None, 1e-7)])
def test_a_whole_solve_is_the_same_along_the_band(
    monkeypatch: pytest.MonkeyPatch, smoothing: float | None, digits: float
) -> None:
    """With the penalty's weight given; and with it found by a search, which carries differences of rounding on."""
    equations = made_up((9, 8), 3000, 3, 11)
    roughness, free = penalty(equations.design.axes)
    found = {}
    for dense in (1000, 0):
        monkeypatch.setattr("workbench.maths.solve.arrow_matrix.DENSE", dense)
        monkeypatch.setattr("workbench.maths.solve.reml.DENSE", dense)
        found[dense] = solve(equations, roughness, free, smoothing=smoothing)
    for name in ("multipliers", "deviation", "nuisance", "nuisance_deviation", "residual"):
        np.testing.assert_allclose(getattr(found[0], name), getattr(found[1000], name), atol=digits, err_msg=name)


def test_a_large_grid_driven_along_one_line_only_is_solved(monkeypatch: pytest.MonkeyPatch) -> None:
    """Shapes that neither data nor penalty hold leave the matrix all but singular: it is factored all the same."""
    axes = axes_of((7, 7))
    random = np.random.default_rng(2)
    position = np.stack([np.full(3000, 13.0), random.uniform(10, 20, 3000)], axis=1)
    ones = np.ones(3000)
    design = Design(axes, np.ones(49), position, ones)
    ratio = 1.05 + random.normal(0, 0.01, 3000)
    equations = Equations(design, ratio, ones, np.arange(3000) // 10)
    roughness, free = penalty(axes)
    found = {}
    for dense in (49, 0):
        monkeypatch.setattr("workbench.maths.solve.arrow_matrix.DENSE", dense)
        monkeypatch.setattr("workbench.maths.solve.reml.DENSE", dense)
        found[dense] = solve(equations, roughness, free)
    # Across the line anything goes; along it, where the car was, both say the same.
    seen = [design.predicted(each.multipliers) for each in found.values()]
    np.testing.assert_allclose(seen[0], 1.05, atol=0.005)
    np.testing.assert_allclose(seen[1], seen[0], atol=1e-4)


@given(st.integers(PIECE + 1, 2 * PIECE + 5), st.sampled_from([0.0, 1e-6, 0.01, 0.5]), SEEDS)
def test_the_median_without_sorting_is_the_one_by_sorting(samples: int, step: float, seed: int) -> None:
    """numpy's quantile with weights (inverted distribution function); on steps many residuals are alike."""
    random = np.random.default_rng(seed)
    residual = random.normal(0, 1, samples)
    if step:
        residual = np.rint(residual / step) * step
    weight = random.integers(0, 4, samples) / 4
    expected = np.quantile(np.abs(residual), 0.5, method="inverted_cdf", weights=weight)
    assert spread_of(residual, weight) == max(1.4826 * float(expected), 1e-12)


def test_inflation_and_huber_weights_in_pieces_are_those_of_the_whole() -> None:
    random = np.random.default_rng(6)
    samples = 2 * PIECE + 11
    residual, weight = random.normal(0, 1, samples), random.uniform(0, 1, samples)
    block = np.concatenate([np.arange(samples - 9) // 50, np.zeros(9, dtype=np.int64)])
    robust = np.minimum(1.0, 1.345 * 0.7 / np.abs(residual))
    np.testing.assert_allclose(huber_weights(residual, 0.7), robust, rtol=1e-15)
    moved = weight * robust * residual
    expected = np.sum(np.bincount(block, moved) ** 2) / np.sum(moved**2)
    assert variance_inflation(residual, weight, block, robust) == pytest.approx(max(1.0, expected), rel=1e-12)


def risen(work: Callable[[], object]) -> int:
    """Tell by how many bytes memory rose at most, with what the work gives back."""
    tracemalloc.start()
    try:
        kept = work()
        return tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()
        del kept


def test_a_solve_takes_two_numbers_a_sample_and_a_constant() -> None:
    """Residual and Huber's weight, which it gives back; the sums themselves take only the constant."""
    few, many = (made_up((6, 5), samples, 2, 5) for samples in (4 * PIECE, 12 * PIECE))
    more = 8 * PIECE
    roughness, free = penalty(few.design.axes)
    risen(lambda: solve(few, roughness, free))  # what is loaded on the way is no part of it
    grown = risen(lambda: solve(many, roughness, free)) - risen(lambda: solve(few, roughness, free))
    assert grown / more == pytest.approx(16, abs=2)
    ones = [np.ones(each.ratio.size) for each in (few, many)]
    grown = risen(lambda: normal_sums(many, ones[1])) - risen(lambda: normal_sums(few, ones[0]))
    assert grown / more < 0.1


@given(st.integers(1, 400), st.integers(1, 401), SEEDS)
def test_spreading_in_pieces_is_spreading(samples: int, size: int, seed: int) -> None:
    design = made_up((4, 5), samples, 0, seed).design
    whole = spread(design.axes, design.position)
    for rows, nodes in spread_in_pieces(design.axes, design.position, size):
        np.testing.assert_array_equal(nodes.cell, whole.cell[rows])
        np.testing.assert_array_equal(nodes.weight, whole.weight[rows])
