"""A recording as a file holds it, before anything is known about what its channels mean."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from workbench.files.vocabulary.clock_scale import SECONDS, Scale
from workbench.model.arrays import BoolArray, FloatArray
from workbench.phrases import phrase

TextArray = NDArray[np.object_]

ENOUGH = 50_000


@dataclass(frozen=True, eq=False)
class Field:
    """One column of a recording.

    Attributes:
        name: unique in its recording.
        unit: as the file spells it, empty where none.
        values: numbers, shape (rows,), NaN where missing.
        texts: the cells, shape (rows,), where they are no numbers; else None.
    """

    name: str
    unit: str
    values: FloatArray
    texts: TextArray | None = None

    def on_rows(self, kept: BoolArray) -> "Field":
        """Return the column on some of its rows; itself where these are all. `kept` has shape (rows,)."""
        if kept.all():
            return self
        return Field(self.name, self.unit, self.values[kept], None if self.texts is None else self.texts[kept])


@dataclass(frozen=True)
class Spoilt:
    """Numbers of a channel that a spreadsheet turned into dates.

    Attributes:
        count: of cells.
        shown: one of them.
    """

    count: int
    shown: str


@dataclass(frozen=True, eq=False)
class Recording:
    """Columns of one length.

    Attributes:
        source: name of the file.
        fields: in the order of the file.
        notes: what was assumed in reading.
        time: s, shape (rows,), where the format itself says which it is; else None.
        clock_name: what the format calls it.
        scale: by which it was turned into seconds.
        began: moment from which the format counts its time, s since 1970; NaN where it does not say.
        zoned: whether it says the time zone of that.
        spoilt: channel -> what a spreadsheet made of its numbers.
        told_rate_hz: rows a second, where the file says so beside its columns; else NaN.
    """

    source: str
    fields: tuple[Field, ...]
    notes: tuple[str, ...] = ()
    time: FloatArray | None = None
    clock_name: str = ""
    scale: Scale = SECONDS
    began: float = float("nan")
    zoned: bool = True
    spoilt: Mapping[str, Spoilt] = field(default_factory=dict)
    told_rate_hz: float = float("nan")

    @property
    def rows(self) -> int:
        """Count the rows."""
        return int(self.fields[0].values.size) if self.fields else 0


@dataclass(frozen=True, eq=False)
class Series:
    """One channel with times of its own.

    Attributes:
        name: as the file spells it.
        unit: as the file spells it, empty where none.
        time: s, shape (samples,), not falling. Series that were read together share one array.
        values: shape (samples,), NaN where missing.
    """

    name: str
    unit: str
    time: FloatArray
    values: FloatArray


def timed(fields: Sequence[Field], time: FloatArray) -> list[Series]:
    """Return columns of numbers as series by one clock; where a moment is there more than once the last one counts.

    Args:
        fields: columns; those of text are left out.
        time: s, shape (rows,), not falling, NaN where a row has none.
    """
    known = np.isfinite(time)
    stamps = time[known]
    last = np.append(np.diff(stamps) > 0, True)
    return [
        Series(each.name, each.unit, stamps[last], each.values[known][last]) for each in fields if each.texts is None
    ]


@dataclass
class Tally:
    """Oddities of one kind, counted, with the first few places kept."""

    places: list[str] = field(default_factory=list)
    count: int = 0

    def add(self, place: str) -> None:
        """Count one more."""
        self.count += 1
        if len(self.places) < 3:
            self.places.append(place)

    def add_run(self, first: str, count: int) -> None:
        """Count so many in a row, of which the first is named."""
        self.add(first)
        self.count += count - 1

    def extend(self, places: Iterable[str]) -> None:
        """Count several more."""
        for place in places:
            self.add(place)

    def __str__(self) -> str:
        """List the first places, and say that there are more."""
        return listed(self.places, self.count)


def listed(shown: Sequence[str], count: int) -> str:
    """Join the first few of several things, saying how many more there are."""
    more = count - len(shown)
    return ", ".join(shown) + (phrase(" and {more} more", more=more) if more > 0 else "")


def is_complete(values: FloatArray) -> bool:
    """Return whether every value is a finite number; quick where it is so."""
    with np.errstate(all="ignore"):
        return bool(np.isfinite(np.sum(values)) or np.isfinite(values).all())


def there(values: FloatArray) -> FloatArray:
    """Return the values that are there; of very many an even choice, which tells level and spread as well."""
    chosen = np.ascontiguousarray(values[:: max(1, values.size // ENOUGH)])
    finite = np.isfinite(chosen)
    if chosen.size < values.size and not finite.any():
        return values[np.isfinite(values)][:ENOUGH]
    return chosen if finite.all() else chosen[finite]
