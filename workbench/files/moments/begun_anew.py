"""A clock that begins anew while engine and car go on: a lap counter, or one that was set back."""

from collections.abc import Sequence

import numpy as np

from workbench.files.moments.stamps import SMALL_STEP_BACK
from workbench.files.vocabulary.recording import Field
from workbench.files.vocabulary.roles import role_by_name
from workbench.model.arrays import FloatArray, IntArray
from workbench.phrases import phrase

TELLING = (
    "engine_speed", "vehicle_speed", "airflow", "sensor_signal", "manifold_pressure", "throttle", "coolant_temperature",
    "intake_temperature",
)  # fmt: skip
FEWEST_TELLING, FEWEST_ROWS, MOST_JOINS = 2, 200, 500
USUALLY, ROOM = 0.995, 1.5  # of the steps from row to row; how much more a step over a join may be
MOVES = 0.02  # of the rows, in which a channel that tells anything changes
SAMPLED = 2000  # rows
FITTING, BY_CHANCE = 0.1, 0.01  # of the rows, that fit at all, and that fit as well as those that stand there


def gone_on(stamps: FloatArray, fields: Sequence[Field]) -> tuple[FloatArray, tuple[str, ...]]:
    """Let a clock that begins anew go on, where engine and car do so from one row to the next; and say so.

    Two drives that were joined fit together at the seams by chance only, most likely where the engine idles; so as few
    rows of the drive as may be must fit as well as those that stand there.

    Args:
        stamps: s, shape (rows,), NaN where a row has none.
        fields: the other columns.
    """
    known = np.flatnonzero(np.isfinite(stamps))
    steps = np.diff(stamps[known])
    joins = np.flatnonzero(steps < -SMALL_STEP_BACK)
    forward = steps[steps > 0]
    if not 0 < joins.size <= MOST_JOINS or known.size < FEWEST_ROWS or not forward.size:
        return stamps, ()
    if not _fits(known, joins, fields):
        return stamps, ()
    added = np.zeros(known.size)
    added[joins + 1] = float(np.median(forward)) - steps[joins]
    whole = stamps.copy()
    whole[known] += np.cumsum(added)
    rows = ", ".join(str(known[each + 1] + 1) for each in joins[:5]) + (" …" if joins.size > 5 else "")
    note = phrase(
        "The time begins anew at row {rows}, but engine and car go on from one row to the next: it was read as one "
        "drive without a pause.",
        rows=rows,
    )
    return whole, (note,)


def _fits(known: IntArray, joins: IntArray, fields: Sequence[Field]) -> bool:
    """Tell whether what is logged goes on over the joins as from any row to the next, and that by no chance."""
    random = np.random.default_rng(0)
    others = random.choice(known.size, min(SAMPLED, known.size), replace=False)
    apart, stood = np.zeros((joins.size, others.size)), np.zeros(joins.size)  # in the largest usual step of a channel
    telling = 0
    for each in fields:
        if each.texts is not None or role_by_name(each.name, each.unit) not in TELLING:
            continue
        values = each.values[known]
        moves = np.abs(np.diff(values))
        moves = moves[np.isfinite(moves)]
        if moves.size < FEWEST_ROWS or float(np.mean(moves > 0)) < MOVES:
            continue
        most = ROOM * float(np.quantile(moves[moves > 0], USUALLY))
        last = values[joins]
        apart = np.fmax(apart, np.abs(values[others][None] - last[:, None]) / most)
        stood = np.fmax(stood, np.abs(values[joins + 1] - last) / most)
        telling += 1
    if telling < FEWEST_TELLING or np.any(stood > 1):
        return False
    as_well, as_near = np.mean(apart <= 1, axis=1), np.mean(apart <= stood[:, None], axis=1)
    return float(np.prod(as_well)) < FITTING and float(np.prod(np.maximum(as_near, 1 / others.size))) < BY_CHANCE
