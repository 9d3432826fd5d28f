"""Multipliers that can be multiplied again, bit for bit."""

import numpy as np
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from workbench.maths.table.scale import LEFT_BY_ROUNDING, exact_multipliers, replay, same_bits, snapped

NUMBERS = st.floats(-1e9, 1e9, allow_subnormal=False)
ROWS = arrays(np.float64, 6, elements=NUMBERS)
PAIRS = st.tuples(ROWS, ROWS)


@given(PAIRS)
def test_a_multiplier_replays_or_is_none(pair: tuple[np.ndarray, np.ndarray]) -> None:
    before, after = pair
    found = exact_multipliers(before, after)
    assert replay(before, found, after).all()
    assert (found[same_bits(before, after)] == 1).all()


@given(PAIRS)
def test_a_snapped_target_is_within_a_unit_in_the_last_place(pair: tuple[np.ndarray, np.ndarray]) -> None:
    before, target = pair
    values, multipliers = snapped(before, target)
    assert replay(before, multipliers, values).all()
    stayed = np.abs(target - before) <= LEFT_BY_ROUNDING * np.abs(before)
    assert same_bits(values, before)[stayed].all()
    assert (np.abs(values - target) <= np.spacing(np.abs(target)))[~stayed].all()


@given(arrays(np.float64, 6, elements=st.floats(1e-3, 1e9)), arrays(np.int64, 6, elements=st.integers(-40, 40)))
def test_what_only_rounding_moved_stays(before: np.ndarray, units: np.ndarray) -> None:
    values, multipliers = snapped(before, before + units * np.spacing(before))
    assert same_bits(values, before).all()
    assert (multipliers == 1).all()


def test_most_targets_have_a_multiplier() -> None:
    chance = np.random.default_rng(3)
    before, after = chance.uniform(1, 300, 10_000), chance.uniform(1, 300, 10_000)
    assert 0.85 < np.mean(np.isfinite(exact_multipliers(before, after))) < 0.95
    assert np.isfinite(snapped(before, after)[1]).all()


def test_zero_and_a_change_of_sign_are_set_outright() -> None:
    found = exact_multipliers(np.array([0.0, 0.0, 1.0, -2.0]), np.array([1.0, 0.0, 0.0, 4.0]))
    assert np.isnan(found[0])
    assert found[1:].tolist() == [1.0, 0.0, -2.0]
