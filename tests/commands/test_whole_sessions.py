"""Two sessions compared whole: where they part, and what only one of them has."""

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from workbench.commands.declaring.making import bring_in
from workbench.commands.record.copies import save_copy
from workbench.commands.record.whole_sessions import compare_sessions
from workbench.commands.table.hand import scale
from workbench.errors import FileError
from workbench.model.history import Approval
from workbench.model.log import Drive
from workbench.model.state import Approved, DriveAdded, Settings, SettingsSet
from workbench.model.table import Axis, Table
from workbench.session import Session


@pytest.fixture
def parted(session: Session, make_drive: Callable[..., Drive], tmp_path: Path) -> tuple[Session, Path]:
    """A session and a copy of it that went on by itself: 8 % more, another log, an approval, other settings."""
    session.record(scale(session.state, by=1.02).change)
    other = tmp_path / "copy.session"
    save_copy(session.state, other)
    with Session.open(other) as copy:
        copy.record(scale(copy.state, by=1.08).change)
        copy.record(DriveAdded((make_drive(1, name="hills.csv"),)))
        copy.record(Approved(3, Approval("B. Tester", "", "2026-01-02T00:00:00Z")))
        copy.record(SettingsSet(Settings(0.04)))
    session.record(scale(session.state, by=0.5).change)
    return session, other


def test_what_differs_is_named_on_both_sides(parted: tuple[Session, Path]) -> None:
    session, other = parted
    answer = compare_sessions(session.state, other)
    data = answer.data
    assert data["common_changes"] == 2
    assert answer.lines[0] == "The first 2 changes are the same; since then 1 change here, 4 changes in copy.session."
    (table,) = answer.value.tables
    assert (table.here, table.there) == (3, 3)
    assert table.cells is not None
    assert np.allclose(table.cells.percent, 100 * (0.5 / 1.08 - 1))
    only = answer.value.only
    assert only["revisions"] == (("3 (scale)",), ("3 (scale)",))
    assert only["logs"] == ((), ("hills.csv",))
    assert only["approvals"] == ((), ("revision 3, approved by B. Tester on 2026-01-02T00:00:00Z",))
    assert only["settings"] == (("part throttle target 0.05",), ("part throttle target 0.04",))
    text = "\n".join(answer.lines)
    assert "5 of 5 cells differ, here by -53.70 % to -53.70 %." in text
    assert "Logs only there: hills.csv." in text


def test_a_copy_is_the_same(session: Session, tmp_path: Path) -> None:
    other = tmp_path / "copy.session"
    save_copy(session.state, other)
    answer = compare_sessions(session.state, other)
    assert answer.lines[0] == "The two sessions hold the very same 1 change."
    assert all(pair == ((), ()) for pair in answer.value.only.values())
    assert len(answer.lines) == 2


def test_sessions_of_other_cars_have_nothing_in_common(
    session: Session, curve: Table, grid: Table, tmp_path: Path
) -> None:
    other, third = tmp_path / "other.session", tmp_path / "third.session"
    finer = Axis("sensor signal", "Hz", np.array([1000.0, 2500, 6000]))
    table = Table("airflow", "mass airflow", "kg/h", (finer,), np.array([7.2, 36.0, 396.0]))
    with Session.create(other, table) as made:
        made.record(bring_in(made.state, grid, "add-table", {}, ""))
    answer = compare_sessions(session.state, other)
    assert answer.lines[0] == "The two sessions have no history in common."
    assert "(read at the breakpoints here): 3 of 5 cells differ" in answer.lines[1]  # both ends are equal in g/s
    assert answer.value.only["tables"] == ((), ("efficiency",))
    named = Table("airflow", grid.value_name, grid.unit, grid.axes, grid.values)
    with Session.create(third, named):
        pass
    assert "cannot be compared: a curve here, a grid there" in compare_sessions(session.state, third).lines[1]
    with pytest.raises(FileError):
        compare_sessions(session.state, tmp_path / "nothing.session")
    del curve
