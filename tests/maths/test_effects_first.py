"""Many drives: their own effects are eliminated one drive after the other, and nothing comes out otherwise."""

import tracemalloc

import numpy as np
import pytest
from scipy.sparse import csr_array

from workbench.maths.solve import effects_first, factoring
from workbench.maths.solve.arrow_matrix import ArrowMatrix, DenseFactors, combined, nearby
from workbench.maths.solve.design import Design, Equations, NuisanceEffect, Shifts
from workbench.maths.solve.effects_first import EffectsFirst
from workbench.maths.solve.factoring import carried_along, factored
from workbench.maths.solve.normal_equations import normal_sums
from workbench.maths.solve.reml import most_likely_weight
from workbench.model.arrays import FloatArray
from workbench.model.table import Axis

CELLS, DRIVES, OWN, WIDE = 12, 40, 6, 3


@pytest.fixture(params=["filled", "sparse"])
def shape(request: pytest.FixtureRequest) -> str:
    """How the square of the effects is kept."""
    return str(request.param)


def of_many_drives(shape: str = "filled") -> tuple[ArrowMatrix, FloatArray, float]:
    """Normal equations of cells, effects of each drive and effects that reach all drives; right side and total."""
    dice = np.random.default_rng(5)
    blocks, rights = [], []
    for drive in range(DRIVES):
        whole = np.zeros((60, CELLS + WIDE + DRIVES * OWN))
        cell = dice.integers(0, CELLS - 1, 60)
        share = dice.random(60)
        whole[np.arange(60), cell], whole[np.arange(60), cell + 1] = share, 1 - share
        whole[:, CELLS : CELLS + WIDE] = dice.normal(size=(60, WIDE))
        at = CELLS + WIDE + drive * OWN
        whole[:, at : at + OWN] = dice.normal(size=(60, OWN))
        blocks.append(whole)
        rights.append(0.1 * dice.normal(size=60) + 0.05 * cell)
    rows, right = np.concatenate(blocks), np.concatenate(rights)
    rows[:, CELLS:] = rows[:, CELLS:][:, dice.permutation(WIDE + DRIVES * OWN)]  # whose effect is whose is found
    square = rows.T @ rows + np.diag(np.r_[np.zeros(CELLS), np.full(WIDE + DRIVES * OWN, 0.5)])
    near = {apart: np.pad(np.diag(square[:CELLS, :CELLS], -apart), (0, apart)) for apart in (0, 1)}
    cells = nearby(near)
    corner = square[CELLS:, CELLS:]
    matrix = ArrowMatrix(
        cells.apart, cells.near, square[CELLS:, :CELLS], corner if shape == "filled" else csr_array(corner)
    )
    return matrix, rows.T @ right, float(right @ right)


def penalty() -> ArrowMatrix:
    steps = np.diff(np.eye(CELLS), axis=0)
    square = steps.T @ steps
    cells = nearby({apart: np.pad(np.diag(square, -apart), (0, apart)) for apart in (0, 1)})
    return cells.with_effects(np.zeros(WIDE + DRIVES * OWN))


def test_blocks_give_what_the_whole_gives(shape: str) -> None:
    matrix, right, _ = of_many_drives(shape)
    blocks, whole = factored(matrix), DenseFactors(matrix)
    assert isinstance(blocks, EffectsFirst)
    np.testing.assert_allclose(blocks.solve(right), whole.solve(right), rtol=1e-9, atol=1e-12)
    np.testing.assert_allclose(blocks.inverse_diagonal(), whole.inverse_diagonal(), rtol=1e-9)
    assert blocks.log_determinant() == pytest.approx(whole.log_determinant(), rel=1e-12)
    assert blocks.explained(right) == pytest.approx(whole.explained(right), rel=1e-12)
    inverse = np.linalg.inv(matrix.dense())
    np.testing.assert_allclose(blocks.joined(), inverse[:CELLS, CELLS:], rtol=1e-7, atol=1e-10)


def test_drives_are_told_apart_by_what_they_share() -> None:
    groups, wide = effects_first._groups(of_many_drives()[0].corner)
    assert sorted(group.size for group in groups) == [OWN] * DRIVES
    assert wide.size == WIDE


def test_effects_that_all_meet_are_no_groups() -> None:
    groups, wide = effects_first._groups(np.ones((300, 300)))
    assert (groups, wide.size) == ([], 300)


def test_the_weight_of_the_penalty_is_the_same(monkeypatch: pytest.MonkeyPatch, shape: str) -> None:
    matrix, right, total = of_many_drives(shape)
    found = []
    for limit in (200, 10_000):
        for module in ("factoring", "reml"):
            monkeypatch.setattr(f"workbench.maths.solve.{module}.DENSE", limit)
        free = 1 + WIDE + DRIVES * OWN
        found.append(most_likely_weight(matrix, right, total, penalty(), free=free, worth=1000.0))
    assert found[0] == pytest.approx(found[1], rel=1e-6)


def test_what_effects_carry_into_cells_is_the_same(monkeypatch: pytest.MonkeyPatch, shape: str) -> None:
    matrix = combined((1.0, of_many_drives(shape)[0]), (0.3, penalty()))
    by_blocks = carried_along(matrix)
    monkeypatch.setattr(factoring, "DENSE", 10_000)
    for blocks, whole in zip(by_blocks, carried_along(matrix), strict=True):
        np.testing.assert_allclose(blocks, whole, rtol=1e-6, atol=1e-9)


def test_a_sparse_square_is_added_raised_and_filled_like_a_filled_one() -> None:
    by = np.linspace(1, 2, CELLS + WIDE + DRIVES * OWN)
    made = [
        combined((2.0, of_many_drives(shape)[0]), (0.3, penalty()), (1.0, of_many_drives()[0])).raised(by)
        for shape in ("filled", "sparse")
    ]
    assert isinstance(made[0].corner, np.ndarray)
    assert not isinstance(made[1].corner, np.ndarray)
    np.testing.assert_array_equal(made[0].dense(), made[1].dense())
    np.testing.assert_array_equal(made[0].diagonal, made[1].diagonal)


def test_the_sums_of_many_effects_are_sparse_and_the_same(monkeypatch: pytest.MonkeyPatch) -> None:
    dice = np.random.default_rng(3)
    samples, groups = 2000, 150
    axis = Axis("sensor signal", "Hz", np.linspace(1000.0, 6000.0, 8))
    design = Design((axis,), np.ones(8), dice.uniform(1000, 6000, (samples, 1)), np.ones(samples))
    effects = tuple(NuisanceEffect(dice.normal(size=20), first) for first in range(0, samples, 20))
    shifts = Shifts(np.arange(samples) % (groups + 1), np.ones(samples), np.full(groups, 0.01))
    for told in (shifts, None):
        many = effects if told is not None else effects * 3
        equations = Equations(
            design, 1 + 0.01 * dice.normal(size=samples), np.ones(samples), np.zeros(samples), many, told
        )
        sparse = normal_sums(equations, np.ones(samples))
        with monkeypatch.context() as patch:
            patch.setattr("workbench.maths.solve.normal_equations.DENSE", 10_000)
            whole = normal_sums(equations, np.ones(samples))
        assert not isinstance(sparse.square.corner, np.ndarray)
        assert isinstance(whole.square.corner, np.ndarray)
        np.testing.assert_array_equal(sparse.square.dense(), whole.square.dense())
        np.testing.assert_array_equal(sparse.right, whole.right)


def many_short_effects(count: int, rows: int = 10) -> Equations:
    """Each on some rows of its own, beside one that reaches all; as many groups that share a shift."""
    dice = np.random.default_rng(8)
    samples = count * rows
    axis = Axis("sensor signal", "Hz", np.linspace(1000.0, 6000.0, 8))
    design = Design((axis,), np.ones(8), dice.uniform(1000, 6000, (samples, 1)), np.ones(samples))
    effects = [NuisanceEffect(dice.normal(size=rows), first) for first in range(0, samples, rows)]
    group = np.where(dice.random(samples) < 0.2, count, np.arange(samples) // rows)
    shifts = Shifts(group, dice.uniform(0.9, 1.1, samples), np.full(count, 0.01))
    ratio = 1 + 0.01 * dice.normal(size=samples)
    everywhere = NuisanceEffect(dice.normal(size=samples))
    return Equations(design, ratio, dice.random(samples), np.zeros(samples), (everywhere, *effects), shifts)


def test_the_sums_of_effects_and_shifts_are_those_of_the_whole_matrix() -> None:
    equations = many_short_effects(150)
    samples, shifts = equations.ratio.size, equations.shifts
    assert shifts is not None
    columns = [np.pad(e.moved, (e.first, samples - e.first - e.moved.size)) for e in equations.effects]
    columns += [np.where(shifts.group == number, shifts.share, 0.0) for number in range(shifts.count)]
    whole = np.stack(columns, axis=1)
    expected = whole.T @ (equations.weight[:, None] * whole)
    corner = normal_sums(equations, np.ones(samples)).square.corner
    assert not isinstance(corner, np.ndarray)
    np.testing.assert_allclose(corner.toarray(), expected, rtol=1e-12, atol=1e-13)


def test_what_effects_take_grows_with_their_number_and_not_with_its_square() -> None:
    """A square of 1500 effects alone would be 18 MB, and as much again that of effects and shifts."""
    equations = many_short_effects(1500)
    ones = np.ones(equations.ratio.size)
    normal_sums(many_short_effects(150), np.ones(1500))  # what is loaded on the way is no part of it
    tracemalloc.start()
    try:
        normal_sums(equations, ones, piece=100)
        assert tracemalloc.get_traced_memory()[1] < 6e6
    finally:
        tracemalloc.stop()


def test_a_drive_that_cannot_be_factored_by_itself_leaves_it_to_the_whole(monkeypatch: pytest.MonkeyPatch) -> None:
    matrix, right, total = of_many_drives()

    def fails(_: object, __: ArrowMatrix) -> None:
        raise np.linalg.LinAlgError

    expected = (
        factored(matrix).solve(right),
        most_likely_weight(matrix, right, total, penalty(), free=1 + WIDE + DRIVES * OWN, worth=1000.0),
    )
    monkeypatch.setattr(EffectsFirst, "__init__", fails)
    np.testing.assert_allclose(factored(matrix).solve(right), expected[0], rtol=1e-8, atol=1e-11)
    weight = most_likely_weight(matrix, right, total, penalty(), free=1 + WIDE + DRIVES * OWN, worth=1000.0)
    assert weight == pytest.approx(expected[1], rel=1e-4)
    carried_along(matrix)
