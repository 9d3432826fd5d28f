"""What speaks against approving a revision: a list of checks, each with a name it can be accepted by.

Changes are counted from the baseline: the revision approved last on the way to this one, or the table as it was
brought in. Tables are compared as functions, as the ECU reads and stores them. The limits (25 % a step, 1 % of lean)
are common practice, no source.
"""

from collections.abc import Callable, Sequence

import numpy as np

from workbench.errors import InputError
from workbench.maths.table.storage import stored, value_range
from workbench.maths.verdict.approval_case import (
    ROUNDING,
    Case,
    ComparedFunctions,
    Objection,
    Place,
    any_around,
    indices,
    number_of,
    standing_on_the_way,
    where,
)
from workbench.maths.verdict.cliffs import cliffs
from workbench.maths.verdict.drive_objections import from_drives
from workbench.maths.verdict.high_load import barometer, high_load, leans
from workbench.maths.verdict.prediction_check import PredictionCheck
from workbench.model.arrays import BoolArray
from workbench.model.counting import counted
from workbench.model.ecu_format import AS_IS, EcuFormat
from workbench.model.evidence import Evidence
from workbench.model.history import History, Revision
from workbench.model.log import Drive
from workbench.model.state import Settings
from workbench.phrases import call, join_phrases, phrase

STEP_LIMIT = 0.25
LEAN_STEP = "lean-step-at-high-load"
NOT_EXPORTED = "Approved or not, the table cannot be exported until this is corrected."


def objections(
    history: History,
    revision: Revision,
    drives: Sequence[Drive],
    settings: Settings,
    ecu_format: EcuFormat = AS_IS,
    evidence: Evidence | None = None,
    prediction: PredictionCheck | None = None,
) -> tuple[Objection, ...]:
    """List what speaks against approving a revision.

    Args:
        history: all of it.
        revision: to be approved.
        drives: all logs of the session.
        settings: of the session.
        ecu_format: how the ECU keeps the table.
        evidence: of the table; what was driven at full throttle is taken from it even where it is against another
            revision.
        prediction: how far the last correction did what it said.
    """
    case = _case(history, revision, drives, settings, ecu_format, evidence, prediction)
    found = [objection for objection in (check(case) for check in CHECKS) if objection is not None]
    return (*found, *from_drives(case))


def lean_step(
    history: History, revision: Revision, drives: Sequence[Drive], settings: Settings, ecu_format: EcuFormat = AS_IS
) -> Objection | None:
    """Tell of the lean steps at high load alone, for whoever makes a revision or hands it over; as `objections`."""
    return lean_step_at_high_load(_case(history, revision, drives, settings, ecu_format))


def lean_step_from(
    earlier: Revision,
    history: History,
    revision: Revision,
    drives: Sequence[Drive],
    settings: Settings,
    ecu_format: EcuFormat = AS_IS,
) -> Objection | None:
    """Tell of the lean steps at high load from what is in the car, wherever in the history that stands.

    Nothing where that is the revision itself, or a table of another kind.
    """
    if earlier.id == revision.id or earlier.table.kind != revision.table.kind:
        return None
    return _leaner_than(_case(history, revision, drives, settings, ecu_format), [earlier])


def lean_steps_from(history: History, revision: Revision, drives: Sequence[Drive]) -> frozenset[int]:
    """Return ids of the revisions from which an approval counts the lean steps of a revision, these drives known."""
    return frozenset(each.id for each in _references(_case(history, revision, drives, Settings(), AS_IS)))


def cliff(
    history: History, revision: Revision, drives: Sequence[Drive], settings: Settings, ecu_format: EcuFormat = AS_IS
) -> Objection | None:
    """Tell of the cliffs of a revision alone, for whoever shows it; as `objections`."""
    return cliffs(_case(history, revision, drives, settings, ecu_format))


def _case(
    history: History,
    revision: Revision,
    drives: Sequence[Drive],
    settings: Settings,
    ecu_format: EcuFormat,
    evidence: Evidence | None = None,
    prediction: PredictionCheck | None = None,
) -> Case:
    line = history.line(revision.id)
    approved = [each for each in line[:-1] if each.id in history.approvals]
    baseline = approved[-1] if approved else line[0]
    then = {drive.id: history.driven(drive, revision.table.name) for drive in drives}
    carried = {number: each.id for number, each in then.items() if each is not None}
    relevant = evidence if evidence is not None and evidence.table.name == revision.table.name else None
    return Case(
        revision, baseline, line, history.approvals, tuple(drives), settings, ecu_format, carried, relevant, prediction
    )


def falling_curve(case: Case) -> Objection | None:
    """Object where a curve goes against its own direction, which the baseline's ends tell."""
    if case.table.kind != "curve" or case.table.values.size < 2:
        return None
    first, last = case.baseline.table.values[[0, -1]]
    sign = -1.0 if last < first else 1.0
    values = sign * case.table.values
    falls = np.flatnonzero(np.diff(values) < -ROUNDING * np.abs(values).max()) + 1
    if not falls.size:
        return None
    cells = indices(falls)
    return Objection(
        "falling-curve",
        phrase(
            "The curve {moves} at {where}, against its direction. {carry_on_command} extends a "
            "correction to undriven ends, {keep_rising_command} raises falling cells.",
            moves="falls" if sign > 0 else "rises",
            where=where(case.table, cells),
            carry_on_command=call("carry-on"),
            keep_rising_command=call("keep-rising"),
        ),
        cells,
    )


def step_over_limit(case: Case) -> Objection | None:
    """Object to cells that moved by more than 25 % since the baseline."""
    beside = case.since_baseline
    step = beside.step
    places = indices(np.abs(step) > STEP_LIMIT)
    if not places:
        return None
    worst = max(places, key=lambda at: abs(step[at]))
    return Objection(
        "step-over-limit",
        phrase(
            "{number_of} moved by more than {step_limit:g} % since revision {baseline}, most at "
            "{cell} ({step:+.1f} %): {whence}.",
            number_of=number_of(beside.after, case.table, places),
            step_limit=100 * STEP_LIMIT,
            baseline=case.baseline.id,
            cell=beside.after.cell_name(worst),
            step=100 * step[worst],
            whence=_whence(case, beside, worst),
        ),
        case.own(beside.after.axes, places),
    )


def _whence(case: Case, beside: ComparedFunctions, place: Place) -> str:
    """Describe what to do about a large step, by what made it: evidence, a hand, or the ECU's rounding."""
    if abs(beside.wanted_step[place]) <= STEP_LIMIT:
        return "the ECU's step is too coarse for it: check the storage settings"
    (cell,) = case.own(beside.after.axes, (place,))
    after = [each for each in case.line if each.id > case.baseline.id]
    for revision in reversed(after):
        if revision.table.same_axes(case.table) and revision.multipliers[cell] != 1:
            if revision.origin != "measured":
                return phrase(
                    "revision {revision} ({operation}) changed it by hand: make sure that it is intended",
                    revision=revision.id,
                    operation=revision.operation,
                )
            break
    return "find out why the table was so far off"


def thin_changed(case: Case) -> Objection | None:
    """Object to changed cells whose evidence is thin."""
    return _changed(case, "thin", "thin-changed", "on thin evidence", "drive there again")


def undriven_changed(case: Case) -> Objection | None:
    """Object to changed cells without evidence: no correction on the way to this revision found them driven."""
    return _changed(case, "undriven", "undriven-changed", "without evidence", "drive there, or restore them")


def _changed(case: Case, standing: str, name: str, how: str, advice: str) -> Objection | None:
    beside = case.since_baseline
    places = indices(beside.changed & (standing_on_the_way(case, beside.after.axes) == standing))
    places = tuple(place for place in places if not _proven_since(case, beside, place))
    if not places:
        return None
    count = number_of(beside.after, case.table, places)
    return Objection(
        name,
        f"{count} changed {how} ({where(beside.after, places)}): {advice}.",
        case.own(beside.after.axes, places),
    )


def _proven_since(case: Case, beside: ComparedFunctions, place: Place) -> bool:
    """Return whether later drives have proven what was changed on little evidence: how far it is off is known then."""
    evidence, cells = case.relevant_evidence, case.own(beside.after.axes, (place,))
    return evidence is not None and bool(cells) and all(evidence.stands("proven")[cell] for cell in cells)


def lean_step_at_high_load(case: Case) -> Objection | None:
    """Object to a change by more than 1 % that makes the mixture leaner at high load.

    High load is what the table itself says (`high_load`) and every cell that the logs, or a correction on the way,
    touch at full throttle. The change is counted from the baseline, from the revision that was last in the car (the
    first one where none was), and from the latest correction, so that a rise does not hide a cut that follows it, nor
    approvals without a drive a cut in small steps.
    """
    return _leaner_than(case, _references(case))


def _leaner_than(case: Case, references: Sequence[Revision]) -> Objection | None:
    """Object to what leans high load by more than 1 % since any of some revisions: since the one that tells most."""
    found: list[tuple[int, tuple[Place, ...], ComparedFunctions]] = []
    pressure = barometer(case.drives) if case.table.kind == "grid" else 0.0
    for revision in references:
        beside = case.beside(revision)
        loaded = high_load(beside.before, beside.before.values, pressure) | _full_throttle(case, beside)
        found.append((revision.id, indices(leans(case.table, beside.step) & loaded), beside))
    since, places, beside = max(found, key=lambda each: len(each[1]))
    if not places:
        return None
    step = beside.step
    worst = max(places, key=lambda at: abs(step[at]))
    what = "cell" if beside.after.same_axes(case.table) else "place"
    return Objection(
        LEAN_STEP,
        phrase(
            "{cells_lean} the mixture at high load since revision {since}, most at {cell} ({step:+.1f} "
            "%): a lean mixture under load can destroy an engine. Make sure that pulls logged "
            "with a wideband call for it, and go in small steps.",
            cells_lean=counted(len(places), f"{what} leans", f"{what}s lean"),
            since=since,
            cell=beside.after.cell_name(worst),
            step=100 * step[worst],
        ),
        case.own(beside.after.axes, places),
    )


def _references(case: Case) -> list[Revision]:
    """Return what a change is counted from: the baseline, what was last in the car, the latest correction before."""
    before = case.line[:-1]
    driven = frozenset(case.carried.values())
    last_driven = [each for each in before if each.id in driven][-1:] or [case.line[0]]
    corrected = [each for each in before if each.origin == "measured"][-1:]
    return list({each.id: each for each in (case.baseline, *last_driven, *corrected)}.values())


def _full_throttle(case: Case, beside: ComparedFunctions) -> BoolArray:
    """Mark what the logs, or corrections on the way, saw driven at full throttle."""
    axes = beside.after.axes
    marked = np.zeros(beside.after.shape, dtype=np.bool_)
    for revision in case.line:
        recorded = revision.arguments.get("full_throttle")
        if recorded is not None:
            then = np.array(recorded, dtype=np.bool_).reshape(revision.table.shape)
            marked |= any_around(then, revision.table.axes, axes)
    seen = case.evidence
    if seen is not None and seen.at_full is not None:
        marked |= any_around(seen.at_full, seen.table.axes, axes)
    return marked


def not_driven_since(case: Case) -> Objection | None:
    """Object where no log was driven with this revision in the car."""
    if case.with_it:
        return None
    sentence = phrase(
        "No drive with revision {revision} in the car gives evidence of this table: drive it, and add that log."
        if case.said_with_it
        else "No drive was made with revision {revision} in the car: export it as a draft, drive it, and add that log.",
        revision=case.revision.id,
    )
    return Objection("not-driven-since", sentence)


def storage_range(case: Case) -> Objection | None:
    """Object to values that the ECU cannot hold, and to parts that do not fit the axis any more."""
    try:
        case.ecu_format.check(case.table)
    except InputError as refusal:
        return Objection("storage-range", join_phrases(" ", (str(refusal), NOT_EXPORTED)))
    if case.ecu_format.storage is None:
        return None
    cells = indices(stored(case.table.values, case.ecu_format.storage).outside)
    if not cells:
        return None
    low, high = value_range(case.ecu_format.storage)
    return Objection(
        "storage-range",
        phrase(
            "{number_of} cannot be stored ({where}): the ECU holds {low:.10g} to {high:.10g}. {not_exported}",
            number_of=number_of(case.table, case.table, cells),
            where=where(case.table, cells),
            low=low,
            high=high,
            not_exported=NOT_EXPORTED,
        ),
        cells,
    )


CHECKS: list[Callable[[Case], Objection | None]] = [
    falling_curve,
    cliffs,
    step_over_limit,
    thin_changed,
    undriven_changed,
    lean_step_at_high_load,
    not_driven_since,
    storage_range,
]
