"""The scaling of an input as it is stated: points, factor and offset, or a calibration curve in a file."""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from workbench.errors import InputError
from workbench.files.tables.tables import read_table
from workbench.files.vocabulary.units import base_unit, find_unit, to_base
from workbench.phrases import phrase

_NUMBER = r"[-+]?(?:\d+[.,]?\d*|[.,]\d+)(?:[eE][-+]?\d+)?"
_POINT = re.compile(rf"\s*({_NUMBER})\s*([^=\d][^=]*)?=\s*({_NUMBER})\s*")
AS_IN = "Write LOGGED=MEASURED, as in 0=0.68 or '500 mV=0.82'."


@dataclass(frozen=True)
class Curve:
    """Points of a scaling.

    Attributes:
        points: (in the base unit it is logged in, measured), rising as logged.
        unit: of what is measured, where that is told; empty where not.
    """

    points: tuple[tuple[float, float], ...]
    unit: str = ""


def read_points(words: Sequence[str], read_in: str) -> Curve:
    """Read points stated as LOGGED=MEASURED.

    Args:
        words: as they were typed.
        read_in: the unit that the file gives the channel, in which numbers without a unit count.

    Raises:
        InputError: when one cannot be read, or there are fewer than two.
    """
    points = []
    for word in words:
        match = _POINT.fullmatch(word)
        if match is None:
            raise InputError(phrase("The point {word!r} cannot be read.", word=word), AS_IN)
        read = _based(_number(match[1]), (match[2] or "").strip() or read_in, read_in)
        points.append((read, _number(match[3])))
    if len(points) < 2:
        raise InputError("One point is no scaling.", "Give at least two points, or factor and offset.")
    return Curve(tuple(sorted(points)))


def read_curve(file: Path, read_in: str) -> Curve:
    """Read a calibration curve: two columns with a header, logged and measured.

    Raises:
        FileError: when the file cannot be read as a table.
        InputError: when it is no curve.
    """
    table, _ = read_table(file, kind="curve")
    axis = table.axes[0]
    unit = axis.unit if find_unit(axis.unit) is not None else ""
    points = tuple(
        (_based(float(read), unit or read_in, read_in), float(measured))
        for read, measured in zip(axis.breakpoints, table.values, strict=True)
    )
    return Curve(tuple(sorted(points)), table.unit if find_unit(table.unit) is not None else "")


def line_of(factor: float, offset: float, read_in: str) -> Curve:
    """Give the line of a factor and an offset by two of its points.

    Raises:
        InputError: when the factor is 0.
    """
    if factor == 0:
        raise InputError("A factor of 0 makes all readings the same.", "Give another factor.")
    ends = ((0.0, offset), (1.0, factor + offset))
    return Curve(tuple((_based(read, read_in, read_in), measured) for read, measured in ends))


def read_tolerance(text: str) -> tuple[float, float]:
    """Read a tolerance: (in the unit of what is measured, as a part of the reading), one of which is 0.

    Raises:
        InputError: when it is no number, or no tolerance of an instrument.
    """
    text = text.strip()
    if not text:
        return 0.0, 0.0
    match = re.fullmatch(rf"({_NUMBER})\s*(%?)", text)
    size = _number(match[1]) if match else -1.0
    if match is None or size < 0 or (match[2] and size > 50):
        raise InputError(
            phrase("The tolerance {text!r} cannot be read.", text=text), "Give it as in 0.01, or 1.5% of the reading."
        )
    return (0.0, size / 100) if match[2] else (size, 0.0)


def _number(text: str) -> float:
    return float(text.replace(",", "."))


def _based(value: float, unit: str, read_in: str) -> float:
    """Bring a logged value to the base unit that the log holds it in.

    Raises:
        InputError: when its unit is another quantity than the channel's.
    """
    known, wanted = find_unit(unit), find_unit(read_in)
    if unit == read_in and (known is None or not known.quantity):
        return value
    if known is None or wanted is None or known.quantity != wanted.quantity:
        raise InputError(
            phrase("{unit!r} is no unit in which this channel is logged.", unit=unit),
            phrase("It is logged in {read_in}.", read_in=read_in or "no unit"),
        )
    if not known.quantity or base_unit(known) == unit:
        return value
    return float(to_base(np.array([value]), known)[0])
