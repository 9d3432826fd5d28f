"""A clock whose hours, minutes, seconds and parts of them stand in columns side by side."""

import re
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from workbench.files.vocabulary.file_words import CLOCK_PARTS
from workbench.files.vocabulary.recording import Field
from workbench.files.vocabulary.spelling import plain_words
from workbench.model.arrays import FloatArray
from workbench.phrases import phrase


@dataclass(frozen=True, eq=False)
class PartedClock:
    """A clock put together.

    Attributes:
        field: the finest of its columns.
        stamps: s, shape (rows,).
        note: what was assumed.
    """

    field: Field
    stamps: FloatArray
    note: str


def parted_clock(fields: Sequence[Field]) -> PartedClock | None:
    """Put a clock together whose parts stand side by side: three of them, or two that carry from one into the other.

    Args:
        fields: the columns of the recording.
    """
    for at in range(len(fields)):
        for first in (0, 1):  # from hours, or from minutes on
            chosen = _side_by_side(fields[at:], first)
            if len(chosen) < 3 - first:
                continue
            stamps = np.sum([field.values * seconds for field, seconds in chosen], axis=0)
            if len(chosen) == 2 and not _carries(chosen[0][0].values, chosen[1][0].values):
                continue
            names = ", ".join(field.name for field, _ in chosen)
            return PartedClock(chosen[-1][0], stamps, phrase("The time was put together from {names}.", names=names))
    return None


def _side_by_side(fields: Sequence[Field], first: int) -> list[tuple[Field, float]]:
    """Give columns named after parts of a clock in their order, each with what one count of it is, s."""
    chosen = []
    for field, (pattern, seconds, most) in zip(fields, CLOCK_PARTS[first:], strict=False):
        whole = field.texts is None and bool(np.all(np.isfinite(field.values)) and field.values.size)
        inside = whole and float(field.values.min()) >= 0 and float(field.values.max()) < most
        if not inside or re.fullmatch(pattern, plain_words(field.name)) is None:
            break
        chosen.append((field, seconds))
    return chosen


def _carries(coarse: FloatArray, fine: FloatArray) -> bool:
    """Tell whether one part counts on wherever the next finer one begins anew, and nowhere else."""
    begins = np.diff(fine) < 0
    counts = np.diff(coarse)
    return bool(begins.any() and np.all(coarse % 1 == 0) and np.all((counts != 0) == begins))
