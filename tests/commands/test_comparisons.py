"""Any two tables compared, some cells rolled back, and the history of a cell."""

import shutil
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from workbench.commands.declaring.kinds import Reference
from workbench.commands.declaring.making import bring_in, revised
from workbench.commands.record.comparisons import cell_history, changed_by, difference
from workbench.commands.record.revisions import roll_back
from workbench.commands.record.undoing import undo
from workbench.commands.table.donors import insert_breakpoint
from workbench.commands.table.hand import scale, set_cells
from workbench.errors import InputError, WorkbenchError
from workbench.model.cells import Cells, read_cells
from workbench.model.history import History
from workbench.model.state import Change, State
from workbench.model.step import step
from workbench.model.table import Axis, Table
from workbench.session import Session
from workbench.work import run

SAMPLE = Path(__file__).parents[2] / "sample_sessions" / "enlarged_intake.session"
POINTS = np.array([1000.0, 2000.0, 3000.0, 4000.0])
VALUES = np.array([2.0, 4.0, 8.0, 16.0])


def curve(values: np.ndarray, points: np.ndarray = POINTS, unit: str = "g/s") -> Table:
    return Table("airflow", "Airflow", unit, (Axis("Sensor", "Hz", points),), values)


@pytest.fixture
def session(tmp_path: Path) -> Iterator[Session]:
    with Session.create(tmp_path / "car.session", curve(VALUES)) as made:
        yield made


def recorded(state: State, change: Change | None) -> State:
    return state if change is None else step(state, change)


def ref(text: object) -> Reference:
    return Reference(str(text))


def test_a_table_from_a_file_in_another_unit(session: Session, tmp_path: Path) -> None:
    (tmp_path / "other.csv").write_text("Sensor (Hz),Airflow (kg/h)\n1000,7.2\n2000,14.4\n3000,28.8\n4000,63.36\n")
    answer = difference(session.state, ref(1), ref(tmp_path / "other.csv"))
    assert answer.data["change_percent"] == pytest.approx([0, 0, 0, 10])
    assert answer.data["a"] == 1
    assert str(tmp_path / "other.csv") in str(answer.data["b"])


def test_a_revision_of_another_session_on_other_breakpoints(session: Session, tmp_path: Path) -> None:
    with Session.create(tmp_path / "b.session", curve(np.array([2.0, 9.0, 16.0]), np.array([1000.0, 3000, 4000]))) as b:
        b.record(scale(b.state, by=2.0).change)
    one = difference(session.state, ref(1), ref(f"{tmp_path / 'b.session'}:1"))
    assert one.data["ratio"] == pytest.approx([1, 9 / 8, 1])
    assert any("interpolated" in note for note in one.data["notes"])
    head = difference(session.state, ref(f"{tmp_path / 'b.session'}"), ref(1))
    assert head.data["a"] == f"{tmp_path / 'b.session'}:2"
    assert head.data["change"] == pytest.approx([-2, 4 - 11, 8 - 18, 16 - 32])


@pytest.mark.parametrize("place", ["7", "0", "sfae"])
def test_what_another_session_lacks_is_told_with_what_it_has(session: Session, tmp_path: Path, place: str) -> None:
    with Session.create(tmp_path / "b.session", curve(VALUES)) as b:
        b.record(scale(b.state, by=2.0).change)
    with pytest.raises(InputError) as refused:
        difference(session.state, ref(1), ref(f"{tmp_path / 'b.session'}:{place}"))
    assert str(refused.value).endswith(
        f"b.session has no revision and no branch {place!r}. b.session has revisions 1 to 2."
    )


def test_a_grid_is_not_compared_with_a_curve(session: Session, tmp_path: Path) -> None:
    (tmp_path / "grid.csv").write_text("rpm (rpm) / MAP (kPa) / VE (%),20,40\n1000,50,60\n2000,55,65\n")
    with pytest.raises(WorkbenchError, match="not a curve"):
        difference(session.state, ref(1), ref(tmp_path / "grid.csv"))


@given(st.lists(st.floats(0.5, 2), min_size=4, max_size=4), st.sets(st.integers(0, 3), min_size=1))
def test_only_the_chosen_cells_roll_back(factors: list[float], chosen: set[int]) -> None:
    now = VALUES * np.array(factors)
    state = recorded(
        State("", History((), {}, {}, {})), bring_in(State("", History((), {}, {}, {})), curve(VALUES), "new", {}, "")
    )
    state = recorded(state, revised(state, curve(now), "scale", {}, "").change)
    cells = read_cells("+".join(f"{i}:{i}" for i in sorted(chosen)))
    after = recorded(state, roll_back(state, 1, cells=cells).change)
    held = np.isin(np.arange(4), list(chosen))
    assert np.array_equal(after.table().values[held], VALUES[held])
    assert np.array_equal(after.table().values[~held], now[~held])


@given(st.lists(st.sampled_from(("scale", "breakpoint", "set", "undo")), min_size=1, max_size=7), st.integers(0, 20))
def test_any_revision_comes_back_whole_and_nothing_is_lost(acts: list[str], choice: int) -> None:
    """Also one with other breakpoints, or on a side branch: values and breakpoints bit for bit, as a new revision."""
    state = State("", History((), {}, {}, {}))
    state = recorded(state, bring_in(state, curve(VALUES), "new", {}, ""))
    for n, act in enumerate(acts):
        if act == "undo":
            state = recorded(state, undo(state).change) if state.head().parent is not None else state
        elif act == "breakpoint":
            state = recorded(state, insert_breakpoint(state, at=1100.0 + 37.0 * n).change)
        elif act == "set":
            state = recorded(state, set_cells(state, to=3.5 + n, cells=read_cells("1:1")).change)
        else:
            state = recorded(state, scale(state, by=1.03 + n / 100).change)
    before = state.history.revisions
    wanted = before[choice % len(before)]
    after = recorded(state, roll_back(state, wanted.id).change)
    assert after.table().same_axes(wanted.table)
    assert np.array_equal(after.table().values, wanted.table.values)
    assert after.history.revisions[: len(before)] == before
    assert after.head().parent == state.head().id or after is state or after.head() is state.head()
    back = recorded(after, undo(after).change) if after.head().id > len(before) else after
    assert back.head() is state.head()


def test_cells_roll_back_onto_breakpoints_that_came_later(session: Session) -> None:
    session.record(insert_breakpoint(session.state, at=2500.0).change)
    session.record(scale(session.state, by=1.5).change)
    answer = roll_back(session.state, 1, cells=Cells((((2, 2),),)))
    session.record(answer.change)
    assert session.state.table().values == pytest.approx([3, 6, 6, 12, 24])
    assert any("interpolated" in line for line in answer.lines)


def test_the_history_of_a_cell_names_each_act_with_its_factor(session: Session) -> None:
    session.record(scale(session.state, by=1.1, cells=read_cells("0:1"), note="half step").change)
    session.record(scale(session.state, by=2.0, cells=read_cells("3:3")).change)
    session.record(set_cells(session.state, to=5.0, cells=read_cells("1:1")).change)
    acts = run(cell_history(session.state, cells=read_cells("1:1"))).data["acts"]
    assert [act["revision"] for act in acts] == [1, 2, 4]
    assert [act["value"] for act in acts] == pytest.approx([4, 4.4, 5])
    assert acts[1]["factor"] == pytest.approx(1.1)
    assert acts[2]["cumulative"] == pytest.approx(1.25)
    assert acts[1]["note"] == "half step"
    with pytest.raises(InputError, match="2 cells"):
        run(cell_history(session.state, cells=read_cells("1:2")))


def test_a_correction_is_found_by_its_drive(tmp_path: Path) -> None:
    shutil.copy(SAMPLE, tmp_path / "sample.session")
    with Session.open(tmp_path / "sample.session") as session:
        corrected = session.state
    found = changed_by(corrected, 1)
    assert {made.operation for made in found.value} == {"correct"}
    factors = np.array(found.data["corrections"][0]["multipliers"])
    at = int(np.argmax(np.abs(factors - 1)))
    acts = run(cell_history(corrected, cells=read_cells(f"{at}:{at}"))).value
    act = next(act for act in acts if act.revision.id == found.data["corrections"][0]["revision"])
    assert 1 in act.drives
    assert act.factor == pytest.approx(factors[at])
    assert np.isfinite(act.half_width)
