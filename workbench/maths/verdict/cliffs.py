"""Cliffs: steps between what neighbouring cells were multiplied by that no evidence asks for.

An ECU interpolates between the cells, so a cell that was corrected beside one that was not is right at neither. Every
pair of neighbours counts: at the end of what was driven, at the joint of two parts, between part and full throttle.
"""

from collections.abc import Sequence

import numpy as np

from workbench.maths.table.continuing import TAPER_CELLS
from workbench.maths.table.easing import STEP
from workbench.maths.table.resample import read_at
from workbench.maths.verdict.approval_case import ROUNDING, Case, Objection, Place, indices, where
from workbench.model.arrays import BoolArray, FloatArray
from workbench.model.counting import counted
from workbench.model.history import Revision
from workbench.phrases import call, flag, phrase

CLIFF = "cliff"
CARRY, TAPER, BLEND = "carry-on", "taper", "smooth"


def cliffs(case: Case) -> Objection | None:
    """Object where neighbouring cells were multiplied by what differs by more than evidence asks for.

    Multipliers are counted from the baseline, steps by their ratio. Evidence asks for the step between two cells that
    were driven, and between the driven ones around a gap as the smooth surface runs there. A step that is less steep
    than that (half a correction) is none.
    """
    table = case.table
    base = read_at(case.baseline.table, table.axes)
    if not (base > 0).all() or not (table.values > 0).all():
        return None
    made = np.log(table.values / base)
    asked = _asked(case, base)
    limit, found = np.log1p(case.settings.limits.cliff) + ROUNDING, np.zeros(table.shape, dtype=np.bool_)
    steps: dict[tuple[Place, Place], float] = {}
    for axis in range(table.values.ndim):
        along, wanted = np.diff(made, axis=axis), np.nan_to_num(np.diff(asked, axis=axis))
        beyond = along - np.clip(along, np.minimum(wanted, 0), np.maximum(wanted, 0))
        for low in indices(np.abs(beyond) > limit):
            high = tuple(place + (number == axis) for number, place in enumerate(low))
            steps[low, high] = float(along[low])
            found[low] = found[high] = True
    if not steps:
        return None
    low, high = max(steps, key=lambda pair: abs(steps[pair]))
    remedies = _remedies(case, found)
    return Objection(
        CLIFF,
        phrase(
            "{steps} between neighbouring cells without evidence for it: {here:+.1f} % at {at} beside {there:+.1f} % "
            "at {beside}. The ECU interpolates between them. {advice}",
            steps=counted(len(steps), "step"),
            here=100 * np.expm1(made[low]),
            at=where(table, (low,)),
            there=100 * np.expm1(made[high]),
            beside=where(table, (high,)),
            advice=_advice(remedies),
        ),
        indices(found),
        remedies,
    )


def _asked(case: Case, base: FloatArray) -> FloatArray:
    """Give the logarithm of what the latest correction on the way found each cell to need over the baseline.

    NaN where it found nothing.
    """
    for revision in reversed(case.line):
        expected = revision.arguments.get("expected")
        if expected is None or revision.parent is None:
            continue
        if not revision.table.same_axes(case.table):
            break
        ratio = np.array(expected, dtype=np.float64).reshape(case.table.shape)
        if (beyond := revision.arguments.get("inferred")) is not None:
            before = revision.table.values / np.where(np.isnan(revision.multipliers), 1.0, revision.multipliers)
            surface = np.array(beyond, dtype=np.float64).reshape(case.table.shape) * before / revision.table.values
            ratio = np.where(np.isfinite(ratio), ratio, surface)
        wanted: FloatArray = np.log(
            np.where(np.isfinite(ratio) & (ratio > 0), revision.table.values * ratio / base, np.nan)
        )
        return wanted
    return np.full(case.table.shape, np.nan)


def _remedies(case: Case, found: BoolArray) -> tuple[str, ...]:
    """Name what mends it: beside cells without evidence to carry on or fade, else to blend."""
    for revision in reversed(case.line):
        standing = revision.arguments.get("standing")
        if standing is not None and revision.table.same_axes(case.table):
            undriven = np.array(standing, dtype="<U8").reshape(case.table.shape) == "undriven"
            return (CARRY, TAPER, BLEND) if (found & undriven).any() else (BLEND,)
    return (BLEND,)


def fades_over(line: Sequence[Revision]) -> int:
    """Give over how many cells the latest correction of some revisions fades without another cliff."""
    made = next((each.multipliers for each in reversed(line) if each.origin == "measured"), np.ones(1))
    largest = float(np.nanmax(np.abs(np.log(made)), initial=0.0))
    return max(TAPER_CELLS, int(np.ceil(largest / STEP)))


def _advice(remedies: tuple[str, ...]) -> str:
    if CARRY in remedies:
        return phrase(
            "{carry_on} continues the correction into the cells without evidence, with {over} it fades there; {smooth} "
            "blends both.",
            carry_on=call("carry-on"),
            over=flag("over"),
            smooth=call("smooth"),
        )
    return phrase("{smooth} blends them.", smooth=call("smooth"))
