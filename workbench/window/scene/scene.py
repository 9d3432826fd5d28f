"""All that the window shows at one moment, as one frozen value."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, Literal

import numpy as np

from workbench.commands.declaring.registry import Answer
from workbench.commands.evidence.next_step import PredictionCheck
from workbench.model.arrays import BoolArray, FloatArray
from workbench.model.cells import ALL, Cells
from workbench.model.evidence import Caution, Evidence, Samples
from workbench.model.history import Revision, brought_in
from workbench.model.log import Drive, Log
from workbench.model.state import Applied, State
from workbench.model.table import Table
from workbench.window.words.wording import tr

Layer = Literal["value", "change", "ratio", "half_width", "samples", "standing", "storage"]
LAYERS: tuple[Layer, ...] = ("value", "change", "ratio", "half_width", "samples", "standing", "storage")


Nearest = Mapping[int, tuple[np.ndarray, ...]]


@dataclass(frozen=True, eq=False)
class Outside:
    """A table of a file or of another session that is shown beside.

    Attributes:
        name: as it was referred to.
        table: its values at the breakpoints of the table it was compared with, as the ECU reads them.
    """

    name: str
    table: Table


@dataclass(frozen=True)
class Focus:
    """What the user looks at.

    Attributes:
        table: name of the table; empty for the first.
        cell: the current cell, as index.
        blocks: chosen blocks of cells, first and last breakpoint per axis; empty for the current cell alone.
        layer: what the numbers and the picture show.
        against: revision that changes are counted from; None for the one the table began with.
        before: whether the revision that is compared with is shown in place of the table as it is.
        beside: numbers of other revisions that are shown beside the one worked on.
        outside: tables from elsewhere that are shown beside it too.
        drive: drive whose log is shown; 0 for the latest.
        span: chosen stretch of the log, s, or None.
        cursor_s: where the pointer is in the log, s, or None.
    """

    table: str = ""
    cell: tuple[int, ...] = ()
    blocks: tuple[tuple[tuple[int, int], ...], ...] = ()
    layer: Layer = "value"
    against: int | None = None
    before: bool = False
    beside: tuple[int, ...] = ()
    outside: tuple[Outside, ...] = ()
    drive: int = 0
    span: tuple[float, float] | None = None
    cursor_s: float | None = None


@dataclass(frozen=True, eq=False)
class Draft:
    """A revision that was worked out and waits for a yes.

    Attributes:
        word: the command it came from.
        answer: what the command said.
        revision: the revision that would be made.
    """

    word: str
    answer: Answer[Any]
    revision: Revision

    def fits(self, state: State) -> bool:
        """Whether it could be made of the tables as they are: it was not overtaken while it was worked out."""
        history, made = state.history, self.revision
        return made.id == history.next_id and history.heads.get(made.table.name) == made.parent


def draft_of(word: str, answer: Answer[Any]) -> Draft | None:
    """Take an answer as a draft, if it would make a revision."""
    return Draft(word, answer, answer.change.revision) if isinstance(answer.change, Applied) else None


@dataclass(frozen=True)
class LogCaution:
    """Something in a log that could hurt the engine or spoils evidence.

    Attributes:
        drive: in which log.
        kind: danger or doubt.
        sentence: what it is.
        at: its worst moment, else its first, s in the log; NaN where it is about the whole.
        found: as the logs gave it.
    """

    drive: int
    kind: str
    sentence: str
    at: float
    found: Caution

    @property
    def name(self) -> str:
        """By which it is acknowledged."""
        return f"{self.drive}:{self.found.name}"


@dataclass(frozen=True, eq=False)
class Scene:
    """State of the session, what is looked at, what the logs say, and what waits for a yes.

    Attributes:
        state: of the session; None while none is open.
        focus: what is looked at.
        evidence: what the logs say.
        draft: what waits for a yes.
        puzzle: why there is no evidence, as sentences.
        cautions: what in the logs calls for care.
        nearest: drive -> for each of its kept samples the cell nearest to it, as an index into the table.
        by_choice: whether the evidence is of drives that were chosen, instead of all that fit.
        own: what the drives made with the current revision say alone; None where there are none, or all are.
        judging: whether that is still being worked out.
        prediction: how far the last correction did what it said, where drives since tell.
        gathered_from: drives and settings that evidence and puzzle are of.
        halted: whether gathering was cancelled, so that there is no evidence until it is asked for.
    """

    state: State | None = None
    focus: Focus = field(default_factory=Focus)
    evidence: Evidence | None = None
    draft: Draft | None = None
    puzzle: str = ""
    cautions: tuple[LogCaution, ...] = ()
    nearest: Nearest = field(default_factory=dict)
    by_choice: bool = False
    own: Evidence | None = None
    judging: bool = False
    prediction: PredictionCheck | None = None
    gathered_from: tuple[object, ...] = ()
    halted: bool = False

    def nearest_of(self, samples: Samples) -> tuple[np.ndarray, ...]:
        """Find the cells nearest to the kept samples of a drive, where that was not done before."""
        known = self.nearest.get(samples.drive)
        if known is not None and known[0].size == len(samples.position):
            return known
        table = self.table
        return () if table is None else nearest_cells(table, samples.position)

    @property
    def head(self) -> Revision | None:
        """The revision that is worked on."""
        return None if self.state is None else self.state.head(self.focus.table)

    @property
    def table(self) -> Table | None:
        """The table at its head."""
        return None if self.state is None else self.state.table(self.focus.table)

    @property
    def shown_table(self) -> Table | None:
        """The table as the draft would make it, as it was before while that is looked at, or as it is."""
        if self.draft is not None:
            return self.draft.revision.table
        if self.focus.before and self.reference is not None and self.table is not None:
            return self.reference.table if self.reference.table.same_axes(self.table) else self.table
        return self.table

    @property
    def fitting_evidence(self) -> Evidence | None:
        """The evidence, if it is about the breakpoints of the table that is shown: a draft may stand on others."""
        table = self.shown_table
        if (known := self.current) is None or table is None or known.table.name != table.name:
            return None
        return known if known.table.same_axes(table) else None

    @property
    def sources(self) -> tuple[object, ...]:
        """The drives and settings that evidence is to be gathered from."""
        return () if self.state is None else (self.state.drives, self.state.settings)

    @property
    def overtaken(self) -> bool:
        """Whether drives or settings are others than those that evidence and puzzle are of."""
        return self.gathered_from != self.sources

    @property
    def current(self) -> Evidence | None:
        """The evidence, unless a log was added, read otherwise or taken back since, or a setting changed."""
        return None if self.overtaken else self.evidence

    @property
    def counted(self) -> tuple[Drive, ...]:
        """The drives that count for the table; all of them while that is not known."""
        unused = {} if self.fitting_evidence is None else self.fitting_evidence.unused
        return () if self.state is None else tuple(each for each in self.state.drives if each.id not in unused)

    @property
    def shows_unused(self) -> bool:
        """Whether the log that is shown does not count for the table."""
        return self.drive is not None and all(each.id != self.drive.id for each in self.counted)

    @property
    def riddle(self) -> str:
        """Why the logs as they are now give no evidence, as sentences; empty while that is worked out, too."""
        return "" if self.overtaken else self.puzzle

    @property
    def gathers(self) -> bool:
        """Whether what the logs say of the table is being worked out."""
        drives = self.state is not None and bool(self.state.drives)
        halted = self.halted and not self.overtaken
        return drives and self.fitting_evidence is None and not (halted or self.riddle or self.silent)

    @property
    def outdated(self) -> bool:
        """Whether the evidence is of another revision: what it says of the errors of this one is not true."""
        return (
            self.fitting_evidence is not None
            and self.head is not None
            and (self.fitting_evidence.revision != self.head.id)
        )

    @property
    def looks_back(self) -> bool:
        """Whether an earlier table is shown: how far the one at the head is off says nothing of that."""
        return self.draft is None and self.shown_table is not self.table

    @property
    def silent(self) -> bool:
        """Whether the evidence says nothing of the errors of the table that is shown: it is of another."""
        return self.outdated or self.looks_back

    @property
    def reference(self) -> Revision | None:
        """The revision that changes are counted from: the one chosen, else the first of this line."""
        if self.state is None:
            return None
        history = self.state.history
        if self.focus.against is not None and 1 <= self.focus.against <= len(history.revisions):
            chosen = history.revision(self.focus.against)
            if chosen.table.name == self.state.table_name(self.focus.table):
                return chosen
        return history.line(history.heads[self.state.table_name(self.focus.table)])[0]

    @property
    def beside(self) -> tuple[Revision, ...]:
        """The other revisions of this table that are shown too, as they were chosen, then those from elsewhere.

        Those from elsewhere are numbered from -1 down, and their note says where they are from.
        """
        if self.state is None or self.head is None:
            return ()
        history, head = self.state.history, self.head
        known = [history.revision(each) for each in self.focus.beside if 1 <= each <= len(history.revisions)]
        others = (
            brought_in(-number, each.table, "outside", {}, each.name, "", "")
            for number, each in enumerate(self.focus.outside, 1)
            if each.table.name == head.table.name
        )
        return (*(each for each in known if each is not head and each.table.name == head.table.name), *others)

    @property
    def drive(self) -> Drive | None:
        """The drive whose log is shown."""
        if self.state is None or not self.state.drives:
            return None
        drives = self.state.drives
        return next((each for each in drives if each.id == self.focus.drive), drives[-1])

    @property
    def samples(self) -> Samples | None:
        """What the evidence took from the log that is shown."""
        if (known := self.current) is None or self.drive is None:
            return None
        return next((kept for kept in known.kept if kept.drive == self.drive.id), None)

    @property
    def cells(self) -> Cells:
        """The chosen cells as commands take them; the current one alone where no block is chosen."""
        if self.focus.blocks:
            return Cells(self.focus.blocks)
        return Cells((tuple((i, i) for i in self.focus.cell),)) if self.focus.cell else ALL

    def chosen(self) -> BoolArray:
        """Mark the chosen cells, shape of the table; none where there is no table."""
        table = self.table
        if table is None or not (self.focus.blocks or self.focus.cell):
            return np.zeros(() if table is None else table.shape, dtype=np.bool_)
        return self.cells.mask(table)


@dataclass(frozen=True)
class EnginePoint:
    """Where the engine was at the log's cursor.

    Attributes:
        position: in axis units.
        gate: what took the sample away; empty where it was kept.
    """

    position: tuple[float, ...]
    gate: str = ""


def row_at(log: Log, time: float) -> int:
    """Find the row that holds at a time."""
    return int(np.clip(np.searchsorted(log.time.values, time, side="right") - 1, 0, log.rows - 1))


def engine_point(scene: Scene) -> EnginePoint | None:
    """Find where the engine was at the log's cursor; None where the log does not tell."""
    samples, drive, time = scene.samples, scene.drive, scene.focus.cursor_s
    if samples is None or drive is None or time is None or scene.fitting_evidence is None or not drive.log.rows:
        return None
    row = row_at(drive.log, time)
    at = int(samples.rows.searchsorted(row))
    if at < len(samples.rows) and samples.rows[at] == row:
        return EnginePoint(tuple(float(x) for x in samples.position[at]))
    if row >= len(samples.everywhere) or not np.isfinite(samples.everywhere[row]).all():
        return None
    gate = int(samples.rejected_by[row]) if row < len(samples.rejected_by) else -1
    name = samples.gates[gate] if gate >= 0 else tr("no reading")
    return EnginePoint(tuple(float(x) for x in samples.everywhere[row]), name)


def nearest_cells(table: Table, position: FloatArray) -> tuple[np.ndarray, ...]:
    """Find the cell nearest to each position, shape (n, axes), as an index into the table."""
    found = []
    for i, axis in enumerate(table.axes):
        middles = (axis.breakpoints[1:] + axis.breakpoints[:-1]) / 2
        found.append(np.searchsorted(middles, position[:, i]))
    return tuple(found)


def drawn_from(scene: Scene) -> tuple[object, ...]:
    """Return all that a picture of the table depends on; pointing at the log is not part of it."""
    focus = scene.focus
    looked_at = (focus.layer, focus.cell, focus.blocks, focus.before, focus.beside, focus.outside)
    return (
        scene.shown_table,
        scene.head,
        scene.reference,
        scene.fitting_evidence,
        scene.silent,
        scene.draft,
        scene.drive,
        *looked_at,
    )
