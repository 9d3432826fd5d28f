"""Times written as text: clock times, dates with times, ISO 8601."""

import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime

import numpy as np

from workbench.files.text.pictures import counted_pictures
from workbench.files.vocabulary.spoken_moments import in_digits
from workbench.model.arrays import FloatArray
from workbench.phrases import join_phrases, phrase

# hours:minutes[:seconds[.fraction]] [am|pm]; the fraction may stand behind a point, a comma or a colon
_CLOCK = re.compile(r"(\d{1,5}):(\d{1,2})(?::(\d{1,2})(?:[.,:](\d{1,9}))?)?\s*([aApP])?\.?[mM]?\.?")
_MINUTES = re.compile(r"(\d{1,5}):([0-5]\d)[.,](\d{1,9})")
_DATE_FIRST = re.compile(r"(\d{1,4})[-/.](\d{1,2}|[A-Za-z]{3})[-/.](\d{1,4})[T, ]*(.*)")
LONGEST_STAMP = 100  # characters; the search for a time zone takes the square of the blanks in a cell
_MONTHS = "janfebmaraprmayjunjulaugsepoctnovdec"
_ZONE = re.compile(r"\s*(?:Z|UTC|GMT|[+-]\d{2}:?\d{2})$")


@dataclass(frozen=True, eq=False)
class Stamps:
    """Times read from text.

    Attributes:
        seconds: since midnight, or since 1970 where there is a date; shape (rows,), NaN where a cell holds none.
        of_day: whether they count from midnight.
        note: what was assumed.
        zoned: whether the cells say their time zone.
    """

    seconds: FloatArray
    of_day: bool
    note: str
    zoned: bool = False


_WEEKDAY = re.compile(r"^(mon|tue|wed|thu|fri|sat|sun)[a-z]*\.?,?\s+", re.IGNORECASE)
_DAY_WORD = re.compile(r"(\d{1,2})\.?\s+([A-Za-z]{3})[a-z]*\.?,?\s+(\d{4})[T, ]+(\d.*)")
_WORD_DAY = re.compile(r"([A-Za-z]{3})[a-z]*\.?\s+(\d{1,2}),?\s+(\d{4})[T, ]+(\d.*)")
_COMPACT = re.compile(r"((?:19|20)\d{2})(\d{2})(\d{2})[T_ -]?(\d{2})(\d{2})(\d{2})[.,]?(\d*)(Z|[+-]\d{2}:?\d{2}|)")
_DAYS = re.compile(r"(\d+)(?:\s*d(?:ays?)?,?\s+|\.(?=\d{2}:\d{2}:))(.*)")
_LETTERS = re.compile(r"(?:P?T)?(?:(\d+)\s*h)?\s*(?:(\d+)\s*m(?:in)?)?\s*(\d+(?:[.,]\d+)?)\s*s", re.IGNORECASE)


# As of videos that leave frame numbers out, and as angles and races are written: minutes', seconds".
_FRAMES = re.compile(r"(\d{1,3}:\d{2}:\d{2});(\d{2})")
_PRIMES = re.compile(r"(?:(\d+)\s*[h°]\s*)?(\d+)\s*['\u2032\u2019]\s*(\d{1,2}(?:[.,]\d+)?)\s*(?:[\"\u2033\u201d]|'')?")
_MISSION = re.compile(r"[TL]?\+(\d.*)")
_ZONE_HELD = re.compile(r"\s*[(\[]((?:UTC|GMT)?)([A-Z]{2,5})?[)\]]$")  # its letters alone say no hours
_HELD = re.compile(r"[\[(<{](.*)[\])>}]")
_DOTTED_CLOCK = re.compile(r"(\d{1,4}[-/.]\d{1,2}[-/.]\d{1,4}[T, ]+)(\d{1,2})\.([0-5]\d)\.([0-5]\d(?:[.,]\d+)?)")
_DOTTED_HALF = re.compile(r"(?<=\d)[ \u00a0\u202f]*([ap])[. \u00a0\u202f]*m[. \u00a0\u202f]*$", re.IGNORECASE)
_HALF = re.compile(r"(?:(AM|am|上午|午前|오전)|(?:PM|pm|下午|午後|오후))\s*(\d.*)")
_OF_YEAR = re.compile(r"((?:19|20)\d{2})-?(\d{3})([T ].*)")
_OF_WEEK = re.compile(r"((?:19|20)\d{2})-?W(\d{2})-?([1-7])([T ].*)")


def _in_order(cell: str) -> str:
    """Write a half of the day behind its clock, a mission's without its sign, and ISO 8601's other days as dates.

    Those are the day of the year and the day of the week.
    """
    if match := _MISSION.fullmatch(cell):
        return match[1]
    if match := _HALF.fullmatch(cell):
        return f"{match[2]} {'AM' if match[1] else 'PM'}"
    try:
        if match := _OF_YEAR.fullmatch(cell):
            return f"{datetime.strptime(match[1] + match[2], '%Y%j'):%Y-%m-%d}{match[3]}"  # noqa: DTZ007 - a day alone
        if match := _OF_WEEK.fullmatch(cell):
            return f"{date.fromisocalendar(int(match[1]), int(match[2]), int(match[3])):%Y-%m-%d}{match[4]}"
    except ValueError:
        return cell
    return cell


def _respelt(cell: str) -> str:
    """Write a moment in words, without signs, or in hours, minutes and seconds by letters, as others are written."""
    cell = cell.strip()
    cell = match[1].strip() if (match := _HELD.fullmatch(cell)) else _ZONE_HELD.sub(r" \1", cell).strip()
    cell = _signed(_in_order(_WEEKDAY.sub("", _DOTTED_HALF.sub(r" \1m", cell))))
    if (match := _DAY_WORD.fullmatch(cell)) and _is_month(match[2]):
        return f"{match[1]}-{match[2]}-{match[3]} {match[4]}"
    if (match := _WORD_DAY.fullmatch(cell)) and _is_month(match[1]):
        return f"{match[2]}-{match[1]}-{match[3]} {match[4]}"
    if match := _COMPACT.fullmatch(cell):
        year, month, day, hour, minute, second, part, zone = match.groups()
        return f"{year}-{month}-{day} {hour}:{minute}:{second}" + (f".{part}" if part else "") + zone
    if match := _DAYS.fullmatch(cell):
        hours, colon, rest = match[2].partition(":")
        if colon and hours.isdigit():
            return f"{int(match[1]) * 24 + int(hours)}:{rest}"
    if (match := _LETTERS.fullmatch(cell)) and any(sign in cell.lower() for sign in "hm"):
        hour, minute = int(match[1] or 0), int(match[2] or 0)
        return f"{hour + minute // 60}:{minute % 60:02d}:{match[3].replace(',', '.')}"
    return cell if _is_plain(cell) else in_digits(cell) or cell


def _signed(cell: str) -> str:
    """Write frames behind a semicolon, points behind a date, and minutes and seconds by signs, as a clock by colons."""
    if match := _FRAMES.fullmatch(cell):
        return f"{match[1]}:{match[2]}"
    if match := _DOTTED_CLOCK.fullmatch(cell):
        return f"{match[1]}{match[2]}:{match[3]}:{match[4]}"
    if match := _PRIMES.fullmatch(cell):
        return f"{int(match[1] or 0) + int(match[2]) // 60}:{int(match[2]) % 60:02d}:{match[3].replace(',', '.')}"
    return cell


def _is_month(word: str) -> bool:
    return _MONTHS.find(word.casefold()) % 3 == 0


def _is_plain(cell: str) -> bool:
    """Tell whether a cell is a clock, or a date with or without one, in digits alone."""
    if _CLOCK.fullmatch(cell) or _MINUTES.fullmatch(cell):
        return True
    match = _DATE_FIRST.fullmatch(cell)
    return match is not None and (not match[4] or _CLOCK.fullmatch(_ZONE.sub("", match[4]).strip()) is not None)


def read_stamps(cells: Sequence[str], name: str) -> Stamps | None:
    """Read a column of times; None where most cells hold none."""
    cells = [cell if len(cell) <= LONGEST_STAMP else "" for cell in cells]
    if any(_respelt(cell) != cell for cell in cells[:5] if cell):
        cells = [_respelt(cell) for cell in cells]
    sample = [cell for cell in cells[:400] if cell]
    dated = sum(_DATE_FIRST.fullmatch(cell) is not None for cell in sample)
    clocked = sum((_CLOCK.fullmatch(cell) or _MINUTES.fullmatch(cell)) is not None for cell in sample)
    if not sample or max(dated, clocked) < 0.5 * len(sample):
        return None
    if clocked >= dated:
        seconds = np.array([_clock(cell) for cell in cells])
        note = phrase("{name} is a time of day; it was read as seconds since midnight.", name=name)
        if (pictures := counted_pictures(cells)) is not None:
            seconds, rate = pictures
            counted = phrase(
                "What stands behind the last colon of {name} never reaches {rate}: it was read as so many to a second.",
                name=name,
                rate=rate,
            )
            note = join_phrases(" ", (note, counted))
        return Stamps(seconds, of_day=True, note=note)
    order, order_note = _date_order(sample)
    seconds = np.array([_dated(cell, order) for cell in cells])
    if not np.isfinite(seconds).any():
        return None
    zone = any(_ZONE.search(cell) for cell in sample)
    note = phrase(
        "{name} holds dates ({order_note}); it was read as seconds since 1970", name=name, order_note=order_note
    )
    how = ", with its time zone." if zone else ", taken as UTC."
    return Stamps(seconds, of_day=False, note=note + how, zoned=zone)


def _clock(cell: str) -> float:
    match = _CLOCK.fullmatch(cell.strip())
    if match is None:
        short = _MINUTES.fullmatch(cell.strip())
        return float("nan") if short is None else int(short[1]) * 60.0 + float(f"{short[2]}.{short[3]}")
    hours, minutes, seconds, fraction, half = match.groups()
    if int(minutes) > 59 or int(seconds or 0) > 60:
        return float("nan")
    hour = int(hours)
    if half:
        hour = hour % 12 + (12 if half in "pP" else 0)
    return hour * 3600.0 + int(minutes) * 60 + int(seconds or 0) + (float("0." + fraction) if fraction else 0.0)


def _date_order(sample: Sequence[str]) -> tuple[str, str]:
    """Find out which of the three numbers of a date is the day."""
    firsts: list[int] = []
    seconds: list[int] = []
    widths: Counter[int] = Counter()
    for cell in sample:
        if match := _DATE_FIRST.fullmatch(cell):
            widths[len(match[1])] += 1
            firsts.append(int(match[1]))
            seconds.append(int(match[2]) if match[2].isdigit() else 0)
    if widths.most_common(1)[0][0] == 4:
        return "ymd", "year-month-day"
    if max(firsts) > 12 or max(seconds) == 0:
        return "dmy", "day-month-year"
    if max(seconds) > 12:
        return "mdy", "month-day-year"
    slashed = any("/" in cell for cell in sample) and any(
        re.search(r"[ap]\.?m", cell, re.IGNORECASE) for cell in sample
    )
    return ("mdy", "assumed month-day-year") if slashed else ("dmy", "assumed day-month-year")


def _dated(cell: str, order: str) -> float:
    match = _DATE_FIRST.fullmatch(cell.strip())
    if match is None:
        return float("nan")
    parts = dict(zip(order, match.groups()[:3], strict=True))
    month = parts["m"]
    rest = match[4].strip()
    zone = _ZONE.search(rest)
    of_day = _clock(rest[: zone.start()] if zone else rest) if rest else 0.0
    try:
        year = int(parts["y"])
        number = int(month) if month.isdigit() else _MONTHS.index(month.casefold()) // 3 + 1
        day = datetime(year + (2000 if year < 100 else 0), number, int(parts["d"]), tzinfo=UTC)
    except (ValueError, OverflowError):
        return float("nan")
    return day.timestamp() + of_day - (_offset(zone[0]) if zone else 0.0)


def _offset(zone: str) -> float:
    zone = zone.strip()
    if zone in ("Z", "UTC", "GMT"):
        return 0.0
    size = int(zone[1:3]) * 3600.0 + int(zone[-2:]) * 60
    return -size if zone[0] == "-" else size
