"""Whether what a wideband measured can be true at all, held against the trims and the command."""

import numpy as np

from workbench.maths.drives.delay_estimation import COARSE_S, DEFAULT, SWING_S, Course, course, swing_of
from workbench.maths.signals.delay import seen_by_sensor, source_times
from workbench.maths.signals.gating import follows, precedes
from workbench.maths.signals.ratio import Signals
from workbench.maths.signals.series import filled
from workbench.model.arrays import BoolArray, FloatArray
from workbench.model.gate import Gates
from workbench.model.table import Table
from workbench.phrases import call, flag, phrase

CONTRARY = -0.4  # correlation of what trims foretell with what is measured, from which they contradict each other
NOWHERE_ELSE = 0.4  # of that, which no delay turns upright where nothing else is asked: set by two cars, no source
PLAIN = 0.6  # the same, from which they plainly agree
# Gas between valves and wideband, g, over which swings are looked for. At a delay wrong by half a swing they stand
# upside down too, nearly as well: of 67 of the family's cars two did at 0.6 of it; inverted trims have 0.5 and less.
VOLUMES, HALF_SWING = (0.4, DEFAULT.volume_g, 2.0, 4.0, 8.0, 12.0), 0.55
# How much later than the trim changes the wideband reads what the trim answers, s: its own way less that of the ECU's
# sensor; over how long a change is taken; from which correlation on a trim turns the wrong way; and from
# which share of it the other way on it turns the right way. Of 116 sound drives of three makers the sharpest that swing
# upside down have -0.36; of 22 inverted ones whose other signs do not speak for themselves the weakest has -0.39.
ANSWERED_S, ANSWER_S, WRONG_WAY, RIGHT_WAY = (1.4, 1.0, 0.7, 0.4, 0.2, 0.0, -0.2), 0.4, -0.37, 0.7
STILL, MOVING = 1e-4, 0.003  # lambda, standard deviation: of a reading that stands, and of one that a loop moves


def contradiction(seen: Signals, table: Table, gates: Gates) -> str:
    """Describe how the measured mixture contradicts the trims, or the commanded one; empty where it does not.

    Fuel that a trim adds makes the mixture richer a moment later. Where the swings of the loop come back upside down at
    every delay that an exhaust has, and the trims fall while the mixture is lean, their sign is inverted; where the
    command moves in closed loop and the reading stands, the two are taken for one another. Swings that stand upside
    down at some delays and upright at others prove nothing alone: a loop that answers disturbances, and not itself,
    shows such in a healthy car, and so does a wideband that meets the mixture as the loop turns.
    """
    path = course(seen, table, gates, np.ones(seen.time.size), DEFAULT)
    rows = int(np.searchsorted(seen.time, path.time[0])) + np.arange(path.time.size)
    away = path.away | ~seen.closed[rows] | (np.abs(path.measured - 1) > 0.1)
    calm = path.usable & ~(follows(away, path.time, SWING_S) | precedes(away, path.time, SWING_S))
    if path.reading_s > COARSE_S or calm.sum() < 200:
        return ""
    answer = swing_of(path.measured, path.time)[calm]
    asked = swing_of(filled(seen.commanded)[rows], path.time)[calm]
    if np.std(answer) < STILL and np.std(asked) > MOVING:
        return phrase(
            "in closed loop the commanded lambda moves while the measured one is constant: the "
            "two look exchanged. Correct the roles with {amend_log_command} {role_flag}",
            role_flag=flag("role"),
            amend_log_command=call("amend-log"),
        )
    if np.std(swing_of(path.predicted, path.time)[calm]) < MOVING or np.std(answer) < STILL:
        return ""
    least = _contrary(path, seen.short_trim[rows], calm, answer)
    if least is None:
        return ""
    return phrase(
        "its measured lambda swings against its trims (correlation {found:.2f}): either "
        "their sign is inverted, where a positive trim must mean added fuel, or the mixture "
        "channel is fuel over air, the inverse of lambda. Look at a fuel cut to decide: "
        "lambda rises far above 1 there, fuel over air falls towards 0. Invert the trims in "
        "the log, or give phi as the unit in the header of the mixture channel, and add the "
        "log again",
        found=least,
    )


def _contrary(path: Course, trim: FloatArray, calm: BoolArray, answer: FloatArray) -> float | None:
    """Give the lowest correlation of what trims foretell with what is measured; None where they do not contradict."""
    found: list[float] = []
    for fixed in (DEFAULT.fixed_s, 0.0, 0.05, 0.2, 0.4, 0.7, 1.0, 1.4):
        for volume in VOLUMES:
            source = source_times(path.time, path.airflow, fixed, volume)
            carried = seen_by_sensor(path.predicted, path.time, source, DEFAULT.lag_s, path.step_s)
            found.append(float(np.corrcoef(swing_of(carried, path.time)[calm], answer)[0, 1]))
        if max(found) > PLAIN:
            return None
    if min(found) > CONTRARY or max(found) >= HALF_SWING * -min(found):
        return None
    turned = _turned(path, trim, calm, answer)
    plainly = min(found) <= -PLAIN and max(found) < NOWHERE_ELSE * -min(found)
    if not plainly and (min(turned) > WRONG_WAY or max(turned) >= RIGHT_WAY * -min(turned)):
        return None
    return min(found)


def _turned(path: Course, trim: FloatArray, calm: BoolArray, answer: FloatArray) -> list[float]:
    """Correlate, at several delays, how lean the mixture reads with how fast the short-term trim rises.

    Whatever moves the mixture, a loop adds fuel while its sensor reads lean, and takes it away while it reads rich.
    """
    found = []
    for late in ANSWERED_S:
        at = path.time - late
        later, earlier = (np.interp(at + by, path.time, filled(trim)) for by in (ANSWER_S / 2, -ANSWER_S / 2))
        rise = (later - earlier)[calm]
        found.append(float(np.corrcoef(answer, rise)[0, 1]) if np.std(rise) > 0 else 0.0)
    return found
