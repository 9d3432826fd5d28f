"""From drives to evidence: read each drive, find its delay, pool all of them, solve, and say how sure it is."""

from collections.abc import Generator
from dataclasses import dataclass, replace

import numpy as np

from workbench.errors import InputError
from workbench.maths import align, sampling, standing
from workbench.maths.disturbances import DRY, FILM_S, Film, film_filling
from workbench.maths.gating import ORDER, counts
from workbench.maths.interpolation import look_up, spread
from workbench.maths.ratio import Signals, signals
from workbench.maths.resolution import Trimmed, raster, raster_half_width
from workbench.maths.roughness import penalty
from workbench.maths.sampling import Readings
from workbench.maths.series import blocks, filled
from workbench.maths.solve import Equations, Solution, huber_weights, solve, spread_of
from workbench.model.arrays import BoolArray, FloatArray, IntArray
from workbench.model.evidence import Delay, Evidence, Samples, Source
from workbench.model.gate import GateCount, Gates
from workbench.model.history import History, Revision
from workbench.model.log import Drive
from workbench.model.state import Settings
from workbench.model.table import Table
from workbench.work import Progress

FEWEST_KIND = 100  # samples that an effect must move, or a kind must have, before it is estimated by itself


@dataclass(frozen=True, eq=False)
class Driven:
    """One drive on its way to evidence."""

    drive: Drive
    table: Table
    seen: Signals
    place: str
    delay: Delay
    film: Film
    readings: Readings
    notes: tuple[str, ...] = ()


def gather(
    history: History,
    head: Revision,
    drives: tuple[Drive, ...],
    settings: Settings,
    source: Source = "both",
    stated: Delay | None = None,
) -> Generator[Progress, None, Evidence]:
    """Gather the evidence of drives for a table.

    Args:
        history: for the revisions that the drives were driven on.
        head: the table as it is now.
        drives: at least one.
        settings: targets and gates.
        source: trims and wideband, or one of them.
        stated: fixes the wideband's delay.

    Raises:
        InputError: when there is no drive, a drive lacks a channel, or no sample passes the gates.
    """
    if not drives:
        raise InputError("There is no drive to take evidence from.", "Add a log with add-log first.")
    steps = 3 * len(drives) + 2
    known: list[Driven] = []
    for number, drive in enumerate(drives):
        yield Progress(number, steps, f"reading {drive.log.name}")
        known.append(_first_look(history, head, drive, settings.gates, source, stated))
    _refuse_nothing(known, source)
    for turn in (1, 2):
        solution = _solve(known, head.table, quick=True)
        for number, driven in enumerate(known):
            yield Progress(turn * len(drives) + number, steps, f"finding the delay of {driven.drive.log.name}")
            known[number] = _second_look(driven, head.table, solution, settings.gates, source, stated)
    _refuse_nothing(known, source)
    yield Progress(steps - 1, steps, "solving")
    solution = _solve(known, head.table, quick=False)
    return _evidence(known, head, solution, settings, source)


def driven_table(history: History, drive: Drive, name: str) -> Table:
    """Give the table of that name that was in the car: the drive's revision, or what that table was by then.

    Raises:
        InputError: when the table was not in the session yet.
    """
    revision = history.revision(drive.revision)
    while revision.table.name != name:
        if revision.id == 1:
            raise InputError(f"Drive {drive.id} was driven before the table {name!r} was added.", "Add the log again.")
        revision = history.revision(revision.id - 1)
    return revision.table


def _first_look(
    history: History, head: Revision, drive: Drive, gates: Gates, source: Source, stated: Delay | None
) -> Driven:
    table = driven_table(history, drive, head.table.name)
    seen = signals(drive, table, gates)
    place = "none"
    if np.isfinite(seen.measured).any():
        place = drive.wideband if drive.wideband != "auto" else "before"
    delay = stated or align.DEFAULT
    readings = sampling.read_drive(seen, table, gates, delay, DRY, source, place)
    return Driven(drive, table, seen, place, delay, DRY, readings)


def _second_look(
    driven: Driven, head: Table, solution: Solution, gates: Gates, source: Source, stated: Delay | None
) -> Driven:
    if driven.place == "none" or source == "trims":
        return driven
    # A film shifts what transients look like, and so does a delay: each is found again after the other.
    driven = replace(driven, film=_film(driven, head, solution, gates, driven.delay))
    path = align.course(driven.seen, driven.table, gates, _expected_ratio(driven, head, solution))
    place, delay, notes = driven.place, stated or driven.delay, driven.notes
    if stated is None and place != "after":
        delay = align.estimate(path)
    if driven.drive.wideband == "auto":
        place, why = align.place_of_wideband(path, delay)
        notes = (why,)
        if place == "after" and stated is None:
            delay = replace(align.DEFAULT, carried_by="oxygen storage hides it: the default is used")
    film = _film(driven, head, solution, gates, delay)
    readings = sampling.read_drive(driven.seen, driven.table, gates, delay, film, source, place)
    return replace(driven, place=place, delay=delay, film=film, readings=readings, notes=notes)


def _film(driven: Driven, head: Table, solution: Solution, gates: Gates, delay: Delay) -> Film:
    """Find the fuel film that explains best what a solution leaves over in one drive."""
    best, least = driven.film, np.inf
    for constant in FILM_S:
        trial = sampling.read_drive(driven.seen, driven.table, gates, delay, Film(0.0, constant), "wideband", "before")
        kept = trial.kept & driven.readings.kept
        if not np.any(np.abs(trial.film[kept]) > 0.02):
            return DRY
        position = trial.position[kept]
        expected = look_up(_corrected(head, solution), position) / look_up(driven.table, position)
        left, filling = trial.ratio[kept] - expected, trial.ratio[kept] * trial.film[kept]
        robust = np.ones(left.size)
        for _ in range(5):
            share = float(np.sum(robust * filling * left) / np.sum(robust * filling**2))
            rest = left - share * filling
            robust = huber_weights(rest, spread_of(rest, np.ones(rest.size)))
        loss = float(np.sum(robust * rest**2))
        if loss < least:
            best, least = Film(min(max(share, 0.0), 0.5), constant), loss
    return best


def _corrected(head: Table, solution: Solution) -> Table:
    return head.with_values(head.values * solution.multipliers.reshape(head.shape))


def _expected_ratio(driven: Driven, head: Table, solution: Solution) -> FloatArray:
    """Give the airflow ratio that a solution expects at every row, film effects included."""
    position = np.stack([filled(column) for column in driven.seen.position.T], axis=1)
    ratio = look_up(_corrected(head, solution), position) / look_up(driven.table, position)
    return ratio / (1 - driven.film.share * film_filling(driven.seen, driven.film.constant_s))


def _refuse_nothing(known: list[Driven], source: Source) -> None:
    if any(driven.readings.kept.any() for driven in known):
        return
    tolls = _toll(known)
    worst = sorted(tolls, key=lambda count: -count.rejected)[:3]
    raise InputError(
        f"No sample of {', '.join(d.drive.log.name for d in known)} passes the gates"
        + (f" with --source {source}" if source != "both" else "")
        + ": "
        + ", ".join(f"{count.name} took {count.rejected}" for count in worst if count.rejected)
        + f" of {sum(d.seen.time.size for d in known)}.",
        "Drive warm, in closed loop or with a wideband and commanded lambda logged; or see the roles with add-log.",
    )


def _toll(known: list[Driven]) -> tuple[GateCount, ...]:
    names = [name for name in ORDER if any(name in d.readings.rejected for d in known)]
    per_drive = [{count.name: count for count in counts(d.readings.rejected)} for d in known]
    return tuple(
        GateCount(
            name,
            sum(each[name].rejected for each in per_drive if name in each),
            sum(each[name].alone for each in per_drive if name in each),
        )
        for name in names
    )


def _solve(known: list[Driven], head: Table, *, quick: bool) -> Solution:
    roughness, free = penalty(head.axes)
    equations, kinds = _equations(known, head)
    solution = solve(equations, roughness, free)
    if quick or min(kinds.sum(), (~kinds).sum()) < FEWEST_KIND:
        return solution
    # Trims averaged over a swing and single wideband readings scatter differently: weigh each by its own spread.
    spreads = [spread_of(solution.residual[kinds == kind], equations.weight[kinds == kind]) for kind in (False, True)]
    least = min(spreads)
    relative = np.where(kinds, (least / spreads[1]) ** 2, (least / spreads[0]) ** 2)
    return solve(replace(equations, weight=equations.weight * np.maximum(relative, 0.05)), roughness, free)


def _equations(known: list[Driven], head: Table) -> tuple[Equations, BoolArray]:
    cells, shares, ratios, weights, block_ids, films, kinds, purges = [], [], [], [], [], [], [], []
    first_block = 0
    for driven in known:
        kept, readings = driven.readings.kept, driven.readings
        position = readings.position[kept]
        nodes = spread(head.axes, position)
        shares.append(nodes.weight * head.values.ravel()[nodes.cell] / look_up(driven.table, position)[:, None])
        cells.append(nodes.cell)
        ratios.append(readings.ratio[kept])
        weights.append(readings.weight[kept])
        number = blocks(driven.seen.time)
        block_ids.append(number[kept] + first_block)
        first_block += int(number[-1]) + 1
        films.append(readings.film[kept])
        purges.append(readings.purge[kept])
        kinds.append(readings.by_trims[kept])
    film, by_trims, ratio = np.concatenate(films), np.concatenate(kinds), np.concatenate(ratios)
    # What the assumed film leaves over is estimated in the solve, for wideband and trims apart: trims follow late.
    effects = [np.where(by_trims == kind, film * ratio, 0.0) for kind in (False, True)]
    effects = [effect for effect in effects if np.sum(np.abs(effect) > 0.02) > FEWEST_KIND]
    purge = np.concatenate(purges) * -ratio[:, None]
    effects += [effect for effect in purge.T if np.sum(np.abs(effect) > 0.02) > FEWEST_KIND]
    nuisance = np.stack(effects, axis=1) if effects else np.zeros((film.size, 0))
    return Equations(
        np.concatenate(cells),
        np.concatenate(shares),
        ratio,
        np.concatenate(weights),
        np.concatenate(block_ids),
        nuisance,
    ), by_trims


def _evidence(known: list[Driven], head: Revision, solution: Solution, settings: Settings, source: Source) -> Evidence:
    table = head.table
    kept = _samples(known, table, solution)
    times = tuple(driven.seen.time[driven.readings.kept] for driven in known)
    amount = solution.amount.reshape(table.shape)
    visits = standing.count_visits(table, kept, times)
    half_width = np.hypot(1.96 * solution.deviation.reshape(table.shape), _hidden_by_raster(known, table, solution))
    running = tuple(d.seen.position[~(d.seen.speed < settings.gates.running_rpm)] for d in known)
    passed = standing.touched(table, running)
    stands = standing.standing(amount, visits, half_width, passed)
    driven = stands > 0
    ratio = np.where(driven, solution.multipliers.reshape(table.shape), np.nan)
    half_width = np.where(driven, half_width, np.nan)
    mean, median, spread_, count, full = standing.plain_statistics(table, kept)
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
        spread=spread_,
        count=count,
        full_throttle=full,
        delay={d.drive.id: d.delay for d in known},
        gates=_toll(known),
        kept=kept,
        samples_used=sum(int(d.readings.kept.sum()) for d in known),
        part_target=standing.target(settings.part_throttle_target, ratio, half_width, amount, driven & ~full),
        full_target=standing.target(settings.full_throttle_target, ratio, half_width, amount, driven & full),
        wideband={d.drive.id: d.place for d in known},
        notes=_notes(known),
    )


def _hidden_by_raster(known: list[Driven], table: Table, solution: Solution) -> FloatArray:
    """Give per cell the half-width that the raster of the long-term trims leaves, all drives together."""
    steps = [raster(driven.seen.long_trim) for driven in known]
    kept = [driven.readings.kept for driven in known]
    trimmed = Trimmed(
        position=np.concatenate([d.readings.position[k] for d, k in zip(known, kept, strict=True)]),
        weight=solution.robust * np.concatenate([d.readings.weight[k] for d, k in zip(known, kept, strict=True)]),
        # Levels of different drives are rounded independently: they are kept apart.
        level=np.concatenate(
            [np.nan_to_num(d.seen.long_trim[k]) + 1000.0 * n for n, (d, k) in enumerate(zip(known, kept, strict=True))]
        ),
        learning=np.concatenate([(d.seen.closed & ~d.readings.by_trims)[k] for d, k in zip(known, kept, strict=True)]),
    )
    return raster_half_width(table, trimmed, max(steps))


def _samples(known: list[Driven], table: Table, solution: Solution) -> tuple[Samples, ...]:
    found, start = [], 0
    for driven in known:
        rows = np.flatnonzero(driven.readings.kept)
        position = driven.readings.position[rows]
        names = tuple(driven.readings.rejected)
        robust = solution.robust[start : start + rows.size]
        start += rows.size
        found.append(
            Samples(
                drive=driven.drive.id,
                rows=rows,
                position=position,
                ratio=driven.readings.ratio[rows] * look_up(driven.table, position) / look_up(table, position),
                weight=driven.readings.weight[rows] * robust,
                full_throttle=driven.seen.full[rows],
                rejected_by=_first_rejection(driven.readings, names),
                gates=names,
            )
        )
    return tuple(found)


def _first_rejection(readings: Readings, names: tuple[str, ...]) -> IntArray:
    by = np.full(readings.kept.size, -1, dtype=np.int64)
    for name in reversed(ORDER):
        if name in names:
            by[readings.rejected[name]] = names.index(name)
    by[readings.kept] = -1
    return by


def _notes(known: list[Driven]) -> tuple[str, ...]:
    notes: list[str] = []
    for driven in known:
        for sentence in (*driven.seen.notes, *driven.notes):
            if sentence not in notes:
                notes.append(sentence)
        if np.isfinite(driven.seen.imbalance) and abs(driven.seen.imbalance) > 0.02:
            notes.append(
                f"{driven.drive.log.name}: bank 2 takes {100 * driven.seen.imbalance:+.1f} % more fuel than bank 1; "
                "their mean is used. A difference is no fault of the airflow table."
            )
    return tuple(notes)
