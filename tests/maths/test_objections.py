"""What speaks against a revision, check by check."""

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from workbench.commands.donors import insert_breakpoint
from workbench.commands.hand import scale, set_cells
from workbench.commands.making import revise, revised
from workbench.maths.objections import objections
from workbench.model.cells import Cells, read_cells
from workbench.model.history import Approval, History, brought_in
from workbench.model.keeping import Keeping, Part, Storage
from workbench.model.log import Drive
from workbench.model.state import Applied, Approved, State, step
from workbench.model.table import Axis, Table

MakeDrive = Callable[..., Drive]


def state_of(table: Table) -> State:
    first = brought_in(1, table, "new", {}, "", "tester", "2026-01-01T00:00:00Z")
    return step(State("", History((), {}, {}, {})), Applied(first))


def corrected(state: State, multipliers: np.ndarray, standing: list[object]) -> State:
    table = state.table()
    after = table.with_values(table.values * multipliers)
    return step(state, revise(state, table.name, after, multipliers, "correct", {"standing": standing}, ""))


def names(state: State, number: int | None = None) -> dict[str, tuple[tuple[int, ...], ...]]:
    revision = state.head() if number is None else state.history.revision(number)
    return {each.name: each.cells for each in objections(state.history, revision, state.drives, state.settings)}


def by_hand(state: State, by: float, cells: str) -> State:
    change = scale(state, by=by, cells=read_cells(cells)).change
    assert change is not None
    return step(state, change)


def test_nothing_speaks_against_what_was_driven_and_proven(curve: Table, make_drive: MakeDrive) -> None:
    state = corrected(state_of(curve), np.array([1, 1.05, 1.04, 1.03, 1]), ["undriven", *["proven"] * 3, "undriven"])
    assert names(state) == {"not-driven-since": ()}
    assert names(replace(state, drives=(make_drive(1, 1),))) == {"not-driven-since": ()}
    assert names(replace(state, drives=(make_drive(1, 2),))) == {}


def test_changes_without_evidence_and_on_thin_evidence(curve: Table) -> None:
    state = by_hand(state_of(curve), 1.01, "1:2")
    assert names(state)["undriven-changed"] == ((1,), (2,))
    state = corrected(state, np.array([1, 1, 1.02, 1.02, 1]), ["undriven", "undriven", "proven", "thin", "undriven"])
    found = names(state)
    assert (found["undriven-changed"], found["thin-changed"]) == (((1,),), ((3,),))


def test_a_cell_put_back_is_not_changed(curve: Table) -> None:
    state = by_hand(state_of(curve), 2.0, "1")
    assert "undriven-changed" not in names(by_hand(state, 0.5, "1"))


def test_steps_are_counted_from_the_revision_approved_last(curve: Table) -> None:
    state = by_hand(by_hand(state_of(curve), 1.2, "all"), 1.2, "0:1")
    assert names(state)["step-over-limit"] == ((0,), (1,))
    state = step(state, Approved(2, Approval("x", "", "")))
    assert "step-over-limit" not in names(state)
    assert names(state)["undriven-changed"] == ((0,), (1,))


def test_a_table_that_crosses_zero_is_measured_by_its_range(curve: Table) -> None:
    table = replace(curve, unit="degC", values=np.array([-40.0, -1, 1, 20, 60]))
    assert "step-over-limit" not in names(by_hand(state_of(table), 3.0, "1"))
    change = set_cells(state_of(table), to=50.0, cells=read_cells("2")).change
    assert names(step(state_of(table), change))["step-over-limit"] == ((2,),)


def test_a_curve_that_falls(curve: Table) -> None:
    assert names(by_hand(state_of(curve), 0.1, "2"))["falling-curve"] == ((2,),)
    down = replace(curve, values=curve.values[::-1])
    assert "falling-curve" not in names(state_of(down))
    assert names(by_hand(state_of(down), 0.01, "1"))["falling-curve"] == ((2,),)


def test_a_lean_step_at_high_load(curve: Table, grid: Table) -> None:
    assert names(by_hand(state_of(curve), 0.98, "4"))["lean-step-at-high-load"] == ((4,),)
    assert "lean-step-at-high-load" not in names(by_hand(state_of(curve), 0.98, "0:3"))
    assert "lean-step-at-high-load" not in names(by_hand(state_of(curve), 0.995, "4"))
    assert "lean-step-at-high-load" not in names(by_hand(state_of(curve), 1.1, "4"))
    expected = tuple((row, 3) for row in range(3))
    assert names(by_hand(state_of(grid), 0.98, "all"))["lean-step-at-high-load"] == expected
    turned = Table("t", "efficiency", "%", grid.axes[::-1], grid.values.T)
    expected = tuple((3, column) for column in range(3))
    assert names(by_hand(state_of(turned), 0.98, "all"))["lean-step-at-high-load"] == expected
    command = replace(curve, value_name="commanded lambda", unit="", values=np.array([1.0, 1, 0.95, 0.9, 0.86]))
    assert "lean-step-at-high-load" in names(by_hand(state_of(command), 1.02, "all"))
    assert "lean-step-at-high-load" not in names(by_hand(state_of(command), 0.98, "all"))
    warm = replace(curve, value_name="intake temperature", unit="degC")
    assert "lean-step-at-high-load" not in names(by_hand(state_of(warm), 0.9, "all"))


def test_a_rise_hides_no_cut_that_follows_it(curve: Table) -> None:
    """After a correction by +11 % a cut by 5 % still leans the mixture against what evidence asked for."""
    state = corrected(state_of(curve), np.full(5, 1.11), ["proven"] * 5)
    assert "lean-step-at-high-load" not in names(state)
    state = by_hand(state, 0.95, "3:4")
    assert names(state)["lean-step-at-high-load"] == ((4,),)


def test_other_breakpoints_are_read_as_the_ecu_reads(curve: Table) -> None:
    axis = Axis("sensor signal", "Hz", np.array([1000.0, 1500, 2000, 3000, 4500, 6000]))
    other = replace(curve, axes=(axis,), values=np.array([2.0, 4.0, 6.0, 15.5, 48.0, 110.0]))
    state = state_of(curve)
    change = revised(state, other, "insert-breakpoint", {}, "").change
    assert names(step(state, change)) == {"not-driven-since": ()}


@pytest.mark.parametrize("cells", [Cells(), read_cells("0:4")])
def test_sentences_name_places_and_what_to_do(curve: Table, cells: Cells) -> None:
    state = state_of(curve)
    change = scale(state, by=0.7, cells=cells).change
    state = step(state, change)
    told = {each.name: each.sentence for each in objections(state.history, state.head(), (), state.settings)}
    assert "5 cells moved by more than 25 % since revision 1, most at 2000 Hz (-30.0 %)" in told["step-over-limit"]
    assert "6000 Hz (-30.0 %)" in told["lean-step-at-high-load"]
    assert "(1000 Hz; 2000 Hz; 3000 Hz and 2 more)" in told["undriven-changed"]


def test_what_cannot_be_stored(curve: Table) -> None:
    state = state_of(curve)

    def told(keeping: Keeping) -> dict[str, tuple[tuple[int, ...], ...]]:
        found = objections(state.history, state.head(), (), state.settings, keeping)
        return {each.name: each.cells for each in found}

    assert told(Keeping(Storage(0.1, bits=8)))["storage-range"] == ((3,), (4,))
    assert told(Keeping(parts=(Part("a", 1000, 2500), Part("b", 2500, 6000))))["storage-range"] == ()
    assert "storage-range" not in told(Keeping(Storage(0.1)))


def test_standings_move_with_the_breakpoints(curve: Table, grid: Table) -> None:
    standing = ["undriven", "proven", "proven", "thin", "undriven"]
    state = corrected(state_of(curve), np.array([1, 1.02, 1.02, 1.02, 1]), standing)
    for at in (2500.0, 4000.0, 5000.0, 7000.0):
        state = step(state, insert_breakpoint(state, at=at).change)
    state = by_hand(state, 1.001, "all")
    found = names(state)
    assert found["undriven-changed"] == ((0,), (6,), (7,), (8,))
    assert found["thin-changed"] == ((4,), (5,))
    told = np.where(np.arange(12).reshape(3, 4) % 4 == 3, "undriven", "proven").tolist()
    state = corrected(state_of(grid), np.full((3, 4), 1.01), told)
    for at, axis in ((1000.0, "row"), (85.0, "column")):
        state = step(state, insert_breakpoint(state, at=at, axis=axis).change)  # type: ignore[arg-type]
    assert {column for _, column in names(state)["undriven-changed"]} == {3, 4}
