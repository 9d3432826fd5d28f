"""The door for whoever only looks: pure questions, answered by what the solver and the commands use themselves."""

import numpy as np

from workbench.maths.cautions.looking import Looked, look_for_cautions
from workbench.maths.drives.drive_fit import driven_table
from workbench.maths.signals.ratio import signals
from workbench.maths.signals.sampling import left_engine
from workbench.maths.table.continuing import inferred_cells
from workbench.maths.table.shaped import of_cell
from workbench.maths.table.storage import stored
from workbench.maths.verdict.cliffs import fades_over
from workbench.maths.verdict.objections import cliff
from workbench.model.arrays import BoolArray, FloatArray, IntArray
from workbench.model.ecu_format import EcuFormat, Storage
from workbench.model.evidence import Delay, Evidence, Samples
from workbench.model.gate import Gates
from workbench.model.history import History, Revision
from workbench.model.log import Drive
from workbench.model.state import Settings
from workbench.model.table import Table

__all__ = ["Looked", "look_for_cautions"]  # found beside the cautions, asked for here


def when_it_left_the_engine(history: History, drive: Drive, table: str, gates: Gates, delay: Delay) -> FloatArray:
    """Return for every row of a drive the moment at which the gas that the wideband meets had left the engine, s.

    Args:
        history: which table was in the car when.
        drive: which.
        table: name of the table it was driven with: where no airflow is logged, that tells it.
        gates: limits.
        delay: of the wideband.

    Raises:
        InputError: when the table was not in the session then, or the log does not tell what feeds its axes.
    """
    return left_engine(signals(drive, driven_table(history, drive, table), gates), delay)


def stored_over_wanted(table: Table, storage: Storage) -> FloatArray:
    """Return what the ECU keeps of each cell over its value, shape of the table; NaN where the value is 0."""
    kept = stored(table.values, storage).values
    empty = np.full(table.shape, np.nan)
    ratio: FloatArray = np.divide(kept, table.values, out=empty, where=table.values != 0)
    return ratio


def never_measured(history: History, revision: Revision) -> BoolArray:
    """Mark the cells of a revision that were moved as their neighbours were, without being measured, its shape."""
    return inferred_cells(history.line(revision.id))


def beside_cliffs(
    history: History, revision: Revision, drives: tuple[Drive, ...], settings: Settings, ecu_format: EcuFormat
) -> BoolArray:
    """Mark the cells of a revision that step away from a neighbour without evidence for it, shape of its table."""
    found = cliff(history, revision, drives, settings, ecu_format)
    marked = np.zeros(revision.table.shape, dtype=np.bool_)
    for cell in () if found is None else found.cells:
        marked[cell] = True
    return marked


def cells_to_fade_over(history: History, revision: Revision) -> int:
    """Give over how many cells the latest correction of a revision fades without another cliff."""
    return fades_over(history.line(revision.id))


def ratios_against(found: Evidence, samples: Samples, cell: IntArray) -> FloatArray:
    """Return what the samples of a drive say of the cell that each lies nearest to, as ratios, shape (kept,).

    Args:
        found: the evidence.
        samples: of one of its drives.
        cell: flat number of that cell, shape (kept,).
    """
    return of_cell(found, samples, cell)
