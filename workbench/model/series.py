"""A channel as it was renewed: the moments that brought a value, and what they tell about how it is logged."""

from dataclasses import dataclass
from functools import cached_property
from typing import Literal

import numpy as np

from workbench.model.arrays import FloatArray

Kind = Literal["continuous", "on change"]
FEWEST = 12  # readings, to tell how a channel is logged
FEW_REPEATS = 0.005  # of the readings; who writes on change repeats a value only where a row was begun anew
ONE_STEP = 1.5  # steps of resolution; a channel written on change mostly moves by one
UNEVEN = 4.0  # of the usual gap; a channel that is asked in turn leaves no longer ones so often
LONG_SHARE = 0.02  # of the gaps


@dataclass(frozen=True, eq=False)
class Series:
    """Values at the moments at which they were renewed.

    Attributes:
        time: s, shape (readings,), not falling.
        values: shape (readings,), all finite.
    """

    time: FloatArray
    values: FloatArray

    @cached_property
    def period(self) -> float:
        """The usual time between two readings, s; NaN for fewer than two."""
        gaps = np.diff(self.time)
        gaps = gaps[gaps > 0]
        return float(np.median(gaps)) if gaps.size else float("nan")

    @cached_property
    def kind(self) -> Kind:
        """How it is logged: on change where no value is ever written twice and the gaps keep no pace.

        A value that is written on change holds until the next one; of any other nothing is known between two readings
        but that it went from one to the next.
        """
        if self.values.size < 2:
            return "continuous"
        moves = np.abs(np.diff(self.values))
        if float(np.mean(moves == 0)) > FEW_REPEATS:
            return "continuous"
        if self.values.size < FEWEST:
            return "on change"
        gaps = np.diff(self.time)
        one_step = float(np.median(moves)) <= ONE_STEP * float(np.quantile(moves, 0.02))
        uneven = float(np.mean(gaps > UNEVEN * self.period)) > LONG_SHARE
        return "on change" if one_step or uneven else "continuous"


def series_of(values: FloatArray, time: FloatArray) -> Series:
    """Return a column on the rows of a log as a series.

    Args:
        values: shape (rows,), NaN where the channel was not renewed.
        time: s, shape (rows,), not falling.
    """
    there = np.isfinite(values)
    return Series(time[there], values[there])
