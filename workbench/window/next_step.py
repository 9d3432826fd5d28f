"""Where one is, and the one thing to do next: read off the scene, nothing worked out."""

import math
from dataclasses import dataclass

from workbench.model.evidence import Evidence, Target
from workbench.model.history import Revision
from workbench.model.table import Table
from workbench.window.scene import Scene, drives_of_head
from workbench.window.wording import THIN_SPACE, number, share, tr


@dataclass(frozen=True)
class NextStep:
    """What to do next.

    Attributes:
        title: on the button.
        act: name of the action it triggers; empty where it is to be done at the car.
        reason: why, as a sentence.
    """

    title: str
    act: str
    reason: str


@dataclass(frozen=True)
class Figure:
    """One figure of the strip: what it is, its value, and whether it is good, wants attention, or neither."""

    caption: str
    value: str
    kind: str = "figure"
    tip: str = ""


def next_step(scene: Scene, exported: int | None) -> NextStep:
    """Choose the next step.

    Args:
        scene: what there is.
        exported: revision that was exported last from this window, if any.
    """
    state, head = scene.state, scene.head
    if state is None or head is None:
        step = NextStep(tr("Open or begin a session"), "start", tr("There is no session yet."))
    elif scene.draft is not None:
        reason = tr("The dashed line is a draft: Enter applies it, Esc drops it.")
        step = NextStep(tr("Apply the draft"), "apply", reason)
    elif head.id in state.history.approvals and exported != head.id:
        step = NextStep(tr("Export revision {id}").format(id=head.id), "export", tr("It is approved."))
    elif head.id in state.history.approvals:
        reason = tr("Flash revision {id}, drive, and add the new log.")
        step = NextStep(tr("Add the next drive"), "add-log", reason.format(id=head.id))
    elif not state.drives:
        step = NextStep(tr("Add the log of a drive"), "add-log", tr("Evidence comes from driving on this table."))
    else:
        step = _step_from_evidence(scene, head)
    return step


def _step_from_evidence(scene: Scene, head: Revision) -> NextStep:
    evidence = scene.fitting_evidence
    if evidence is None and scene.puzzle:
        return NextStep(tr("Look at the log"), "drive", scene.puzzle)
    if evidence is None:
        return NextStep(tr("Gathering the evidence…"), "", tr("The logs are being worked through."))
    approve = tr("Approve revision {id}").format(id=head.id)
    good = inside(evidence.part_target) and inside(evidence.full_target)
    if not drives_of_head(scene) and (good or head.operation == "correct"):
        reason = tr("Approve and export revision {id}, flash it, drive again: so far its figures are expected ones.")
        return NextStep(approve, "approve", reason.format(id=head.id))
    if good:
        return NextStep(approve, "approve", tr("What was driven is inside its targets."))
    many = tr("Correct from {n} drives") if len(evidence.drives) > 1 else tr("Correct from 1 drive")
    reason = tr("Part of what was driven is outside its target.")
    return NextStep(many.format(n=len(evidence.drives)), "correct", reason)


def inside(target: Target) -> bool:
    """Tell whether nothing that was driven is outside; so it is where nothing was."""
    return math.isnan(target.worst) or abs(target.worst) <= target.limit


def figures(scene: Scene) -> list[Figure]:
    """Give the figures of the strip."""
    state, head = scene.state, scene.head
    if state is None or head is None:
        return []
    table = head.table
    driven = state.drives[-1].revision if state.drives else None
    size = " × ".join(str(n) for n in table.shape)
    approved = state.history.approvals.get(head.id)
    found = [
        Figure(tr("Table"), f"{table.name} · {size}", tip=table.value_label),
        Figure(
            tr("Revision"),
            tr("{id}, approved").format(id=head.id) if approved else str(head.id),
            "good" if approved else "figure",
            tr("Worked on now."),
        ),
        Figure(
            tr("In the car"),
            tr("revision {id}, round {n}").format(id=driven, n=len({drive.revision for drive in state.drives}))
            if driven is not None
            else tr("not driven yet"),
            tip=tr(
                "The revision that the latest drive was driven on; {n} drives so far. A round: correct, flash, drive."
            ).format(n=len(state.drives)),
        ),
    ]
    if (evidence := scene.fitting_evidence) is not None:
        found += target_figures(evidence, table, expected=not drives_of_head(scene))
    return found


def target_figures(evidence: Evidence, table: Table, *, expected: bool) -> list[Figure]:
    """Say how far each throttle regime is inside its target, and where it is farthest from it.

    Args:
        evidence: against the table.
        table: the table.
        expected: no drive was made with this table yet: the figures are what earlier drives let expect.
    """
    found = []
    for name, target in ((tr("Part throttle"), evidence.part_target), (tr("Full throttle"), evidence.full_target)):
        caption = f"{name}, ±{number(target.limit * 100, 0)}{THIN_SPACE}%"
        if target.worst_cell is None:
            found.append(Figure(caption, tr("not driven"), tip=tr("No kept sample in this regime.")))
            continue
        good = inside(target)
        value = tr("all inside") if good else tr("{share} of the time inside").format(share=share(target.inside_time))
        if expected:
            value = tr("{value}, expected").format(value=value)
        tip = tr("Of the driven time; worst {error} at {where}.")
        words = tip.format(error=_error(target), where=table.cell_name(target.worst_cell))
        found.append(Figure(caption, value, "good" if good else "attention", words))
    worst = worst_target(evidence)
    if worst is not None and worst.worst_cell is not None:
        value = tr("{error} at {where}").format(error=_error(worst), where=table.cell_name(worst.worst_cell))
        kind = "figure" if inside(worst) else "attention"
        found.append(Figure(tr("Worst cell"), value, kind, tr("Farthest from its target; Ctrl+G goes there.")))
    return found


def worst_target(evidence: Evidence) -> Target | None:
    """Give the regime whose worst cell is farthest out, measured by its own limit; None where nothing was driven."""
    driven = [t for t in (evidence.part_target, evidence.full_target) if t.worst_cell is not None]
    return max(driven, key=lambda target: abs(target.worst) / target.limit, default=None)


def _error(target: Target) -> str:
    return number(target.worst * 100, 1, sign=True) + THIN_SPACE + "%"
