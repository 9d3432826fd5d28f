"""Where one is, and the one thing to do next: read off the scene, nothing worked out."""

from collections.abc import Iterable
from dataclasses import dataclass, replace

from workbench.commands.evidence.approval_grounds import fallen_grounds
from workbench.commands.evidence.next_step import CAUTIONS, NextStep, inside, stored_as_approved
from workbench.commands.evidence.next_step import next_step as next_step_of
from workbench.commands.evidence.verdict import judged, least_known, verdict_of
from workbench.model.deed import InCar
from workbench.model.evidence import Evidence, Target
from workbench.model.history import Revision
from workbench.model.log import Drive
from workbench.model.state import State
from workbench.model.table import Table
from workbench.phrases import PluralPhrase
from workbench.window.scene.scene import Scene
from workbench.window.words.phrasing import LEAN_STEP, window_text
from workbench.window.words.wording import THIN_SPACE, clock, number, plain, plural, share, spoken, tr

MOST_NAMED = 2  # objections that the strip has room for by name
ONE_CLICK = {"amend-log": "questions", "settings": "wideband-place"}  # where each answer is one click


@dataclass(frozen=True)
class Figure:
    """One figure of the strip: what it is, its value, and whether it is good, wants attention, or neither.

    Attributes:
        caption, value, tip: as they are read.
        kind: good, attention, or figure.
        opens: name of the act that shows more of it; empty where there is none.
    """

    caption: str
    value: str
    kind: str = "figure"
    tip: str = ""
    opens: str = ""


def next_step(scene: Scene) -> NextStep:
    """Choose the next step: what waits in the window first, then what the core says of the table."""
    state, head = scene.state, scene.head
    if state is None or head is None:
        return NextStep(tr("Open or start a session"), "start", tr("No session is open."))
    step = _without_draft(scene, state, head)
    if scene.draft is None:
        return step
    # What was driven stays as dangerous as it was while something is being tried on top of it.
    reason = tr("A draft is shown: Enter applies it, Esc drops it.")
    if step.values.get("objections"):
        reason = tr("{draft} Of revision {id} as it is: {reason}").format(draft=reason, id=head.id, reason=step.reason)
    return replace(step, title=tr("Apply the draft"), word="apply", reason=reason)


def _without_draft(scene: Scene, state: State, head: Revision) -> NextStep:
    """Choose the next step of the table as it is."""
    known = scene.fitting_evidence
    if (scene.judging or scene.outdated) and next_step_of(state, head, None) is None:
        known = None  # what other drives say, or another revision, would be taken back in a moment
    prediction, own = (None, None) if scene.overtaken else (scene.prediction, scene.own)
    step = next_step_of(state, head, known, prediction, own)
    if step is not None:
        values = {
            name: window_text(value) if name in ("why", "danger", "standing", "fallen") else tr(value)
            for name, value in step.values.items()
        }
        title = window_text(step.title) if isinstance(step.title, PluralPhrase) else tr(step.title)
        word = ONE_CLICK.get(step.word, step.word)
        reason = tr(step.reason).format(**values)
        told = NextStep(title.format(**values), word, reason, step.values)
        return replace(told, danger=step.danger, objections=step.objections)
    if scene.halted and not scene.overtaken:
        return NextStep(tr("Gather the evidence"), "gather", scene.riddle)
    if scene.riddle:
        return NextStep(tr("Show the log"), "drive", scene.riddle)
    return NextStep(tr("Gathering the evidence…"), "", tr("Evaluating the logs."))


def log_in_question(scene: Scene) -> int | None:
    """Give the log that the next step is about, else the first that leaves something open or does not count."""
    step = next_step(scene)
    if step.word == ONE_CLICK["amend-log"] and "log" in step.values:
        return int(step.values["log"])
    drives = () if scene.state is None else scene.state.drives
    unused = {} if scene.fitting_evidence is None else scene.fitting_evidence.unused
    return next((each.id for each in drives if each.log.questions or each.id in unused), None)


def figures(scene: Scene) -> list[Figure]:
    """Return the figures of the strip."""
    state, head = scene.state, scene.head
    if state is None or head is None:
        return []
    table = head.table
    driven = state.history.driven(scene.counted[-1], table.name) if scene.counted else None
    size = tr("{size} cells").format(size=" × ".join(str(n) for n in table.shape))
    found = [
        Figure(tr("Table"), f"{table.name} · {size}", tip=table.value_label),
        _revision(state, head, scene.fitting_evidence),
        _in_the_car(scene.counted, driven, next(reversed(state.in_car.get(table.name, ())), None)),
    ]
    if (evidence := scene.fitting_evidence) is not None:
        if scene.by_choice:
            words = plural(len(evidence.drives), "drive {ids} only", "drives {ids} only")
            shown = words.format(ids=", ".join(str(n) for n in evidence.drives))
            tip = tr("The drives chosen in the open task. Closing it shows all usable drives again.")
            found.append(Figure(tr("Evidence from"), shown, "attention", tip))
        found += target_figures(evidence, table, scene.own, judging=scene.judging, outdated=scene.outdated)
    return found


def _revision(state: State, head: Revision, evidence: Evidence | None) -> Figure:
    """Name the current revision, and whether it was approved as the ECU stores it now, by what still counts."""
    if head.id not in state.history.approvals:
        return Figure(tr("Revision"), str(head.id), tip=tr("Current revision."))
    if fallen := fallen_grounds(state, head, evidence):
        words = tr("{id}, approval fell").format(id=head.id)
        return Figure(tr("Revision"), words, "attention", window_text(fallen), "approve")
    if stored_as_approved(state, head):
        return Figure(tr("Revision"), tr("{id}, approved").format(id=head.id), "good", tr("Current revision."))
    tip = tr("The ECU storage settings have changed since it was approved.")
    return Figure(tr("Revision"), tr("{id}, to be approved again").format(id=head.id), "attention", tip, "approve")


def _in_the_car(drives: tuple[Drive, ...], driven: Revision | None, mark: InCar | None) -> Figure:
    """Show what was said to be in the car, else what the latest drive that counts was made with."""
    if mark is not None:
        words = tr("revision {id} since {time}").format(id=mark.revision, time=clock(mark.since)[11:])
        tip = tr("Put in the car on {time}. Logs added after that belong to it.").format(time=clock(mark.since))
        return Figure(tr("In the car"), words, tip=tip)
    rounds = len({drive.revision for drive in drives})
    return Figure(
        tr("In the car"),
        tr("no drive yet") if driven is None else tr("revision {id}, round {n}").format(id=driven.id, n=rounds),
        tip=plural(
            len(drives),
            "The revision of the only drive. A round: correct, flash, drive.",
            "The revision of the latest of {n} drives. A round: correct, flash, drive.",
        ).format(n=len(drives))
        if drives
        else tr("Add a log to say what was in the car. A round: correct, flash, drive."),
    )


def against(step: NextStep) -> list[Figure]:
    """Name what is to be looked into before the next step, where there is such, and say how many objections stand."""
    told = [name for name in step.values.get("objections", "").split(", ") if name]
    grave = [name for name in (LEAN_STEP, CAUTIONS) if name in step.objections]  # they stand, whatever is next
    every = [*dict.fromkeys((*grave, *told))]
    names = every[:MOST_NAMED]
    if not names:
        return []
    opens = "cautions" if names[0] == CAUTIONS else "approve"
    caption, tip, count = tr("Objections"), step.reason, len({*step.objections, *every})
    if count > len(names):
        caption = tr("Objections, {n} in all").format(n=count)
        tip += "\n" + tr("All of them: {names}.").format(names=spoken(", ".join(step.objections)))
    return [Figure(caption, spoken(", ".join(names)), "attention", tip, opens)]


def target_figures(
    evidence: Evidence, table: Table, own: Evidence | None = None, *, judging: bool = False, outdated: bool = False
) -> list[Figure]:
    """Describe how far each throttle regime is inside its target, and where it is farthest from it.

    Where no drive with this table shows a regime, the figures are what earlier drives let expect, and say so.

    Args:
        evidence: against the table.
        table: the table.
        own: what the drives made with this very revision say alone, by which it is judged; None where all are such.
        judging: whether that is still being worked out; until then nothing is said to be shown.
        outdated: whether all of it is of another revision: then nothing is said at all.
    """
    targets = judged(evidence, own)
    names = tr("Part throttle"), tr("Full throttle")
    found = [
        _target_figure(name, target, each, table, judging=judging)
        for name, (target, each) in zip(names, targets, strict=True)
    ]
    if outdated:
        words = tr("The evidence for this revision is being gathered.")
        return [replace(each, value=tr("being judged…"), kind="figure", tip=words) for each in found]
    worst = _worst_of(target for target, _ in targets)
    if worst is not None and worst.worst_cell is not None:
        value = tr("{error} at {where}").format(error=_error(worst), where=table.cell_name(worst.worst_cell))
        caption = tr("Worst against its target") if worst.measured else tr("Worst cell, expected")
        kind = "figure" if inside(worst) else "attention"
        tip = tr("The cell farthest outside its target. Ctrl+G goes there.")
        if own is not None and any(worst is each for each in (own.part_target, own.full_target)):
            words = plural(len(own.drives), "{caption}, drive {ids} alone", "{caption}, drives {ids} alone")
            caption = words.format(caption=caption, ids=", ".join(str(n) for n in own.drives))
            tip += "\n" + tr("The table beside it shows what all drives say together.")
        found.append(Figure(caption, value, kind, tip))
    return found


def _target_figure(name: str, target: Target, pooled: Target, table: Table, *, judging: bool) -> Figure:
    """Describe one regime."""
    limit = plain(round(target.limit * 100, 6)) + THIN_SPACE + "%"
    caption = tr("{regime} within ±{limit}").format(regime=name, limit=limit)
    if target.worst_cell is None:
        return Figure(caption, tr("not driven"), tip=tr("No accepted sample in this regime."))
    blurred = least_known(target, pooled)
    half = number(blurred.widest * 100, 1) + THIN_SPACE + "%"
    verdict, good = verdict_of(target, pooled), inside(target)
    value = tr("all inside") if good else tr("{share} of driven time").format(share=share(target.inside_time))
    kind = "figure" if good else "attention"
    if verdict == "expected":
        close = not good or not blurred.widest > blurred.limit
        value = (tr("{value}, expected") if close else tr("expected inside, known to ±{half}")).format(
            value=value, half=half
        )
    elif good and judging:
        value = tr("being judged…")
    elif verdict == "not shown":
        value = tr("not shown yet: known to ±{half}").format(half=half)
    elif verdict == "uncertain":
        value = tr("{value}, uncertain").format(value=value)
    elif verdict == "reached":
        kind = "good"
    farthest = tr("Worst {error} at {where}.").format(error=_error(target), where=table.cell_name(target.worst_cell))
    tip = f"{window_text(target.shares)}.\n{farthest}"
    if blurred.widest > blurred.limit and blurred.widest_cell is not None:
        words = tr("Least known is {where}: another drive there shows whether it is inside.")
        tip += "\n" + words.format(where=table.cell_name(blurred.widest_cell))
    return Figure(caption, value, kind, tip)


def worst_target(evidence: Evidence, own: Evidence | None = None) -> Target | None:
    """Return the regime whose worst cell is farthest out, measured by its own limit; None where nothing was driven."""
    return _worst_of(target for target, _ in judged(evidence, own))


def _worst_of(targets: Iterable[Target]) -> Target | None:
    driven = [target for target in targets if target.worst_cell is not None]
    return max(driven, key=lambda target: abs(target.worst) / target.limit, default=None)


def _error(target: Target) -> str:
    return number(target.worst * 100, 1, sign=True) + THIN_SPACE + "%"
