"""Steps between neighbouring cells' multipliers: objected to where no evidence asks for them."""

from dataclasses import replace

import numpy as np

from workbench.commands.declaring.making import revise
from workbench.maths.table.joining import joined
from workbench.maths.verdict.approval_case import Objection
from workbench.maths.verdict.cliffs import BLEND, CARRY, CLIFF, TAPER, fades_over
from workbench.maths.verdict.objections import objections
from workbench.model.gate import Limits
from workbench.model.history import History, Json, brought_in
from workbench.model.state import Applied, State
from workbench.model.step import step
from workbench.model.table import Axis, Table

ENDS_UNDRIVEN = ["undriven", "proven", "proven", "proven", "undriven"]


def state_of(table: Table) -> State:
    return step(State("", History((), {}, {}, {})), Applied(brought_in(1, table, "new", {}, "", "t", "2026-01-01")))


def corrected(
    state: State, made: list[float], found: list[float | None], standing: list[str], inferred: Json = None
) -> State:
    """Correct by some multipliers what was found to need others."""
    multipliers = np.array(made)
    expected: list[Json] = [None if f is None else f / m for f, m in zip(found, made, strict=True)]
    table = state.table()
    arguments: dict[str, Json] = {"standing": list(standing), "expected": expected, "inferred": inferred}
    after = table.with_values(table.values * multipliers)
    return step(state, revise(state, table.name, after, multipliers, "correct", arguments, ""))


def cliff(state: State) -> Objection | None:
    found = objections(state.history, state.head(), (), state.settings)
    return next((each for each in found if each.name == CLIFF), None)


def test_a_corrected_cell_beside_one_left_alone_is_a_cliff_with_its_remedies(curve: Table) -> None:
    found = [None, 0.906, 0.906, 0.906, None]
    told = cliff(corrected(state_of(curve), [1, 0.906, 0.906, 0.906, 1], found, ENDS_UNDRIVEN))
    assert told is not None
    assert told.cells == ((0,), (1,), (3,), (4,))
    assert "-9.4 % at" in told.sentence
    assert told.remedies == (CARRY, TAPER, BLEND)
    assert (
        cliff(corrected(state_of(curve), [0.906] * 5, found, ENDS_UNDRIVEN, [0.906, None, None, None, 0.906])) is None
    )


def test_a_step_that_the_evidence_asks_for_is_none_nor_is_half_of_it(curve: Table) -> None:
    found = [1.0, 1.0, 1.06, 1.06, 1.06]
    proven = ["proven"] * 5
    assert cliff(corrected(state_of(curve), [1, 1, 1.06, 1.06, 1.06], list(found), proven)) is None
    assert cliff(corrected(state_of(curve), [1, 1, 1.03, 1.03, 1.03], list(found), proven)) is None
    told = cliff(corrected(state_of(curve), [1, 1, 1, 1.06, 1.06], list(found), proven))
    assert told is not None
    assert told.remedies == (BLEND,)
    assert told.cells == ((2,), (3,))


def test_the_largest_step_allowed_is_the_sessions(curve: Table) -> None:
    state = corrected(state_of(curve), [1, 1.03, 1.03, 1.03, 1.03], [None] * 5, ["undriven"] * 5)
    assert cliff(state) is not None
    assert cliff(replace(state, settings=replace(state.settings, limits=Limits(cliff=0.05)))) is None


def test_a_grid_is_looked_at_along_both_axes(grid: Table) -> None:
    made = np.ones(grid.shape)
    made[1, 2] = 0.9
    state = state_of(grid)
    after = grid.with_values(grid.values * made)
    told = cliff(step(state, revise(state, grid.name, after, made, "set", {}, "")))
    assert told is not None
    assert set(told.cells) == {(1, 2), (0, 2), (2, 2), (1, 1), (1, 3)}


def test_the_joint_of_parts_is_looked_at_like_any_other_place(curve: Table) -> None:
    """Two parts of one curve, of which one was corrected: the ECU reads straight across their joint."""
    first = Axis("signal", "Hz", np.array([1000.0, 2000, 3000]))
    second = Axis("signal", "Hz", np.array([3000.0, 4500, 6000]))
    low = Table("low", "mass airflow", "g/s", (first,), np.array([2.0, 6.0, 15.5]))
    high = Table("high", "mass airflow", "g/s", (second,), np.array([15.5, 48.0, 110.0]))
    whole, _, _ = joined([low, high], "airflow")
    state = corrected(
        state_of(whole), [1.05, 1.05, 1.05, 1, 1], [1.05, 1.05, 1.05, None, None], ["proven"] * 3 + ["undriven"] * 2
    )
    told = cliff(state)
    assert told is not None
    assert told.cells == ((2,), (3,))


def test_between_part_and_full_throttle_a_step_needs_evidence_too(curve: Table) -> None:
    """Part throttle proven, pulls not: the step at their border is named, and no step is where pulls ask for it."""
    standing = ["proven", "proven", "proven", "undriven", "undriven"]
    told = cliff(corrected(state_of(curve), [1, 1, 1, 0.93, 0.93], [1, 1, 1, None, None], standing))
    assert told is not None
    assert told.cells == ((2,), (3,))
    asked = corrected(state_of(curve), [1, 1, 1, 0.93, 0.93], [1, 1, 1, 0.93, 0.93], ["proven"] * 5)
    assert cliff(asked) is None


def test_at_the_end_of_a_table_a_last_cell_left_alone_is_a_cliff(curve: Table) -> None:
    standing = ["proven"] * 4 + ["undriven"]
    told = cliff(corrected(state_of(curve), [0.95] * 4 + [1], [0.95] * 4 + [None], standing))
    assert told is not None
    assert told.cells == ((3,), (4,))


def test_a_fade_takes_as_many_cells_as_keep_its_steps_small(curve: Table) -> None:
    state = corrected(state_of(curve), [0.8] * 5, [0.8] * 5, ["proven"] * 5)
    assert fades_over(state.history.line(state.head().id)) == 13  # 22 % in steps of 1.8 %
    assert fades_over(state.history.line(1)) == 4
