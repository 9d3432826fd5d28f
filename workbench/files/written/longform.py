"""Long form: one line per reading, with time, name of the channel and value."""

import re
from collections import Counter
from dataclasses import dataclass

import numpy as np

from workbench.errors import FileError
from workbench.files.text.numbers import find_style
from workbench.files.text.timestamps import read_stamps
from workbench.files.vocabulary.clock_scale import Scale, find_scale
from workbench.files.vocabulary.file_words import LISTED_NAMES, LISTED_UNITS, LISTED_VALUES
from workbench.files.vocabulary.recording import Field, Recording, Series, TextArray
from workbench.files.vocabulary.spelling import plain_words
from workbench.model.arrays import FloatArray, IntArray
from workbench.phrases import phrase

LONGEST_NAME = 120
_NUMBER_UNIT = re.compile(r"([+-]?[\d.,' ]+(?:[eE][+-]?\d+)?)\s*([^\d.,+-].*|)")


@dataclass(frozen=True, eq=False)
class LongForm:
    """A recording in long form, taken apart.

    Attributes:
        series: one for each channel, with the moments at which it was read.
        notes: what was assumed.
        clock_name: the column that tells the time.
        scale: by which that was turned into seconds.
    """

    series: list[Series]
    notes: list[str]
    clock_name: str
    scale: Scale


def long_form(recording: Recording) -> LongForm | None:
    """Take a recording in long form apart into series; None where it is in wide form.

    Raises:
        FileError: when no reading has both a time and a name.
    """
    found = _columns(recording)
    if found is None:
        return None
    names, values, units, clock = found
    seconds, notes, scale = _seconds(clock)
    there = np.isfinite(seconds)
    in_time = np.argsort(seconds[there], kind="stable")
    backwards = bool(np.any(np.diff(seconds[there]) < 0))
    if backwards:
        notes.append("Lines were not in order of time; they were sorted.")
    stamps = seconds[there][in_time]
    texts = names[there][in_time]
    if values.texts is not None:
        values, units = _apart(values)
    numbers = values.values[there][in_time]
    unit_texts = None if units is None else units[there][in_time]
    notes.append(phrase("Long form: {stamps} readings of one channel each.", stamps=stamps.size))
    if lost := int(np.sum(~there)):
        notes.append(phrase("{lost} readings without a time were dropped.", lost=lost))
    if not stamps.size:
        raise FileError(
            phrase("{source} is in long form, but no reading has a time.", source=recording.source), "Export it again."
        )
    group, kinds = _numbered(texts)
    order = np.argsort(group, kind="stable")
    ends = np.cumsum(np.bincount(group, minlength=len(kinds)))
    series = []
    for name, mine in zip(kinds, np.split(order, ends[:-1]), strict=True):
        if not name:
            continue
        unit = ""
        if unit_texts is not None:
            unit = Counter(str(text) for text in unit_texts[mine]).most_common(1)[0][0]
        series.append(_series(name[:LONGEST_NAME], unit, stamps[mine], numbers[mine]))
    if not series:
        raise FileError(
            phrase("{source} is in long form, but no reading names its channel.", source=recording.source),
            "Export it again.",
        )
    return LongForm(series, notes, clock.name, scale)


def _apart(field: Field) -> tuple[Field, TextArray]:
    """Part numbers from the units behind them."""
    cells = [] if field.texts is None else [str(cell).strip() for cell in field.texts.tolist()]
    style = find_style(cells[:1000], "")
    numbers = np.full(len(cells), np.nan)
    units = np.full(len(cells), "", dtype=object)
    for at, cell in enumerate(cells):
        match = _NUMBER_UNIT.fullmatch(cell)
        number = style.number(match[1].strip()) if match else None
        if match and number is not None:
            numbers[at], units[at] = number, match[2]
    return Field(field.name, "", numbers), units


def _numbered(texts: TextArray) -> tuple[IntArray, list[str]]:
    """Number texts by their first appearance: the number of each, and the texts."""
    numbers: dict[str, int] = {}
    group = np.array([numbers.setdefault(str(text), len(numbers)) for text in texts.tolist()], dtype=np.int64)
    return group, list(numbers)


def _series(name: str, unit: str, time: FloatArray, values: FloatArray) -> Series:
    """Make a series; of readings at one moment the last one stands."""
    last = np.append(np.diff(time) > 0, True)
    return Series(name, unit, time[last], values[last])


def _columns(recording: Recording) -> tuple[TextArray, Field, TextArray | None, Field] | None:
    fields = recording.fields
    if not 3 <= len(fields) <= 6:
        return None
    words = [plain_words(field.name) for field in fields]
    texts = [at for at, field in enumerate(fields) if field.texts is not None]
    named = [at for at in texts if LISTED_NAMES.match(words[at])]
    value = [at for at, field in enumerate(fields) if LISTED_VALUES.match(words[at])]
    if not named or not value:
        headless = words == [f"column {at + 1}" for at in range(len(fields))]
        if not headless or not texts or len(fields) > 4:
            return None
        named = [at for at in texts if _repeats(fields[at].texts)][:1]
        value = [at for at, field in enumerate(fields) if field.texts is None][-1:]
    if not named or not value:
        return None
    names = fields[named[0]].texts
    if names is None or not _repeats(names):
        return None
    unit = [at for at in texts if at != named[0] and (LISTED_UNITS.match(words[at]) or at == value[0] + 1)]
    clocks = [at for at in range(len(fields)) if at not in (named[0], value[0], *unit)]
    if not clocks:
        return None
    return names, fields[value[0]], fields[unit[0]].texts if unit else None, fields[clocks[0]]


def _repeats(texts: TextArray | None) -> bool:
    """Return whether a few names come again and again."""
    if texts is None or texts.size < 4:
        return False
    distinct = len(set(texts.tolist()))
    return 1 < distinct <= max(3, texts.size // 3)


def _seconds(clock: Field) -> tuple[FloatArray, list[str], Scale]:
    if clock.texts is not None:
        stamps = read_stamps(clock.texts.tolist(), clock.name)
        if stamps is None:
            return np.full(clock.values.size, np.nan), [], Scale(1.0)
        return stamps.seconds, [stamps.note], Scale(1.0)
    # One moment may have several readings: what its steps are is told by the moments.
    moments = clock.values[np.append(True, np.diff(clock.values) != 0)]
    scale = find_scale(plain_words(clock.name), clock.unit, moments)
    note = f"{clock.name} {scale.note}" if scale.note else ""
    return clock.values * scale.seconds, [note] * bool(note), scale
