"""How many seconds one count of a clock is: by its unit or name, by the range of its numbers, or by their steps."""

import re
from dataclasses import dataclass

import numpy as np

from workbench.files.vocabulary.units import find_unit, to_base
from workbench.model.arrays import FloatArray
from workbench.phrases import phrase

DAY = 86400.0
EPOCHS = (
    (1e17, 1e-9, "nanoseconds"),
    (1e14, 1e-6, "microseconds"),
    (1e11, 1e-3, "milliseconds"),
    (1e8, 1.0, "seconds"),
)
COUNTS_SINCE_1601 = (1.2e17, 1.62e17)  # of the next: 1981 to 2114
SINCE_1601 = (1e-7, 11_644_473_600.0)  # s of a count, and from the first day of 1601 to that of 1970
SERIAL_DAYS = (30_000, 60_000)  # of spreadsheets, whose day 1 is in 1900: the years from 1982 to 2064
YEAR_ZERO_DAYS = (720_000, 765_000)  # days since the year 0, as numerical programs count: 1971 to 2094
JULIAN_DAYS = (2_440_000, 2_490_000)  # since 4713 BC, as astronomers count: 1968 to 2105
MODIFIED_DAYS = (60_000, 75_000)  # the same, less 2,400,000.5: 2023 to 2064
# Ways of counting days -> which day the first of January 1970 is in them.
DAY_COUNTS = (
    (SERIAL_DAYS, 25_569.0),
    (MODIFIED_DAYS, 40_587.0),
    (YEAR_ZERO_DAYS, 719_529.0),
    (JULIAN_DAYS, 2_440_587.5),
)
# Seconds that a count may be, the likeliest first: whole numbers, and such with decimals.
COUNTS, DECIMALS = (1e-3, 1e-6, 1e-5, 1e-4, 0.01, 0.1, 1.0, 1e-9), (1.0, 1e-3, 60.0)
ROWS_COUNTED = (0.1, 0.05, 0.02, 0.01)  # s between rows of usual logs
ANY_COUNT = (1.0, *COUNTS[:-2], 60.0, 3600.0, COUNTS[-1])  # where a unit is given that nobody knows
LAST_DATE = 4.2e9  # s since 1970, the year 2103
SLOWEST, FASTEST = 5.0, 0.0008  # s between two rows of a log of any use; common practice, no source
LONGEST = 12 * 3600.0  # s of one drive
_UNITS = (
    (r"\b(s|secs?|seconds?|sek\w*|segundos?|secondes?|secondi|sekund\w*|seconden|vterin\w*|seg)\b", 1.0, ""),
    (r"\b(us|usec\w*|micro\w*|mikro\w*)\b", 1e-6, "was read as microseconds."),
    (r"\b(ms|msecs?|millis\w*|milli|mili\w*|mseg|msek)\b", 1e-3, "was read as milliseconds."),
    (r"\bmin(ute)?[snr]?\b|\bminut\w+\b", 60.0, "was read as minutes."),
    (
        r"\b(hours?|stunden?|heures?|horas?|ore|uren|godzin\w*|hodin\w*|timmar)\b(?! *(of|run))",
        3600.0,
        "was read as hours.",
    ),
    (r"\b(ns|nsecs?|nano\w*)\b", 1e-9, "was read as nanoseconds."),
    (r"\b(days?|tage|jours|dias|giorni)\b", DAY, "was read as days."),
)
_LEAST_DATE = SERIAL_DAYS[0]  # every way of counting dates gives larger numbers
_PART = re.compile(r"\b1 ([1-9]\d{1,5}) (?:s|sec|seconds?)\b")  # as in 1/64 s
_NUMBERED = re.compile(r"(\d+(?:[.,]\d+)?)\s*([a-zµμ]+)", re.IGNORECASE)


@dataclass(frozen=True)
class Scale:
    """What one count of a clock is.

    Attributes:
        seconds: one count.
        note: what was assumed, as the end of a sentence that begins with its name; empty where nothing was.
        others: seconds that it may be as well, where its numbers do not tell.
    """

    seconds: float
    note: str = ""
    others: tuple[float, ...] = ()


SECONDS = Scale(1.0)


def stated_seconds(text: str) -> float | None:
    """Give the seconds that a unit of time is, also one with a number before it (`10 us`); None where it is none."""
    unit = find_unit(text)
    if unit is not None and unit.quantity == "time":
        return float(to_base(np.array([1.0]), unit)[0])
    match = _NUMBERED.fullmatch(text.strip())
    unit = find_unit(match[2]) if match else None
    if match is None or unit is None or unit.quantity != "time":
        return None
    return float(match[1].replace(",", ".")) * float(to_base(np.array([1.0]), unit)[0])


def is_epoch(values: FloatArray) -> tuple[float, str] | None:
    """Tell whether numbers count from 1970 or are a spreadsheet's days: seconds of a count, and the word for it."""
    if np.fmax.reduce(np.abs(values), initial=0.0) <= _LEAST_DATE:
        return None  # told by one look: a middle of all values costs a fifth of reading a long log
    seen = values[np.isfinite(values)]
    if not seen.size:
        return None
    typical = float(np.median(np.abs(seen)))
    if COUNTS_SINCE_1601[0] < typical < COUNTS_SINCE_1601[1]:
        return SINCE_1601[0], "counts of 100 ns since 1601"
    for least, factor, word in EPOCHS:
        if typical > least:
            within = 3.0e8 < typical * factor < LAST_DATE  # from the year 1979 on
            return (factor, f"{word} since 1970") if within and 0 < step_of(seen) * factor < 15 else None
    if first_day(values) is not None and 0 < step_of(seen) < 2e-4:
        julian = any(least < typical < most for least, most in (MODIFIED_DAYS, JULIAN_DAYS))
        return DAY, "Julian days" if julian else "spreadsheet dates, in days"
    return None


def first_day(values: FloatArray) -> float | None:
    """Give which day the first of January 1970 is in a count of days since another date; None where it is no such."""
    seen = values[np.isfinite(values)]
    typical = float(np.median(seen)) if seen.size else 0.0
    return next((day for (least, most), day in DAY_COUNTS if least < typical < most), None)


def step_of(seen: FloatArray) -> float:
    """Give the usual step forward; 0 where there is none."""
    steps = np.diff(seen)
    steps = steps[steps > 0]
    return float(np.median(steps)) if steps.size else 0.0


def find_scale(words: str, unit: str, values: FloatArray) -> Scale:
    """Tell how many seconds one count of a clock is.

    Args:
        words: plain words of its name.
        unit: as the file gives it, or empty. One that nobody knows leaves open what a count is.
        values: shape (rows,), NaN where missing.
    """
    seconds = stated_seconds(unit) if unit else None
    if seconds is not None:
        return Scale(seconds)
    if (epoch := is_epoch(values)) is not None:
        return Scale(epoch[0], phrase("was read as {epoch}.", epoch=epoch[1]))
    if (part := _PART.search(words)) is not None:
        return Scale(1 / int(part[1]))
    for pattern, factor, note in _UNITS:
        if re.search(pattern, words):
            return Scale(factor, note)
    return _by_steps(unit, values)


def _by_steps(unit: str, values: FloatArray) -> Scale:
    """Tell what a count is where neither unit nor name does: by how large its numbers are, and how far apart."""
    seen = values[np.isfinite(values)]
    step = step_of(seen)
    if not step:
        return Scale(1.0, "has no unit; it was read as seconds.")
    if not unit and seen.min() >= 0 and seen.max() < 1.5 and FASTEST < step * DAY < SLOWEST and step < 1e-3:
        return Scale(DAY, "stays below 1 and was read as parts of a day.")
    whole = bool(np.all(seen == np.rint(seen)))
    counts: tuple[float, ...] = COUNTS if (whole and step >= 2) or float(seen.max()) > LAST_DATE else DECIMALS
    counts = ANY_COUNT if unit else counts
    span = float(seen.max() - seen.min())
    possible = [each for each in counts if FASTEST <= step * each <= SLOWEST and span * each < LONGEST]
    if not possible:
        return Scale(1.0, "has no unit; it was read as seconds.")
    if unit:
        return Scale(possible[0], "", tuple(possible[1:]))
    if whole and step == 1 and possible[0] == 1:  # rows that are merely counted read so, too
        return Scale(1.0, "has no unit; its steps were read as seconds.", ROWS_COUNTED)
    if counts is DECIMALS or (whole and step < 2):  # a clock with decimals counts seconds wherever it can
        possible = possible[:1]
    word = WORDS.get(possible[0], phrase("counts of {possible:g} s", possible=possible[0]))
    return Scale(possible[0], phrase("has no unit; its steps were read as {word}.", word=word), tuple(possible[1:]))


WORDS = {1.0: "seconds", 1e-3: "milliseconds", 1e-6: "microseconds", 1e-9: "nanoseconds", 60.0: "minutes"}
STATED = {
    1.0: "s",
    1e-3: "ms",
    1e-6: "us",
    1e-5: "10us",
    1e-4: "100us",
    0.01: "10ms",
    0.1: "100ms",
    60.0: "min",
    1e-9: "ns",
}
"""Seconds of a count -> the unit by which a user states it."""
