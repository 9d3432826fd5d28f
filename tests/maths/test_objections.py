"""What speaks against a revision, check by check."""

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from workbench.commands.declaring.making import revise, revised
from workbench.commands.table.donors import insert_breakpoint
from workbench.commands.table.hand import scale, set_cells
from workbench.maths.verdict.objections import objections
from workbench.model.cells import Cells, read_cells
from workbench.model.ecu_format import EcuFormat, Part, Storage
from workbench.model.history import Approval, History, brought_in
from workbench.model.log import Channel, Drive
from workbench.model.packing import Column
from workbench.model.state import Applied, Approved, State
from workbench.model.step import step
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
    assert names(state) == {"cliff": ((0,), (1,), (3,), (4,)), "not-driven-since": ()}
    state = corrected(state_of(curve), np.array([1, 1.01, 1.02, 1.01, 1]), ["undriven", *["proven"] * 3, "undriven"])
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


def test_one_cell_leans_and_several_lean(curve: Table) -> None:
    for cells, said in (("4", "1 cell leans the mixture"), ("3:4", "2 cells lean the mixture")):
        state = by_hand(state_of(curve), 0.98, cells)
        told = objections(state.history, state.head(), (), state.settings)
        assert any(each.sentence.startswith(said) for each in told)


def test_a_lean_step_at_high_load(curve: Table, grid: Table) -> None:
    assert names(by_hand(state_of(curve), 0.98, "4"))["lean-step-at-high-load"] == ((4,),)
    # From an eighth of the largest airflow on: a pull passes there, if no drive says otherwise.
    assert names(by_hand(state_of(curve), 0.98, "0:3"))["lean-step-at-high-load"] == ((2,), (3,))
    assert "lean-step-at-high-load" not in names(by_hand(state_of(curve), 0.98, "0:1"))
    assert "lean-step-at-high-load" not in names(by_hand(state_of(curve), 0.995, "4"))
    assert "lean-step-at-high-load" not in names(by_hand(state_of(curve), 1.1, "4"))
    expected = tuple((row, column) for row in range(3) for column in (2, 3))  # 70 kPa has the larger say at 80
    assert names(by_hand(state_of(grid), 0.98, "all"))["lean-step-at-high-load"] == expected
    turned = Table("t", "efficiency", "%", grid.axes[::-1], grid.values.T)
    expected = tuple((row, column) for row in (2, 3) for column in range(3))
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
    assert names(state)["lean-step-at-high-load"] == ((3,), (4,))


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
    assert "most at 4500 Hz (-30.0 %)" in told["lean-step-at-high-load"]
    assert "(1000 Hz; 2000 Hz; 3000 Hz and 2 more)" in told["undriven-changed"]


def test_what_cannot_be_stored(curve: Table) -> None:
    state = state_of(curve)

    def told(ecu_format: EcuFormat) -> dict[str, tuple[tuple[int, ...], ...]]:
        found = objections(state.history, state.head(), (), state.settings, ecu_format)
        return {each.name: each.cells for each in found}

    assert told(EcuFormat(Storage(0.1, bits=8)))["storage-range"] == ((3,), (4,))
    assert told(EcuFormat(parts=(Part("a", 1000, 2500), Part("b", 2500, 6000))))["storage-range"] == ()
    assert "storage-range" not in told(EcuFormat(Storage(0.1)))


def test_standings_move_with_the_breakpoints(curve: Table, grid: Table) -> None:
    standing = ["undriven", "proven", "proven", "thin", "undriven"]
    state = corrected(state_of(curve), np.array([1, 1.02, 1.02, 1.02, 1]), standing)
    for at in (2500.0, 4000.0, 5000.0):
        state = step(state, insert_breakpoint(state, at=at).change)
    state = by_hand(state, 1.001, "all")
    found = names(state)
    assert found["undriven-changed"] == ((0,), (6,), (7,))
    assert found["thin-changed"] == ((4,), (5,))
    told = np.where(np.arange(12).reshape(3, 4) % 4 == 3, "undriven", "proven").tolist()
    state = corrected(state_of(grid), np.full((3, 4), 1.01), told)
    for at, axis in ((1000.0, "row"), (85.0, "column")):
        state = step(state, insert_breakpoint(state, at=at, axis=axis).change)  # type: ignore[arg-type]
    assert {column for _, column in names(state)["undriven-changed"]} == {3, 4}


def on_axis(state: State, points: list[float], values: list[float]) -> State:
    table = state.table()
    axis = Axis(table.axes[0].name, table.axes[0].unit, np.array(points))
    other = replace(table, axes=(axis,), values=np.array(values))
    return step(state, revised(state, other, "change-axis", {}, "").change)


def test_other_breakpoints_hide_nothing_between_them(curve: Table) -> None:
    """Read at 1000 and 6000 Hz alone, both tables are equal; between, one is up to 7 times the other."""
    told = {}
    state = on_axis(state_of(curve), [1000.0, 6000.0], [2.0, 110.0])
    for each in objections(state.history, state.head(), (), state.settings):
        told[each.name] = each.sentence
    assert "3 places moved by more than 25 %" in told["step-over-limit"]
    assert "2000 Hz (+293.3 %)" in told["step-over-limit"]
    assert "(2000 Hz; 3000 Hz; 4500 Hz)" in told["undriven-changed"]
    # Back again: leaner at 4500 Hz, which the coarse table has no breakpoint for.
    state = step(state, Approved(2, Approval("x", "", "")))
    assert "lean-step-at-high-load" in names(on_axis(state, [1000.0, 2000, 6000], [2.0, 6.0, 110.0]))


def test_a_single_breakpoint_is_a_table_too(curve: Table) -> None:
    found = names(on_axis(state_of(curve), [1000.0], [2.0]))
    assert {"step-over-limit", "lean-step-at-high-load", "undriven-changed"} <= set(found)
    assert found["lean-step-at-high-load"] == ((0,),)


@pytest.mark.parametrize(("kpa", "barometer", "high"), [(70.0, 100.0, True), (70.0, 90.0, True), (40.0, 90.0, False)])
def test_high_load_of_a_grid_begins_at_four_fifths_of_the_barometer(
    grid: Table, make_drive: MakeDrive, kpa: float, barometer: float, high: bool
) -> None:
    axes = (grid.axes[0], Axis("manifold pressure", "kPa", np.array([20.0, 40, 70, 250])))
    table = replace(grid, axes=axes)
    state = by_hand(state_of(table), 0.8, f"0:2,{[20.0, 40, 70, 250].index(kpa)}")
    drive = make_drive(1, 1)
    channel = Channel("baro", "kPa", Column(np.full(20, barometer)))
    log = replace(drive.log, channels=(*drive.log.channels, channel), roles={"barometer": "baro"})
    state = replace(state, drives=(replace(drive, log=log),))
    assert ("lean-step-at-high-load" in names(state)) is high


def test_what_the_ecu_stores_is_judged(curve: Table) -> None:
    state = state_of(curve)

    def told(storage: Storage) -> dict[str, str]:
        found = objections(state.history, state.head(), (), state.settings, EcuFormat(storage))
        return {each.name: each.sentence for each in found}

    assert told(Storage(0.5)).keys() == {"not-driven-since"}
    leaner = told(Storage(4.0, rounding="toward-zero"))
    assert "3000 Hz (-22.6 %)" in leaner["lean-step-at-high-load"]
    assert "the ECU's step is too coarse" in leaner["step-over-limit"]
    # What was approved as it is stored is what the next change is counted from.
    held = Storage(4.0, rounding="toward-zero")
    state = step(state, Approved(1, Approval("x", "", "", (), held)))
    state = by_hand(state, 1.001, "0")
    assert "lean-step-at-high-load" not in told(held)


def test_small_steps_without_a_drive_add_up(curve: Table) -> None:
    state = state_of(curve)
    for number in range(2, 5):
        state = by_hand(state, 0.991, "all")
        found = names(state)
        assert ("lean-step-at-high-load" in found) is (number > 2)
        state = step(state, Approved(number, Approval("x", "", "")))
