"""Where in a table the engine works hard, so that a lean mixture can destroy it.

Without a drive at full throttle only the table itself can tell. All limits are common practice, no source; they lie
low, since to object once too often costs a word, and once too seldom an engine.
"""

from collections.abc import Sequence

import numpy as np

from workbench.model.arrays import BoolArray, FloatArray
from workbench.model.evidence import Evidence
from workbench.model.log import Drive
from workbench.model.table import Axis, Table

LEAN_LIMIT = 0.01
# An engine at full throttle breathes in proportion to its speed, and tables reach beyond what it can breathe.
OF_LARGEST_AIRFLOW = 1 / 8
OF_BAROMETER = 0.8
BAROMETER_KPA = 100.0  # where none is logged
OF_LOAD = 0.8
UPPER_PART = 1 / 3  # of the range of an axis or of values that are no airflow
LOOKED_AT = 1000  # rows of a barometer are enough
_PER_KPA = {"kpa": 1.0, "hpa": 10.0, "mbar": 10.0, "bar": 0.01, "psi": 0.1450377, "pa": 1000.0}
_LOAD_WORDS = ("pressure", "load", "map", "boost")
_LAMBDA_WORDS = ("lambda", "afr", "air-fuel")
_TEMPERATURE_UNITS = ("degc", "°c", "c", "k", "°f", "degf", "f")


def leans(table: Table, step: FloatArray) -> BoolArray:
    """Mark the cells that a change, as ratio less 1, makes leaner by more than 1 %, shape of the step.

    Less airflow leans the mixture; in a table of lambda, more does; a temperature is not judged.
    """
    names = f"{table.value_name} {table.unit}".lower()
    if table.unit.lower() in _TEMPERATURE_UNITS:
        return np.zeros(step.shape, dtype=np.bool_)
    leaner: BoolArray = step > LEAN_LIMIT if any(word in names for word in _LAMBDA_WORDS) else step < -LEAN_LIMIT
    return leaner


def high_load(table: Table, values: FloatArray, barometer_kpa: float = BAROMETER_KPA) -> BoolArray:
    """Mark the cells at high load by a table's axes and, for a curve, by values of its shape.

    In a curve that is from an eighth of the largest airflow upward; in a grid over manifold pressure from 80 % of the
    barometer upward, the breakpoint below it included where it has the larger say there; over load from 80 %; over
    anything else the upper third of the range.
    """
    if table.kind == "curve":
        lowest = values.max() - UPPER_PART * np.ptp(values)
        top: BoolArray = values >= (min(lowest, values.max() * OF_LARGEST_AIRFLOW) if values.min() >= 0 else lowest)
        return top
    number = next((i for i, axis in enumerate(table.axes) if _is_load(axis)), 1)
    points = table.axes[number].breakpoints
    upper = points >= _lowest_high(table.axes[number], barometer_kpa)
    return np.broadcast_to(upper[:, None] if number == 0 else upper[None, :], table.shape)


def lean_at_full_throttle(evidence: Evidence, limit: float) -> bool:
    """Tell whether full throttle is expected leaner than commanded by more than a limit, as a ratio, with this table.

    The airflow ratio is above 1 where the table says too little air; a cell that is known too little for that does not
    count.
    """
    sure = np.nan_to_num(evidence.ratio - 1 - evidence.half_width, nan=-1.0) > 0
    return bool(np.any(evidence.full_throttle & sure & (np.nan_to_num(evidence.ratio) > 1 + limit)))


def barometer(drives: Sequence[Drive]) -> float:
    """Return the air pressure that the drives logged, kPa; 100 where none did."""
    logged = (drive.log.playing("barometer") for drive in drives)
    looked_at = [values[:: max(1, values.size // LOOKED_AT)] for values in logged if values is not None]
    known = np.concatenate([values[values > 0] for values in looked_at]) if looked_at else np.zeros(0)
    return float(np.median(known)) if known.size else BAROMETER_KPA


def _lowest_high(axis: Axis, barometer_kpa: float) -> float:
    points, unit = axis.breakpoints, axis.unit.strip().lower()
    lowest = float(points[-1] - UPPER_PART * (points[-1] - points[0]))
    if unit in _PER_KPA:
        lowest = min(lowest, OF_BAROMETER * barometer_kpa * _PER_KPA[unit])
    elif unit == "%" and _is_load(axis):
        lowest = min(lowest, 100 * OF_LOAD)
    above = int(np.searchsorted(points, lowest))
    nearer = 0 < above < points.size and lowest - points[above - 1] < points[above] - lowest
    return float(points[above - 1]) if nearer else lowest


def _is_load(axis: Axis) -> bool:
    return axis.unit.strip().lower() in _PER_KPA or any(word in axis.name.lower().split() for word in _LOAD_WORDS)
