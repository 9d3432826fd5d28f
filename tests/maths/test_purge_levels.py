"""Two levels of an error are told from noise, drift and jumps that are no vapour; series are simulated."""

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from workbench.maths.signals.purge_levels import levels_of_error
from workbench.model.arrays import BoolArray, FloatArray

RATE, SECONDS = 10.0, 900


def series(seed: int, *, apart: float = 0.0, noise: float = 0.004) -> tuple[FloatArray, BoolArray, FloatArray]:
    """Give error, which rows are on the lower level, and time: 30 s of 75 lower by some amount, in noise."""
    random = np.random.default_rng(seed)
    time = np.arange(SECONDS * RATE) / RATE
    low = (time + 40) % 75 < 30
    slow = np.repeat(random.normal(0, noise, SECONDS), int(RATE))
    return -apart * low + slow + random.normal(0, noise, time.size), low, time


def everywhere(time: FloatArray) -> BoolArray:
    return np.ones(time.size, dtype=np.bool_)


@settings(max_examples=20)
@given(seed=st.integers(0, 2**20), apart=st.floats(0.03, 0.08))
@example(seed=362879, apart=0.078125)  # a level further from the median than six times the scatter
def test_levels_far_apart_are_found_where_they_are(seed: int, apart: float) -> None:
    error, low, time = series(seed, apart=apart)
    found = levels_of_error(error, everywhere(time), time)
    assert found is not None
    assert found.clear
    assert found.apart == pytest.approx(apart, rel=0.1)
    assert abs(found.stretches - 12) <= 1
    assert np.mean(found.low == low) > 0.97
    assert not np.any(found.edge & found.low)
    assert not np.any(low & ~found.low & ~found.edge)


@settings(max_examples=20)
@given(seed=st.integers(0, 2**20))
def test_plain_noise_has_no_levels(seed: int) -> None:
    error, _, time = series(seed)
    found = levels_of_error(error, everywhere(time), time)
    assert found is None or not found.clear


@settings(max_examples=20)
@given(seed=st.integers(0, 2**20))
def test_a_drift_is_no_level(seed: int) -> None:
    """A first-order autoregression with a memory of half a minute, as far-reaching as vapour would be."""
    random = np.random.default_rng(seed)
    kicks, drift = random.normal(0, 0.004, SECONDS), np.zeros(SECONDS)
    for k in range(1, SECONDS):
        drift[k] = 0.97 * drift[k - 1] + kicks[k]
    time = np.arange(SECONDS * RATE) / RATE
    error = np.repeat(drift, int(RATE)) + random.normal(0, 0.004, time.size)
    found = levels_of_error(error, everywhere(time), time)
    assert found is None or not found.clear


def test_holes_in_what_is_known_change_little() -> None:
    error, low, time = series(3, apart=0.045)
    known = np.random.default_rng(1).random(time.size) < 0.3
    known[(time > 200) & (time < 260)] = False
    found = levels_of_error(np.where(known, error, 9.0), known, time)
    assert found is not None
    assert found.clear
    assert np.mean((found.low == low)[known]) > 0.97


def test_wild_seconds_are_no_level() -> None:
    error, _, time = series(5)
    error[(time > 100) & (time < 104) | (time > 300) & (time < 304) | (time > 500) & (time < 504)] = -0.4
    found = levels_of_error(error, everywhere(time), time)
    assert found is None or not found.clear


def test_a_short_drive_tells_nothing() -> None:
    error, _, time = series(1, apart=0.05)
    assert levels_of_error(error[:500], everywhere(time[:500]), time[:500]) is None
