"""What a change of a table does where it was driven."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from workbench.errors import WorkbenchError
from workbench.maths.signals.axes import axis_signal
from workbench.maths.table.interpolation import look_up
from workbench.model.log import Drive
from workbench.model.table import Table


@dataclass(frozen=True)
class DrivenChange:
    """New reading over old reading, at the samples of the logs.

    Attributes:
        samples: how many have a reading in both.
        lowest: smallest ratio.
        highest: largest ratio.
        mean: of all.
        outside: samples beyond the ends of the new table.
    """

    samples: int
    lowest: float
    highest: float
    mean: float
    outside: int


def driven_change(before: Table, after: Table, drives: Sequence[Drive]) -> DrivenChange | None:
    """Compare two tables at every sample of the logs; None where no log has the signals of their axes."""
    ratios, outside = [np.empty(0)], 0
    for drive in drives:
        try:
            position = np.stack([axis_signal(axis, drive.log) for axis in before.axes], axis=1)
        except WorkbenchError:
            continue
        position = position[np.isfinite(position).all(axis=1)]
        old, new = look_up(before, position), look_up(after, position)
        ratios.append(new[old != 0] / old[old != 0])
        ends = np.array([axis.breakpoints[[0, -1]] for axis in after.axes])
        outside += int(((position < ends[:, 0]) | (position > ends[:, 1])).any(axis=1).sum())
    ratio = np.concatenate(ratios)
    if not ratio.size:
        return None
    return DrivenChange(ratio.size, float(ratio.min()), float(ratio.max()), float(ratio.mean()), outside)
