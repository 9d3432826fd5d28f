"""Ramps, gaps and carried corrections."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from workbench.errors import InputError
from workbench.maths.table.filling import carried, filled, ramped
from workbench.model.table import Axis, Table

POINTS = np.array([0.0, 1, 3, 4, 8])
CURVES = arrays(np.float64, 5, elements=st.floats(-1e6, 1e6))
GRIDS = arrays(np.float64, (4, 5), elements=st.floats(-1e6, 1e6))


def curve_of(values: np.ndarray) -> Table:
    return Table("t", "v", "", (Axis("x", "", POINTS),), values)


def grid_of(values: np.ndarray) -> Table:
    return Table("t", "v", "", (Axis("r", "", np.array([0.0, 2, 3, 7])), Axis("c", "", POINTS)), values)


@given(CURVES, st.integers(0, 3), st.integers(1, 4))
def test_a_ramp_is_straight_over_the_axis_and_keeps_its_ends(values: np.ndarray, first: int, length: int) -> None:
    last = min(first + length, 4)
    drawn = ramped(curve_of(values), (slice(first, last + 1),), (0,))
    outside = [i for i in range(5) if not first < i < last]
    assert drawn[outside].tolist() == values[outside].tolist()
    assert drawn == pytest.approx(
        np.where(
            (np.arange(5) > first) & (np.arange(5) < last),
            np.interp(POINTS, POINTS[[first, last]], values[[first, last]]),
            values,
        ),
        rel=1e-9,
        abs=1e-6,
    )


@given(GRIDS)
def test_a_grid_ramps_along_rows_columns_or_from_its_corners(values: np.ndarray) -> None:
    table, whole = grid_of(values), (slice(0, 4), slice(0, 5))
    rows, columns, corners = (ramped(table, whole, along) for along in ((1,), (0,), (0, 1)))
    assert rows[:, [0, -1]].tolist() == values[:, [0, -1]].tolist()
    assert columns[[0, -1]].tolist() == values[[0, -1]].tolist()
    ends = np.ix_([0, -1], [0, -1])
    assert corners[ends].tolist() == values[ends].tolist()
    turned = ramped(grid_of(ramped(table, whole, (1,))), whole, (0,))
    assert corners == pytest.approx(turned, rel=1e-9, abs=1e-6)


def test_a_single_cell_is_no_ramp() -> None:
    with pytest.raises(InputError, match="two cells"):
        ramped(curve_of(np.ones(5)), (slice(1, 2),), (0,))


@given(CURVES, arrays(np.bool_, 5))
def test_gaps_of_a_curve_are_drawn_straight(values: np.ndarray, gaps: np.ndarray) -> None:
    if gaps.all():
        with pytest.raises(InputError, match="none is left"):
            filled(curve_of(values), gaps)
        return
    drawn = filled(curve_of(values), gaps)
    assert drawn[~gaps].tolist() == values[~gaps].tolist()
    assert drawn[gaps].tolist() == np.interp(POINTS[gaps], POINTS[~gaps], values[~gaps]).tolist()


@given(GRIDS, arrays(np.bool_, (4, 5)))
def test_gaps_of_a_grid_stay_within_what_surrounds_them(values: np.ndarray, gaps: np.ndarray) -> None:
    if gaps.all():
        return
    drawn = filled(grid_of(values), gaps)
    assert drawn[~gaps].tolist() == values[~gaps].tolist()
    assert drawn.max() <= values[~gaps].max()
    assert drawn.min() >= values[~gaps].min()


def test_a_skin_over_a_plane_is_the_plane() -> None:
    rows, columns = np.array([0.0, 2, 3, 7]), POINTS
    plane = 5 + 0.5 * rows[:, None] + 0.25 * columns[None, :]
    gaps = np.zeros((4, 5), dtype=bool)
    gaps[1:3, 1:4] = True
    assert filled(grid_of(plane), gaps) == pytest.approx(plane, abs=1e-9)


def test_corrections_are_carried_between_and_beyond() -> None:
    sources = np.array([False, True, False, True, False])
    multipliers = np.array([9.0, 1.06, 9.0, 1.03, 9.0])
    flat = carried(curve_of(np.ones(5)), multipliers, sources)
    assert flat == pytest.approx([1.06, 1.06, 1.04, 1.03, 1.03])
    fading = carried(curve_of(np.ones(5)), multipliers, sources, over=2)
    assert fading == pytest.approx([1.03, 1.06, 1.04, 1.03, 1.015])
    assert fading[sources].tolist() == [1.06, 1.03]
    with pytest.raises(InputError, match="No cell is proven"):
        carried(curve_of(np.ones(5)), multipliers, np.zeros(5, dtype=bool))


@given(st.integers(0, 3), st.integers(0, 4), st.floats(0.8, 1.2), st.integers(1, 4))
def test_one_proven_cell_of_a_grid_fades_with_the_distance(row: int, column: int, step: float, over: int) -> None:
    sources = np.zeros((4, 5), dtype=bool)
    sources[row, column] = True
    multipliers = np.full((4, 5), step)
    assert carried(grid_of(np.ones((4, 5))), multipliers, sources) == pytest.approx(np.full((4, 5), step))
    fading = carried(grid_of(np.ones((4, 5))), multipliers, sources, over=over)
    apart = np.maximum(np.abs(np.arange(4)[:, None] - row), np.abs(np.arange(5)[None, :] - column))
    assert fading == pytest.approx(1 + (step - 1) * np.clip(1 - apart / over, 0, 1))
