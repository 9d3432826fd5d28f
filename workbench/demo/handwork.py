"""The correction as it is done by hand in the trade, to compare the workbench with: common practice, no source.

Part throttle: the mean of short and long trim together over all warm closed-loop rows nearest to a cell that has 50 of
them or more; half of it goes into the cell. Full throttle: the mean of measured over commanded lambda, over the rows
from a second after the throttle was opened, so that neither the opening nor the delay of the wideband counts; all of
it goes into the cell. Then the car is driven again. Nothing is known of delay, film or intervals, and a cell gets its
nearest rows alone. A careful hand also leaves out what was driven under purge and shortly after open loop.
"""

import numpy as np

from workbench.demo.drive import DriveRecord
from workbench.maths.signals.axes import axis_signal
from workbench.maths.signals.gating import follows
from workbench.maths.table.interpolation import nearest
from workbench.model.arrays import BoolArray, FloatArray, IntArray
from workbench.model.log import Log, Role
from workbench.model.table import Table

FEWEST_ROWS = 50
FEWEST_ROWS_AT_FULL = 5  # a pull passes through a cell in a part of a second
SHARE = 0.5
AFTER_OPENING_S = 1.0
WARM_C = 75.0
FULL_PERCENT = 85.0
CLOSED_LOOP = 2  # SAE J1979 PID 03
AFTER_OPEN_LOOP_S = 3.0


def hand_round(table: Table, record: DriveRecord, *, careful: bool = False) -> Table:
    """Correct a table by hand from the drive that was made with it.

    Args:
        table: in the car during the drive.
        record: the drive; only its log is looked at.
        careful: leave out rows under purge, where it is logged, and the three seconds after open loop.
    """
    log = record.log
    cell = nearest(table.axes, np.stack([axis_signal(axis, log) for axis in table.axes], axis=1))
    throttle = _channel(log, "throttle")
    at_full, warm = throttle >= FULL_PERCENT, _channel(log, "coolant_temperature") >= WARM_C
    part = (_channel(log, "fuel_system") == CLOSED_LOOP) & warm & ~at_full
    if careful:
        part &= ~(_channel(log, "purge") > 0) & ~follows(~part, log.time.values, AFTER_OPEN_LOOP_S)
    by_trims, trimmed = _mean_per_cell(cell, total_trim(log) / 100, part, table.values.size)
    multipliers = np.where(trimmed >= FEWEST_ROWS, 1 + SHARE * by_trims, 1.0)
    if log.playing("lambda_measured") is not None:
        apart = _channel(log, "lambda_measured") / _channel(log, "lambda_commanded") - 1
        pulling = _opened_for(at_full, log.time.values) >= AFTER_OPENING_S
        by_lambda, pulled = _mean_per_cell(cell, apart, pulling, table.values.size)
        take = (pulled >= FEWEST_ROWS_AT_FULL) & ((pulled > trimmed) | (trimmed < FEWEST_ROWS))
        multipliers = np.where(take, 1 + by_lambda, multipliers)
    return table.with_values(table.values * multipliers.reshape(table.shape))


def total_trim(log: Log) -> FloatArray:
    """Return short and long trim added, mean over banks, %, shape (rows,)."""
    first = _channel(log, "stft_1") + _channel(log, "ltft_1")
    if log.playing("stft_2") is None:
        return first
    return (first + _channel(log, "stft_2") + _channel(log, "ltft_2")) / 2


def _channel(log: Log, role: Role) -> FloatArray:
    values = log.playing(role)
    return np.full(log.rows, np.nan) if values is None else values


def _opened_for(at_full: BoolArray, time: FloatArray) -> FloatArray:
    """Return for how long the throttle has been open, s, shape (rows,); negative where it is not."""
    began = np.where(at_full & ~np.concatenate([[False], at_full[:-1]]), time, -np.inf)
    return np.where(at_full, time - np.maximum.accumulate(began), -1.0)


def _mean_per_cell(cell: IntArray, values: FloatArray, rows: BoolArray, cells: int) -> tuple[FloatArray, FloatArray]:
    count = np.bincount(cell[rows], minlength=cells).astype(np.float64)
    total = np.bincount(cell[rows], values[rows], cells)
    return total / np.maximum(count, 1), count
