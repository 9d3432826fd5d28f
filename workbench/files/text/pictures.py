"""Times that count pictures behind a last colon, as video does: `10:00:01:24` comes before `10:00:02:00`."""

import re
from collections.abc import Sequence

import numpy as np

from workbench.model.arrays import FloatArray

_COUNTED = re.compile(r"(\d{1,3}):([0-5]\d):([0-5]\d):(\d\d)")
RATES = (24, 25, 30, 48, 50, 60)  # pictures a second that are usual; common practice, no source
AROUND = 30  # rows on either side over which a clock is taken to go on evenly
FEWEST_COUNTS = 6  # different ones; fewer do not tell that higher ones are never reached


def counted_pictures(cells: Sequence[str]) -> tuple[FloatArray, int] | None:
    """Read times whose last part counts pictures; None where it counts hundredths, or nothing tells.

    Hundredths would go up to 99. Of the rates that are not passed the one counts by which time goes on most evenly.

    Args:
        cells: of a column, those without a time empty.

    Returns:
        Seconds since midnight, shape (rows,), NaN where a cell holds none; and how many pictures a second has.
    """
    parts = [_COUNTED.fullmatch(cell) for cell in cells]
    found = [match for match in parts if match is not None]
    if not found or len(found) < sum(bool(cell) for cell in cells):
        return None
    whole = np.array([int(m[1]) * 3600.0 + int(m[2]) * 60 + int(m[3]) if m else np.nan for m in parts])
    count = np.array([float(match[4]) if match else np.nan for match in parts])
    most = float(np.nanmax(count))
    rates = [rate for rate in RATES if rate > most]
    if not rates or np.unique(count[np.isfinite(count)]).size < FEWEST_COUNTS:
        return None
    rate = min(rates, key=lambda each: _sway(whole + count / each))
    return whole + count / rate, rate


def _sway(time: FloatArray) -> float:
    """Tell how far a clock strays from going on evenly, s: a wrong rate leaps at the end of every second."""
    known = time[np.isfinite(time)]
    if known.size <= 2 * AROUND:
        return float(np.std(np.diff(known)))
    summed = np.concatenate(([0.0], np.cumsum(known - known[0])))
    even = (summed[2 * AROUND + 1 :] - summed[: -2 * AROUND - 1]) / (2 * AROUND + 1)
    return float(np.std(known[AROUND:-AROUND] - known[0] - even))
