"""The door for whoever only looks: pure questions, answered by what the solver and the commands use themselves."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from workbench.errors import InputError
from workbench.maths.cautions.cautions import find_cautions
from workbench.maths.drives.delay_estimation import contradiction
from workbench.maths.drives.drive_fit import driven_table
from workbench.maths.signals.gating import engine_gates
from workbench.maths.signals.ratio import signals
from workbench.maths.signals.sampling import left_engine
from workbench.maths.table.storage import stored
from workbench.model.arrays import FloatArray
from workbench.model.ecu_format import Storage
from workbench.model.evidence import Caution, Delay
from workbench.model.gate import Gates
from workbench.model.history import History
from workbench.model.log import Drive
from workbench.model.state import Settings
from workbench.model.table import Table


@dataclass(frozen=True)
class Looked:
    """What a look through one drive for cautions came to.

    Attributes:
        drive: which.
        cautions: what was found.
        refusal: why it could not be looked through; empty where it could.
    """

    drive: Drive
    cautions: tuple[Caution, ...]
    refusal: str = ""


def look_for_cautions(history: History, drives: tuple[Drive, ...], table: str, settings: Settings) -> Iterator[Looked]:
    """Look through drives, one after the other, for what could harm the engine or weakens the evidence.

    Args:
        history: which table was in the car when.
        drives: to look through.
        table: name of the table they were driven with.
        settings: limits of gates and cautions.
    """
    gates = settings.gates
    for drive in drives:
        try:
            driven = driven_table(history, drive, table)
            seen = signals(drive, driven, gates)
        except InputError as refusal:
            yield Looked(drive, (), refusal.message)
            continue
        contrary = contradiction(seen, driven, gates) if np.isfinite(seen.measured).any() else ""
        yield Looked(
            drive, find_cautions(drive.log, seen, engine_gates(seen, driven, gates), contrary, settings.limits, driven)
        )


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
