"""What speaks against approving a revision: a list of checks, each with a name it can be accepted by.

Changes are counted from the baseline: the revision approved last on the way to this one, or the table as it was
brought in. The limits (25 % a step, 1 % of lean) are common practice, no source.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from workbench.errors import InputError
from workbench.maths.resample import read_at
from workbench.maths.storage import stored, value_range
from workbench.model.arrays import BoolArray, FloatArray
from workbench.model.counting import counted
from workbench.model.evidence import STANDINGS
from workbench.model.history import History, Revision
from workbench.model.keeping import WHOLE, Keeping
from workbench.model.log import Drive
from workbench.model.state import Settings
from workbench.model.table import Axis, Table

STEP_LIMIT = 0.25
LEAN_LIMIT = 0.01
HIGH_LOAD = 1 / 3  # the upper part of the range that counts as high load
ROUNDING = 1e-12  # of the largest value; less than this is no fall
_LOAD_WORDS = ("pressure", "load", "map", "boost")
_LOAD_UNITS = ("kpa", "hpa", "mbar", "bar", "psi", "pa")
_LAMBDA_WORDS = ("lambda", "afr", "air-fuel")
_TEMPERATURE_UNITS = ("degc", "°c", "c", "k", "°f", "degf", "f")


@dataclass(frozen=True)
class Objection:
    """One thing that speaks against a revision.

    Attributes:
        name: to accept it by.
        sentence: what is wrong and what to do about it.
        cells: where, as indices; empty where it is about the whole.
    """

    name: str
    sentence: str
    cells: tuple[tuple[int, ...], ...] = ()


@dataclass(frozen=True, eq=False)
class Case:
    """A revision and what it is held against.

    Attributes:
        revision: to be approved.
        baseline: what its changes are counted from.
        before: the baseline's values at the revision's breakpoints, shape of the table.
        line: all revisions from the first one to it.
        drives: all logs of the session.
        settings: of the session.
        keeping: how the ECU keeps the table.
        driven: ids of the revisions of the table that drives were made with.
    """

    revision: Revision
    baseline: Revision
    before: FloatArray
    line: tuple[Revision, ...]
    drives: tuple[Drive, ...]
    settings: Settings
    keeping: Keeping = WHOLE
    driven: frozenset[int] = frozenset()

    @property
    def table(self) -> Table:
        """The table to be approved."""
        return self.revision.table

    @property
    def changed(self) -> BoolArray:
        """Cells whose value is not that of the baseline, shape of the table."""
        different: BoolArray = self.table.values != self.before
        return different


def objections(
    history: History, revision: Revision, drives: Sequence[Drive], settings: Settings, keeping: Keeping = WHOLE
) -> tuple[Objection, ...]:
    """List what speaks against approving a revision."""
    line = history.line(revision.id)
    approved = [each for each in line[:-1] if each.id in history.approvals]
    baseline = approved[-1] if approved else line[0]
    before = read_at(baseline.table, revision.table.axes)
    then = (history.driven(drive, revision.table.name) for drive in drives)
    driven = frozenset(each.id for each in then if each is not None)
    case = Case(revision, baseline, before, line, tuple(drives), settings, keeping, driven)
    found = (check(case) for check in CHECKS)
    return tuple(objection for objection in found if objection is not None)


def relative_change(case: Case) -> FloatArray:
    """Give the total change per cell as a ratio less 1; of the range where the baseline crosses zero."""
    before, after = case.before, case.table.values
    if (before > 0).all() or (before < 0).all():
        with np.errstate(over="ignore"):
            return after / before - 1
    extent = float(np.ptp(before))
    return (after - before) / (extent or 1.0)


def falling_curve(case: Case) -> Objection | None:
    """Object where a curve goes against its own direction, which the baseline's ends tell."""
    if case.table.kind != "curve" or case.table.values.size < 2:
        return None
    first, last = case.baseline.table.values[[0, -1]]
    sign = -1.0 if last < first else 1.0
    values = sign * case.table.values
    falls = np.flatnonzero(np.diff(values) < -ROUNDING * np.abs(values).max()) + 1
    if not falls.size:
        return None
    cells = _indices(falls)
    return Objection(
        "falling-curve",
        f"The curve {'falls' if sign > 0 else 'rises'} at {_where(case.table, cells)}, against its direction: look at "
        "these cells; carry-on takes a correction on to undriven ends, keep-rising lifts what falls.",
        cells,
    )


def step_over_limit(case: Case) -> Objection | None:
    """Object to cells that moved by more than 25 % since the baseline."""
    step = relative_change(case)
    cells = _indices(np.abs(step) > STEP_LIMIT)
    if not cells:
        return None
    worst = max(cells, key=lambda at: abs(step[at]))
    return Objection(
        "step-over-limit",
        f"{_count(cells)} moved by more than {100 * STEP_LIMIT:g} % since revision {case.baseline.id}, most at "
        f"{case.table.cell_name(worst)} ({100 * step[worst]:+.1f} %): {_whence(case, worst)}.",
        cells,
    )


def _whence(case: Case, cell: tuple[int, ...]) -> str:
    """Say what to do about a large step, by what made it: evidence, or a hand."""
    after = [each for each in case.line if each.id > case.baseline.id]
    for revision in reversed(after):
        if revision.table.same_axes(case.table) and revision.multipliers[cell] != 1:
            if revision.operation != "correct":
                return f"revision {revision.id} ({revision.operation}) moved it by hand: make sure that it is meant"
            break
    return "find out why the table was that wrong"


def thin_changed(case: Case) -> Objection | None:
    """Object to changed cells whose evidence is thin."""
    cells = _indices(case.changed & (standing_on_the_way(case) == "thin"))
    if not cells:
        return None
    return Objection(
        "thin-changed",
        f"{_count(cells)} changed on thin evidence ({_where(case.table, cells)}): drive there again.",
        cells,
    )


def undriven_changed(case: Case) -> Objection | None:
    """Object to changed cells without evidence: no correction on the way to this revision found them driven."""
    cells = _indices(case.changed & (standing_on_the_way(case) == "undriven"))
    if not cells:
        return None
    return Objection(
        "undriven-changed",
        f"{_count(cells)} changed without evidence ({_where(case.table, cells)}): drive there, or put them back.",
        cells,
    )


def lean_step_at_high_load(case: Case) -> Objection | None:
    """Object to a change by more than 1 % that makes the mixture leaner at high load.

    High load is, in a curve, where the baseline's value lies in the upper third of its range of values; in a grid, the
    upper third of the range of the pressure or load axis (the one whose name or unit says so, else the column axis),
    at every speed; cells that a correction saw driven at full throttle are added. Less airflow leans the mixture; in a
    table of lambda, more does; a temperature is not judged. The change is counted from the baseline, from the revision
    that was last in the car, and from the latest correction, so that a rise does not hide a cut that follows it.
    """
    loaded = high_load(case.table, case.before) | _full_throttle(case)
    found: list[tuple[int, tuple[tuple[int, ...], ...], FloatArray]] = []
    for revision in _references(case):
        step = relative_change(replace(case, baseline=revision, before=read_at(revision.table, case.table.axes)))
        found.append((revision.id, _indices(leans(case.table, step) & loaded), step))
    since, cells, step = max(found, key=lambda each: len(each[1]))
    if not cells:
        return None
    worst = max(cells, key=lambda at: abs(step[at]))
    return Objection(
        "lean-step-at-high-load",
        f"{_count(cells)} lean the mixture at high load since revision {since}, most at "
        f"{case.table.cell_name(worst)} ({100 * step[worst]:+.1f} %): a lean mixture under load can destroy an engine. "
        "Be sure that full-throttle drives with a wideband ask for it, and take it in steps.",
        cells,
    )


def _references(case: Case) -> list[Revision]:
    """Give what a change is counted from: the baseline, what was last in the car, the latest correction before."""
    before = case.line[:-1]
    last_driven = [each for each in before if each.id in case.driven][-1:]
    corrected = [each for each in before if each.operation == "correct"][-1:]
    return list({each.id: each for each in (case.baseline, *last_driven, *corrected)}.values())


def _full_throttle(case: Case) -> BoolArray:
    """Mark the cells that the latest correction on the way saw driven at full throttle, shape of the table."""
    for revision in reversed(case.line):
        told = revision.arguments.get("full_throttle")
        if told is not None and revision.table.same_axes(case.table):
            return np.array(told, dtype=np.bool_).reshape(case.table.shape)
    return np.zeros(case.table.shape, dtype=np.bool_)


def not_driven_since(case: Case) -> Objection | None:
    """Object where no log was driven with this revision in the car."""
    if case.revision.id in case.driven:
        return None
    return Objection(
        "not-driven-since",
        f"No drive was made with revision {case.revision.id} in the car: export it as a draft, drive, and add the log "
        f"with --on {case.revision.id}.",
    )


def storage_range(case: Case) -> Objection | None:
    """Object to values that the ECU cannot hold, and to parts that do not fit the axis any more."""
    try:
        case.keeping.check(case.table)
    except InputError as refusal:
        return Objection("storage-range", f"{refusal.message} {refusal.hint}")
    if case.keeping.storage is None:
        return None
    cells = _indices(stored(case.table.values, case.keeping.storage).outside)
    if not cells:
        return None
    low, high = value_range(case.keeping.storage)
    return Objection(
        "storage-range",
        f"{_count(cells)} cannot be stored ({_where(case.table, cells)}): the ECU holds {low:.10g} to {high:.10g}; "
        "such a table cannot be exported.",
        cells,
    )


CHECKS: list[Callable[[Case], Objection | None]] = [
    falling_curve,
    step_over_limit,
    thin_changed,
    undriven_changed,
    lean_step_at_high_load,
    not_driven_since,
    storage_range,
]


def leans(table: Table, step: FloatArray) -> BoolArray:
    """Mark the cells that a change, as ratio less 1, makes leaner by more than 1 %, shape of the table."""
    names = f"{table.value_name} {table.unit}".lower()
    if table.unit.lower() in _TEMPERATURE_UNITS:
        return np.zeros(table.shape, dtype=np.bool_)
    leaner: BoolArray = step > LEAN_LIMIT if any(word in names for word in _LAMBDA_WORDS) else step < -LEAN_LIMIT
    return leaner


def high_load(table: Table, values: FloatArray) -> BoolArray:
    """Mark the cells at high load by a table's axes and, for a curve, by values of its shape."""
    if table.kind == "curve":
        top: BoolArray = values >= values.max() - HIGH_LOAD * np.ptp(values)
        return top
    number = next((i for i, axis in enumerate(table.axes) if _is_load(axis.name, axis.unit)), 1)
    points = table.axes[number].breakpoints
    upper = points >= points[-1] - HIGH_LOAD * (points[-1] - points[0])
    return np.broadcast_to(upper[:, None] if number == 0 else upper[None, :], table.shape)


def standing_on_the_way(case: Case) -> np.ndarray:
    """Give the standing each cell had in the latest correction on the way to the revision, as words.

    Cells that no correction looked at are undriven. Where the breakpoints changed since, a cell stands as the weakest
    of the old ones around it, and beyond the old ends it is undriven.
    """
    axes = case.line[0].table.axes
    standing = np.zeros(case.line[0].table.shape, dtype=np.int64)
    for revision in case.line:
        standing, axes = _moved(standing, axes, revision.table.axes), revision.table.axes
        told = revision.arguments.get("standing")
        if told is not None:
            words = np.array(told, dtype="<U8").reshape(standing.shape)
            standing = np.array([STANDINGS.index(word) for word in words.ravel().tolist()]).reshape(standing.shape)
    return np.array(STANDINGS)[standing]


def _moved(standing: np.ndarray, old: tuple[Axis, ...], new: tuple[Axis, ...]) -> np.ndarray:
    if all(a.same_as(b) for a, b in zip(old, new, strict=True)):
        return standing
    for number, (before, after) in enumerate(zip(old, new, strict=True)):
        points, asked = before.breakpoints, after.breakpoints
        below = np.clip(np.searchsorted(points, asked, side="right") - 1, 0, points.size - 1)
        above = np.clip(np.searchsorted(points, asked), 0, points.size - 1)
        weakest = np.minimum(standing.take(below, axis=number), standing.take(above, axis=number))
        inside = (asked >= points[0]) & (asked <= points[-1])
        shape = [-1 if n == number else 1 for n in range(standing.ndim)]
        standing = np.where(inside.reshape(shape), weakest, 0)
    return standing


def _is_load(name: str, unit: str) -> bool:
    return unit.lower() in _LOAD_UNITS or any(word in name.lower().split() for word in _LOAD_WORDS)


def _indices(found: np.ndarray) -> tuple[tuple[int, ...], ...]:
    """Give indices of a mask, or of a list of places along a curve."""
    places = np.argwhere(found) if found.dtype == np.bool_ else found[:, None]
    return tuple(tuple(int(i) for i in place) for place in places)


def _count(cells: tuple[tuple[int, ...], ...]) -> str:
    return counted(len(cells), "cell")


def _where(table: Table, cells: tuple[tuple[int, ...], ...]) -> str:
    shown = "; ".join(table.cell_name(at) for at in cells[:3])
    return f"{shown} and {len(cells) - 3} more" if len(cells) > 3 else shown
