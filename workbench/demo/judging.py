"""How far a table is from the truth, which only the demo knows: over the driven range, by throttle regime."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from workbench.demo import engine
from workbench.demo.drive import DriveRecord
from workbench.demo.scenario import Scenario
from workbench.maths.signals.axes import axis_signal
from workbench.maths.table.interpolation import look_up, nearest
from workbench.model.arrays import BoolArray, FloatArray
from workbench.model.table import Table

WARM_C = 75.0  # common practice, no source
SHORTEST_S = 1.0  # a cell counts as driven in a regime from this time on: common practice, no source


@dataclass(frozen=True)
class Miss:
    """How far a table is from the truth in one throttle regime.

    Attributes:
        largest: error by size, %; NaN where nothing was driven.
        rms: root of the mean squared error over the rows, %; NaN where nothing was driven.
        rows: how many rows count.
    """

    largest: float
    rms: float
    rows: int


@dataclass(frozen=True)
class Judgement:
    """How far a table is from the truth over the driven range."""

    part: Miss
    full: Miss

    def within(self, part: float, full: float) -> bool:
        """Return whether every driven row lies inside these errors, %; a regime that was not driven does not."""
        return self.part.largest <= part and self.full.largest <= full


def judge(
    scenario: Scenario, table: Table, records: Sequence[DriveRecord], cells: BoolArray | None = None
) -> Judgement:
    """Compare a table with the truth over the range that drives covered.

    Rows count that are warm, and in closed loop off full throttle, or at full throttle; of them those whose nearest
    cell was driven for a second or more in that regime.

    Args:
        scenario: the car.
        table: the one to judge.
        records: drives of that car.
        cells: judge only rows whose nearest cell is one of these, shape of the table; all by default.
    """
    return Judgement(*(_miss(scenario, table, records, full, cells) for full in (False, True)))


@dataclass(frozen=True)
class Linearity:
    """A meter against a reference: least squares of the meter's readings over the reference's (40 CFR 1065.602).

    Attributes:
        slope: a1.
        intercept: a0, unit of the readings.
        deviation: standard estimate of error (SEE), unit of the readings.
        determination: r2.
        largest: largest reference, unit of the readings.
        at_least: smallest reference.
        points: how many pairs.
    """

    slope: float
    intercept: float
    deviation: float
    determination: float
    largest: float
    at_least: float
    points: int

    @property
    def offset(self) -> float:
        """The error that the line has at the smallest reference, by size: |xmin (a1 - 1) + a0|."""
        return abs(self.at_least * (self.slope - 1) + self.intercept)

    @property
    def passed(self) -> bool:
        """Whether the criterion for intake-air flow meters is met (40 CFR 1065.307, table 1)."""
        return (
            self.points >= 10
            and self.offset <= 0.01 * self.largest
            and 0.98 <= self.slope <= 1.02
            and self.deviation <= 0.02 * self.largest
            and self.determination >= 0.990
        )


def linearity(reference: FloatArray, measured: FloatArray) -> Linearity:
    """Fit a meter's readings over a reference's, both of shape (points,) with three points or more."""
    away = reference - reference.mean()
    slope = float(away @ measured / (away @ away))
    intercept = float(measured.mean() - slope * reference.mean())
    rest = measured - intercept - slope * reference
    squares = float(rest @ rest)
    return Linearity(
        slope=slope,
        intercept=intercept,
        deviation=float(np.sqrt(squares / (reference.size - 2))),
        determination=1 - squares / float(np.sum((measured - measured.mean()) ** 2)),
        largest=float(reference.max()),
        at_least=float(reference.min()),
        points=reference.size,
    )


def meter_linearity(scenario: Scenario, table: Table, records: Sequence[DriveRecord]) -> Linearity:
    """Compare the airflow that a table gives with the true one, one point for every driven cell, g/s."""
    positions, flows = [], []
    for record in records:
        rows = _rows_of(table, record, False) | _rows_of(table, record, True)
        positions.append(_position(table, record)[rows])
        flows.append(record.airflow[rows])
    position, flow = np.concatenate(positions), np.concatenate(flows)
    read = flow * look_up(table, position) / true_reading(scenario, position)
    cell = nearest(table.axes, position)
    count = np.bincount(cell)
    driven = count > 0
    reference, measured = (np.bincount(cell, values)[driven] / count[driven] for values in (flow, read))
    return linearity(reference, measured)


def true_reading(scenario: Scenario, position: FloatArray) -> FloatArray:
    """Return what a perfect table would read, shape (rows,), in the table's unit, bends between breakpoints included.

    Args:
        scenario: the car.
        position: shape (rows, axes), axis units.
    """
    if scenario.kind == "curve":
        return np.interp(position[:, 0], *engine.true_curve(scenario))
    rpm, pressure = position.T
    kelvin = np.full(rpm.size, engine.CHARGE_KELVIN)
    truth = engine.true_airflow_of_grid(scenario, rpm, pressure, kelvin)
    return np.asarray(100 * truth / engine.breathing(rpm, pressure, kelvin))


def _position(table: Table, record: DriveRecord) -> FloatArray:
    return np.stack([axis_signal(axis, record.log) for axis in table.axes], axis=1)


def _rows_of(table: Table, record: DriveRecord, full: bool) -> BoolArray:
    """Mark the rows of one regime whose nearest cell was driven long enough in it."""
    coolant = record.log.playing("coolant_temperature")
    rows: BoolArray = record.full if full else record.closed & ~record.full
    if coolant is not None:
        rows = rows & (coolant >= WARM_C)
    cell = nearest(table.axes, _position(table, record))
    count = np.bincount(cell[rows], minlength=table.values.size)
    return rows & (count[cell] >= SHORTEST_S * record.log.rate_hz)


def _miss(
    scenario: Scenario, table: Table, records: Sequence[DriveRecord], full: bool, cells: BoolArray | None
) -> Miss:
    position = np.concatenate([_position(table, record)[_rows_of(table, record, full)] for record in records])
    if cells is not None:
        position = position[cells.ravel()[nearest(table.axes, position)]]
    if not position.size:
        return Miss(float("nan"), float("nan"), 0)
    error = 100 * (look_up(table, position) / true_reading(scenario, position) - 1)
    return Miss(float(np.abs(error).max()), float(np.sqrt(np.mean(error**2))), error.size)
