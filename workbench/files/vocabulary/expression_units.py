"""The units of an expression over channels: each step is held against what may be added, compared or multiplied.

A number written in an expression counts in the unit of what it is added to or compared with. Percent, lambda and bare
numbers are numbers alike, but percent and lambda are not added to one another. Products of quantities are reckoned by
the units library.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from workbench.errors import InputError
from workbench.expressions import Expression
from workbench.files.vocabulary.units import BASES, base_unit, find_unit, registry, to_base
from workbench.phrases import phrase

PURE = ("", "%", "lambda")
_BASE_UNITS = {base: library for base, library in BASES.values() if library}
_COMPARED = ("<", "<=", ">", ">=", "==", "!=")


@dataclass(frozen=True)
class Measure:
    """What a part of an expression is measured in.

    Attributes:
        unit: base unit, or as the units library writes a product; empty for a mere number.
        written: whether it is a number that stands in the expression, whose unit its surroundings tell.
    """

    unit: str
    written: bool = False


class Units:
    """The algebra of units."""

    def __init__(self, units: Mapping[str, str]) -> None:
        """Take the unit of each channel, empty where it has none."""
        self._units = units

    def number(self, value: float) -> Measure:
        """Give a number without a unit of its own."""
        del value
        return Measure("", written=True)

    def channel(self, name: str) -> Measure:
        """Give the unit of a channel."""
        return Measure(self._units[name])

    def apply(self, name: str, parts: Sequence[Measure], seconds: float) -> Measure:  # noqa: PLR0911 - by kind
        """Give the unit of what a function makes.

        Raises:
            InputError: when the parts do not go together.
        """
        del seconds
        match name:
            case "+" | "-" | "min" | "max":
                return _alike(name, parts)
            case "where":
                return _alike(name, parts[1:])
            case "and" | "or" | "not":
                return Measure("")
            case "*" | "/":
                return _product(name, parts[0], parts[1])
            case "sqrt":
                return _power(parts[0])
            case "kelvin":
                if parts[0].unit != "degC":
                    raise InputError(
                        phrase("kelvin takes a temperature, not {unit}.", unit=_unit_text(parts[0])), "Leave it out."
                    )
                return Measure("K")
            case "derivative":
                return _product("/", Measure("K") if parts[0].unit == "degC" else parts[0], Measure("s"))
        if name in _COMPARED:
            _alike(name, parts)
            return Measure("")
        return parts[0]  # negative, abs, mean, delay


def unit_of(expression: Expression, units: Mapping[str, str]) -> str:
    """Return the unit of an expression, empty for a mere number.

    Args:
        expression: over channels.
        units: unit of each channel that it names.

    Raises:
        InputError: when what is added, compared or multiplied does not go together.
    """
    return expression.worked_out(Units(units)).unit


def brought_to(unit: str, stated: str, stoichiometric_afr: float) -> tuple[str, float, float]:
    """Tell how values of a unit become those of the base unit of a stated one: (unit, factor, offset).

    Args:
        unit: of an expression.
        stated: the unit it is said to be in; for a mere number, the unit that the number counts in.
        stoichiometric_afr: air-fuel ratio at lambda 1, for one stated as an air-fuel ratio.

    Raises:
        InputError: when the stated unit is not known, or measures something else.
    """
    known = find_unit(stated)
    if known is None or known.quantity == "phi":
        raise InputError(
            phrase("The unit {stated!r} is not known here.", stated=stated),
            "Give it as in %, lambda, AFR, kPa, g/s, degC.",
        )
    if unit in PURE:
        first, second = to_base(np.array([0.0, 1.0]), known, stoichiometric_afr=stoichiometric_afr)
        return base_unit(known), float(second - first), float(first)
    base = base_unit(known)
    if unit == base:
        return base, 1.0, 0.0
    there = None if not known.quantity or base in PURE else _library(base)
    here = _library(unit)
    if there is None or here is None or not here.is_compatible_with(there) or "degC" in (unit, base):
        raise InputError(
            phrase("The expression is in {unit}, which is no {stated}.", unit=unit, stated=stated),
            "Leave the unit out, or correct the expression.",
        )
    return base, float(registry().convert(1.0, here, there)), 0.0


def _alike(name: str, parts: Sequence[Measure]) -> Measure:
    """Return the unit that all parts share; numbers that are written take it on."""
    units = list(dict.fromkeys(part.unit for part in parts if not part.written))
    if all(unit in PURE for unit in units):
        units = [unit for unit in units if unit] or units
    if len(units) > 1:
        words = {"+": "adds", "-": "subtracts"}.get(name, "compares" if name in _COMPARED else f"holds in {name}")
        raise InputError(
            phrase(
                "The expression {words} {one} and {other}.",
                words=words,
                one=units[0] or "a channel without unit",
                other=units[1] or "a channel without unit",
            ),
            "Convert one of them, or state the unit of the channel that has none.",
        )
    return Measure(units[0]) if units else Measure("", written=True)


def _product(sign: str, one: Measure, other: Measure) -> Measure:
    if one.written and other.written:
        return one
    pure = [part.unit in PURE for part in (one, other)]
    if all(pure):
        kept = (one.unit == "lambda" and other.unit == "") or (sign == "*" and (one.unit, other.unit) == ("", "lambda"))
        return Measure("lambda" if kept else "")
    if "%" in (one.unit, other.unit):
        raise InputError(
            phrase("The expression multiplies {one} and {other}.", one=_unit_text(one), other=_unit_text(other)),
            "Divide the percentage by 100 first, as in MAF * (1 + STFT / 100).",
        )
    if pure[1] or (pure[0] and sign == "*"):
        return Measure(other.unit if pure[0] else one.unit)
    if "degC" in (one.unit, other.unit):
        raise InputError(
            phrase("The expression multiplies {one} and {other}.", one=_unit_text(one), other=_unit_text(other)),
            "Take the temperature from absolute zero first, as in kelvin(IAT).",
        )
    left, right = (registry().Unit("") if part.unit in PURE else _known(part) for part in (one, other))
    return _named(left * right if sign == "*" else left / right)


def _power(part: Measure) -> Measure:
    if part.unit in PURE:
        return Measure("", part.written)
    return _named(_known(part) ** 0.5)


def _unit_text(part: Measure) -> str:
    return part.unit or "a number without unit"


def _known(part: Measure) -> Any:
    found = None if part.unit == "degC" else _library(part.unit)
    if found is None:
        raise InputError(
            phrase("{unit} cannot be multiplied or divided.", unit=part.unit), "Multiply it by a number only."
        )
    return found


def _library(unit: str) -> Any:
    """Give a unit as the units library has it; None where it does not know it."""
    try:
        return registry().Unit(_BASE_UNITS.get(unit, unit))
    except Exception:  # noqa: BLE001 - it raises errors of its own, its parser's and Python's
        return None


def _named(unit: Any) -> Measure:
    """Name a unit by a base unit where it is one."""
    if unit.dimensionless:
        scale = float(registry().convert(1.0, unit, ""))
        if scale == 1:
            return Measure("")
    for base, library in _BASE_UNITS.items():
        if unit == registry().Unit(library):
            return Measure(base)
    return Measure(f"{unit:~}".replace(" ", ""))
