"""How many passes the evidence near a breakpoint rests on, and what an odd one among few may do."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from workbench.maths.pooling.passes import Passes, passes_near
from workbench.maths.pooling.visits import Visits
from workbench.maths.uncertainty import budget
from workbench.maths.uncertainty.budget import FALLS, ODD_PASS, ODD_PULL
from workbench.model.arrays import FloatArray
from workbench.model.table import Axis, Table

POINTS = np.linspace(1.0, 2.0, 41)
CURVE = Table("airflow", "airflow", "g/s", (Axis("sensor", "V", POINTS),), np.full(41, 10.0))


def counted(cell: list[int], part: list[int], weight: list[float] | None = None, *, full: bool = False) -> Passes:
    ones = np.ones(len(cell)) if weight is None else np.array(weight)
    return passes_near(CURVE, np.array(cell), np.array(part), ones, np.full(len(cell), full))


def test_a_pass_through_many_breakpoints_is_one_pass() -> None:
    through = counted(list(range(10, 30)), [0] * 20)
    np.testing.assert_allclose(through.count[12:28], 1.0, rtol=1e-12)


def test_passes_of_equal_weight_count_as_many_as_they_are() -> None:
    assert counted([20] * 5, list(range(5))).count[20] == pytest.approx(5.0)


def test_a_pass_that_outweighs_the_others_counts_alone() -> None:
    assert counted([20, 20], [0, 1], [1.0, 1e-3]).count[20] == pytest.approx(1.0, abs=0.01)


def test_where_nothing_was_read_near_there_is_no_pass() -> None:
    assert counted([2], [0]).count[40] == 0


@given(st.lists(st.tuples(st.integers(0, 40), st.integers(0, 9), st.floats(0.01, 10.0)), min_size=1, max_size=40))
def test_no_cell_counts_more_passes_than_there_were(samples: list[tuple[int, int, float]]) -> None:
    cell, part, weight = (list(each) for each in zip(*samples, strict=True))
    found = counted(cell, part, weight)
    read = found.count > 0
    assert np.all(found.count[read] >= 1 - 1e-9)
    assert np.all(found.count <= len(set(part)) + 1e-9)


def test_cells_of_a_grid_count_in_both_directions() -> None:
    grid = Table("ve", "efficiency", "%", (Axis("rpm", "rpm", POINTS), Axis("load", "kPa", POINTS)), np.ones((41, 41)))
    near, far = np.ravel_multi_index(([20, 20], [21, 30]), (41, 41))
    here = int(np.ravel_multi_index((20, 20), (41, 41)))
    for other, passes in ((near, 2.0), (far, 1.0)):
        cell = np.array([here, int(other)])
        found = passes_near(grid, cell, np.array([0, 1]), np.ones(2), np.zeros(2, dtype=np.bool_))
        assert found.count[20, 20] == pytest.approx(passes, rel=0.2)


def sized(passes: Passes) -> FloatArray:
    return budget._few(Visits(np.zeros(0, np.int64), np.zeros(0, np.int64), passes=passes), CURVE.shape)


def test_one_pass_may_be_off_as_a_whole_and_the_more_there_are_the_less() -> None:
    sizes = [sized(counted([20] * n, list(range(n))))[20] for n in (1, 2, 4, 8)]
    assert sizes == pytest.approx([ODD_PASS / n**FALLS for n in (1, 2, 4, 8)])
    assert sized(counted([20], [0], full=True))[20] == pytest.approx(ODD_PULL)
