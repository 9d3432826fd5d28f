"""The one thing to do next with a table, as the command line and the window both say it."""

import math
from collections.abc import Mapping
from dataclasses import dataclass, field

from workbench.maths.objections import objections
from workbench.model.evidence import Evidence, Target
from workbench.model.history import Json, Revision
from workbench.model.log import Drive
from workbench.model.state import State

# Common practice, no source.
DRIVE_WITH_CARE = (
    "drive with a passenger at the laptop, part throttle first, then pulls one at a time, and stop when the wideband "
    "reads leaner than commanded"
)
# What is to be looked into before a table goes into an engine even for a trial.
WEIGHTY = ("falling-curve", "lean-step-at-high-load", "step-over-limit", "storage-range")
ROUNDED_OFF_BY = ("carry-on", "smooth", "keep-rising", "round")


@dataclass(frozen=True)
class NextStep:
    """What to do next; title and reason name their values in braces, so that they can be translated whole.

    Attributes:
        title: what to do, in few words.
        word: the command that does it; empty where there is nothing to do but wait.
        reason: why, as a sentence.
        values: what goes into the braces.
    """

    title: str
    word: str
    reason: str
    values: Mapping[str, str] = field(default_factory=dict)

    @property
    def line(self) -> str:
        """Title and reason in one line."""
        return f"Next: {self.title.format(**self.values)}. {self.reason.format(**self.values)}"

    @property
    def json(self) -> dict[str, Json]:
        """The same for a program."""
        title, reason = (text.format(**self.values) for text in (self.title, self.reason))
        return {"title": title, "command": self.word, "reason": reason}


def next_step(state: State, head: Revision, evidence: Evidence | None) -> NextStep | None:
    """Choose what to do next with a table.

    A revision that no drive was made with is tried as a draft first, however good it is expected to be; it is approved
    when a drive with it stands in the session and what was driven is inside its targets.

    Args:
        state: the session.
        head: the revision that is worked on.
        evidence: against it; None while it is not gathered.

    Returns:
        None where only the evidence can tell.
    """
    values = {"id": str(head.id)}
    driven = bool(drives_of(state, head))
    step: NextStep | None = None
    exported = {each.approved for each in state.history.exports if each.revision == head.id}
    if head.id in state.history.approvals and True in exported:
        step = NextStep("Add the next drive", "add-log", "Flash revision {id}, drive, and add the new log.", values)
    elif head.id in state.history.approvals:
        step = NextStep("Export revision {id}", "export", "It is approved.", values)
    elif not state.drives:
        step = NextStep("Add the log of a drive", "add-log", "Evidence comes from driving on this table.")
    elif not driven and _corrected_since_driven(state, head):
        step = _trial(state, head, drafted=False in exported)
    elif evidence is not None and not (inside(evidence.part_target) and inside(evidence.full_target)):
        title = "Correct from {n} drives" if len(evidence.drives) > 1 else "Correct from 1 drive"
        reason = "Part of what was driven is outside its target."
        step = NextStep(title, "correct", reason, {"n": str(len(evidence.drives))})
    elif evidence is not None and not driven:
        step = _trial(state, head, drafted=False in exported)
    elif evidence is not None:
        reason = "A drive was made with it, and what was driven is inside its targets."
        if evidence.full_target.worst_cell is None:
            reason = "A drive was made with it, and part throttle is inside its target; full throttle was not driven."
        step = NextStep("Approve revision {id}", "approve", reason, values)
    return step


def _trial(state: State, head: Revision, *, drafted: bool) -> NextStep:
    found = objections(state.history, head, state.drives, state.settings, state.keeping(head.table.name))
    weighty = ", ".join(each.name for each in found if each.name in WEIGHTY)
    values = {"id": str(head.id), "care": DRIVE_WITH_CARE, "objections": weighty}
    if drafted:
        reason = "Flash the draft; {care}. Then add the log, and say that revision {id} was in the car."
        return NextStep("Add the drive with revision {id}", "add-log", reason, values)
    reason = (
        "No drive was made with revision {id} yet: export it as a draft, flash that, {care}; then add the log. It is "
        "not approved."
    )
    if weighty:
        reason = (
            "Against revision {id} speaks: {objections}. Look into that first. Then export it as a draft, flash that, "
            "{care}; then add the log. It is not approved."
        )
    return NextStep("Export a draft of revision {id}", "export", reason, values)


def _corrected_since_driven(state: State, head: Revision) -> bool:
    """Tell whether nothing but a correction, and what is done to round it off, lies between the car and a revision."""
    each = head
    while each.operation in ROUNDED_OFF_BY and each.parent is not None and not drives_of(state, each):
        each = state.history.revision(each.parent)
    return each.operation == "correct" and not drives_of(state, each)


def drives_of(state: State, revision: Revision) -> tuple[Drive, ...]:
    """Give the drives that were driven on a revision."""
    name = revision.table.name
    return tuple(drive for drive in state.drives if state.history.driven(drive, name) is revision)


def inside(target: Target) -> bool:
    """Tell whether nothing that was driven is outside; so it is where nothing was."""
    return math.isnan(target.worst) or abs(target.worst) <= target.limit
