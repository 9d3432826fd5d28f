"""From drives to evidence: the way through all rooms of the maths. Read this first.

For each drive: `axes` finds the channel that feeds each axis, in its unit; `ratio` turns channels into signals
(position in the table, fuel factor, lambdas, loop state); `gating` rejects rows that say nothing; `sampling` turns
rows into readings of the airflow ratio, from the wideband (each row carried through exhaust and sensor by `delay`) or
from trims (averaged over the loop's own swing). `exhaust` and `delay_estimation` find the wideband's place and delay
once for the car; `disturbances` models the fuel film and purge. `drive_fit` estimates these in turns and gives
`delay_sensitivity`: what an error left in the delay would look like, which the solve corrects and counts in the
intervals. Purge that no channel shows appears as steps of the residual (`purge_levels`, `hidden_purge`).

`pooling` puts all drives into one set of equations, each sample on the breakpoints around it exactly as the ECU
interpolates. `solve` solves it: Huber weights, a thin-plate penalty (`roughness`) whose weight comes from restricted
maximum likelihood (`reml`), intervals widened for dependence in time. The rounding of a logged long trim is estimated
as one unknown shift for all samples of a level (`trim_quantisation`). The smoothness penalty acts on the correction
relative to a baseline: the last table imported whole, before any correction or hand edit.

`standing` judges cells; `agreement` asks whether drives agree on each cell, since a robust solve would take the smaller
body of samples for outliers, and whether they differ overall. `findings`, `residual_screening`, `revision_match`,
`prediction_check` and `plan` say what else it means.
"""

from collections.abc import Generator
from dataclasses import replace

import numpy as np

from workbench.errors import InputError
from workbench.maths.cautions.cautions import find_cautions
from workbench.maths.cautions.looking import dangers_in, with_dangers
from workbench.maths.drives.drive_fit import DriveFit, before_shaping, first_look, smoothing_baseline
from workbench.maths.drives.exhaust import look_again
from workbench.maths.pooling.agreement import Agreement, agreement
from workbench.maths.pooling.common_error import COVERAGE, common_error, instrument_tolerance
from workbench.maths.pooling.entered import gate_counts, samples_of
from workbench.maths.pooling.hidden_purge import solve_without_vapour
from workbench.maths.pooling.open_trims import find_unused
from workbench.maths.pooling.solving import solve_drives, solve_fully
from workbench.maths.pooling.visits import Visits
from workbench.maths.signals.axes import axis_role
from workbench.maths.signals.gating import BEYOND, COLD, NO_READING, engine_gates
from workbench.maths.solve.one_thread import one_thread
from workbench.maths.solve.solve import Solution
from workbench.maths.table.continuing import inferred
from workbench.maths.table.shaped import carried_by, carried_onto
from workbench.maths.uncertainty.budget import budget_of, combined, own_visits
from workbench.maths.uncertainty.contradictions import contradictions
from workbench.maths.uncertainty.loop_check import loop_check
from workbench.maths.verdict import standing
from workbench.maths.verdict.findings import effects_of, notes_of
from workbench.maths.verdict.plan import what_to_drive
from workbench.maths.verdict.usable import believed
from workbench.model.arrays import FloatArray, IntArray
from workbench.model.evidence import BudgetItem, Caution, Delay, Evidence, Source
from workbench.model.gate import GateCount
from workbench.model.history import History, Revision
from workbench.model.log import Drive, typed_flag
from workbench.model.state import Settings
from workbench.model.table import Table
from workbench.phrases import call, flag, join_phrases, phrase
from workbench.work import Progress, part_of

FEWEST_SAMPLES = 10  # from fewer no spread can be told, and the interval of an only one would be nothing
FEWEST_TURNS, MOST_TURNS = 2, 4  # of finding place and delay; more than the fewest where the place was found late
TURN, END = 8, 5  # what a turn and the end cost, where reading a drive costs 1: measured, for an even progress


def gather_evidence(
    history: History,
    head: Revision,
    drives: tuple[Drive, ...],
    settings: Settings,
    source: Source = "both",
    stated: Delay | None = None,
    trusted: frozenset[int] = frozenset(),
) -> Generator[Progress, None, Evidence]:
    """Gather the evidence of drives for a table.

    Args:
        history: for the revisions that the drives were driven on.
        head: the table as it is now.
        drives: at least one.
        settings: targets and gates.
        source: trims and wideband, or one of them.
        stated: fixes the wideband's delay, of all drives; else what the settings keep holds.
        trusted: ids of drives that are used even where their logged airflow fits another revision better.

    Raises:
        InputError: when there is no drive, a drive lacks a channel, or too few samples pass the gates.
    """
    if not drives:
        raise InputError(
            "The session has no drive.",
            phrase("Add a log with {add_log_command} first.", add_log_command=call("add-log")),
        )
    with one_thread():
        try:
            found = yield from _gathered(history, head, drives, settings, source, stated, trusted)
        except InputError as refusal:
            dangers = dangers_in(history, drives, head.table.name, settings)
            raise with_dangers(refusal, drives, dangers) from refusal
        silent = tuple(drive for drive in drives if drive.id not in found.drives)
        dangers = dangers_in(history, silent, head.table.name, settings)
        return replace(found, cautions=(*found.cautions, *dangers))


def _gathered(
    history: History,
    head: Revision,
    drives: tuple[Drive, ...],
    settings: Settings,
    source: Source,
    stated: Delay | None,
    trusted: frozenset[int],
) -> Generator[Progress, None, Evidence]:
    usable = believed(history, head, drives, trusted)
    drives = usable.kept
    count, steps = len(drives), len(drives) * (1 + TURN * FEWEST_TURNS + END)
    known: list[DriveFit] = []
    for number, drive in enumerate(drives):
        yield Progress(number, steps, f"reading {drive.log.name}")
        known.append(first_look(history, head, drive, settings, source, stated).put_aside())
        drive.let_go()
    usable = usable.without_contrary(known, trusted)
    drives = usable.kept
    known = [driven for driven in known if driven.drive in drives]
    now, base, head = head, smoothing_baseline(history, head), replace(head, table=before_shaping(history, head))
    known = yield from _shared_by_all(known, head, base, settings, source, count, tuple(usable.unused.values()))
    yield Progress(steps - count * END, steps, "solving")
    known, _ = solve_without_vapour(find_unused(known, base), head.table, base)
    tolerance = instrument_tolerance(known, settings.wideband_tolerance)
    common = common_error(known, settings.gates, tolerance)
    solution, visits = solve_fully(known, head.table, base, common)
    yield Progress(steps - count, steps, "judging what was found")
    contrary_parts = contradictions(known, head.table, solution, visits)
    in_loop = loop_check(known, head.table, settings.gates)
    contradicted = np.maximum(contrary_parts.size, in_loop.size)
    budget = budget_of(known, head.table, solution, visits, common, contradicted)
    doubts = (*usable.doubts, *contrary_parts.sentences, *in_loop.sentences)
    # Whole drives may differ in the solution; here that is what is asked.
    alike = solve_drives(known, head.table, base) if len(known) > 1 else solution
    agreed = agreement(known, head.table, alike, solution.multipliers.reshape(head.table.shape), now.table)
    found = _evidence(
        known, head, carried_by(head.table, now.table), solution, visits, budget, agreed, settings, source, doubts
    )
    found = replace(found, unused=usable.unused)
    found = carried_onto(_with_inferred(found, solution, base), now)
    return _with_measured(history, now, drives, found)


def _shared_by_all(
    known: list[DriveFit],
    head: Revision,
    base: Table,
    settings: Settings,
    source: Source,
    count: int,
    unused: tuple[str, ...],
) -> Generator[Progress, None, list[DriveFit]]:
    """Find what all drives share, film, place and delay, in turns with the table.

    Turns beyond the fewest are not foreseen in the progress, which stands still for them; `count` drives were read, and
    why others are not used is told where these give too little.
    """
    text, all_turns = "finding the wideband's position and delay", count * (1 + TURN * FEWEST_TURNS)
    for turn in range(1, MOST_TURNS + 1):
        _refuse_nothing(known, source, unused)
        known, solution = solve_without_vapour(known, head.table, base)
        begin, end = (min(count * (1 + TURN * done), all_turns) for done in (turn - 1, turn))
        yield Progress(begin, all_turns + count * END, text)
        known = [driven.put_aside() for driven in find_unused(known, base)]
        before = [driven.place for driven in known]
        again = look_again(known, head.table, solution, settings.gates, source)
        known = yield from part_of(again, begin, end, all_turns + count * END, text)
        if turn >= FEWEST_TURNS and before == [driven.place for driven in known]:
            break
    _refuse_nothing(known, source, unused)
    return known


def _with_measured(history: History, head: Revision, drives: tuple[Drive, ...], found: Evidence) -> Evidence:
    """Tell of both targets whether drives made with this very revision speak of them."""
    made_with = {drive.id for drive in drives if history.driven(drive, head.table.name) is head}
    part, full = (
        any(samples.drive in made_with and np.any(samples.full_throttle == regime) for samples in found.kept)
        for regime in (False, True)
    )
    return replace(
        found,
        part_target=replace(found.part_target, measured=part),
        full_target=replace(found.full_target, measured=full),
    )


def _with_inferred(found: Evidence, solution: Solution, base: Table) -> Evidence:
    """Add what the smooth surface says of the cells where nobody drove, and how little that is known."""
    values = found.table.values
    onto = np.divide(base.values, values, out=np.ones(values.shape), where=values > 0)
    surface = inferred(solution.multipliers.reshape(values.shape), onto, found.driven)
    half_width = np.where(np.isfinite(surface), COVERAGE * combined(found.budget, values.shape), np.nan)
    return replace(found, inferred=surface, inferred_half_width=half_width)


def _refuse_nothing(known: list[DriveFit], source: Source, unused: tuple[str, ...]) -> None:
    kept = sum(int(driven.readings.kept.sum()) for driven in known)
    if kept >= FEWEST_SAMPLES:
        return
    tolls = gate_counts(known)
    worst = sorted(tolls, key=lambda count: -count.rejected)[:3]
    found = [note for driven in known for note in driven.seen.notes]
    names = ", ".join(driven.drive.log.name for driven in known)
    raise InputError(
        (
            phrase("Too few samples of {names} pass the gates, {kept}", names=names, kept=kept)
            if kept
            else phrase("No sample of {names} passes the gates", names=names)
        )
        + (
            phrase(" with {source_flag} {source}", source_flag=flag("source"), source=source)
            if source != "both"
            else ""
        )
        + ". "
        + phrase(
            "Of {rows} rows, gates rejected: {gates}.",
            rows=sum(d.seen.time.size for d in known),
            gates=join_phrases(
                ", ",
                (
                    phrase("{gate} {rejected}", gate=each.name, rejected=each.rejected)
                    for each in worst
                    if each.rejected
                ),
            ),
        ),
        join_phrases(
            " ",
            (
                *unused,
                *dict.fromkeys(found),
                _way_to_samples(known, tolls),
                phrase("{add_log_command} lists the roles of the channels.", add_log_command=call("add-log")),
            ),
        ),
    )


def _way_to_samples(known: list[DriveFit], tolls: tuple[GateCount, ...]) -> str:
    """Say what would give samples; where no row holds all that is needed, no way of driving does."""
    rows = sum(d.seen.time.size for d in known)
    if any(each.name == NO_READING and each.rejected == rows for each in tolls):
        return (
            "No moment holds a reading of all that is needed, the table's axes and trims or lambda: log them, and few "
            "other channels, so that each is read several times a second."
        )
    for gate, said in ((COLD, _never_warm), (BEYOND, _never_inside)):
        if any(each.name == gate and each.rejected == rows for each in tolls) and (told := said(known[0])):
            return told
    return "Drive warm, in closed loop or with a wideband and commanded lambda logged."


def _never_warm(driven: DriveFit) -> str:
    """Say what the coolant reads, where no row of it is that of a warm engine: it may be another channel or unit."""
    name = driven.drive.log.roles.get("coolant_temperature", "")
    read = driven.seen.coolant[np.isfinite(driven.seen.coolant)]
    if not name or not read.size:
        return ""
    return phrase(
        "{name} reads {low:.3g} to {high:.3g} °C throughout. If the engine was warm, it is another channel or in "
        "another unit: state that with {amend_log_command}.",
        name=name,
        low=float(read.min()),
        high=float(read.max()),
        amend_log_command=_stated(driven, typed_flag("unit", name, "UNIT"), "coolant_temperature"),
    )


def _never_inside(driven: DriveFit) -> str:
    """Say what an axis reads, where no row of it lies inside the table: it may be another channel or unit."""
    for axis, column in zip(driven.table.axes, driven.seen.position.T, strict=True):
        role, read = axis_role(axis), column[np.isfinite(column)]
        first, last = float(axis.breakpoints[0]), float(axis.breakpoints[-1])
        name = driven.drive.log.roles.get(role, "") if role else ""
        if name and read.size and not np.any((read >= first) & (read <= last)):
            return phrase(
                "{name} reads {low:.4g} to {high:.4g} throughout, and the table goes from {first:.4g} to {last:.4g} "
                "{unit}: it is another channel or in another unit. State that with {amend_log_command}.",
                name=name,
                low=float(read.min()),
                high=float(read.max()),
                first=first,
                last=last,
                unit=axis.unit,
                amend_log_command=_stated(driven, typed_flag("unit", name, "UNIT"), role or ""),
            )
    return ""


def _stated(driven: DriveFit, unit: str, role: str) -> str:
    other = typed_flag("role", role, "CHANNEL")
    return phrase(
        "{first} or {second}",
        first=call("amend-log", "SESSION", f"{driven.drive.id}", unit),
        second=call("amend-log", "SESSION", f"{driven.drive.id}", other),
    )


def _evidence(
    known: list[DriveFit],
    head: Revision,
    onto: FloatArray,
    solution: Solution,
    visited: Visits,
    budget: tuple[BudgetItem, ...],
    agreed: Agreement,
    settings: Settings,
    source: Source,
    doubts: tuple[str, ...],
) -> Evidence:
    """Put it all together, against the table before it was shaped; `onto` turns ratios into those against it now."""
    table = head.table
    kept = samples_of(known, table, solution)
    amount = solution.amount.reshape(table.shape)
    visits = standing.count_visits(table, kept, tuple(d.seen.time[d.readings.kept] for d in known))
    half_width = COVERAGE * combined(budget, table.shape)
    stands = _stands(known, table, settings, visited, budget, (amount, visits))
    driven = stands > 0
    # Where drives disagree, none of them is proven: the interval holds them all, and the target is held against each.
    stands = np.where(agreed.disputed, np.minimum(stands, 1), stands)
    ratio = np.where(driven, solution.multipliers.reshape(table.shape), np.nan)
    half_width = np.where(driven, np.maximum(half_width, agreed.reach), np.nan)
    farthest, reach = np.where(agreed.disputed, agreed.farthest, ratio) * onto, half_width * onto
    mean, median, spread, count, full = standing.plain_statistics(table, kept)
    shaped = np.broadcast_to(np.asarray(onto) != 1, table.shape)
    part_regime, full_regime = standing.by_regime(table, kept, amount, full, driven)
    effects = effects_of(known, table, solution)
    return Evidence(
        table=table,
        revision=head.id,
        drives=tuple(d.drive.id for d in known),
        source=source,
        ratio=ratio,
        half_width=half_width,
        samples=amount,
        visits=visits,
        standing=stands,
        mean=mean,
        median=median,
        spread=spread,
        count=count,
        full_throttle=full,
        delay={d.drive.id: d.delay for d in known},
        gates=gate_counts(known),
        kept=kept,
        samples_used=sum(int(d.readings.kept.sum()) for d in known),
        part_target=standing.target(settings.part_throttle_target, farthest, reach, part_regime, stands == 2, shaped),
        full_target=standing.target(settings.full_throttle_target, farthest, reach, full_regime, stands == 2, shaped),
        wideband={d.drive.id: d.place for d in known},
        placed_by={d.drive.id: d.notes[0] for d in known if d.notes},
        notes=(*doubts, *agreed.sentences, *notes_of(known, effects, table, ratio * onto)),
        plan=what_to_drive(known, table, stands, half_width),
        effects=effects,
        disputed=agreed.disputed & driven,
        at_full=standing.touched(table, _while_running(known, settings, full=True)),
        cautions=_cautions(known, settings),
        budget=budget,
    )


def _stands(
    known: list[DriveFit],
    table: Table,
    settings: Settings,
    visited: Visits,
    budget: tuple[BudgetItem, ...],
    counted: tuple[FloatArray, IntArray],
) -> IntArray:
    """Return the standing of every cell, of which samples and visits were counted; shape of the table."""
    smooth = [item for item in budget if item.name != "gap"]
    half_width, between = (COVERAGE * combined(items, table.shape) for items in (budget, smooth))
    passed = standing.touched(table, _while_running(known, settings))
    own = own_visits(visited, table), COVERAGE * visited.alone
    return standing.standing(*counted, half_width, between, passed, *own)


def _while_running(known: list[DriveFit], settings: Settings, *, full: bool = False) -> tuple[FloatArray, ...]:
    """Return where the engine was while it ran, of each drive, shape (rows, axes); at full throttle only, if asked."""
    rows = [~(d.seen.speed < settings.gates.running_rpm) & (d.seen.full | (not full)) for d in known]
    return tuple(d.seen.position[there] for d, there in zip(known, rows, strict=True))


def _cautions(known: list[DriveFit], settings: Settings) -> tuple[tuple[int, Caution], ...]:
    """Find what in the logs calls for care, each with its drive."""
    found: list[tuple[int, Caution]] = []
    for d in known:
        gates = engine_gates(d.seen, d.table, settings.gates)
        cautions = find_cautions(d.drive.log, d.seen, gates, d.contrary, settings.limits, d.table)
        found += [(d.drive.id, caution) for caution in cautions]
        d.drive.let_go()
    return tuple(found)
