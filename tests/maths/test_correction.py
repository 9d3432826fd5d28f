"""From evidence to multipliers: share, limit, cells, and what is left alone."""

from collections.abc import Callable
from dataclasses import replace
from itertools import combinations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from workbench.demo.rounds import Round
from workbench.errors import InputError
from workbench.maths.table.correction import correction
from workbench.maths.table.easing import STEP, eased, without_unproven_steps
from workbench.model.evidence import BudgetItem, Evidence
from workbench.model.table import Axis, Table

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


def test_cells_in_which_it_fades_lean_no_more_than_a_step_beside_a_cell_needs(found: Evidence) -> None:
    leaner = replace(found, ratio=found.ratio * 0.8, inferred=found.inferred * 0.8)
    ends = np.flatnonzero(found.driven)[[0, -1]]
    beyond = np.arange(found.table.shape[0]) > ends[1]
    made = correction(leaner, fades=beyond).multipliers
    steps = np.diff(np.log(made))[ends[1] :]
    assert steps[0] > 0
    assert np.all(steps <= STEP + 1e-9)
    assert np.all(made[beyond] >= correction(leaner).multipliers[beyond] - 1e-12)
    assert np.array_equal(made[~beyond], correction(leaner).multipliers[~beyond])


def test_steps_are_counted_from_the_baseline(found: Evidence) -> None:
    """A table that was corrected halfway, without its undriven cells, is carried to one smooth correction."""
    before = np.where(found.driven, 0.9, 1.0)
    half = replace(found, ratio=np.where(found.driven, 1.0, np.nan), inferred=np.where(found.driven, np.nan, 0.95))
    made = correction(half, baseline=found.table.values / before)
    total = np.log(made.multipliers * before)
    assert np.abs(np.diff(total)).max() <= STEP + 1e-9
    assert np.abs(np.diff(np.log(correction(half).multipliers * before))).max() > 0.04


@given(data=st.data(), shape=st.sampled_from([(9,), (4, 5)]))
def test_eased_steps_are_no_cliff_wherever_the_fixed_cells_allow_it(
    data: st.DataObject, shape: tuple[int, ...]
) -> None:
    size = int(np.prod(shape))
    table = Table(
        "t",
        "VE",
        "%",
        tuple(Axis(f"a{i}", "", np.arange(n, dtype=np.float64)) for i, n in enumerate(shape)),
        np.ones(shape),
    )
    wanted = np.array(data.draw(st.lists(st.floats(-0.2, 0.2), min_size=size, max_size=size))).reshape(shape)
    fixed = np.array(data.draw(st.lists(st.booleans(), min_size=size, max_size=size))).reshape(shape)
    found = eased(table, wanted, fixed, 0.02)
    assert np.array_equal(found[fixed], wanted[fixed])
    assert found.min() >= wanted.min() - 1e-9
    assert found.max() <= wanted.max() + 1e-9
    away = [np.abs(np.subtract(*pair)).sum() for pair in combinations(np.argwhere(fixed), 2)]
    apart = [abs(float(wanted[tuple(a)] - wanted[tuple(b)])) for a, b in combinations(np.argwhere(fixed), 2)]
    if all(step <= 0.02 * steps for steps, step in zip(away, apart, strict=True)):
        assert all(np.abs(np.diff(found, axis=axis)).max() <= 0.02 + 1e-9 for axis in range(len(shape)))
        np.testing.assert_allclose(eased(table, found, fixed, 0.02), found, atol=1e-12)


def test_a_step_that_intervals_do_not_prove_is_taken_out_of_the_thin_cell() -> None:
    wanted, steady = np.array([0.0, 0.0, 0.06, 0.06, 0.06]), np.array([True, True, False, False, False])
    known = np.array([0.003, 0.003, 0.004, 0.004, 0.004])
    assert np.array_equal(without_unproven_steps(wanted, known, steady), wanted)
    found = without_unproven_steps(wanted, np.where(steady, known, 0.04), steady)
    assert np.array_equal(found[:2], wanted[:2])
    assert np.all(np.diff(found) <= STEP + 1e-5)
    assert found[4] > found[2]


def test_of_two_thin_cells_the_less_known_moves_farther() -> None:
    wanted, known = np.array([0.0, 0.05]), np.array([0.02, 0.04])
    found = without_unproven_steps(wanted, known, np.zeros(2, dtype=np.bool_))
    excess = 0.05 - STEP
    np.testing.assert_allclose(found, [excess * 0.2, 0.05 - excess * 0.8], atol=1e-9)


def test_what_moves_two_cells_alike_leaves_their_step_proven() -> None:
    wanted, known, nowhere = np.array([0.0, 0.05]), np.full(2, 0.02), np.zeros(2, dtype=np.bool_)
    assert not np.array_equal(without_unproven_steps(wanted, known, nowhere), wanted)
    alike = (np.full(2, 0.016),)
    assert np.array_equal(without_unproven_steps(wanted, known, nowhere, alike=alike), wanted)
    one_sided = (np.array([0.016, 0.0]),)
    assert not np.array_equal(without_unproven_steps(wanted, known, nowhere, alike=one_sided), wanted)


@pytest.mark.parametrize("name", ["transients", "scatter"])
def test_a_film_all_along_a_pull_moves_its_cells_alike_and_scatter_does_not(found: Evidence, name: str) -> None:
    size = found.table.shape[0]
    ratio = np.where(np.arange(size) < size // 2, 1.0, 1.05)
    item = BudgetItem(name, "B", np.full(size, 0.008), "", "", common=False)
    asked = replace(
        found,
        ratio=ratio,
        half_width=np.full(size, 0.02),
        standing=np.ones(size, dtype=np.int64),
        full_throttle=np.ones(size, dtype=np.bool_),
        budget=(item,),
    )
    kept = np.array_equal(correction(asked).multipliers, ratio)
    assert kept is (name == "transients")


def test_thin_cells_that_are_drawn_in_are_told(found: Evidence) -> None:
    place = int(np.flatnonzero(found.stands("thin"))[0])
    ratio, half = found.ratio.copy(), found.half_width.copy()
    ratio[place], half[place] = 1.2, 0.06
    made = correction(replace(found, ratio=ratio, half_width=half))
    assert made.multipliers[place] < 1.15
    assert any("do not prove the step" in note for note in made.notes)
    proven = found.stands("proven")
    np.testing.assert_allclose(made.multipliers[proven], found.ratio[proven], rtol=1e-12)


def test_a_thin_cell_across_an_undriven_one_gives_way_where_small_steps_cannot_join_them(found: Evidence) -> None:
    size = found.table.shape[0]
    ratio, standing = np.ones(size), np.full(size, 2)
    standing[6], ratio[6], standing[7:], ratio[7:] = 0, np.nan, 1, 1.06

    def made(half: float) -> list[float]:
        known = np.where(standing == 2, 0.004, np.where(standing == 1, half, np.nan))
        beside = np.where(standing == 0, 1.03, np.nan)
        asked = replace(found, ratio=ratio, standing=standing, half_width=known, inferred=beside)
        steps: list[float] = np.diff(np.log(correction(asked).multipliers)).tolist()
        return steps

    assert max(made(0.06)) <= STEP + 2e-4
    assert max(made(0.06)) < max(made(0.002))


def test_what_small_steps_cannot_join_is_joined_evenly() -> None:
    table = Table("t", "flow", "g/s", (Axis("x", "V", np.arange(4.0)),), np.ones(4))
    fixed = np.array([True, False, False, True])
    found = eased(table, np.array([0.0, 0.0, 0.0, -0.12]), fixed, 0.018)
    np.testing.assert_allclose(found, np.log(np.interp(np.arange(4), [0, 3], [1, np.exp(-0.12)])), atol=1e-12)


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
