"""Steps between neighbouring cells' multipliers: objected to where no evidence asks for them."""

from dataclasses import replace

import numpy as np

from workbench.commands.declaring.making import revise
from workbench.maths.verdict.approval_case import Objection
from workbench.maths.verdict.cliffs import BLEND, CARRY, CLIFF, TAPER
from workbench.maths.verdict.objections import objections
from workbench.model.gate import Limits
from workbench.model.history import History, Json, brought_in
from workbench.model.state import Applied, State
from workbench.model.step import step
from workbench.model.table import Table

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
