"""A fuel supply that cannot keep up: at full throttle the mixture grows leaner with fuel flow, from a knee on.

A pump, a filter or a regulator that gives way holds its pressure until a flow is reached, and falls from there on. A
stale table's error runs smoothly and mostly changes less over the upper half of the flow. Where fuel pressure is logged
it tells; where it is not, only the shape of the pulls does, which is a suspicion and no finding: a table may be wrong
just so. Of the family's cars for work (100 curves, 20 grids, no pressure looked at) none reaches the limit without the
fault; with a pump 8 to 15 % short 39 of 60 curves and 11 of 20 grids do. A reader who knew the mixture itself would do
little better: what such a pump adds is 3.2 times what stale tables scatter by.
"""

import numpy as np

from workbench.maths.cautions.sensor_cautions import named_channel
from workbench.maths.drives.delay_estimation import DEFAULT
from workbench.maths.signals.disturbances import mixture_command
from workbench.maths.signals.ratio import Signals
from workbench.maths.signals.sampling import left_engine
from workbench.maths.signals.series import filled
from workbench.maths.verdict.pulls import answers, stretches_of_pulls
from workbench.model.arrays import FloatArray
from workbench.model.evidence import Caution
from workbench.model.gate import Limits
from workbench.model.log import Log
from workbench.phrases import join_phrases, phrase

KNEE = 0.55  # of the largest fuel flow, up to which a tired pump keeps up: common practice, no source
FEWEST = 10  # readings in pulls
INDEPENDENT, OFF = 10.0, 0.01  # readings that count as such, and the scatter of each: common practice, no source
USUAL_BEND = 0.1  # of the logarithm of lambda, standard deviation over stale tables
WILD = 0.3  # of the logarithm of lambda, off the median: another thing
KNEE_COUNTS = 0.15  # how much a knee adds to the rise: tables have rises, but seldom knees (by cars with stale tables)


def fuel_supply(log: Log, seen: Signals, limits: Limits) -> list[Caution]:
    """Warn where pulls grow leaner with fuel flow as a supply makes them that cannot keep up, and no pressure tells."""
    if named_channel(log, "fuel pressure") is not None or not np.isfinite(seen.measured).any():
        return []
    flow, lean, first = _in_pulls(seen)
    if lean.size < FEWEST:
        return []
    part = flow / float(np.quantile(flow, 0.98))
    slope, knee = _with_knee(part, lean)
    rise = (1 - KNEE) * slope + knee
    if not (rise > 0 and knee > 0 and rise + KNEE_COUNTS * knee > limits.fuel_supply):
        return []
    grows = phrase(
        "At full throttle the mixture grows leaner with fuel flow, by {rise:.0f} % over its upper half.",
        rise=100 * rise,
    )
    perhaps = "Pump, filter or regulator may not keep up, or the table is as wrong as that."
    then = "Log the fuel pressure in a short pull before you correct: the airflow table must not make up for it."
    return [
        Caution(
            # A table that makes up for a pump hides it: no later drive settles this.
            "doubt", join_phrases(" ", (grows, perhaps, then)), first, passes=False,
            value=rise + KNEE_COUNTS * knee, limit=limits.fuel_supply, unit="of lambda",
        )
    ]  # fmt: skip


def _in_pulls(seen: Signals) -> tuple[FloatArray, FloatArray, float]:
    """Return fuel flow and logarithm of measured over expected lambda of all readings in pulls, and when they began."""
    source = left_engine(seen, DEFAULT)
    fuel = filled(seen.airflow) / np.maximum(filled(seen.commanded), 0.3)
    expected = np.interp(source, seen.time, mixture_command(seen))
    rows = np.zeros(seen.time.size, dtype=np.bool_)
    pulls = stretches_of_pulls(seen)
    for begin, after, _ in pulls:
        rows[begin:after] = True
    rows &= answers(seen) & np.isfinite(seen.measured) & (seen.measured > 0) & (expected > 0)
    lean = np.log(seen.measured[rows] / expected[rows])
    near = np.abs(lean - np.median(lean)) < WILD if lean.size else np.zeros(0, dtype=np.bool_)
    flow = np.interp(source, seen.time, fuel)[rows]
    return flow[near], lean[near], float(seen.time[pulls[0][0]]) if pulls else float("nan")


def _with_knee(part: FloatArray, lean: FloatArray) -> tuple[float, float]:
    """Fit a line that bends at the knee, by least squares: its slope below, and what the bend adds at 1.

    Where hardly a reading lies below the knee, no more bend is made of them than is usual.
    """
    bend = np.maximum(part - KNEE, 0) / (1 - KNEE)
    columns = np.stack([np.ones(part.size), part - KNEE, bend], axis=1) * np.sqrt(INDEPENDENT / part.size) / OFF
    usual = np.array([[0.0, 0.0, 1 / USUAL_BEND]])
    wanted = np.append(lean * np.sqrt(INDEPENDENT / part.size) / OFF, 0.0)
    found, *_ = np.linalg.lstsq(np.concatenate([columns, usual]), wanted, rcond=None)
    return float(found[1]), float(found[2])
