"""Breakpoints that were copied along with a table's values do not end up in its cells."""

from pathlib import Path

import numpy as np
import pytest

from workbench.commands.table.clipboard import multiply_by_paste, paste
from workbench.errors import InputError
from workbench.model.cells import read_cells
from workbench.model.table import Axis, Table
from workbench.session import Session


@pytest.fixture
def grid_session(tmp_path: Path) -> Session:
    down = Axis("Engine speed", "rpm", np.array([700.0, 1000.0, 1300.0, 2000.0]))
    across = Axis("Load", "%", np.array([20.0, 30.0, 40.0, 60.0]))
    table = Table("ve", "Efficiency", "%", (down, across), np.arange(16.0).reshape(4, 4) + 50)
    return Session.create(tmp_path / "car.session", table)


def pasted(session: Session, text: str, cells: str = "0,0") -> tuple[np.ndarray, str]:
    answer = paste(session.state, text=text, cells=read_cells(cells))
    return answer.value.table.values - session.state.table().values, "\n".join(answer.lines)


def test_a_row_of_breakpoints_is_left_out(grid_session: Session) -> None:
    moved, said = pasted(grid_session, "20\t30\t40\n60\t70\t75\n61\t71\t76")
    assert "first row holds breakpoints of Load" in said
    assert moved[0, :3].tolist() == [10, 19, 23]
    assert moved[1, :3].tolist() == [7, 16, 20]
    assert np.count_nonzero(moved) == 6


def test_the_values_stand_under_their_own_breakpoints(grid_session: Session) -> None:
    moved, _ = pasted(grid_session, "30\t60\n1\t2", "2,0")
    assert np.argwhere(moved).tolist() == [[2, 1], [2, 3]]


def test_a_column_of_breakpoints_is_left_out(grid_session: Session) -> None:
    moved, said = pasted(grid_session, "700\t1\n1000\t2\n1300\t3", "0,2")
    assert "first column holds breakpoints of Engine speed" in said
    assert np.argwhere(moved).tolist() == [[0, 2], [1, 2], [2, 2]]


def test_both_are_left_out_whatever_stands_in_their_corner(grid_session: Session) -> None:
    moved, said = pasted(grid_session, "0\t20\t30\n1000\t1\t2\n1300\t3\t4")
    assert "first row" in said
    assert "first column" in said
    assert np.argwhere(moved).tolist() == [[1, 0], [1, 1], [2, 0], [2, 1]]


def test_factors_too(grid_session: Session) -> None:
    answer = multiply_by_paste(grid_session.state, text="20\t30\n1.1\t1.2", cells=read_cells("0,0"))
    assert answer.value.multipliers[0].tolist() == [1.1, 1.2, 1, 1]
    assert any("first row holds breakpoints" in line for line in answer.lines)


def test_values_are_values(grid_session: Session) -> None:
    """Only what equals an axis to the digit is a heading."""
    moved, said = pasted(grid_session, "20\t30\t41\n60\t70\t75")
    assert "breakpoints" not in said
    assert np.count_nonzero(moved) == 6
    moved, said = pasted(grid_session, "30\t20\n60\t70")
    assert "breakpoints" not in said, "breakpoints rise"


def test_one_row_that_equals_an_axis_is_pasted_with_a_caution(grid_session: Session) -> None:
    _, said = pasted(grid_session, "20\t30\t40")
    assert "Caution: the pasted numbers are the breakpoints of Load" in said


def test_headings_without_room_for_the_rows_are_refused(grid_session: Session) -> None:
    with pytest.raises(InputError, match="pasted block is"):
        pasted(grid_session, "20\t30\n1\t2\n3\t4", "3,0")
