"""Whether a target is reached, as evidence, report, the window's strip and the next step all say it."""

from collections.abc import Mapping
from typing import Literal

from workbench.maths.verdict.drive_objections import ENOUGH_PROVEN
from workbench.model.evidence import Evidence, Target
from workbench.model.table import Table
from workbench.phrases import phrase

Verdict = Literal["not driven", "expected", "outside", "not shown", "uncertain", "reached"]

SHOWN: Mapping[Verdict, str] = {
    "reached": "Target reached",
    "uncertain": "Inside the target, but less than half of what was driven is proven: uncertain",
    "not shown": "Inside the target, but not every cell is known as closely as it asks: not shown yet",
    "outside": "Target NOT reached",
}


def verdict_of(target: Target, pooled: Target | None = None) -> Verdict:
    """Judge a throttle by the drives made with a revision; what all drives leave open is not shown by fewer of them.

    Args:
        target: as those drives see it; or, where it says that no drive with the revision did, as is expected.
        pooled: as all drives see it; None where none are, or where those are all there are.

    Returns:
        `not shown` where all that was driven is inside, but not all is known as closely as the target asks;
        `uncertain` where it is, but most of what was driven lies in cells that are not proven.
    """
    if target.worst_cell is None:
        return "not driven"
    if not target.measured:
        return "expected"
    if not target.inside:
        return "outside"
    if not target.reached or (pooled is not None and pooled.widest > pooled.limit):
        return "not shown"
    return "reached" if target.proven >= ENOUGH_PROVEN else "uncertain"


def judgement(target: Target, pooled: Target | None, table: Table, drives: str = "") -> str:
    """Say a verdict with its figures, without a full stop; of a throttle that was driven with the revision.

    Args:
        target: as its own drives see it.
        pooled: as all drives see it; None where those are all there are.
        table: whose cells are named.
        drives: in words, where they are to be named.
    """
    figures = target.figures(table)
    if drives:
        figures = phrase("{figures} ({drives})", figures=figures, drives=drives)
    if target.reached and pooled is not None and pooled.widest > pooled.limit and pooled.widest_cell is not None:
        figures = phrase(
            "{measured}; all drives together know {where} only to ±{half:.1f} %",
            measured=figures,
            where=table.cell_name(pooled.widest_cell),
            half=100 * pooled.widest,
        )
    return phrase("{reached}: {measured}", reached=SHOWN[verdict_of(target, pooled)], measured=figures)


def judged(evidence: Evidence, own: Evidence | None) -> list[tuple[Target, Target]]:
    """Give for part and full throttle the target that a revision is judged by, and that of all drives.

    Args:
        evidence: of all drives.
        own: of those made with the revision alone; None where there are none, or all are such.
    """
    pooled = evidence.part_target, evidence.full_target
    mine = pooled if own is None else (own.part_target, own.full_target)
    return [(one if one.worst_cell is not None else each, each) for one, each in zip(mine, pooled, strict=True)]


def least_known(target: Target, pooled: Target) -> Target:
    """Return that of the two whose least known cell is known worse, where one is known worse than the target asks."""
    return max((target, pooled), key=lambda each: each.widest if each.widest > each.limit else 0.0)
