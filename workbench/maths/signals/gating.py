"""Gates: which moments of a drive say something about the table, and what took the others away."""

from collections.abc import Iterable, Mapping

import numpy as np

from workbench.maths.signals.axes import axis_role
from workbench.maths.signals.ratio import LEFT_OUT, Signals
from workbench.maths.signals.series import change_rate, filled, moving_mean
from workbench.maths.signals.sharing import SHARED
from workbench.maths.table.interpolation import look_up
from workbench.model.arrays import BoolArray, FloatArray
from workbench.model.gate import GateCount, Gates
from workbench.model.table import Table

REST_S, AT_REST = 10.0, 0.01  # over which the fuel factor may move by so much while the loop holds its centre
# How far past an end of the table the engine may be: in part of the axis, and of the value as its slope goes on.
PAST_END, PAST_END_VALUE = 0.02, 0.005
NOT_RUNNING = "engine not running"
COLD = "engine cold"
CUT = "fuel cut and after"
LOOP = "loop state changed"
FAST = "airflow changing fast"
PURGE = "purge"
UNLOGGED_PURGE = "purge not logged, beginning or ending"
CLIPPED = "trim at its limit"
BEYOND = "beyond the ends of the table"
NO_READING = "no reading"
NO_COMMAND = "commanded lambda unknown"
RANGE = "wideband out of range"
HIDDEN = "closed loop hides it: no trims logged"
OPEN = "open loop without a wideband"
UNSETTLED = "trims still moving"
FILM = "fuel film filling or emptying fast"
STORAGE = "catalyst may hold oxygen"

# In this order a rejected row is booked to the first gate that takes it.
ORDER = (
    NOT_RUNNING,
    NO_READING,
    COLD,
    CUT,
    HIDDEN,
    OPEN,
    NO_COMMAND,
    LOOP,
    FAST,
    FILM,
    PURGE,
    UNLOGGED_PURGE,
    CLIPPED,
    BEYOND,
    RANGE,
    UNSETTLED,
    STORAGE,
)


def engine_gates(seen: Signals, table: Table, gates: Gates) -> dict[str, BoolArray]:
    """Mark, at engine time, the rows that each gate on the engine's state rejects; each mask has shape (rows,)."""
    rejected = {
        NOT_RUNNING: seen.speed < gates.running_rpm,
        COLD: seen.coolant < gates.warm_c,
        CUT: follows(seen.cut, seen.time, gates.after_cut_s),
        LOOP: follows(_changes(seen.closed), seen.time, gates.settle_s),
        FAST: change_rate(seen.airflow, seen.time) > _fastest(table, gates),
        PURGE: follows(seen.purge > gates.purge_percent, seen.time, gates.after_purge_s),
        CLIPPED: np.abs(seen.short_trim) >= gates.trim_limit_percent - 0.4,  # half a step of the 100/128 % step
        BEYOND: _beyond(seen.position, table),
    }
    missing = ~np.isfinite(seen.position).all(axis=1) | ~np.isfinite(seen.fuel) | ~(seen.table_value > 0)
    rejected[NO_READING] = missing | seen.blind
    for name in (LEFT_OUT, SHARED):
        if name in seen.outside:
            rejected[name] = seen.outside[name]
    for gate in gates.channels:
        if gate.name in seen.outside:
            rejected[gate.name] = follows(seen.outside[gate.name], seen.time, gate.hold_s)
    return rejected


def in_order(names: Iterable[str]) -> tuple[str, ...]:
    """Return gates in the order in which a rejected row is booked to them; the user's own come last."""
    known = tuple(dict.fromkeys(names))
    return (*(name for name in ORDER if name in known), *(name for name in known if name not in ORDER))


def follows(state: BoolArray, time: FloatArray, seconds: float) -> BoolArray:
    """Mark the rows in a state, and those within some seconds after it, shape (rows,)."""
    last = np.where(state, time, -np.inf)
    last = np.maximum.accumulate(last)
    marked: BoolArray = time - last <= seconds
    return marked


def precedes(state: BoolArray, time: FloatArray, seconds: float) -> BoolArray:
    """Mark the rows in a state, and those within some seconds before it, shape (rows,)."""
    return follows(state[::-1], -time[::-1], seconds)[::-1]


def trims_at_rest(seen: Signals) -> BoolArray:
    """Mark rows around which the fuel factor rests: trims that still learn since a flash do not, shape (rows,)."""
    fuel = moving_mean(filled(seen.fuel), seen.time, 1.0)
    later, earlier = (np.interp(seen.time + by, seen.time, fuel) for by in (REST_S / 2, -REST_S / 2))
    return np.asarray(np.abs(later - earlier) < AT_REST)


def counts(masks: Mapping[str, BoolArray]) -> tuple[GateCount, ...]:
    """Count what every gate rejects, and what it rejects alone; gates that reject nothing are listed too."""
    if not masks:
        return ()
    hits = np.sum(list(masks.values()), axis=0)
    return tuple(
        GateCount(name, int(masks[name].sum()), int((masks[name] & (hits == 1)).sum())) for name in in_order(masks)
    )


def _fastest(table: Table, gates: Gates) -> float:
    in_manifold = any(axis_role(axis) == "manifold_pressure" for axis in table.axes)
    return gates.steady_in_manifold_per_s if in_manifold else gates.steady_per_s


def _changes(state: BoolArray) -> BoolArray:
    return np.diff(state, prepend=state[:1]).astype(np.bool_)


def _beyond(position: FloatArray, table: Table) -> BoolArray:
    """Mark rows past an end of the table where the ECU's reading, which is clamped there, says nothing of its cell.

    What is read past an end by is judged by the table's own slope in its last interval: where the value would go on by
    more than a little, the engine's does as well, and the error seen there is not that of the cell.
    """
    outside = np.zeros(position.shape[0], dtype=np.bool_)
    for k, axis in enumerate(table.axes):
        points = axis.breakpoints
        if points.size < 2:
            continue
        past = position[:, k] - np.clip(position[:, k], points[0], points[-1])
        outside |= np.abs(past) > PAST_END * (points[-1] - points[0])
        near = np.flatnonzero((past != 0) & ~outside & np.isfinite(position).all(axis=1))
        if near.size:
            inside = position[near].copy()
            inside[:, k] -= 2 * past[near]  # as far inside as it is outside: in one interval the slope is the same
            here, there = look_up(table, position[near]), look_up(table, inside)
            outside[near] |= np.abs(there - here) > PAST_END_VALUE * np.abs(here)
    return outside
