"""Moments written as digits without signs between them: 140301.25 for 14:03:01.25, 20260303140301 with the date."""

import numpy as np

from workbench.model.arrays import FloatArray

DAY = 86400.0
FIRST_YEAR, LAST_YEAR = 1980, 2100
DATED = 10.0**12  # of a date and time in whole seconds there are fourteen digits
EVENER = 3.0  # the largest step forward, in usual ones, that read as numbers is longer than read as a clock
FEWEST = 10


def packed_clock(values: FloatArray) -> FloatArray | None:
    """Read digits as moments, s since midnight or since 1970, shape kept; None where they are no such digits.

    They are where no two digits of minutes or seconds pass 59 and the steps are evener so than as plain numbers.

    Args:
        values: shape (rows,), NaN where missing.
    """
    seen = values[np.isfinite(values)]
    if seen.size < FEWEST or seen.min() < 0:
        return None
    if seen.min() > DATED:
        return _dated(values, seen)
    read = _of_day(values)
    return None if read is None or not _is_evener(seen, read[np.isfinite(read)]) else read


def _of_day(values: FloatArray) -> FloatArray | None:
    hours, minutes, seconds = np.floor(values / 1e4), np.floor(values / 100) % 100, values % 100
    with np.errstate(invalid="ignore"):
        if np.any(hours > 23) or np.any(minutes > 59) or np.any(seconds >= 60):
            return None
    read: FloatArray = hours * 3600 + minutes * 60 + seconds
    return read


def _dated(values: FloatArray, seen: FloatArray) -> FloatArray | None:
    digits = len(f"{seen.max():.0f}") - 14
    if not 0 <= digits <= 4:
        return None
    whole = values / 10.0**digits
    days, of_day = np.floor(whole / 1e6), _of_day(np.where(np.isfinite(whole), whole % 1e6, np.nan))
    if of_day is None:
        return None
    known = np.isfinite(days)
    kinds, place = np.unique(days[known].astype(np.int64), return_inverse=True)
    try:
        starts = np.array([_day(f"{kind:08d}") for kind in kinds])
    except ValueError:
        return None
    read: FloatArray = np.full(values.shape, np.nan)
    read[known] = starts[place] + of_day[known]
    return read


def _day(digits: str) -> float:
    """Give the start of a day, s since 1970.

    Raises:
        ValueError: when there is no such day, or no car was logged on it.
    """
    if not FIRST_YEAR <= int(digits[:4]) <= LAST_YEAR:
        raise ValueError(digits)
    return float(np.datetime64(f"{digits[:4]}-{digits[4:6]}-{digits[6:]}").astype("datetime64[s]").astype(np.int64))


def _is_evener(plain: FloatArray, clock: FloatArray) -> bool:
    """Tell whether the largest step forward is less of a leap on a clock than as plain numbers: it passes a minute."""
    leaps = []
    for stamps in (plain, clock):
        steps = np.diff(stamps)
        steps = steps[steps > 0]
        leaps.append(float(steps.max() / np.median(steps)) if steps.size else 0.0)
    return leaps[1] > 0 and leaps[0] > EVENER * leaps[1]
