"""A column whose unit is understood: what the steps from a recording to a log hand on."""

import re
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from workbench.files.vocabulary.recording import Field, is_complete, there
from workbench.files.vocabulary.roles import role_by_name
from workbench.files.vocabulary.units import BASES, Unit, base_unit, find_unit, to_base, unit_in_name
from workbench.model.arrays import BoolArray, FloatArray

_LAST_LETTER = re.compile(r"(.*[^\s_])[\s_]+([CFK])")
KEPT_AS_READ = ("time", "afr", "phi")  # durations stay as they are; mixtures wait until their scale is known


@dataclass(frozen=True, eq=False)
class Measured:
    """A column, only its rows that have a time.

    Attributes:
        field: as it was read.
        unit: what its unit was understood as; None where none was given, or it is unknown.
        values: in base units where the unit is known, shape (rows,), NaN where missing.
        stated: whether the user said the unit; then nothing is asked of it.
    """

    field: Field
    unit: Unit | None
    values: FloatArray
    stated: bool = False

    @property
    def name(self) -> str:
        """Name of the channel."""
        return self.field.name

    @property
    def quantity(self) -> str:
        """Quantity of its unit, empty where that is unknown or of no use for a role."""
        return self.unit.quantity if self.unit is not None else ""

    @property
    def unit_name(self) -> str:
        """The unit its values are in now."""
        if self.unit is None:
            return self.field.unit
        return self.field.unit if self.quantity == "time" else base_unit(self.unit)

    @cached_property
    def there(self) -> FloatArray:
        """Its values without the missing ones; of very many an even choice."""
        return there(self.values)

    @cached_property
    def extent(self) -> tuple[float, float]:
        """Its least and its greatest value; NaN where there are none."""
        if not self.values.size:
            return float("nan"), float("nan")
        return float(np.fmin.reduce(self.values)), float(np.fmax.reduce(self.values))

    @cached_property
    def complete(self) -> bool:
        """Whether no value is missing."""
        return is_complete(self.values)

    @property
    def middle(self) -> float:
        """The median of its values other than 0, which stands for none where it is a mixture; NaN without values."""
        known = self.there[self.there != 0]
        return float(np.median(known)) if known.size else float("nan")

    def becoming(self, quantity: str, values: FloatArray) -> "Measured":
        """Return the same column as another quantity, in its base unit."""
        return replace(self, unit=Unit(quantity, BASES[quantity][1]), values=values)

    def without(self, bad: BoolArray) -> "Measured":
        """Return the same column with some values missing."""
        return replace(self, values=np.where(bad, np.nan, self.values))


def measure(field: Field, stated: str = "") -> Measured:
    """Understand a column's unit and turn its values into the base unit.

    Args:
        field: the column.
        stated: its unit, where the user said so; that stands before what the file says.
    """
    values = field.values
    unit = find_unit(stated or field.unit or unit_in_name(field.name) or _degrees(field.name))
    if unit is not None and unit.quantity == "frequency" and role_by_name(field.name, "rpm") == "engine_speed":
        unit = Unit("turning", "revolution/second")  # turns a second, or so many thousand
        values = values * (1000.0 if find_unit(stated or field.unit) == find_unit("kHz") else 1.0)
    if unit is not None and unit.quantity not in KEPT_AS_READ:
        values = to_base(values, unit)
    return Measured(field, unit, values, stated != "")


def _degrees(name: str) -> str:
    """Return the scale of temperature that the last letter of a temperature's name stands for, as in `Coolant_C`."""
    match = _LAST_LETTER.fullmatch(name.strip())
    role = None if match is None else role_by_name(match[1], match[2])
    return "" if match is None or role is None or not role.endswith("temperature") else match[2]


def median_of(values: FloatArray) -> float:
    """Return the median of the values that are there; NaN where there are none."""
    found = there(values)
    return float(np.median(found)) if found.size else float("nan")


def late_part(held: BoolArray) -> BoolArray:
    """Mark the second half of every stretch of rows in which a lambda is held, all of one that nothing precedes.

    In the first one a sensor still shows what came before, as a cut, or a catalyst gives back what it stored.
    """
    edges = np.flatnonzero(np.diff(held.astype(np.int8), prepend=0, append=0))
    late = np.zeros(held.size, dtype=np.bool_)
    for start, end in zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True):
        late[(start + end) // 2 if start else 0 : end] = True
    return late
