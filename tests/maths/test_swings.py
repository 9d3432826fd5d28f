"""Where trims alone count: the loop swings about its target, whatever a long trim learned at other speeds and loads."""

import numpy as np

from workbench.maths.signals.sampling import _swings_around
from workbench.maths.signals.series import turning_points

STEP, SWING = 0.05, 1.0
TIME = np.arange(400) * STEP
LOOP = 0.02 * (2 * np.abs((TIME / SWING) % 1 - 0.5) - 0.5)
NOWHERE = np.zeros(TIME.size, dtype=np.bool_)


def test_a_loop_that_swings_holds_its_target() -> None:
    held = _swings_around(turning_points(LOOP), NOWHERE, TIME, SWING)
    assert held[20:-20].all()


def test_a_loop_that_still_climbs_does_not_though_a_long_trim_jumps_up_and_down() -> None:
    climbing = 0.002 * np.arange(TIME.size)
    long_trim = np.where((TIME // 0.4) % 2 > 0, 0.1, 0.0)
    assert _swings_around(turning_points(climbing + long_trim), NOWHERE, TIME, SWING)[20:-20].any()
    assert not _swings_around(turning_points(climbing), NOWHERE, TIME, SWING).any()


def test_after_another_long_trim_began_to_act_the_loop_must_turn_anew() -> None:
    jumps = NOWHERE.copy()
    jumps[200] = True
    held = _swings_around(turning_points(LOOP), jumps, TIME, SWING)
    assert not held[np.abs(TIME - 10.0) < 0.49].any()
    assert held[TIME > 11.1][:-20].all()
    assert held[TIME < 9.4][20:].all()
