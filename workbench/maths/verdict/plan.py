"""What to drive next: cells that matter and lack evidence, as a few sentences in engine speed and throttle."""

from dataclasses import dataclass

import numpy as np

from workbench.maths.drives.drive_fit import DriveFit
from workbench.maths.table.interpolation import nearest
from workbench.maths.verdict.standing import PROVEN_HALF_WIDTH
from workbench.model.arrays import BoolArray, FloatArray, IntArray
from workbench.model.table import Axis, Table
from workbench.phrases import join_phrases, phrase

SECONDS_PER_CELL = 4.0
MOST_SENTENCES = 4
STEADY_S = 2.0  # over which the engine ran evenly, if it did
STEADY_SPEED, STEADY_THROTTLE = 0.04, 0.05  # largest change over that: of the engine speed, of the throttle's range
LEAST_ROWS = 10  # from which it is known how cells are reached
WIDEST_PERCENT = 60.0  # a drive that never opened further had no full throttle; as for the gates
ROUND_RPM, NARROW_RPM = 50, 400  # figures for people; below the second one speed stands for all
SPEED_UNITS = ("rpm", "1/min", "min-1", "r/min")
IDLE_RPM = 1200.0  # up to which closed throttle is idling: common practice, no source
# Part of the throttle's range up to which it is called so: common practice, no source.
THROTTLES = ((0.04, "closed throttle"), (0.2, "light throttle"), (0.45, "moderate throttle"), (2.0, "heavy throttle"))
_EDGES = [edge for edge, _ in THROTTLES]
SAFELY = "Log only with a passenger at the laptop or on a closed course, within local rules."
NO_PULLS = (
    "Full throttle was not driven. When part throttle is inside its target, make two or three pulls through the "
    "whole range, one "
    "at a time, and stop when the wideband reads leaner than commanded."
)


@dataclass(frozen=True)
class Running:
    """How the engine ran in all rows of the logs; one entry for each row in which it turned and burned fuel.

    Attributes:
        position: axis units, shape (rows, axes).
        speed: rpm; NaN where it is not known.
        throttle: part of its range, 0 closed, 1 as far as it opens; NaN where it is not known.
        full: at full throttle.
        steady: evenly for `STEADY_S`.
    """

    position: FloatArray
    speed: FloatArray
    throttle: FloatArray
    full: BoolArray
    steady: BoolArray


@dataclass(frozen=True)
class WayToDrive:
    """How some cells are reached.

    Attributes:
        low_rpm, high_rpm: engine speeds at which most of the rows were.
        throttle: in words; empty where no log tells.
    """

    low_rpm: float
    high_rpm: float
    throttle: str


def what_to_drive(known: list[DriveFit], table: Table, standing: IntArray, half_width: FloatArray) -> tuple[str, ...]:
    """Describe where to drive next, from where the engine was and what can be measured there.

    Full throttle is asked for only where a wideband is fitted: without one it says nothing and is driven blind. Fuel
    cuts are no place to drive to.
    """
    part, full = [], []
    for driven in known:
        turning = (driven.seen.speed > 0) | ~np.isfinite(driven.seen.speed)
        part.append(driven.seen.position[turning & ~driven.seen.cut & ~driven.seen.full])
        full.append(driven.seen.position[turning & driven.seen.full])
    at_part, at_full = traffic(table, tuple(part)), traffic(table, tuple(full))
    mostly_full = at_full > at_part
    wideband = any(driven.place != "none" for driven in known)
    visited = at_part + at_full if wideband else np.where(mostly_full, 0, at_part)
    asked = plan(table, standing, half_width, visited, mostly_full, PROVEN_HALF_WIDTH, running_of(known))
    if wideband and not at_full.any():
        asked = (NO_PULLS, *asked) if asked else (NO_PULLS, SAFELY)
    return asked


def plan(
    table: Table,
    standing: IntArray,
    half_width: FloatArray,
    visited: IntArray,
    full: BoolArray,
    limit: float,
    running: Running | None = None,
) -> tuple[str, ...]:
    """Describe where to drive next.

    Args:
        table: the table.
        standing: index into STANDINGS per cell.
        half_width: of the ratio's 95 % interval, NaN where undriven.
        visited: rows of all logs, gated or not, that fell into each cell.
        full: cells driven mostly at full throttle.
        limit: half-width from which a cell is known well enough.
        running: how the engine ran, which tells at what speed and throttle cells are reached.

    Returns:
        At most four sentences, the most travelled first; none when all that matters is proven.
    """
    lacking = _lacking(standing, half_width, visited, limit)
    if not lacking.any():
        return ()
    ends = lacking & (full | (visited == 0)) & _beyond_pulls(table, running)
    lacking &= ~ends
    groups = _groups(lacking, None if running is None else _throttle_of(table, running))
    groups.sort(key=lambda cells: -int(visited.ravel()[cells].sum()))
    sentences = [_sentence(table, cells, standing, full, running) for cells in groups[:MOST_SENTENCES]]
    if ends.any() and running is not None:
        sentences.append(_of_the_end(table, np.flatnonzero(ends.ravel()), running))
    return (*sentences, SAFELY)


def _beyond_pulls(table: Table, running: Running | None) -> BoolArray:
    """Mark the cells that lie beyond the end of all pulls along some axis: the same pulls again add nothing there."""
    beyond = np.zeros(table.shape, dtype=np.bool_)
    if running is None or not running.full.any():
        return beyond
    for number, (axis, most) in enumerate(zip(table.axes, running.position[running.full].max(axis=0), strict=True)):
        past = axis.breakpoints > most
        beyond |= past.reshape([-1 if n == number else 1 for n in range(len(table.axes))])
    return beyond


def _of_the_end(table: Table, cells: IntArray, running: Running) -> str:
    """Say what there is to do about cells that no pull reached whole."""
    rpm = float(np.nanmax(running.speed[running.full]))
    where = _spans(table, cells)
    short = phrase(
        "{where}: the pulls ended short of it, at {rpm:.0f} rpm, so more pulls like them add nothing there.",
        where=where[0].upper() + where[1:],
        rpm=_rounded(rpm),
    )
    further = "Go on to a higher engine speed where the engine may, or leave the cell to what its neighbours say."
    return join_phrases(" ", (short, further))


def traffic(table: Table, positions: tuple[FloatArray, ...]) -> IntArray:
    """Count rows of logs by nearest cell, shape of the table; rows without a position are left out."""
    count = np.zeros(table.values.size, dtype=np.int64)
    for position in positions:
        there = np.isfinite(position).all(axis=1)
        count += np.bincount(nearest(table.axes, position[there]), minlength=count.size)
    return count.reshape(table.shape)


def _lacking(standing: IntArray, half_width: FloatArray, visited: IntArray, limit: float) -> BoolArray:
    proven = standing == 2
    wide = ~(half_width <= limit)
    neighbour = np.zeros_like(proven)
    for axis in range(proven.ndim):
        before, after = np.roll(proven, 1, axis), np.roll(proven, -1, axis)
        edge = [slice(None)] * proven.ndim
        edge[axis] = slice(0, 1)
        before[tuple(edge)] = False
        edge[axis] = slice(-1, None)
        after[tuple(edge)] = False
        # In between two proven cells, or next to one on the way to a thin one: both are on roads already travelled.
        neighbour |= (before & after) | ((before | after) & (standing == 1))
    lacking: BoolArray = ~proven & wide & ((visited > 0) | neighbour)
    return lacking


def _groups(lacking: BoolArray, kinds: IntArray | None) -> list[IntArray]:
    """Split marked cells into connected groups of one kind each, as flat indices; without kinds all are one."""
    from scipy import ndimage

    groups = []
    for kind in (0,) if kinds is None else np.unique(kinds[lacking]):
        labels, count = ndimage.label(lacking if kinds is None else lacking & (kinds == kind))
        groups += [np.flatnonzero(labels.ravel() == number + 1) for number in range(count)]
    return groups


def _throttle_of(table: Table, running: Running) -> IntArray | None:
    """Find by which throttle each cell of a grid is mostly reached, as an index; None for a curve.

    Neighbours in a grid may ask for other throttles, and nobody can drive those in one go; along a curve throttle rises
    with the axis anyway.
    """
    if table.kind == "curve":
        return None
    known = np.isfinite(running.throttle) & ~running.full
    at = nearest(table.axes, running.position[known])
    how = np.minimum(np.searchsorted(_EDGES, running.throttle[known]), len(THROTTLES) - 1)
    count = np.zeros((table.values.size, len(THROTTLES)), dtype=np.int64)
    np.add.at(count, (at, how), 1)
    most = np.where(count.any(axis=1), count.argmax(axis=1), len(THROTTLES))
    return np.asarray(most.reshape(table.shape))


def _sentence(table: Table, cells: IntArray, standing: IntArray, full: BoolArray, running: Running | None) -> str:
    seconds = max(10, round(SECONDS_PER_CELL * cells.size / 10) * 10)
    thin = int((standing.ravel()[cells] == 1).sum())
    where = _spans(table, cells)
    known = (
        "no evidence yet"
        if not thin
        else phrase("{thin} thin", thin=thin)
        if thin == cells.size
        else phrase("{thin} thin, {cells} without evidence", thin=thin, cells=cells.size - thin)
    )
    in_pulls = bool(full.ravel()[cells].mean() > 0.5)
    way = None if running is None else way_to(table, cells, running, in_pulls=in_pulls)
    if in_pulls and way is not None:
        words = (
            "Make pulls at full throttle through {low:.0f} to {high:.0f} rpm, each through the whole range ({where}: "
            "{known})."
        )
        return phrase(words, low=way.low_rpm, high=way.high_rpm, where=where, known=known)
    if in_pulls:
        words = "Drive {where}: in pulls at full throttle, each through the whole range ({known})."
        return phrase(words, where=where, known=known)
    if way is None:
        words = "Drive {where}: about {seconds} s in all, as steady as traffic allows, on two occasions ({known})."
        return phrase(words, where=where, seconds=seconds, known=known)
    return phrase(_template(way), speed=_speed(way), throttle=way.throttle, seconds=seconds, where=where, known=known)


def _template(way: WayToDrive) -> str:
    """Choose the sentence: closed throttle is idling, or coasting down; nobody holds a speed with it."""
    if way.throttle == THROTTLES[0][1] and way.high_rpm <= IDLE_RPM:
        return "Let the engine idle, {speed}: about {seconds} s in all, on two occasions ({where}: {known})."
    if way.throttle == THROTTLES[0][1]:
        return "Coast at closed throttle, {speed}: about {seconds} s in all, on two occasions ({where}: {known})."
    if way.throttle:
        return "Hold {speed} at {throttle}: about {seconds} s in all, on two occasions ({where}: {known})."
    return "Hold {speed}: about {seconds} s in all, on two occasions ({where}: {known})."


def _speed(way: WayToDrive) -> str:
    if way.high_rpm - way.low_rpm <= NARROW_RPM:
        return phrase("about {rpm:.0f} rpm", rpm=_rounded((way.low_rpm + way.high_rpm) / 2))
    return phrase("between {low:.0f} and {high:.0f} rpm", low=way.low_rpm, high=way.high_rpm)


def running_of(known: list[DriveFit]) -> Running | None:
    """Collect how the engine ran in all drives; None where no drive tells its speed."""
    parts = [_running(driven) for driven in known if np.isfinite(driven.seen.speed).any()]
    if not parts:
        return None
    columns = ((each.position, each.speed, each.throttle, each.full, each.steady) for each in parts)
    return Running(*(np.concatenate(column) for column in zip(*columns, strict=True)))


def _running(driven: DriveFit) -> Running:
    seen, logged = driven.seen, driven.drive.log.playing("throttle")
    throttle = np.full(seen.time.size, np.nan)
    if logged is not None and np.isfinite(logged).any():
        closed, widest = (float(edge) for edge in np.nanquantile(logged, (0.01, 1.0)))
        widest = widest if widest >= WIDEST_PERCENT else 100.0
        throttle = (logged - closed) / max(widest - closed, 1.0)
    before = np.maximum(np.searchsorted(seen.time, seen.time - STEADY_S), 0)
    with np.errstate(invalid="ignore", divide="ignore"):
        even = np.abs(seen.speed / seen.speed[before] - 1) <= STEADY_SPEED
        moved = np.abs(throttle - throttle[before]) > STEADY_THROTTLE
    there = (seen.speed > 0) & ~seen.cut & np.isfinite(seen.position).all(axis=1)
    return Running(seen.position[there], seen.speed[there], throttle[there], seen.full[there], (even & ~moved)[there])


def way_to(table: Table, cells: IntArray, running: Running, *, in_pulls: bool) -> WayToDrive | None:
    """Find at which speed and throttle cells are reached, from how the engine ran there; None where no log tells.

    Cells that it hardly was in are taken to be reached as their neighbours are.

    Args:
        table: the table.
        cells: flat indices.
        running: how the engine ran.
        in_pulls: whether they are reached at full throttle.
    """
    wanted = running.full if in_pulls else ~running.full
    marked = np.zeros(table.shape, dtype=np.bool_)
    marked.ravel()[cells] = True
    at = nearest(table.axes, running.position)
    for wider in (0, 1, 2):
        inside = wanted & _widened(marked, wider).ravel()[at]
        if int(inside.sum()) >= LEAST_ROWS:
            break
    else:
        return None
    if in_pulls:
        low, high = np.quantile(running.speed[inside], (0.0, 1.0))
        return WayToDrive(_rounded(low), _rounded(high), "")
    if int((inside & running.steady).sum()) >= LEAST_ROWS:
        inside &= running.steady
    how = np.searchsorted(_EDGES, running.throttle[inside])
    how = np.where(np.isfinite(running.throttle[inside]), np.minimum(how, len(THROTTLES) - 1), len(THROTTLES))
    most = int(np.bincount(how).argmax())
    stated = _stated_speeds(table, cells)
    low, high = np.quantile(running.speed[inside][how == most], (0.1, 0.9)) if stated is None else stated
    return WayToDrive(_rounded(low), _rounded(high), THROTTLES[most][1] if most < len(THROTTLES) else "")


def _stated_speeds(table: Table, cells: IntArray) -> tuple[float, float] | None:
    """Read the engine speeds of cells off the table's own axis; None where it has none."""
    for axis, place in zip(table.axes, np.unravel_index(cells, table.shape), strict=True):
        if axis.unit.lower() in SPEED_UNITS:
            return float(axis.breakpoints[place.min()]), float(axis.breakpoints[place.max()])
    return None


def _widened(marked: BoolArray, steps: int) -> BoolArray:
    """Mark the neighbours too, so many steps away along each axis."""
    if not steps:
        return marked
    from scipy import ndimage

    around = np.ones((3,) * marked.ndim, dtype=np.bool_)
    return np.asarray(ndimage.binary_dilation(marked, around, iterations=steps), dtype=np.bool_)


def _rounded(rpm: float) -> float:
    return round(float(rpm) / ROUND_RPM) * ROUND_RPM


def _spans(table: Table, cells: IntArray) -> str:
    places = np.unravel_index(cells, table.shape)
    return " and ".join(_span(axis, place) for axis, place in zip(table.axes, places, strict=True))


def _span(axis: Axis, place: IntArray) -> str:
    low, high = axis.breakpoints[place.min()], axis.breakpoints[place.max()]
    words = axis.name.split(" ")
    name = " ".join(word if len(word) > 1 and word.isupper() else word.lower() for word in words)  # MAF stays MAF
    return f"{name} {low:.6g} {axis.unit}" if low == high else f"{name} {low:.6g} to {high:.6g} {axis.unit}"
