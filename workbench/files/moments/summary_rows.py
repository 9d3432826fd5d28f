"""Lines at the end of a log that are no moments of the drive: means, totals and the like of its columns."""

from collections.abc import Sequence

import numpy as np

from workbench.files.moments.stamps import AT_ONCE, SMALL_STEP_BACK, TURNS
from workbench.files.vocabulary.recording import Field
from workbench.model.arrays import FloatArray
from workbench.phrases import plural_phrase

MOST_LINES = 6  # that a summary takes
FEWEST_ROWS = 20  # before it
FEWEST_COLUMNS = 3  # that change, to tell a summary by its values
FINE_COLUMNS, FINE = 4, 0.05  # columns of which a mean tells, their last digit being a small part of their range
ROUNDED = 1e-3  # of a column's range


def summary_lines(stamps: FloatArray, fields: Sequence[Field], *, of_day: bool = False) -> tuple[int, str]:
    """Count the lines at the end that are no moments of the drive, and say why.

    A line is one where the time steps back for a last few lines only, or where every column shows its own maximum, mean
    or total.

    Args:
        stamps: s, shape (rows,), NaN where a row has none.
        fields: the other columns.
        of_day: whether the stamps count from midnight.
    """
    lines, reason = _stepped_back(stamps, of_day), "the time steps back there"
    if not lines:
        lines, reason = _worked_out(stamps, fields), "every column shows its maximum, mean or total there"
    if not lines:
        return 0, ""
    return lines, plural_phrase(
        lines,
        "The last line is not part of the drive: {reason}. It was left out.",
        "The last {n} lines are not part of the drive: {reason}. They were left out.",
        reason=reason,
    )


def _stepped_back(stamps: FloatArray, of_day: bool) -> int:
    """Count the last lines from where the time steps back, as it does not do before."""
    there = np.flatnonzero(np.isfinite(stamps))
    if there.size <= FEWEST_ROWS:
        return 0
    steps = np.diff(stamps[there])
    for period in TURNS if of_day else ():
        steps = np.where((steps + period >= 0) & (steps + period < AT_ONCE), 0.0, steps)
    last = np.flatnonzero(steps[-MOST_LINES:] < 0)
    if not last.size:
        return 0
    at = max(steps.size - MOST_LINES, 0) + int(last[0])
    wavers = np.any(steps[:at] < 0) and steps[at] > -SMALL_STEP_BACK
    return 0 if wavers or at + 1 < FEWEST_ROWS else int(stamps.size - there[at + 1])


def _worked_out(stamps: FloatArray, fields: Sequence[Field]) -> int:
    """Count the last lines in which every column shows its own maximum, mean or total of the lines before."""
    columns = [field.values for field in fields if field.texts is None]
    lines = 0
    with np.errstate(all="ignore"):
        while lines < MOST_LINES and _is_worked_out(stamps, columns, stamps.size - lines - 1):
            lines += 1
    return lines


def _is_worked_out(stamps: FloatArray, columns: Sequence[FloatArray], row: int) -> bool:
    if row < FEWEST_ROWS:
        return False
    before = stamps[:row][np.isfinite(stamps[:row])]
    still = not before.size or not stamps[row] > before[-1]
    kinds = {"maximum", "mean", "total"} if still else {"mean", "total"}
    matching = fine = 0
    for values in columns:
        value, body = float(values[row]), values[:row]
        if not np.isfinite(value):
            continue
        known = body[np.isfinite(body)]
        low, high = (float(known.min()), float(known.max())) if known.size else (0.0, 0.0)
        if low == high:
            continue
        digit = 10.0 ** -_decimals(value)
        # What a logger works out rests on values that it did not round yet.
        near = max(0.51 * digit, ROUNDED * (high - low))
        shown = {"maximum": (high, near), "mean": (float(known.mean()), near)}
        shown["total"] = (float(known.sum()), near * known.size**0.5)
        kinds = {kind for kind in kinds if abs(shown[kind][0] - value) <= shown[kind][1]}
        if not kinds:
            return False
        matching += 1
        fine += digit < FINE * (high - low)
    return matching >= FEWEST_COLUMNS and (fine >= FINE_COLUMNS or "mean" not in kinds)


def _decimals(value: float) -> int:
    _, _, digits = f"{value:.9f}".rstrip("0").partition(".")
    return len(digits)
