"""Whether a target is reached, as the report's first page and the window's strip both say it."""

from typing import Literal

from workbench.model.evidence import Target

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
