"""Parts of one curve, put together at the breakpoints they share."""

from collections.abc import Sequence
from itertools import pairwise
from typing import Literal

import numpy as np

from workbench.errors import InputError
from workbench.model.ecu_format import EcuFormat, Part
from workbench.model.table import Axis, Table
from workbench.phrases import flag, phrase

Boundary = Literal["", "lower", "upper", "mean"]


def joined(parts: Sequence[Table], name: str, boundary: Boundary = "") -> tuple[Table, EcuFormat, tuple[str, ...]]:
    """Put parts of a curve together; also give how the ECU keeps it, and what was decided.

    Args:
        parts: curves, each named as the ECU's table is; in any order.
        name: of the whole.
        boundary: which part's value counts where two disagree at their shared breakpoint; empty refuses.

    Raises:
        InputError: when they do not belong together, leave a gap, or disagree.
    """
    for part in parts:
        if part.kind != "curve":
            raise InputError(
                phrase("The part {part!r} is a {kind}.", part=part.name, kind=part.kind),
                "Only curves are kept in parts.",
            )
    parts = sorted(parts, key=lambda part: part.axes[0].breakpoints[0])
    points, values = parts[0].axes[0].breakpoints, parts[0].values
    remarks = []
    for below, above in pairwise(parts):
        _check_alike(below, above)
        where, (old, new) = points[-1], (float(values[-1]), float(above.values[0]))
        if old != new:
            apart = phrase(
                "{old:.10g} in {below!r}, {new:.10g} in {above!r}", old=old, below=below.name, new=new, above=above.name
            )
            percent = f" ({100 * (new / old - 1):+.3g} %)" if old else ""
            if not boundary:
                raise InputError(
                    phrase(
                        "The parts disagree at {where:g} {unit}: {apart}{percent}.",
                        where=where,
                        unit=below.axes[0].unit,
                        apart=apart,
                        percent=percent,
                    ),
                    phrase("Choose which to use there: {flag} lower, upper or mean.", flag=flag("boundary")),
                )
            place = f"{where:g} {below.axes[0].unit}".strip()
            values_used = {"place": place, "apart": apart, "percent": percent, "boundary": boundary}
            remarks.append(
                phrase("At {place} the parts disagree: {apart}{percent}; {boundary} is used.", **values_used)
            )
        shared = {"lower": old, "upper": new, "mean": (old + new) / 2, "": old}[boundary]
        points = np.concatenate([points, above.axes[0].breakpoints[1:]])
        values = np.concatenate([values[:-1], [shared], above.values[1:]])
    first = parts[0]
    whole = Table(name, first.value_name, first.unit, (Axis(first.axes[0].name, first.axes[0].unit, points),), values)
    ends = [part.axes[0].breakpoints for part in parts]
    ecu_format = EcuFormat(
        None, tuple(Part(p.name, float(e[0]), float(e[-1])) for p, e in zip(parts, ends, strict=True))
    )
    ecu_format.check(whole)
    return whole, ecu_format, tuple(remarks)


def _check_alike(below: Table, above: Table) -> None:
    mine, theirs = (below.axes[0].unit, below.unit), (above.axes[0].unit, above.unit)
    if mine != theirs:
        raise InputError(
            phrase(
                "The parts {below!r} and {above!r} are in other units ({mine}; {theirs}).",
                below=below.name,
                above=above.name,
                mine=", ".join(mine),
                theirs=", ".join(theirs),
            ),
            "Convert them to the same units first.",
        )
    end, begin = below.axes[0].breakpoints[-1], above.axes[0].breakpoints[0]
    if end != begin:
        raise InputError(
            phrase(
                "The part {below!r} ends at {end:g} and {above!r} begins at {begin:g}.",
                below=below.name,
                end=end,
                above=above.name,
                begin=begin,
            ),
            "Parts of one curve share the breakpoint at their boundary.",
        )
