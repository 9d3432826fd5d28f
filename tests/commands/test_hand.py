"""Hand work: each act is one revision that replays and can be undone; what changes nothing makes none."""

from collections.abc import Callable
from contextlib import nullcontext, suppress
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from workbench.commands.declaring.making import revise
from workbench.commands.declaring.registry import Answer
from workbench.commands.record.exports import replay_problems
from workbench.commands.record.revisions import roll_back
from workbench.commands.record.undoing import undo
from workbench.commands.table import clipboard, ecu_format, hand, shaping
from workbench.errors import InputError, WorkbenchError
from workbench.model.cells import ALL, Cells, read_cells
from workbench.model.history import History, brought_in
from workbench.model.state import Applied, State
from workbench.model.step import step
from workbench.model.table import Axis, Table

POINTS = np.array([0.5, 1, 2, 3.5, 5, 6])
CURVES = arrays(np.float64, 6, elements=st.floats(0.01, 1000)).map(
    lambda values: Table("t", "airflow", "g/s", (Axis("x", "Hz", POINTS),), values)
)
GRIDS = arrays(np.float64, (4, 6), elements=st.floats(0.01, 1000)).map(
    lambda values: Table("t", "efficiency", "%", (Axis("r", "rpm", np.arange(4.0)), Axis("c", "kPa", POINTS)), values)
)
TABLES = CURVES | GRIDS


def state_of(table: Table) -> State:
    return step(State("", History((), {}, {}, {})), Applied(brought_in(1, table, "new", {}, "", "x", "")))


def after(state: State, answer: Answer) -> State:
    assert answer.change is not None
    return step(state, answer.change)


def corrected(state: State) -> State:
    """As after a correction whose first and last cells were undriven."""
    table = state.table()
    standing = np.full(table.shape, "proven", dtype="<U8")
    standing[..., [0, -1]] = "undriven"
    multipliers = np.where(standing == "proven", 1.03, 1.0)
    told = {"standing": standing.tolist(), "half_width": np.where(standing == "proven", 0.01, np.nan).tolist()}
    changed = table.with_values(table.values * multipliers)
    return step(state, revise(state, table.name, changed, multipliers, "correct", told, ""))


ACTIONS: dict[str, Callable[[State, Cells], Answer]] = {
    "set": lambda state, cells: hand.set_cells(state, to=12.5, cells=cells),
    "add": lambda state, cells: hand.add(state, by=-0.003, cells=cells),
    "scale": lambda state, cells: hand.scale(state, by=1.07, cells=cells),
    "scale-percent": lambda state, cells: hand.scale_percent(state, by=-3.0, cells=cells),
    "ramp": lambda state, cells: shaping.ramp(state, cells=cells),
    "smooth": lambda state, cells: shaping.smooth(state, strength=0.2, cells=cells),
    "smooth since": lambda state, cells: shaping.smooth(state, strength=0.2, cells=cells, since=1),
    "smooth by evidence": lambda state, cells: shaping.smooth(state, strength=0.2, cells=cells, by_evidence=True),
    "keep-rising": lambda state, cells: shaping.keep_rising(state, cells=cells),
    "keep-falling": lambda state, cells: shaping.keep_rising(state, cells=cells, direction="falling", along="rows"),
    "blend": lambda state, cells: shaping.blend(state, 1, share=0.3, cells=cells),
    "carry-on": lambda state, cells: shaping.carry_on(state, over=2, lean_is_meant=True),
    "round": lambda state, cells: ecu_format.round_cells(state, step=0.01, cells=cells),
    "paste": lambda state, cells: clipboard.paste(state, text="4.5", cells=cells),
    "multiply-by-paste": lambda state, cells: clipboard.multiply_by_paste(state, text="1.04", share=0.5, cells=cells),
}


@given(table=TABLES, act=st.sampled_from(sorted(ACTIONS)), whole=st.booleans())
def test_an_act_replays_keeps_other_cells_and_can_be_undone(table: Table, act: str, whole: bool) -> None:
    start = corrected(state_of(table))
    cells = ALL if whole else read_cells("1:4" if table.kind == "curve" else "0:2,1:4")
    answer = None
    with suppress(WorkbenchError) if act.startswith("smooth") else nullcontext():
        answer = ACTIONS[act](start, cells)
    if answer is None:
        return
    if answer.change is None:
        assert answer.data["revision"] == 2
        return
    done = step(start, answer.change)
    assert answer.data["revision"] == done.head().id == 3
    assert replay_problems(done.history) == []
    if act != "carry-on":
        still = ~cells.mask(table)
        assert done.table().values[still].tobytes() == start.table().values[still].tobytes()
    back = after(done, undo(done))
    assert back.table().values.tobytes() == start.table().values.tobytes()
    again = roll_back(done, 2)
    if again.change is not None:
        assert step(done, again.change).table().values.tobytes() == start.table().values.tobytes()


IDENTITIES: dict[str, Callable[[State], Answer]] = {
    "set": lambda state: hand.set_cells(state, to=float(state.table().values.flat[0]), cells=read_cells(first(state))),
    "add": lambda state: hand.add(state, by=0.0),
    "scale": lambda state: hand.scale(state, by=1.0),
    "scale-percent": lambda state: hand.scale_percent(state, by=0.0),
    "smooth": lambda state: shaping.smooth(state, strength=0.0),
    "smooth since": lambda state: shaping.smooth(state, strength=0.0, since=1),
    "blend": lambda state: shaping.blend(state, 1, share=0.0),
    "blend with itself": lambda state: shaping.blend(state, 2, share=0.7),
    "paste": lambda state: clipboard.paste(state, text=str(clipboard.copy(state).value), cells=ALL),
    "multiply by ones": lambda state: clipboard.multiply_by_paste(state, text="0%", cells=ALL),
    "multiply by a share of nothing": lambda state: clipboard.multiply_by_paste(
        state, text="1.5", cells=ALL, share=0.0
    ),
    "roll-back": lambda state: roll_back(state, 2),
}


def first(state: State) -> str:
    return "0" if state.table().kind == "curve" else "0,0"


@given(table=TABLES, act=st.sampled_from(sorted(IDENTITIES)))
def test_what_changes_nothing_makes_no_revision(table: Table, act: str) -> None:
    state = corrected(state_of(table))
    answer = IDENTITIES[act](state)
    assert answer.change is None
    assert answer.data["revision"] == 2
    assert (np.array(answer.data["multipliers"]) == 1).all()


@given(CURVES, st.floats(0.5, 2))
def test_scaling_there_and_back(table: Table, by: float) -> None:
    state = after(state_of(table), hand.scale(state_of(table), by=by)) if by != 1 else state_of(table)
    answer = hand.scale(state, by=1 / by)
    values = table.values if answer.change is None else step(state, answer.change).table().values
    assert values == pytest.approx(table.values, rel=1e-15)


@given(CURVES)
def test_a_rising_curve_stays_one_through_shape_scale_and_rounding(table: Table) -> None:
    state = state_of(table)
    for act in (
        shaping.keep_rising,
        lambda state: hand.scale(state, by=1.013),
        lambda state: shaping.smooth(state, strength=0.5, cells=read_cells("1:4")),
        lambda state: ecu_format.round_cells(state, step=0.01),  # the lowest airflow drawn: none is rounded to nothing
    ):
        answer = act(state)
        state = state if answer.change is None else step(state, answer.change)
    assert (np.diff(state.table().values) >= 0).all()


AIRLESS: dict[str, Callable[[State], Answer]] = {
    "set": lambda state: hand.set_cells(state, to=-1.0, cells=read_cells("0")),
    "add": lambda state: hand.add(state, by=-6.0),
    "paste": lambda state: clipboard.paste(state, text="4\n0\n5", cells=read_cells("0")),
    "round": lambda state: ecu_format.round_cells(state, step=13.0),
}


@pytest.mark.parametrize("act", AIRLESS)
def test_no_hand_tool_leaves_an_engine_without_air(curve: Table, act: str) -> None:
    with pytest.raises(WorkbenchError, match="the ECU would meter no fuel there") as caught:
        AIRLESS[act](state_of(curve))
    assert caught.value.hint


def test_the_foot_of_a_curve_may_hold_nothing(curve: Table) -> None:
    state = after(state_of(curve), hand.set_cells(state_of(curve), to=0.0, cells=read_cells("0")))
    assert after(state, shaping.ramp(state, cells=read_cells("0:2"))).table().values[0] == 0


def test_what_was_there_before_is_given_back_even_without_air(curve: Table) -> None:
    dry = curve.with_values([0, 0, 15.5, 48, 110])
    state = after(state_of(dry), hand.set_cells(state_of(dry), to=5.0, cells=read_cells("1")))
    with pytest.raises(WorkbenchError, match="no fuel"):
        shaping.blend(state, 1, share=1.0)
    assert after(state, roll_back(state, 1)).table().values.tolist() == dry.values.tolist()
    scaled = after(state_of(dry), hand.scale(state_of(dry), by=1.1)).table().values
    assert scaled[:2].tolist() == [0, 0]


def test_a_table_that_falls_below_zero_is_no_airflow(curve: Table) -> None:
    trim = replace(curve, value_name="Efficiency trim", unit="%", values=np.array([-2.0, -1, 0, 1, 2]))
    assert after(state_of(trim), hand.add(state_of(trim), by=-1.0)).table().values[0] == -3


def test_a_correction_is_carried_on_once(curve: Table) -> None:
    state = corrected(state_of(curve))
    done = after(state, shaping.carry_on(state))
    assert done.table().values == pytest.approx(curve.values * 1.03)
    assert shaping.carry_on(done).change is None
    fading = after(state, shaping.carry_on(state, over=4, cells=read_cells("4")))
    assert fading.table().values == pytest.approx(curve.values * [1, 1.03, 1.03, 1.03, 1.0225])


def test_a_correction_fades_from_a_thin_cell_that_was_corrected_not_past_it(curve: Table) -> None:
    multipliers = np.array([1, 1.04, 1.04, 1.03, 1])
    for thin, beyond in ((1.03, 1.0225), (1.0, 1.02)):
        multipliers[3] = thin
        told = {"standing": ["undriven", "proven", "proven", "thin", "undriven"]}
        changed = curve.with_values(curve.values * multipliers)
        state = state_of(curve)
        state = step(state, revise(state, "airflow", changed, multipliers, "correct", told, ""))
        fading = after(state, shaping.carry_on(state, over=4)).table().values / curve.values
        assert fading[3:] == pytest.approx([thin, beyond])


def test_a_leaning_extension_into_high_load_asks_for_a_yes(curve: Table) -> None:
    state = state_of(curve)
    multipliers = np.array([1, 0.96, 0.96, 0.96, 1])
    told = {"standing": ["undriven", "proven", "proven", "proven", "undriven"]}
    changed = curve.with_values(curve.values * multipliers)
    state = step(state, revise(state, "airflow", changed, multipliers, "correct", told, ""))
    with pytest.raises(WorkbenchError, match="lean the mixture in 1 undriven cell at") as caught:
        shaping.carry_on(state)
    assert "--lean-is-meant" in caught.value.hint
    assert after(state, shaping.carry_on(state, lean_is_meant=True)).table().values[-1] == pytest.approx(110 * 0.96)
    shaping.carry_on(state, cells=read_cells("0"))


def test_smoothing_the_multipliers_keeps_the_bend(curve: Table) -> None:
    state = after(state_of(curve), hand.scale(state_of(curve), by=1.03))
    assert shaping.smooth(state, strength=0.9, since=1).change is None
    bump = after(state, hand.scale(state, by=1.02, cells=read_cells("2")))
    calm = after(bump, shaping.smooth(bump, strength=0.9, since=1))
    ratio = calm.table().values / curve.values
    assert np.ptp(ratio) < 0.012
    assert ratio.mean() == pytest.approx((bump.table().values / curve.values).mean())


def test_evidence_weighs_when_asked(curve: Table) -> None:
    state = corrected(state_of(curve))
    odd = after(state, hand.set_cells(state, to=90.0, cells=read_cells("4")))
    plain = after(odd, shaping.smooth(odd, strength=0.5, since=1)).table().values
    weighed = after(odd, shaping.smooth(odd, strength=0.5, since=1, by_evidence=True)).table().values
    proven = slice(1, 4)
    kept = state.table().values[proven]
    assert np.abs(weighed[proven] - kept).max() < np.abs(plain[proven] - kept).max()


def test_a_block_is_copied_and_pasted(curve: Table, grid: Table) -> None:
    state = state_of(curve)
    text = str(clipboard.copy(state, cells=read_cells("1:3"), decimal="comma").value)
    assert text == "6\n15,5\n48\n"
    for block in (text, text.replace("\n", "\t")):
        moved = after(state, clipboard.paste(state, text=block, cells=read_cells("2"))).table().values
        assert moved.tolist() == [2, 6, 6, 15.5, 48]
    state = state_of(grid)
    text = str(clipboard.copy(state, cells=read_cells("0:1,2:3")).value)
    moved = after(state, clipboard.paste(state, text=text, cells=read_cells("1,0"))).table().values
    assert moved[1:, :2].tolist() == grid.values[:2, 2:].tolist()
    assert clipboard.copy(state, with_axes=True).lines[0].startswith("engine speed (rpm) / manifold pressure (kPa) / ")


def test_two_columns_are_placed_by_the_breakpoints_in_the_first(curve: Table) -> None:
    state = state_of(curve)
    points = curve.axes[0].breakpoints
    text = f"Frequency\tCorrection\n{points[3]:.2f}\t3\n{points[1]:.2f}\t-4\n"
    answer = clipboard.multiply_by_paste(state, text=text, meaning="percents", cells=read_cells("0"))
    expected = np.ones(curve.shape)
    expected[[3, 1]] = 1.03, 0.96
    assert answer.value.multipliers == pytest.approx(expected)
    pasted = clipboard.paste(state, text=f"{points[2]:.2f}\t7.5\n{points[4]:.2f}\t8.5", cells=read_cells("0")).value
    assert pasted.table.values[[2, 4]].tolist() == [7.5, 8.5]
    assert pasted.table.values[[0, 1, 3]].tolist() == curve.values[[0, 1, 3]].tolist()
    with pytest.raises(InputError, match="takes one row or one column"):
        clipboard.paste(state, text="1\t7.5\n2\t8.5", cells=read_cells("0"))
    with pytest.raises(InputError, match="takes one row or one column"):
        clipboard.paste(state, text=f"{points[2]}\t7.5\n{points[2]}\t8.5", cells=read_cells("0"))


def test_a_percentage_without_its_sign_is_asked_about(curve: Table) -> None:
    with pytest.raises(InputError, match="is -4") as refusal:
        clipboard.multiply_by_paste(state_of(curve), text="Correction\n-4", cells=read_cells("3"))
    assert "--meaning percents" in refusal.value.hint


def test_pasted_percents_and_factors_are_told_apart(curve: Table) -> None:
    state = state_of(curve)
    for text, meaning in (("2%\n-4%", "auto"), ("2\n-4", "percents"), ("1.02\n0.96", "auto")):
        answer = clipboard.multiply_by_paste(state, text=text, meaning=meaning, share=0.5, cells=read_cells("1"))  # type: ignore[arg-type]
        assert answer.data["multipliers"] == pytest.approx([1, 1.01, 0.98, 1, 1])


REFUSALS: list[tuple[Callable[[State], Answer], str]] = [
    (lambda state: shaping.ramp(state, cells=read_cells("2")), "two cells"),
    (lambda state: shaping.fill(state, cells=ALL), "none is left"),
    (lambda state: shaping.blend(state, 9), "no revision 9"),
    (shaping.carry_on, "No correction from evidence"),
    (lambda state: shaping.smooth(state, by_evidence=True), "No correction from evidence"),
    (lambda state: shaping.smooth(state, strength=1.0, edges="free"), "zero or below"),
    (lambda state: hand.scale_percent(state, by=-100.0), "leave zero or less"),
    (lambda state: hand.add(state, by=float("inf")), "not a finite number"),
    (lambda state: hand.scale_percent(state, by=1.7e308), "overflow"),
    (ecu_format.round_cells, "step is not set"),
    (lambda state: ecu_format.round_cells(state, step=-1.0), "not possible"),
    (lambda state: clipboard.paste(state, cells=ALL), "No text to paste"),
    (lambda state: clipboard.paste(state, text="abc", cells=ALL), "'abc' is not a finite number"),
    (lambda state: clipboard.paste(state, text="1\t2\n3\t4", cells=read_cells("0")), "2 rows by 2 columns; the curve"),
    (lambda state: clipboard.paste(state, text="1\n2\n3", cells=read_cells("3")), "3 cells; from there on .* 2 cells"),
    (
        lambda state: clipboard.paste(state, text="1\n2\n3", cells=read_cells("0:1")),
        "3 cells; the chosen cells",
    ),
    (lambda state: clipboard.paste(state, text="1\n2", cells=read_cells("0:1+3:4")), "Several blocks"),
    (lambda state: clipboard.multiply_by_paste(state, text="0", cells=ALL), "factor for the cell .* is 0"),
    (lambda state: clipboard.multiply_by_paste(state, text="-2", cells=ALL), "is -2"),
    (lambda state: ecu_format.storage(state, bits=8), "step is not set"),
    (lambda state: ecu_format.parts(state, at=(2500.0,), name=("a", "b")), "does not fit the axis"),
    (lambda state: ecu_format.parts(state, at=(3000.0,), name=("a",)), "has 2 parts, but 1 name is given"),
]


@pytest.mark.parametrize(("act", "told"), REFUSALS, ids=[told for _, told in REFUSALS])
def test_a_refusal_is_a_sentence(curve: Table, act: Callable[[State], Answer], told: str) -> None:
    with pytest.raises(WorkbenchError, match=told) as caught:
        act(state_of(curve))
    assert caught.value.hint


def test_several_blocks_ramp_each(curve: Table, grid: Table) -> None:
    state = state_of(replace(curve, values=np.array([2.0, 9, 15.5, 9, 110])))
    done = after(state, shaping.ramp(state, cells=read_cells("0:2+2:4"))).table().values
    assert done == pytest.approx([2, 8.75, 15.5, 62.75, 110])
    state = state_of(grid)
    for along in ("rows", "columns", "corners"):
        shaping.ramp(state, along=along)  # type: ignore[arg-type]
    shaping.ramp(state, cells=read_cells("1,0:3"))


def test_storage_and_parts_are_shown_and_said(curve: Table) -> None:
    state = state_of(curve)
    assert ecu_format.storage(state).data["storage"] is None
    answer = ecu_format.storage(state, step=0.4, bits=8)
    assert answer.data["stored"] == [2.0, 6.0, 15.6, 48.0, 110.0]
    assert (answer.data["counts"], answer.data["outside"]) == ([5, 15, 39, 120, 275], [False] * 4 + [True])
    assert "OUT OF RANGE" in answer.lines[-1]
    state = after(state, answer)
    assert ecu_format.storage(state).change is None
    assert ecu_format.storage(state, step=0.4).change is None
    state = after(state, ecu_format.parts(state, at=(3000.0,), name=("low", "high")))
    assert ecu_format.parts(state).lines[-1] == "Part 'high': 3000 to 6000 Hz."
    state = after(state, ecu_format.parts(state, none=True))
    state = after(state, ecu_format.storage(state, none=True))
    assert state.ecu_format() == type(state.ecu_format())()
