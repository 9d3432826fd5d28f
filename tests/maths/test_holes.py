"""Nothing stands where nothing was logged: a hole between rows is no stand of a channel."""

import numpy as np

from workbench.maths.signals.sample_hold import lost
from workbench.maths.signals.series import without_holes


def test_holes_are_taken_out_of_the_time_and_slow_rows_are_none() -> None:
    time = np.array([0.0, 0.1, 0.2, 40.2, 40.3])
    np.testing.assert_allclose(without_holes(time), [0.0, 0.1, 0.2, 0.2, 0.3])
    np.testing.assert_allclose(without_holes(np.arange(5) * 3.0), np.arange(5) * 3.0)


def test_a_channel_that_reads_the_same_behind_a_hole_did_not_stand() -> None:
    random = np.random.default_rng(1)
    values = np.round(random.normal(1, 0.02, 2000), 3)
    time = np.arange(2000) * 0.1
    values[999:1002] = 0.95
    assert lost(values, np.where(np.arange(2000) > 1000, time + 60, time)) == []
    values[999:1400] = 0.95
    assert lost(values, time) == [(999, 1400)]


def test_a_quick_channel_that_stands_for_a_pull_is_lost_and_one_that_stands_by_itself_is_not() -> None:
    random = np.random.default_rng(1)
    values, time = np.round(random.normal(1, 0.02, 2000), 3), np.arange(2000) * 0.1
    values[1000:1080] = 0.851
    assert lost(values, time) == [(1000, 1080)]
    coarse = np.repeat(np.round(random.normal(1, 0.05, 400), 1), 5)
    coarse[1000:1080] = 0.9
    assert lost(coarse, time) == []
