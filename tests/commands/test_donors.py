"""Other breakpoints for a table of a session."""

from pathlib import Path

import numpy as np
import pytest

from workbench.commands.table.donors import change_axis, insert_breakpoint, resample_donor, take_donor
from workbench.errors import InputError
from workbench.model.history import History, brought_in
from workbench.model.state import Applied, State
from workbench.model.step import step
from workbench.model.table import Table


def state_of(table: Table) -> State:
    return step(State("", History((), {}, {}, {})), Applied(brought_in(1, table, "new", {}, "", "x", "")))


def test_an_inserted_breakpoint_is_told_to_change_nothing(curve: Table, grid: Table) -> None:
    answer = insert_breakpoint(state_of(curve), at=2500.0)
    assert answer.lines[-1] == "Interpolated, the table is the same everywhere."
    assert answer.data["values"] == pytest.approx([2, 6, 10.75, 15.5, 48, 110])
    assert answer.data["multipliers"] == [None] * 6
    state = state_of(grid)
    with pytest.raises(InputError, match="two axes"):
        insert_breakpoint(state, at=3000.0)
    with pytest.raises(InputError, match="does not lie between the ends of the axis 'sensor signal'"):
        insert_breakpoint(state_of(curve), at=99999.0)
    for axis, at, shape in (("row", 1500.0, (4, 4)), ("column", 55.0, (3, 5))):
        after = step(state, insert_breakpoint(state, at=at, axis=axis).change).table()  # type: ignore[arg-type]
        assert after.shape == shape
        assert np.isin(grid.values, after.values).all()


def test_a_changed_axis_tells_how_far_it_is(curve: Table) -> None:
    state = state_of(curve)
    answer = change_axis(state, to="1000 3000,6000")
    assert answer.data["largest_difference_at"] == "4500 Hz"
    assert answer.data["largest_difference"] == pytest.approx(62.75 - 48)
    assert answer.data["driven"] is None
    assert change_axis(state, to="1000,2000,3000,4500,6000").change is None
    for wrong, told in (("1 2 x", "cannot be read"), ("3 2", "does not rise"), ("", "no breakpoints")):
        with pytest.raises(InputError, match=told):
            change_axis(state, to=wrong)


def test_a_donor_of_another_kind_is_refused(curve: Table, tmp_path: Path) -> None:
    path = tmp_path / "donor.csv"
    path.write_text("a / b / c,1,2\n1,2,3\n2,3,4\n")
    with pytest.raises(Exception, match="which is not a curve"):
        take_donor(state_of(curve), path)


def test_a_donor_that_does_not_reach_may_hold_its_ends(curve: Table, tmp_path: Path) -> None:
    path = tmp_path / "donor.csv"
    path.write_text("s (Hz),m (g/s)\n1000,1\n3000,9\n")
    answer = resample_donor(state_of(curve), path, outside="hold", way="shape")
    assert answer.data["values"] == pytest.approx([1, 5, 9, 9, 9])
    assert any("hold the donor's outermost value" in line for line in answer.lines)


def test_a_donor_without_air_is_refused(curve: Table, tmp_path: Path) -> None:
    path = tmp_path / "donor.csv"
    path.write_text("s (Hz),m (g/s)\n1000,0\n3000,-9\n6000,90\n")
    for act in (take_donor, resample_donor):
        with pytest.raises(InputError, match=r"0 Hz is not possible: the ECU would meter no fuel there"):
            act(state_of(curve), path)
