"""What drives say against a revision: where it is off, what was not driven, broken words and open cautions."""

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from workbench.demo.rounds import Round, drives_of, history_of
from workbench.maths.verdict.objections import objections
from workbench.maths.verdict.prediction_check import PredictionCheck, check_prediction
from workbench.model.evidence import STANDINGS, Caution, Evidence
from workbench.model.state import Settings

MakeRound = Callable[..., Round]
CAR = {"seed": 7, "minutes": 5.0, "pulls": 2, "start_coolant_c": 84.0, "rate_hz": 10.0}


@pytest.fixture(scope="module")
def stale(round_of: MakeRound) -> Round:
    """A stale table, and the drive that shows it."""
    return round_of(**CAR)


@pytest.fixture(scope="module")
def right(second_of: MakeRound) -> Evidence:
    """What two drives say of the corrected table, the second of them made with it."""
    return second_of(**CAR).evidence


def against(made: Round, seen: Evidence, number: int, prediction: PredictionCheck | None = None) -> dict[str, str]:
    """List what speaks against a revision, the drive of each number being made with the revision of that number."""
    history = history_of(made.tables)
    found = objections(
        history, history.revision(number), drives_of(made.records), Settings(), evidence=seen, prediction=prediction
    )
    return {each.name: each.sentence for each in found}


def test_a_stale_table_is_objected_to_by_its_own_drive(stale: Round) -> None:
    told = against(stale, stale.evidence, 1)
    assert {"part-throttle-outside", "full-throttle-outside", "open-cautions"} <= set(told)
    assert "0 % of driven cells" in told["full-throttle-outside"]
    assert "leaner than commanded" in told["open-cautions"]
    assert "full-throttle-outside" not in against(stale, stale.evidence, 2)  # evidence of another table


def test_nothing_speaks_against_a_table_that_was_corrected_and_driven(second_of: MakeRound, right: Evidence) -> None:
    made = second_of(**CAR)
    assert right.revision == 2
    assert against(made, right, 2).keys() <= {
        "undriven-changed",
        "thin-changed",
        "falling-curve",
        "full-throttle-unproven",
    }  # its ends are not carried on


def test_what_was_not_driven_with_it_is_named(second_of: MakeRound, right: Evidence) -> None:
    made = second_of(**CAR)
    kept = tuple(
        replace(each, full_throttle=np.zeros(each.rows.size, dtype=np.bool_)) if each.drive == 2 else each
        for each in right.kept
    )
    told = against(made, replace(right, kept=kept), 2)
    assert "with revision 2 in the car" in told["full-throttle-not-driven"]
    assert "part-throttle-not-driven" not in told
    left_out = replace(right, drives=(1,), kept=right.kept[:1])
    assert "not-driven-since" in against(made, left_out, 2)


def test_a_good_figure_on_thin_cells_is_no_proof(second_of: MakeRound, right: Evidence) -> None:
    made = second_of(**CAR)
    assert right.full_target.proven > 0.5
    thin = replace(right, part_target=replace(right.part_target, proven=0.2))
    assert "20 % of what was driven" in against(made, thin, 2)["part-throttle-unproven"]
    unknown = replace(right.full_target, worst_cell=None, worst=float("nan"), proven=float("nan"))
    assert "full-throttle-unproven" in against(made, replace(right, full_target=unknown), 2)


def test_one_cell_of_full_throttle_that_is_hardly_known_is_no_proof_either(
    second_of: MakeRound, right: Evidence
) -> None:
    made = second_of(**CAR)
    for half, is_told in ((0.015, False), (0.026, True)):
        known = replace(right.full_target, widest=half, widest_cell=(5,))
        told = against(made, replace(right, full_target=known), 2)
        assert ("full-throttle-unproven" in told) == is_told
    where = right.table.cell_name((5,))
    assert f"uncertain at {where}: known to ±2.6 %, wanted within ±1 %" in told["full-throttle-unproven"]


def test_cautions_stay_open_but_for_what_a_later_drive_settles(second_of: MakeRound, right: Evidence) -> None:
    made = second_of(**CAR)
    lean, doubt = Caution("danger", "Lean.", 1.0, passes=True), Caution("doubt", "The wideband is off.", float("nan"))
    for found, open_ones in (
        (((1, lean),), False),
        (((2, lean),), True),
        (((1, doubt),), True),
    ):
        assert ("open-cautions" in against(made, replace(right, cautions=found), 2)) is open_ones


def test_a_broken_word_counts_where_what_is_left_is_outside(second_of: MakeRound, right: Evidence) -> None:
    made = second_of(**CAR)
    shape = right.table.shape
    grounds = {2: {"expected": np.ones(shape).tolist(), "half_width": np.full(shape, 0.001).tolist()}}
    history = history_of(made.tables, grounds)
    drives = drives_of(made.records)
    for error, speaks in ((0.02, False), (0.08, True)):
        ratio = np.ones(shape)
        ratio[20] += error
        seen = replace(
            right, drives=(2,), ratio=ratio, half_width=np.full(shape, 0.003), at_full=np.zeros(shape, dtype=np.bool_)
        )
        seen = replace(seen, full_throttle=np.zeros(shape, dtype=np.bool_))
        prediction = check_prediction(history, history.revision(2), seen, drives)
        assert np.flatnonzero(prediction.verdict == 3).tolist() == [20]
        told = against(made, right, 2, prediction)
        assert ("word-not-kept" in told) is speaks
        assert ("inside its target everywhere" in prediction.sentences[-1]) is not speaks


def test_a_cut_where_a_pull_led_through_leans_at_high_load(stale: Round) -> None:
    """Every cell that a row at full throttle touches is at high load, whatever most of its samples are."""
    seen = stale.evidence
    assert seen.at_full is not None
    assert (seen.at_full & ~seen.full_throttle & seen.driven).any()
    history = history_of(stale.tables[:1])
    cell = int(np.flatnonzero(seen.at_full)[0])
    values = stale.tables[0].values.copy()
    values[cell] *= 0.98
    cut = replace(history.revision(1), id=2, parent=1, table=stale.tables[0].with_values(values), operation="scale")
    both = replace(history, revisions=(history.revision(1), cut))
    found = {e.name: e.cells for e in objections(both, cut, drives_of(stale.records), Settings(), evidence=seen)}
    assert found["lean-step-at-high-load"] == ((cell,),)


def test_a_cell_changed_on_thin_evidence_is_settled_once_later_drives_prove_it(
    second_of: MakeRound, right: Evidence
) -> None:
    made = second_of(**CAR)
    told = against(made, right, 2)
    proven = replace(right, standing=np.full_like(right.standing, STANDINGS.index("proven")))
    assert "undriven-changed" in told or "thin-changed" in told
    assert not {"undriven-changed", "thin-changed"} & against(made, proven, 2).keys()
