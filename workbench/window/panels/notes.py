"""The notes on the evidence, and what to drive next, as lines to read."""

from workbench.model.evidence import Evidence
from workbench.window.words.phrasing import window_text
from workbench.window.words.wording import tr


def notes_of(evidence: Evidence | None) -> tuple[str, ...]:
    """List what to drive next and the other notes; while there is no evidence, say that it is being worked out."""
    if evidence is None:
        return (tr("Evaluating the logs…"),)
    plan: tuple[str, ...] = ()
    if evidence.plan:
        plan = (tr("What to drive next:"), *(f"· {window_text(line)}" for line in evidence.plan), "")
    return (*plan, tr("Other notes:"), *(f"· {window_text(line)}" for line in evidence.notes))
