"""A correction: the multipliers that evidence proposes for a table."""

from dataclasses import dataclass, field

import numpy as np

from workbench.model.arrays import BoolArray, FloatArray


@dataclass(frozen=True, eq=False)
class Correction:
    """Multipliers per cell, and what was left alone and why.

    Attributes:
        multipliers: shape of the table; 1 where the cell is left alone.
        changed: cells that are changed by evidence of their own, shape of the table.
        limited: cells whose step was cut to the limit, shape of the table.
        share: part of the proposed step that is taken, 0..1.
        limit: largest step allowed, as a ratio.
        notes: what stays untouched and why, as sentences.
        inferred: cells that follow the ones around without readings of their own, shape of the table.
        held_back: undriven cells at high load in which the correction fades, since to continue it would lean them.
    """

    multipliers: FloatArray
    changed: BoolArray
    limited: BoolArray
    share: float
    limit: float
    notes: tuple[str, ...] = ()
    inferred: BoolArray = field(default_factory=lambda: np.zeros(0, dtype=np.bool_))
    held_back: BoolArray = field(default_factory=lambda: np.zeros(0, dtype=np.bool_))
