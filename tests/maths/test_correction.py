"""From evidence to multipliers: share, limit, cells, and what is left alone."""

from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from workbench.demo.rounds import Round
from workbench.errors import InputError
from workbench.maths.table.correction import correction
from workbench.model.evidence import Evidence

MakeRound = Callable[..., Round]


@pytest.fixture(scope="session")
def found(round_of: MakeRound) -> Evidence:
    """A short drive: proven, thin and undriven cells."""
    evidence = round_of(seed=2, minutes=4.0, pulls=1, start_coolant_c=85.0).evidence
    assert all(evidence.stands(standing).any() for standing in ("proven", "thin", "undriven"))
    return evidence


@given(share=st.floats(0, 1), limit=st.floats(0.001, 1))
def test_the_step_is_the_share_of_what_the_evidence_says_and_no_larger_than_the_limit(
    found: Evidence, share: float, limit: float
) -> None:
    made = correction(found, share=share, limit=limit, undriven="leave")
    wanted = share * (found.ratio[found.driven] - 1)
    np.testing.assert_allclose(made.multipliers[found.driven] - 1, np.clip(wanted, -limit, limit), atol=1e-12)
    assert np.all(made.multipliers[~found.driven] == 1)
    assert np.array_equal(made.limited[found.driven], np.abs(wanted) > limit)
    assert np.array_equal(made.changed, found.driven)


def test_nothing_is_taken_with_a_share_of_nothing(found: Evidence) -> None:
    assert np.all(correction(found, share=0.0).multipliers == 1)


def test_thin_cells_can_be_left_out_and_it_is_said(found: Evidence) -> None:
    made = correction(found, thin=False, undriven="leave")
    assert np.array_equal(made.changed, found.stands("proven"))
    assert np.all(made.multipliers[found.stands("thin")] == 1)
    assert any("keep their value, as asked" in note for note in made.notes)
    assert any("thin cells are corrected too" in note for note in correction(found).notes)
    undriven = int(found.stands("undriven").sum())
    assert f"{undriven} cells without evidence keep their value." in made.notes


def test_undriven_cells_follow_the_surface_within_the_range_of_the_driven_cells_around(found: Evidence) -> None:
    made, driven = correction(found), found.driven
    assert np.array_equal(made.inferred, ~driven)
    beside = found.ratio[driven]
    assert np.all(made.multipliers >= beside.min() - 1e-12)
    assert np.all(made.multipliers <= beside.max() + 1e-12)
    ends = np.flatnonzero(driven)[[0, -1]]
    np.testing.assert_allclose(made.multipliers[: ends[0]], found.ratio[ends[0]])
    np.testing.assert_allclose(made.multipliers[ends[1] :], found.ratio[ends[1]])
    assert any("inferred, not measured" in note for note in made.notes)
    assert np.all(found.inferred_half_width[~driven] > np.nanmedian(found.half_width))


def test_a_tapered_correction_fades_in_steps_that_are_no_cliff(found: Evidence) -> None:
    made = correction(found, undriven="taper")
    away = np.flatnonzero(found.driven)[0]
    below = made.multipliers[: away + 1]
    assert np.all(np.abs(np.diff(np.log(below))) < 0.02)
    assert abs(below[0] - 1) < abs(below[-1] - 1)


def test_held_cells_keep_their_value(found: Evidence) -> None:
    held = ~found.driven
    made = correction(found, held=held)
    assert np.all(made.multipliers[held] == 1)
    assert not made.inferred.any()


def test_only_chosen_cells_change(found: Evidence) -> None:
    chosen = np.zeros(found.table.shape, dtype=np.bool_)
    chosen[20:25] = True
    made = correction(found, cells=chosen)
    assert np.array_equal(made.changed, chosen & found.driven)
    assert any("not chosen and keep their value" in note for note in made.notes)


def test_a_cut_step_is_said_with_its_place(found: Evidence) -> None:
    made = correction(found, limit=0.05)
    assert any("reached the limit" in note and "Hz" in note for note in made.notes)


@pytest.mark.parametrize(
    ("share", "limit", "words"),
    [(3.0, 0.25, "share of 3"), (-0.1, 0.25, "share of -0.1"), (1.0, 0.0, "limit of 0"), (1.0, 1.5, "limit of 1.5")],
)
def test_what_cannot_be_is_refused(found: Evidence, share: float, limit: float, words: str) -> None:
    with pytest.raises(InputError, match=words):
        correction(found, share=share, limit=limit)


@pytest.mark.parametrize("number", [float("nan"), float("inf")])
def test_what_is_no_number_is_refused(found: Evidence, number: float) -> None:
    with pytest.raises(InputError):
        correction(found, share=number)
    with pytest.raises(InputError):
        correction(found, limit=number)


def test_undriven_cells_alone_are_refused(found: Evidence) -> None:
    with pytest.raises(InputError, match="None of the chosen cells"):
        correction(found, cells=found.stands("undriven"))
