"""What the logs say about a table, cell by cell, and how sure they are."""

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

import numpy as np

from workbench.model.arrays import BoolArray, FloatArray, IntArray
from workbench.model.counting import signed
from workbench.model.gate import GateCount
from workbench.model.table import Table
from workbench.phrases import phrase

Source = Literal["both", "trims", "wideband"]
Standing = Literal["proven", "thin", "undriven"]
STANDINGS: tuple[Standing, ...] = ("undriven", "thin", "proven")


@dataclass(frozen=True)
class Delay:
    """How late the wideband sees the mixture.

    The transport takes `fixed_s + volume_g / airflow` seconds; then the sensor follows with the time constant `lag_s`.

    Attributes:
        fixed_s: s.
        volume_g: mass of gas between engine and sensor, g.
        lag_s: first-order time constant of the sensor, s.
        source: "estimated" from the log, "default" where the log cannot tell, "stated" by the user.
        interval_s: half-width of the 95 % interval of the whole delay at the median airflow, s; NaN if not estimated.
        carried_by: what in the log told it, as a sentence.
    """

    fixed_s: float
    volume_g: float
    lag_s: float
    source: Literal["estimated", "default", "stated"]
    interval_s: float = float("nan")
    carried_by: str = ""


@dataclass(frozen=True)
class KeptDelay:
    """A delay of the wideband that somebody stated for good.

    Attributes:
        drive: number of the drive it holds for; 0 for the whole car.
        fixed_s, volume_g, lag_s: as in `Delay`.
    """

    drive: int
    fixed_s: float
    volume_g: float
    lag_s: float


@dataclass(frozen=True)
class Target:
    """How far the mixture is inside its target in one throttle regime.

    Attributes:
        limit: largest error wanted, as a ratio.
        inside_cells: share of the driven cells inside, 0..1; NaN where nothing was driven.
        inside_time: share of the driven samples inside, 0..1.
        worst: largest error by size, signed, as a ratio (-0.018 means 1.8 % less air than the ECU believed).
        worst_cell: where, as index; None where nothing was driven.
        worst_half_width: half-width of the 95 % interval there.
        proven: share of the driven samples that lie in proven cells, 0..1; NaN where that was not asked.
        measured: whether a drive made with this very revision has samples in this regime; else the figures are what
            drives with other revisions let expect.
        widest: largest half-width of the cells that are judged.
        widest_cell: where, as index; None where that was not asked.
    """

    limit: float
    inside_cells: float
    inside_time: float
    worst: float
    worst_cell: tuple[int, ...] | None
    worst_half_width: float
    proven: float = float("nan")
    measured: bool = False
    widest: float = float("nan")
    widest_cell: tuple[int, ...] | None = None

    @property
    def inside(self) -> bool:
        """Whether drives made with the revision find everything driven inside."""
        return self.measured and abs(self.worst) <= self.limit

    @property
    def reached(self) -> bool:
        """Whether they also know every cell as closely as the target asks: else nothing is shown to be inside."""
        return self.inside and not self.widest > self.limit

    def sentence(self, regime: str, table: Table) -> str:
        """Return how far a regime is inside its target as a sentence; what is only expected says so."""
        if self.worst_cell is None:
            return phrase("{regime}: not driven yet.", regime=regime)
        if self.measured:
            return phrase("{regime}: {figures}.", regime=regime, figures=self.figures(table))
        return phrase(
            "{regime}, expected: {figures}; not driven yet with this revision.",
            regime=regime,
            figures=self.figures(table),
        )

    def figures(self, table: Table) -> str:
        """How much is inside, the largest error, and where a cell is known less closely than the target asks."""
        said = phrase("{shares}, {worst}", shares=self.shares, worst=self.worst_of(table))
        if self.widest_cell is None or self.widest_cell == self.worst_cell or not self.widest > self.limit:
            return said
        return phrase(
            "{said}, known only to ±{half:.1f} % at {where}",
            said=said,
            half=100 * self.widest,
            where=table.cell_name(self.widest_cell),
        )

    @property
    def shares(self) -> str:
        """How much of it is inside, by cells and by time, in words."""
        cells, time = (_whole_percent(part) for part in (self.inside_cells, self.inside_time))
        return phrase(
            "{cells} of driven cells and {time} of driven time within ±{limit:g} %",
            cells=cells,
            time=time,
            limit=100 * self.limit,
        )

    def worst_of(self, table: Table) -> str:
        """The largest error and where it is, in words."""
        where = "" if self.worst_cell is None else f" at {table.cell_name(self.worst_cell)}"
        known = f" (±{100 * self.worst_half_width:.1f})" if np.isfinite(self.worst_half_width) else ""
        return f"worst {signed(100 * self.worst)} %{known}{where}"


def _whole_percent(part: float) -> str:
    """Write a share; never 100 % unless it is all."""
    return f"{np.floor(100 * part + 1e-9):.0f} %"


FEWEST_OWN = 1.0  # effective samples from which cells say something themselves
WIDEST_DISPUTE = 0.05  # half-width up to which the middle of drives that disagree is applied: the part-throttle target
WORTH_SAYING = 0.01  # effects under 1 % over a channel's range are left alone: common practice, no source


# What to look at first; common practice, no source.
ADVICE: Mapping[str, str] = {
    "intake_temperature": "check the intake temperature sensor's table and position before this table",
    "coolant_temperature": "check the warm-up enrichment and the coolant sensor's table before this table",
    "engine_speed": "check injector dead time, exhaust leaks and the volumetric efficiency before this table",
    "battery_voltage": "check injector dead time against voltage before this table",
    "purge": "purge fuel reached the engine: drive with purge off, or exclude those stretches",
    "manifold_pressure": "check injector flow, fuel pressure and the manifold for leaks before this table",
    "time": "something drifted during the drive (heat soak, fuel temperature, a sensor): drive again and compare",
}


@dataclass(frozen=True)
class Effect:
    """How much the remaining error changes with a channel.

    Attributes:
        channel: its role, or "time" for the time since the start.
        change: of the airflow ratio from the channel's 5 % to its 95 % quantile.
        half_width: of its 95 % interval, all tried channels counted.
        low, high: those quantiles.
        beside: channels whose effects were taken out first, since they stand out more.
    """

    channel: str
    change: float
    half_width: float
    low: float
    high: float
    beside: tuple[str, ...] = ()

    @property
    def stands_out(self) -> bool:
        """Whether the interval leaves out zero and the effect is worth saying."""
        return abs(self.change) > self.half_width and abs(self.change) >= WORTH_SAYING

    @property
    def sentence(self) -> str:
        """What it is and what to look at first."""
        name = self.channel.replace("_", " ")
        also = " also" if self.beside else ""
        return phrase(
            "The remaining error{also} follows {name}: {change:+.1f} % (±{half_width:.1f}) from "
            "{low:.4g} to {high:.4g}. {capitalize}.",
            also=also,
            name=name,
            change=100 * self.change,
            half_width=100 * self.half_width,
            low=self.low,
            high=self.high,
            capitalize=ADVICE[self.channel].capitalize(),
        )


@dataclass(frozen=True)
class Caution:
    """One thing in a log to look at before going on.

    Attributes:
        kind: "danger" where an engine can be hurt, "doubt" where the evidence suffers.
        sentence: what, how much, and what to do.
        at: first moment of it, s in the log; NaN where it is everywhere.
        passes: whether a later drive without it settles it, since it came of the table that was in the car.
        name: by which it is acknowledged; of several of one kind in a drive each has its own.
        until: last moment of it, s in the log; NaN where it is everywhere or a moment.
        value, limit, unit: what was found, the threshold it passed, and their unit; NaN where it is no number.
        source: of the threshold.
        worst_at: moment at which it is worst, s in the log; NaN where no moment is.
    """

    kind: str
    sentence: str
    at: float
    passes: bool = False
    name: str = ""
    until: float = float("nan")
    value: float = float("nan")
    limit: float = float("nan")
    unit: str = ""
    source: str = "common practice, no source"
    worst_at: float = float("nan")

    @property
    def moment(self) -> float:
        """Where to look at it in the log, s: its worst moment, else its first; NaN where it is everywhere."""
        return self.at if math.isnan(self.worst_at) else self.worst_at


@dataclass(frozen=True, eq=False)
class Samples:
    """The samples of one drive as they entered the evidence, for showing them in the log and over the table.

    Attributes:
        drive: id of the drive.
        rows: row of the log for each kept sample, shape (kept,).
        position: where each kept sample lies on the axes, shape (kept, axes), in axis units.
        ratio: airflow ratio of each kept sample, against today's table, shape (kept,); with the effect of film and
            purge taken out where those are modelled.
        weight: weight of each kept sample in the solve, shape (kept,); 0..1.
        full_throttle: which of them are at full throttle, shape (kept,).
        plain: which of them need no model of film or purge: the pocket calculator's samples, shape (kept,).
        rejected_by: for every row of the log the gate that took it first, as an index into `gates`; -1 where kept.
        gates: names of the gates of `rejected_by`.
        everywhere: where the ECU looked the table up in every row of the log, kept or not, shape (rows, axes), in axis
            units; NaN where that is not logged.
    """

    drive: int
    rows: IntArray
    position: FloatArray
    ratio: FloatArray
    weight: FloatArray
    full_throttle: BoolArray
    plain: BoolArray
    rejected_by: IntArray
    gates: tuple[str, ...]
    everywhere: FloatArray = field(default_factory=lambda: np.zeros((0, 0)))


@dataclass(frozen=True, eq=False)
class BudgetItem:
    """One source of uncertainty, as the GUM (JCGM 100:2008) asks for each with its size.

    Attributes:
        name: what it is.
        kind: "A" where the samples themselves show it, "B" where it is known from elsewhere.
        size: its standard deviation per cell, as a ratio, shape of the table.
        reason: why it is taken to be so large, as a sentence.
        remedy: what would lessen it, as a sentence.
        common: whether it moves the whole table at once.
    """

    name: str
    kind: Literal["A", "B"]
    size: FloatArray
    reason: str
    remedy: str
    common: bool = False


@dataclass(frozen=True, eq=False)
class Evidence:
    """Per cell of a table: the airflow ratio and how well it is known.

    All arrays have the shape of the table.

    Attributes:
        table: the table the ratios are against (the head).
        revision: its revision id.
        drives: ids of the drives used.
        source: what was used of them.
        ratio: true airflow over the table's; NaN where undriven.
        half_width: half-width of its 95 % interval; NaN where undriven.
        samples: effective number of samples in the cell (sum of interpolation weights).
        visits: separate times the engine was there.
        standing: index into STANDINGS.
        mean, median, spread: of the plain samples nearest to the cell; NaN where none.
        count: how many those are.
        full_throttle: cells whose samples are mostly at full throttle.
        delay: of the wideband, per drive.
        gates: what every gate took away, over all drives.
        kept: the samples that were used, per drive.
        samples_used: how many those are.
        part_target, full_target: how far the driven range is inside its targets.
        wideband: drive -> where its wideband sits: "before", "after" the catalyst or "none".
        notes: sentences about biases found and handled, doubts and cautions.
        plan: what to drive next, as sentences.
        effects: what the remaining error has to do with other channels.
        disputed: cells of which the drives say different things: the interval holds all of them. Empty where none.
        at_full: cells that any row of the logs touches at full throttle, kept or not; None where that was not looked
            for.
        cautions: (drive, caution) of the drives used.
        inferred: where undriven, the ratio that the smooth surface gives, within the range of the driven cells around;
            NaN elsewhere. Empty where it was not worked out.
        inferred_half_width: of its 95 % interval.
        budget: what the intervals are made of, each source with its size per cell.
        unused: drive that was asked and does not count -> why, as a sentence.
        placed_by: drive -> what its wideband's place rests on, as a sentence, where nobody stated it.
        shaped: values before the table was shaped by hand, which all was worked out against, over those it has now.
            Empty where it was not shaped.
    """

    table: Table
    revision: int
    drives: tuple[int, ...]
    source: Source
    ratio: FloatArray
    half_width: FloatArray
    samples: FloatArray
    visits: IntArray
    standing: IntArray
    mean: FloatArray
    median: FloatArray
    spread: FloatArray
    count: IntArray
    full_throttle: BoolArray
    delay: Mapping[int, Delay]
    gates: tuple[GateCount, ...]
    kept: tuple[Samples, ...]
    samples_used: int
    part_target: Target
    full_target: Target
    wideband: Mapping[int, str]
    notes: tuple[str, ...] = ()
    plan: tuple[str, ...] = ()
    effects: tuple[Effect, ...] = ()
    disputed: BoolArray = field(default_factory=lambda: np.zeros(0, dtype=np.bool_))
    at_full: BoolArray | None = None
    cautions: tuple[tuple[int, Caution], ...] = ()
    inferred: FloatArray = field(default_factory=lambda: np.zeros(0))
    inferred_half_width: FloatArray = field(default_factory=lambda: np.zeros(0))
    budget: tuple[BudgetItem, ...] = ()
    unused: Mapping[int, str] = field(default_factory=dict)
    placed_by: Mapping[int, str] = field(default_factory=dict)
    shaped: FloatArray = field(default_factory=lambda: np.zeros(0))

    @property
    def driven(self) -> BoolArray:
        """Cells with any evidence, shape of the table."""
        return self.standing > 0

    @property
    def followed(self) -> BoolArray:
        """Driven cells with hardly a reading of their own, shape of the table: they follow their neighbours."""
        return self.driven & (self.samples < FEWEST_OWN)

    @property
    def correctable(self) -> BoolArray:
        """Driven cells that a correction may rest on: not those where drives differ too far."""
        if not self.disputed.size:
            return self.driven
        return self.driven & ~(self.disputed & (self.half_width > WIDEST_DISPUTE))

    def budget_at(self, index: tuple[int, ...]) -> tuple[tuple[BudgetItem, float], ...]:
        """Give the sources of uncertainty of one cell, each with its standard deviation there, the largest first."""
        sized = [(item, float(item.size[index])) for item in self.budget]
        return tuple(sorted((each for each in sized if each[1] > 0), key=lambda each: -each[1]))

    def standing_of(self, index: tuple[int, ...]) -> Standing:
        """Name the standing of one cell."""
        return STANDINGS[int(self.standing[index])]

    def stands(self, name: Standing) -> BoolArray:
        """Mark the cells of a standing, shape of the table."""
        return np.equal(self.standing, STANDINGS.index(name))
