"""Moments and spans written in words of any language, brought to digits: `Di., 3. März 2026 14:03:01`, `0 h 4 min 3 s`.

Weekdays and fillers such as `at` or `de` say nothing that the date does not. Names of months from memory.
"""

import re

from workbench.files.vocabulary.spelling import plain_words

# Beginnings of the months' names in English, German, French, Spanish, Italian, Portuguese, Dutch, Polish, Czech and
# Swedish; a longer one counts before a shorter one.
_MONTHS = (
    "jan ene gen sty led leden ledna",
    "feb fev fevr lut uno unor",
    "mar marz maerz mrz mrt maart marca brez",
    "apr avr abr kwi dub",
    "may mai mei maj mag kve",
    "jun juin giu cze czerw cer cerv",
    "jul juil lug lip cervenc",
    "aug aou aout ago sie srp",
    "sep set wrz zar",
    "oct okt ott out paz rij",
    "nov lis",
    "dec dez dic gru pro pros",
)
_BEGINNINGS = sorted(
    ((start, number) for number, starts in enumerate(_MONTHS, 1) for start in starts.split()),
    key=lambda each: -len(each[0]),
)
_TIME = r"\d{1,2}:\d{2}:\d{2}(?:[.,:]\d{1,9})?(?:\s*[ap]\.?m\.?)?"
_CLOCK = re.compile(rf"(?<![\d:])({_TIME})(\s*(?:Z|UTC|GMT|[+-]\d{{2}}:?\d{{2}}))?(?![\d:])", re.IGNORECASE)
_ZONES = re.compile(r"\b(?:CES?T|MES?Z|WES?T|EES?T|BST|[ECMP][SD]T|UTC|GMT)\b")
_WORD = re.compile(r"[^\W\d_]{3,}")
_DATE = re.compile(r"\d{1,4}[-/.]\d{1,2}[-/.]\d{1,4}")
_OTHER_SIGNS = re.compile(
    r"(\d{4})[-._](\d{1,2})[-._](\d{1,2})[ _T-]+(\d{1,2})[-._](\d{2})[-._](\d{2})(?:[-._,](\d{1,9}))?"
)
_LETTERS = re.compile(
    r"(?:P?T)?(?:(\d+)\s*d(?:ays?|\b))?\s*(?:(\d+)\s*(?:h|hours?|hrs?|std)\b)?\s*(?:(\d+)\s*(?:m|min|mins|minutes?|'|′)(?![a-z]))?"
    r"\s*(\d+(?:[.,]\d+)?)\s*(?:s|secs?|seconds?|sek|\"|″)\.?",
    re.IGNORECASE,
)
_DAYS_AND_CLOCK = re.compile(r"(?:days?\s*|\+)?(\d{1,3})[\s:]+(\d{1,2}):(\d{2}):(\d{2}(?:[.,]\d+)?)", re.IGNORECASE)


def in_digits(cell: str) -> str | None:
    """Give a moment or a span with its words replaced by digits; None where it is none that holds words.

    A moment comes as `2026-03-03 14:03:01.25`, a span as `hours:minutes:seconds`.
    """
    if match := _OTHER_SIGNS.fullmatch(cell):
        *date, hour, minute, second, part = match.groups()
        return f"{'-'.join(date)} {hour}:{minute}:{second}" + (f".{part}" if part else "")
    for pattern in (_LETTERS, _DAYS_AND_CLOCK):
        if match := pattern.fullmatch(cell):
            days, hours, minutes, seconds = (float((each or "0").replace(",", ".")) for each in match.groups())
            whole, rest = divmod(round(days * 86400 + hours * 3600 + minutes * 60 + seconds, 9), 60)
            return f"{int(whole) // 60}:{int(whole) % 60:02d}:{rest:012.9f}"
    return _dated(cell)


def _dated(cell: str) -> str | None:
    """Find clock, day, month and year in whatever order they stand."""
    clock = _CLOCK.search(cell)
    if clock is None:
        return None
    rest = _ZONES.sub(" ", f"{cell[: clock.start()]} {cell[clock.end() :]}")
    behind = f"{clock[1].strip()}{(clock[2] or '').strip()}"
    if (date := _DATE.search(rest)) is not None and _month(rest) is None:
        return f"{date[0]} {behind}"
    numbers = re.findall(r"\d+", rest)
    years = [each for each in numbers if len(each) == 4]
    days = [each for each in numbers if len(each) < 3]
    month = _month(rest)
    if month is None or len(years) != 1 or len(days) != 1:
        return None
    return f"{years[0]}-{month:02d}-{int(days[0]):02d} {behind}"


def _month(rest: str) -> int | None:
    """Give the month that a text names; of several words that may be one, as `mar. 3 mars`, the one behind the day."""
    found = [(match.start(), number) for match in _WORD.finditer(rest) if (number := _number(match[0])) is not None]
    day = re.search(r"(?<!\d)\d{1,2}(?!\d)", rest)
    if not found or day is None:
        return None
    after = [number for start, number in found if start > day.start()]
    return after[0] if after else found[-1][1]


def _number(word: str) -> int | None:
    plain = plain_words(word).replace(" ", "")
    return next((number for start, number in _BEGINNINGS if plain.startswith(start)), None)
