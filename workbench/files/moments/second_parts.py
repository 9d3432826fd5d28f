"""A clock of whole seconds whose parts of a second stand in a column of their own."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from workbench.files.vocabulary.recording import Field
from workbench.model.arrays import FloatArray
from workbench.phrases import phrase

PARTS = (1.0, 1000.0, 1e6)  # of a second, in one second
REPEATED, WITHIN, BEGINS_ANEW = 0.2, 0.99, 0.9  # of the rows; of the steps within a second; of those into the next one
LOWEST, HIGHEST, FEWEST = 0.3, 0.7, 20  # of a second, that are passed in most seconds; seconds
HUNDREDTHS = 100.0


@dataclass(frozen=True, eq=False)
class PartOfASecond:
    """A clock made finer.

    Attributes:
        stamps: s, shape (rows,).
        name: of the column that tells the parts.
        note: what was assumed.
    """

    stamps: FloatArray
    name: str
    note: str


def part_of_a_second(stamps: FloatArray, fields: Sequence[Field]) -> PartOfASecond | None:
    """Add to stamps of whole seconds what another column says of each second; None where none does.

    Such a column rises from row to row within a second, and begins anew with the next one.

    Args:
        stamps: s, shape (rows,), NaN where a row has none.
        fields: the columns of the recording.
    """
    known = np.isfinite(stamps)
    if np.count_nonzero(known) < FEWEST or np.any(stamps[known] % 1):
        return None
    steps = np.diff(stamps)
    if float(np.mean(steps == 0)) < REPEATED:
        return None
    for field in fields:
        parts = None if field.texts is not None else _parts(field.values)
        if parts is None:
            continue
        moved, part = np.diff(field.values), field.values / parts
        within, into = moved[steps == 0], moved[steps == 1]
        if into.size < FEWEST or np.mean(within > 0) < WITHIN or np.mean(into < 0) < BEGINS_ANEW:
            continue
        first, last = part[1:][steps == 1], part[:-1][steps == 1]
        if float(np.median(first)) > LOWEST or float(np.median(last)) < HIGHEST:
            continue
        note = phrase("{name} tells the parts of each second.", name=field.name)
        return PartOfASecond(np.where(known, stamps + part, np.nan), field.name, note)
    return None


def _parts(values: FloatArray) -> float | None:
    """Tell what part of a second one count of a column is, as one over it; None where it counts none."""
    if not values.size or not np.isfinite(values).all() or values.min() < 0:
        return None
    most, whole = float(values.max()), bool(np.all(values % 1 == 0))
    if not whole:
        return 1.0 if most < 1 else (1000.0 if HUNDREDTHS < most < PARTS[1] else None)
    return next((each for each in (HUNDREDTHS, *PARTS[1:]) if HIGHEST * each < most < each), None)
