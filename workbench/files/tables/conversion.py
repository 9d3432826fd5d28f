"""Numbers of a table in the unit another table is in."""

import numpy as np

from workbench.errors import InputError
from workbench.files.vocabulary.units import find_unit, to_base
from workbench.model.arrays import FloatArray
from workbench.phrases import flag, phrase


def in_unit(values: FloatArray, unit: str, wanted: str, what: str) -> tuple[FloatArray, str]:
    """Turn numbers into another unit of the same quantity; also tell what was done or assumed, or nothing.

    Args:
        values: any shape.
        unit: as their table spells it.
        wanted: as the other table spells it.
        what: names the numbers in messages.

    Raises:
        InputError: when the units do not measure the same, or one is unknown.
    """
    if unit == wanted:
        return values, ""
    if not unit or not wanted:
        return values, phrase("{what} is assumed to be in {unit}: a unit is missing.", what=what, unit=wanted or unit)
    source, target = find_unit(unit), find_unit(wanted)
    if source is None or target is None or source.quantity != target.quantity or not source.quantity:
        raise InputError(
            phrase(
                "{what} is in {unit}, ours is in {wanted}, which is not a known unit of the same quantity.",
                what=what,
                unit=unit,
                wanted=wanted,
            ),
            phrase(
                "Convert it in a spreadsheet, or give {units_are_ours_flag} to use the numbers unconverted.",
                units_are_ours_flag=flag("units-are-ours"),
            ),
        )
    if source.gauge != target.gauge or "phi" in (source.quantity, target.quantity):
        raise InputError(
            phrase("{what} is in {unit}, ours is in {wanted}.", what=what, unit=unit, wanted=wanted),
            "Convert it in a spreadsheet first.",
        )
    if source == target:
        return values, ""
    # Both go to the base unit by factor and offset, so the way back from ours is known from two of its points.
    zero, unity = to_base(np.array([0.0, 1.0]), target)
    turned: FloatArray = (to_base(values, source) - zero) / (unity - zero)
    return turned, phrase("{what} was converted from {unit} to {wanted}.", what=what, unit=unit, wanted=wanted)
