"""Trims whose cells are empty where they are 0, as a spreadsheet shows them: the empty ones count as 0."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from workbench.files.vocabulary.asking import TRIMS
from workbench.files.vocabulary.recording import Field, listed
from workbench.files.vocabulary.roles import role_by_name
from workbench.model.arrays import FloatArray
from workbench.phrases import plural_phrase

FEWEST_VISITS = 20  # to the step above 0, and to the one below: who passes between them passes 0
ONE_STEP = 0.02  # of a step, by which what lies around 0 may be uneven
MOST = 2.0  # times as many cells are empty as read one of these two steps, where a loop is open for long, too
THERE = 0.5  # of the rows; what lacks more is written in another way
MOSTLY_WHOLE = 0.5  # of the columns: where cells are lost anyhow, empty ones tell nothing


def with_blank_zeros(fields: Sequence[Field]) -> tuple[list[Field], list[str]]:
    """Fill the empty cells of trims that never read 0 though they pass it, and say so.

    One trim tells that of the whole file: a long trim goes by 0 too seldom to tell it alone.

    Args:
        fields: columns of numbers.
    """
    made = list(fields)
    whole = [each.texts is None and bool(np.isfinite(each.values).all()) for each in made]
    if all(whole) or sum(whole) < MOSTLY_WHOLE * len(made):
        return made, []
    trims = [at for at, each in enumerate(made) if not whole[at] and _is_trim(each)]
    if not any(is_blank_at_0(made[at].values) for at in trims):
        return made, []
    trims = [at for at in trims if not _reads_0(made[at].values) and np.mean(np.isfinite(made[at].values)) > THERE]
    for at in trims:
        values = made[at].values
        made[at] = replace(made[at], values=np.where(np.isfinite(values), values, 0.0))
    note = plural_phrase(
        len(trims),
        "{names} passes 0 and never reads it, and cells are empty in between: empty cells count as 0.",
        "{names} pass 0 and never read it, and cells are empty in between: empty cells count as 0.",
        names=listed([made[at].name for at in trims], len(trims)),
    )
    return made, [note]


def _is_trim(field: Field) -> bool:
    return field.texts is None and role_by_name(field.name, field.unit) in TRIMS


def _reads_0(values: FloatArray) -> bool:
    """Tell whether a channel reads 0; -0 is what is written where it is a little less."""
    return bool(np.any((values == 0) & ~np.signbit(values)))


def is_blank_at_0(values: FloatArray) -> bool:
    """Tell whether a channel is empty where it would be 0: it goes in steps, and that one never stands.

    Args:
        values: shape (rows,), NaN where a cell is empty.
    """
    there = np.isfinite(values)
    if there.all() or not there.any() or _reads_0(values):
        return False
    levels = np.unique(values[there & (values != 0)])
    above, below = levels[levels > 0], levels[levels < 0]
    if above.size < 2 or below.size < 2:
        return False
    step = float(min(above[1] - above[0], below[-1] - below[-2]))
    if max(abs(above[0] - step), abs(below[-1] + step)) > ONE_STEP * step:
        return False
    beside = [values == above[0], values == below[-1]]
    visits = [int(np.count_nonzero(np.diff(each.astype(np.int8)) == 1)) for each in beside]
    rows = sum(int(np.count_nonzero(each)) for each in beside)
    return min(visits) >= FEWEST_VISITS and int(np.count_nonzero(~there)) <= MOST * rows
