"""A revision that is to be approved and what it is held against, read as the ECU reads it."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np

from workbench.maths.table.resample import read_at
from workbench.maths.table.storage import stored
from workbench.maths.verdict.high_load import LEAN_LIMIT
from workbench.maths.verdict.prediction_check import PredictionCheck
from workbench.model.arrays import BoolArray, FloatArray, IntArray
from workbench.model.counting import counted
from workbench.model.ecu_format import AS_IS, EcuFormat, Storage
from workbench.model.evidence import STANDINGS, Evidence
from workbench.model.history import Approval, Revision
from workbench.model.log import Drive
from workbench.model.state import Settings
from workbench.model.table import Axis, Table
from workbench.phrases import phrase

Place = tuple[int, ...]
ROUNDING = 1e-12  # of the largest value; less than this is no fall, and no change


@dataclass(frozen=True)
class Objection:
    """One thing that speaks against a revision.

    Attributes:
        name: to accept it by.
        sentence: what is wrong and what to do about it.
        cells: where, as indices; empty where it is about the whole.
        remedies: words of the commands that mend it, the first one first; empty where only driving does.
    """

    name: str
    sentence: str
    cells: tuple[Place, ...] = ()
    remedies: tuple[str, ...] = ()


@dataclass(frozen=True, eq=False)
class ComparedFunctions:
    """Two tables as functions, at the breakpoints of both together.

    Between those both are linear (bilinear), so their ratio is largest and smallest on one of them; beyond their ends
    both are clamped. Arrays have the shape of those breakpoints.

    Attributes:
        before: what the ECU read from the earlier table.
        after: what it will read from the later one, as it stores it.
        wanted: the same without its rounding.
    """

    before: Table
    after: Table
    wanted: Table

    @property
    def step(self) -> FloatArray:
        """The change as a ratio less 1; of the range where the earlier table crosses zero."""
        return self._step(self.after)

    @property
    def wanted_step(self) -> FloatArray:
        """The change without the ECU's rounding."""
        return self._step(self.wanted)

    @property
    def changed(self) -> BoolArray:
        """Where the value is another one, or is rounded to one that is more than 1 % off."""
        apart = np.abs(self.wanted.values - self.before.values)
        moved: BoolArray = apart > ROUNDING * np.abs(self.before.values).max()
        return moved | (np.abs(self.step) > LEAN_LIMIT)

    def _step(self, later: Table) -> FloatArray:
        before, after = self.before.values, later.values
        if (before > 0).all() or (before < 0).all():
            with np.errstate(over="ignore"):
                return after / before - 1
        return (after - before) / (float(np.ptp(before)) or 1.0)


@dataclass(frozen=True, eq=False)
class Case:
    """A revision and what it is held against.

    Attributes:
        revision: to be approved.
        baseline: what its changes are counted from.
        line: all revisions from the first one to it.
        approvals: revision id -> approval.
        drives: all logs of the session.
        settings: of the session.
        ecu_format: how the ECU keeps the table.
        carried: drive id -> id of the revision of the table that was in the car.
        evidence: of the table, where it was gathered.
        prediction: how far the last correction did what it said, where drives tell.
    """

    revision: Revision
    baseline: Revision
    line: tuple[Revision, ...]
    approvals: Mapping[int, Approval]
    drives: tuple[Drive, ...]
    settings: Settings
    ecu_format: EcuFormat = AS_IS
    carried: Mapping[int, int] = field(default_factory=dict)
    evidence: Evidence | None = None
    prediction: PredictionCheck | None = None

    @property
    def table(self) -> Table:
        """The table to be approved."""
        return self.revision.table

    @property
    def with_it(self) -> frozenset[int]:
        """Ids of the drives made with the revision in the car; those that evidence left out do not count."""
        numbers = frozenset(number for number, revision in self.carried.items() if revision == self.revision.id)
        return numbers if self.relevant_evidence is None else numbers & frozenset(self.relevant_evidence.drives)

    @property
    def said_with_it(self) -> bool:
        """Whether any drive is said to have been made with it, even one that gives no evidence of the table."""
        return self.revision.id in self.carried.values()

    @property
    def relevant_evidence(self) -> Evidence | None:
        """The evidence, if it is against this very revision."""
        known = self.evidence
        return known if known is not None and known.revision == self.revision.id else None

    @cached_property
    def since_baseline(self) -> ComparedFunctions:
        """The baseline beside the table."""
        return self.beside(self.baseline)

    def beside(self, earlier: Revision) -> ComparedFunctions:
        """Compare the table with an earlier revision, that one as the ECU stored it where it was approved."""
        axes = joint_axes(earlier.table, self.table)
        approval = self.approvals.get(earlier.id)
        before = as_held(earlier.table, None if approval is None else approval.storage)
        return ComparedFunctions(*(_at(each, axes) for each in (before, self.held, self.table)))

    @cached_property
    def held(self) -> Table:
        """The table to be approved as the ECU will hold it."""
        return as_held(self.table, self.ecu_format.storage)

    def own(self, axes: tuple[Axis, ...], places: tuple[Place, ...]) -> tuple[Place, ...]:
        """Return the table's own cells that are nearest to places on other breakpoints."""
        near = [
            np.abs(mine.breakpoints[:, None] - theirs.breakpoints[None, :]).argmin(axis=0)
            for mine, theirs in zip(self.table.axes, axes, strict=True)
        ]
        return tuple(sorted({tuple(int(near[n][i]) for n, i in enumerate(place)) for place in places}))


def joint_axes(first: Table, other: Table) -> tuple[Axis, ...]:
    """Return the breakpoints of two tables together."""
    return tuple(
        Axis(b.name, b.unit, np.union1d(a.breakpoints, b.breakpoints))
        for a, b in zip(first.axes, other.axes, strict=True)
    )


def _at(table: Table, axes: tuple[Axis, ...]) -> Table:
    return Table(table.name, table.value_name, table.unit, axes, read_at(table, axes))


def as_held(table: Table, storage: Storage | None) -> Table:
    """Return the table with the values that the ECU holds, those that it cannot hold included."""
    return table if storage is None else table.with_values(stored(table.values, storage).values)


def standing_on_the_way(case: Case, axes: tuple[Axis, ...]) -> np.ndarray:
    """Return the standing each place had in the latest correction on the way to the revision, as words.

    Places that no correction looked at are undriven. Between the breakpoints of then a place stands as the weakest
    around it, and beyond their ends it is undriven.
    """
    standing = np.zeros(tuple(len(axis) for axis in axes), dtype=np.int64)
    for revision in case.line:
        recorded = revision.arguments.get("standing")
        if recorded is not None:
            words = np.array(recorded, dtype="<U8").ravel().tolist()
            numbers = np.array([STANDINGS.index(word) for word in words]).reshape(revision.table.shape)
            standing = weakest_around(numbers, revision.table.axes, axes)
    return np.array(STANDINGS)[standing]


def weakest_around(numbers: IntArray, old: tuple[Axis, ...], new: tuple[Axis, ...]) -> IntArray:
    """Carry numbers over to other breakpoints: the least of those around a place; 0 beyond the ends."""
    for number, (before, after) in enumerate(zip(old, new, strict=True)):
        points, asked = before.breakpoints, after.breakpoints
        below, above = _neighbours(before, after)
        least = np.minimum(numbers.take(below, axis=number), numbers.take(above, axis=number))
        inside = (asked >= points[0]) & (asked <= points[-1])
        shape = [-1 if n == number else 1 for n in range(numbers.ndim)]
        numbers = np.where(inside.reshape(shape), least, 0)
    return numbers


def any_around(marked: BoolArray, old: tuple[Axis, ...], new: tuple[Axis, ...]) -> BoolArray:
    """Carry a mask over to other breakpoints: marked where any place around is, the outermost one beyond the ends."""
    for number, (before, after) in enumerate(zip(old, new, strict=True)):
        below, above = _neighbours(before, after)
        marked = marked.take(below, axis=number) | marked.take(above, axis=number)
    return marked


def _neighbours(before: Axis, after: Axis) -> tuple[IntArray, IntArray]:
    points, asked = before.breakpoints, after.breakpoints
    below = np.clip(np.searchsorted(points, asked, side="right") - 1, 0, points.size - 1)
    above = np.clip(np.searchsorted(points, asked), 0, points.size - 1)
    return below, above


def indices(found: np.ndarray) -> tuple[Place, ...]:
    """Return the indices of a mask, or of a list of places along a curve."""
    places = np.argwhere(found) if found.dtype == np.bool_ else found[:, None]
    return tuple(tuple(int(i) for i in place) for place in places)


def number_of(table: Table, own: Table, places: tuple[Place, ...]) -> str:
    """Count places, which are cells where the breakpoints are the table's own."""
    return counted(len(places), "cell" if table.same_axes(own) else "place")


def where(table: Table, places: tuple[Place, ...]) -> str:
    """Name the first of some places."""
    shown = "; ".join(table.cell_name(at) for at in places[:3])
    return phrase("{shown} and {places} more", shown=shown, places=len(places) - 3) if len(places) > 3 else shown
