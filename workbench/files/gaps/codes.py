"""Numbers that stand for no value, told before anything is scaled: by how they lie and how they come and go.

Whatever the number is that a program writes where it has none, it lies by itself, is written to the last digit the same
each time, and is entered and left at a jump. A quantity that truly goes there passes through what lies between.
"""

import re
from collections import Counter
from collections.abc import Sequence

import numpy as np

from workbench.files.vocabulary.recording import Field, listed, there
from workbench.files.vocabulary.spelling import plain_words
from workbench.files.vocabulary.vocabulary import RULES
from workbench.model.arrays import BoolArray, FloatArray, IntArray
from workbench.model.counting import counted
from workbench.phrases import phrase

# What programs write for no value: repeated nines, and the largest and smallest numbers of so many bits, scaled or not.
# Common practice, no source.
_NINES = (99.0, 999.0, 9999.0, 99999.0, 999999.0)
_WORDS = (127, 128, 255, 32767, 32768, 65535, 65534, 8388607, 16777215, 2147483647, 2147483648, 4294967295)
_SCALES = (1.0, 0.1, 0.01, 0.001, 0.5, 0.25, 0.125, 0.0625)
LEAST_KNOWN = 99.0  # smaller ones are what channels read
KNOWN = frozenset(
    round(sign * number * scale, 6)
    for number in (*_NINES, *_WORDS)
    for scale in _SCALES
    for sign in (1, -1)
    if number * scale >= LEAST_KNOWN
) | {-1.0}
FEWEST_LEVELS = 8  # different values of a quantity; fewer are states
APART, KNOWN_APART = 1.0, 0.35  # of the span of the rest: how far off a number lies that is none
PLAINLY = 5.0  # times as large as all that is read: no part of it, however often it is there
FARTHER = 3.0  # than anything else that is read: a number that is no code by its digits must lie so far off
MOST = 0.5  # of the readings; a number that is there more often is what the channel reads
MOST_CODES = 3
FEWEST_ALIKE, SHOWN = 3, 4  # channels that read the same one: told together, so many by name
LARGEST_JUMP = 0.98  # of the jumps are smaller than a usual one
JUMPS = 8.0  # usual jumps, by which a drop to nothing is larger
LONGEST_DROP = 3  # rows; what is shut for longer, as a valve or a throttle, truly reads nothing
FEWEST_DROPS, SURE = 2, 0.8  # drops, and the share of them that come and go at a jump
# Where a channel is polled, what lies between is passed through within one reading, so that a foot on the floor looks
# like a code in a short log of one pull: what an opening can be is none.
_OPENING = re.compile("|".join(rf"\b(?:{RULES[role].name})" for role in ("throttle", "pedal")))
WIDEST = 105.0  # %
_MIXTURE = ("lambda", "afr", "wideband", "air fuel", "phi", "lam")
LEANEST_READING = 50.0  # of any mixture number but those in percent; what a saturated sensor reads is no code


def without_codes(fields: Sequence[Field]) -> tuple[list[Field], list[str]]:
    """Take numbers that stand for no value out of all columns, before anything is scaled, and say which.

    A program has one number for that in all its channels: one that was found in several is none in a state, a flag or a
    valve that rests either, which alone could not tell.

    Args:
        fields: columns as they were read.
    """
    clean, found = [], list[tuple[str, float, int]]()
    for each in fields:
        made, codes = blank_codes_of(each)
        clean.append(made)
        found += [(each.name, code, rows) for code, rows in codes]
    often = Counter(code for _, code, _ in found)
    shared = [code for code, channels in often.items() if channels >= FEWEST_ALIKE]
    for code in shared:
        for at, each in enumerate(clean):
            away = _none_here(each.values, code)
            if each.texts is None and away.any():
                clean[at] = Field(each.name, each.unit, np.where(away, np.nan, each.values), each.texts)
                found.append((each.name, code, int(away.sum())))
    return clean, code_notes(found)


def _none_here(values: FloatArray, code: float) -> BoolArray:
    """Mark where a number that stands for no value in other channels does so in this one.

    Where the channel itself passes through it, only short stretches count: what lasts is a reading, as a trim at rest.
    """
    away: BoolArray = values == code
    rest = values[np.isfinite(values) & ~away]
    if not rest.size or not away.any():
        return np.zeros_like(away)
    if code != 0 and (code < rest.min() or code > rest.max()):
        return away
    known = np.flatnonzero(np.isfinite(values))
    for start, end in zip(*_stretches(away[known]), strict=True):
        if end - start > LONGEST_DROP:
            away[known[start:end]] = False
    return away


def blank_codes_of(field: Field) -> tuple[Field, list[tuple[float, int]]]:
    """Take out numbers that stand for no value, and give which and how often.

    Args:
        field: a column as it was read, before any scale is applied.
    """
    values, found = field.values, list[tuple[float, int]]()
    for _ in range(MOST_CODES):
        code = _code(field.name, values)
        if code is None:
            break
        away = values == code
        found.append((code, int(away.sum())))
        values = np.where(away, np.nan, values)
    return (field if not found else Field(field.name, field.unit, values, field.texts)), found


def code_notes(found: Sequence[tuple[str, float, int]]) -> list[str]:
    """Say which numbers were taken out, in one sentence for all channels that read the same one.

    Args:
        found: channel, number, and rows in which it reads so.
    """
    by_code: dict[float, list[tuple[str, int]]] = {}
    for name, code, rows in found:
        by_code.setdefault(code, []).append((name, rows))
    notes = []
    for code, channels in by_code.items():
        if len(channels) < FEWEST_ALIKE:
            notes += [_code_note(name, code, counted(rows, "row")) for name, rows in channels]
            continue
        least, most = min(rows for _, rows in channels), max(rows for _, rows in channels)
        often = counted(most, "row") if least == most else phrase("{least} to {most} rows", least=least, most=most)
        names = listed([name for name, _ in channels[:SHOWN]], len(channels))
        notes.append(
            phrase(
                "{names} read {code:.10g} in {rows} each, far from all other values: it counts as missing.",
                names=names,
                code=code,
                rows=often,
            )
        )
    return notes


def _code_note(name: str, code: float, rows: str) -> str:
    return phrase(
        "{name} reads {code:.10g} in {rows}, far from all other values: it counts as missing.",
        name=name,
        code=code,
        rows=rows,
    )


def _code(name: str, values: FloatArray) -> float | None:
    seen = there(values)
    if seen.size < FEWEST_LEVELS:
        return None
    with np.errstate(all="ignore"):
        low, high = float(np.fmin.reduce(values)), float(np.fmax.reduce(values))
    for end in (low, high):
        if _stands_apart(name, end, seen) and _is_code(values == end, values, end):
            return end
    for end in (0.0, -1.0):
        share = float(np.mean(seen == end))
        if low <= end <= high and 0 < share < MOST and _is_dropped_to(values == end, values):
            return end
    return None


def _stands_apart(name: str, end: float, seen: FloatArray) -> bool:
    """Tell whether the end of a channel's range lies away from the rest of it."""
    rest = seen[seen != end]
    if end == 0 or rest.size < FEWEST_LEVELS:
        return False
    least, most = float(rest.min()), float(rest.max())
    plain = round(end, 6) in KNOWN and abs(end) > PLAINLY * max(abs(least), abs(most))
    if rest.size < (1 - MOST) * seen.size and not plain:  # written on change, a channel may read it mostly
        return False
    gap, span = (least - end if end < least else end - most), most - least
    known = round(end, 6) in KNOWN
    away = abs(end) > FARTHER * max(abs(least), abs(most)) or end < 0 <= least
    if gap <= (KNOWN_APART if known else APART) * span or span <= 0 or not (known or away):
        return False  # also a step that a channel takes, such as an enrichment
    if np.unique(rest[:: max(1, rest.size // 5000)]).size < FEWEST_LEVELS:
        return known and abs(end) > 10 * max(abs(least), abs(most))
    words = plain_words(name)
    if 0 < end <= WIDEST and _OPENING.search(words):
        return False
    saturated = end > most and end < LEANEST_READING and any(word in words for word in _MIXTURE)
    return not saturated


def _is_code(away: BoolArray, values: FloatArray, end: float) -> bool:
    """Tell whether a number that stands apart is none: it is one by its digits, or comes again and again."""
    count = int(np.count_nonzero(away))
    known = round(end, 6) in KNOWN
    return count > 0 if known else FEWEST_DROPS <= count <= MOST * values.size


def _is_dropped_to(away: BoolArray, values: FloatArray) -> bool:
    """Tell whether a channel drops to a number and comes back from it to where it was, again and again."""
    known = np.isfinite(values)
    away, level = away[known], values[known]
    rest = level[~away]
    if rest.size < 2 * FEWEST_LEVELS or np.unique(rest[:: max(1, rest.size // 5000)]).size < FEWEST_LEVELS:
        return False
    starts, ends = _stretches(away)
    inner = (starts > 0) & (ends < level.size)
    starts, ends = starts[inner], ends[inner]
    if starts.size < FEWEST_DROPS:
        return False
    jumps = np.abs(np.diff(rest))
    usual = float(np.quantile(jumps, LARGEST_JUMP)) or float(np.min(jumps[jumps > 0], initial=np.inf))
    before, after, base = level[starts - 1], level[ends], level[starts]
    fell = np.minimum(np.abs(before - base), np.abs(after - base))
    drops = (fell > JUMPS * usual) & (np.abs(after - before) < 0.5 * fell)
    if float(np.median(ends - starts)) > LONGEST_DROP:
        return False
    return float(np.mean(drops)) >= SURE


def _stretches(away: BoolArray) -> tuple[IntArray, IntArray]:
    """Give where stretches of marked rows begin, and the rows behind their last ones."""
    edges = np.flatnonzero(np.diff(np.concatenate([[False], away, [False]]).astype(np.int8)))
    return edges[::2], edges[1::2]
