"""Whether a target is reached, as the report's first page, the window's strip and the next step all say it."""

from typing import Literal

from workbench.model.evidence import Evidence, Target

Verdict = Literal["not driven", "expected", "outside", "not shown", "reached"]


def verdict_of(target: Target, pooled: Target | None = None) -> Verdict:
    """Judge a throttle by the drives made with a revision; what all drives leave open is not shown by fewer of them.

    Args:
        target: as those drives see it; or, where it says that no drive with the revision did, as is expected.
        pooled: as all drives see it; None where none are, or where those are all there are.

    Returns:
        `not shown` where all that was driven is inside, but not all is known as closely as the target asks.
    """
    if target.worst_cell is None:
        return "not driven"
    if not target.measured:
        return "expected"
    if not target.inside:
        return "outside"
    return "reached" if target.reached and (pooled is None or not pooled.widest > pooled.limit) else "not shown"


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
