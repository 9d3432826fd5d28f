"""All drives together: their equations, the solve, and the samples as they entered it."""

from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from workbench.maths.drives.common_error import CommonError
from workbench.maths.drives.drive_fit import DriveFit
from workbench.maths.drives.passes import passes_near
from workbench.maths.drives.unseen_purge import expected, unseen_vapour
from workbench.maths.drives.visits import (
    TRANSIENT,
    VAPOUR,
    Visits,
    by_episode,
    vapour_in,
    visits_of,
    weighed_by_visit,
)
from workbench.maths.signals.aside import put_aside
from workbench.maths.signals.gating import counts, in_order
from workbench.maths.signals.ratio import Signals
from workbench.maths.signals.resync import played
from workbench.maths.signals.sampling import Readings
from workbench.maths.signals.series import blocks, filled, joined, row_step
from workbench.maths.solve.design import Design, Equations, NuisanceEffect, Shifts
from workbench.maths.solve.normal_equations import node_sums
from workbench.maths.solve.roughness import cost_of_bump, penalty
from workbench.maths.solve.solve import Solution, solve, spread_of
from workbench.maths.solve.trim_quantisation import levels_of
from workbench.maths.table.interpolation import look_up
from workbench.model.arrays import BoolArray, FloatArray, IntArray
from workbench.model.evidence import Delay, Samples
from workbench.model.gate import GateCount
from workbench.model.table import Table

NONE = CommonError()
TURNS = 1  # of weighing the samples by what a solution leaves over
LEAST_OFFSET = 0.0015  # drives of one car differ by no less (weather, fuel): common practice, no source
FEWEST_READINGS = 20  # of their own in a stretch of time, for telling how far readings depend on each other
# An ECU may make up for a film that fills and not for one that empties: share of the film, as standard deviation.
LOPSIDED = 0.03
LEFT_OF_FILM = 0.05  # share of the fuel by which the film found may be off, standard deviation
# Share of the fuel that a slow film takes up beyond what the ECU makes up for: usually, and by how much it varies from
# car to car. Common practice, no source.
USUAL_SLOW_FILM, SLOW_FILM = 0.010, 0.010
OWN_PART = 0.5  # of that variance which pulls and all other readings have for themselves, as far as they are not alike
LEFT_OF_LATENESS = 0.020  # s by which a pull may be later or earlier than usual, standard deviation
# Time constant of the manifold, s * 1000 rpm: what is left of it where it was found, and all of it where it was not.
LEFT_OF_MANIFOLD, MANIFOLD = 0.05, 0.15
# The same of the pipes ahead of a throttle that a charger fills, of which no ECU need know: five volumes of the engine.
CHARGE_PIPES, CHARGED, STANDARD_KPA = 0.5, 1.05, 100.0  # common practice, no source
BETWEEN_DRIVES, DELAY, SMOOTHING = "between drives", "delay", "smoothing"
SOFTER = 4.0  # how many times weaker the smoothing may as well be: about its own uncertainty in a short drive
FEWEST_KIND = 100  # samples that an effect must move, or a kind must have, before it is estimated by itself


def gate_counts(known: list[DriveFit]) -> tuple[GateCount, ...]:
    """Count what every gate took, over all drives."""
    names = in_order(name for d in known for name in d.readings.rejected)
    per_drive = [{count.name: count for count in counts(d.readings.rejected)} for d in known]
    return tuple(
        GateCount(
            name,
            sum(each[name].rejected for each in per_drive if name in each),
            sum(each[name].alone for each in per_drive if name in each),
        )
        for name in names
    )


def solve_drives(known: list[DriveFit], head: Table, base: Table) -> Solution:
    """Solve all drives quickly for the multipliers of a table: samples count one by one, whole drives may not differ.

    Args:
        known: the drives.
        head: the table.
        base: on the same axes, the one whose correction is taken as smooth; the result still belongs to the head.
    """
    roughness, free = penalty(head.axes)
    return _onto(head, base, solve(_equations(known, head, base).equations, roughness, free))


def solve_beside(known: list[DriveFit], base: Table, columns: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Solve all drives quickly with further effects, and give those with their standard deviations, shape (effects,).

    Args:
        known: the drives.
        base: as for `solve_drives`; what is found beside it does not depend on what was corrected since.
        columns: what an effect of 1 adds to the log of the ratio, shape (samples, effects); 0 or 1 is expected of it.
    """
    roughness, free = penalty(base.axes)
    stated = _equations(known, base, base)
    own = tuple(NuisanceEffect(column * stated.nominal, expected_size=1.0) for column in columns.T)
    solution = solve(replace(stated.equations, effects=stated.equations.effects + own), roughness, free)
    at = slice(len(stated.equations.effects), len(stated.equations.effects) + len(own))
    return solution.nuisance[at], solution.nuisance_deviation[at]


def solve_fully(known: list[DriveFit], head: Table, base: Table, common: CommonError) -> tuple[Solution, Visits]:
    """Solve all drives with all that makes samples depend on each other; takes and gives what `solve_drives` does.

    Trims are weighed against the wideband, samples of one visit count together, vapour differs from episode to episode
    and drives from each other; the best estimate of the common error is taken out.
    """
    roughness, free = penalty(head.axes)
    stated = _equations(known, head, base, common)
    solved = stated.equations
    solution = solve(solved, roughness, free)
    known_visits = visits_of(known, head)
    # A first solution may be too stiff for its samples, and its scatter is then its own: the second tells it.
    for _ in range(TURNS):
        weighed = _weighed_by_kind(stated.equations, solution, stated.by_trims)
        vapour = vapour_in(solved, solution)
        equations, visits = weighed_by_visit(
            weighed, solution, known_visits, vapour, stated.purged, stated.film, stated.by_trims
        )
        effects = by_episode(known, vapour, stated.purge)
        effects += _offsets(equations, solution, stated, visits.cell[visits.number])
        solved = replace(equations, effects=equations.effects + tuple(effects))
        solution = solve(solved, roughness, free, bump=cost_of_bump(head.axes, roughness))
    solution = _unsure_of_smoothing(solution, solve(solved, roughness, free, smoothing=solution.smoothing / SOFTER))
    weight = stated.equations.weight * solution.robust
    amount = node_sums(equations.design, lambda rows: [weight[rows]], 1)[0]
    full = np.concatenate([driven.seen.full[driven.readings.kept] for driven in known])
    passes = passes_near(head, visits.cell[visits.number], equations.block, equations.weight, full)
    visits = replace(visits, passes=passes, alone=_alone(solved, solution, visits.cell[visits.number], head.shape))
    return _onto(head, base, replace(solution, amount=amount)), visits


def _alone(equations: Equations, solution: Solution, cell: IntArray, shape: tuple[int, ...]) -> FloatArray:
    """Give how closely each cell would be known by the readings nearest to it alone, standard deviation."""
    amount = np.bincount(cell, equations.weight * solution.robust, int(np.prod(shape))).reshape(shape)
    with np.errstate(divide="ignore"):
        return np.asarray(equations.unit * np.sqrt(solution.inflation / amount))


def _unsure_of_smoothing(solution: Solution, softer: Solution) -> Solution:
    """Count by how much each cell would move were the table rougher: nobody knows how smooth the true one is."""
    apart = (softer.multipliers - solution.multipliers) ** 2
    deviation = np.sqrt(solution.deviation**2 + apart)
    return replace(solution, deviation=deviation, shares={**solution.shares, SMOOTHING: apart})


def _onto(head: Table, base: Table, solution: Solution) -> Solution:
    """Give what multiplies the head, from what multiplies the base."""
    onto = np.divide(base.values, head.values, out=np.ones(head.shape), where=head.values > 0).ravel()
    return replace(
        solution,
        multipliers=solution.multipliers * onto,
        deviation=solution.deviation * onto,
        shares={name: share * onto**2 for name, share in solution.shares.items()},
    )


def _weighed_by_kind(equations: Equations, solution: Solution, by_trims: BoolArray) -> Equations:
    """Weigh trims averaged over a swing and single wideband readings by the spread of each kind."""
    if min(by_trims.sum(), (~by_trims).sum()) < FEWEST_KIND:
        return equations
    spreads = [spread_of(solution.residual[by_trims == kind], equations.weight[by_trims == kind]) for kind in (0, 1)]
    relative = (min(spreads) / np.where(by_trims, spreads[1], spreads[0])) ** 2
    return replace(equations, weight=equations.weight * np.maximum(relative, 0.05))


def _offsets(equations: Equations, solution: Solution, stated: "_Stated", cell: IntArray) -> list[NuisanceEffect]:
    """Let whole drives differ by an offset (weather, fuel), as large as the drives show where they saw the same cells.

    One drive cannot show it: it is off from the car as it usually is by no less than drives usually differ. Elsewhere
    what a solution leaves over of a drive may be the solution's own fault.

    Args:
        equations: of all samples, weighed by visits.
        solution: a first one of them.
        stated: what the samples are.
        cell: that each sample belongs to, flat, shape (samples,).
    """
    drive, nominal = stated.drive, stated.nominal
    drives, cells = int(drive[-1]) + 1, int(cell.max()) + 1
    weight = equations.weight * solution.robust
    at = drive * cells + cell
    amount = np.bincount(at, weight, drives * cells).reshape(drives, cells)
    mean = np.bincount(at, weight * solution.residual, drives * cells).reshape(drives, cells) / np.maximum(amount, 1e-9)
    shared = np.where(np.count_nonzero(amount > 0, axis=0) > 1, amount, 0.0)
    usual = (shared * mean).sum(axis=0) / np.maximum(shared.sum(axis=0), 1e-9)
    apart = (shared * (mean - usual)).sum(axis=1) / np.maximum(shared.sum(axis=1), 1e-9)
    some = shared.sum(axis=1) > 0
    size = 0.0
    if some.any():
        by_chance = equations.unit**2 / shared.sum(axis=1)[some]  # the weights count already how visits scatter
        size = float(np.sqrt(max(float(np.mean(apart[some] ** 2 - by_chance)), 0.0)))
    size = max(size, LEAST_OFFSET)
    bounds = np.searchsorted(drive, np.arange(drives + 1))
    return [NuisanceEffect(nominal[low:high], int(low), size, BETWEEN_DRIVES) for low, high in pairwise(bounds)]


@dataclass(frozen=True, eq=False)
class _Stated:
    """What all samples state, and of what kind they are; arrays of shape (samples,) if not said otherwise.

    Attributes:
        equations: of the samples.
        by_trims: which of them rest on trims.
        drive: of each.
        nominal: what the head says over the driven table.
        purge: what vapour of each shape takes off the ratio, shape (samples, shapes).
        purged: which of them lie under purge or shortly after it.
        film: part of the fuel that a film of share 1 would take up.
    """

    equations: Equations
    by_trims: BoolArray
    drive: IntArray
    nominal: FloatArray
    purge: FloatArray
    purged: BoolArray
    film: FloatArray


def _equations(known: list[DriveFit], head: Table, base: Table, common: CommonError = NONE) -> _Stated:
    positions, readings_then, ratios, weights, block_ids, films, kinds, purges = [], [], [], [], [], [], [], []
    first_block = 0
    walls: list[FloatArray] = []
    dirty: list[BoolArray] = []
    manifolds: list[FloatArray] = []
    charges: list[BoolArray] = []
    slow: list[FloatArray] = []
    rates: list[FloatArray] = []
    for driven in known:
        kept, readings = driven.readings.kept, driven.readings
        position = readings.position[kept]
        positions.append(position)
        readings_then.append(look_up(driven.table, position))
        by_trims = readings.by_trims[kept]
        # What the wideband reads is off by its own error; trims alone hold the loop's centre instead of 1.
        ratios.append(readings.ratio[kept] * np.where(by_trims, 1 + common.centre, 1 / (1 + common.wideband)))
        weights.append(readings.weight[kept])
        number = blocks(driven.seen.time, max(10.0, FEWEST_READINGS * seconds_per_reading(driven.seen)))
        block_ids.append(number[kept] + first_block)
        first_block += int(number[-1]) + 1
        # Held values blur transients: what looks like a film there is the holding.
        held = driven.seen.held
        films.append(np.zeros(int(kept.sum())) if held else readings.film[kept])
        walls.append(readings.film[kept])
        slow.append(readings.slow_film[kept])
        rates.append(readings.pull_rate[kept])
        manifolds.append(np.zeros(int(kept.sum())) if held else readings.manifold[kept])
        charges.append(_charged(driven)[kept])
        purges.append(readings.purge[kept])
        dirty.append(readings.purged[kept])
        kinds.append(by_trims)
    film, by_trims, ratio = joined(films), joined(kinds), joined(ratios)
    design = Design(head.axes, base.values.ravel(), joined(positions), joined(readings_then))
    # Effects act on what the table says, not on what was measured: a response among its own regressors would draw
    # all cells to it.
    nominal = put_aside(replace(design, values=head.values.ravel()).nominal())
    purge = put_aside(joined(purges) * -nominal[:, None])
    counted = [int(driven.readings.kept.sum()) for driven in known]
    manifold = joined(manifolds) * nominal
    tried = _film_effects(film * nominal, manifold, by_trims)
    pipes = put_aside(np.where(joined(charges) & ~by_trims, -manifold, 0.0))
    # Trims follow a slow film themselves: only what the wideband reads lacks it.
    slowly = np.where(by_trims, 0.0, joined(slow) * nominal)
    ratio = ratio - USUAL_SLOW_FILM * slowly
    tried += _slow_film_effects(slowly, joined([driven.seen.full[driven.readings.kept] for driven in known]))
    tried.append(NuisanceEffect(put_aside(joined(rates) * nominal), expected_size=LEFT_OF_LATENESS, name=TRANSIENT))
    # Each drive begins with its own load in the canister.
    for driven, stop, count in zip(known, np.cumsum(counted).tolist(), counted, strict=True):
        own = slice(stop - count, stop)
        tried += [NuisanceEffect(load, stop - count, name=VAPOUR) for load in purge[own].T]
        ratio[own] += expected(driven)[0] * unseen_vapour(driven) * nominal[own]
    effects = [effect for effect in tried if np.sum(np.abs(effect.moved) > 0.02) > FEWEST_KIND]
    if np.any(np.abs(pipes) > 0.02):  # it has a size of its own, so that few readings will do
        effects.append(NuisanceEffect(pipes, expected_size=CHARGE_PIPES, name=TRANSIENT))
    effects += _delay_effects(known)
    ratio = put_aside(ratio)
    equations = Equations(design, ratio, joined(weights), joined(block_ids), tuple(effects), _shifts(known, nominal))
    drive = put_aside(np.repeat(np.arange(len(known)), counted))
    return _Stated(equations, by_trims, drive, nominal, purge, joined(dirty), joined(walls))


def _charged(driven: DriveFit) -> BoolArray:
    """Mark the rows in which a charger raises the pressure, shape (rows,); none where no pressure is logged."""
    log = driven.drive.log
    pressure, barometer = played(log, "manifold_pressure"), played(log, "barometer")
    if pressure is None:
        return np.zeros(log.rows, dtype=np.bool_)
    around = STANDARD_KPA if barometer is None else float(np.nanmedian(barometer))
    return np.asarray(filled(pressure) > CHARGED * around)


def _film_effects(felt: FloatArray, manifold: FloatArray, by_trims: BoolArray) -> list[NuisanceEffect]:
    """Estimate in the solve what the assumed film leaves over, for wideband and trims apart: trims follow late.

    No wall takes up a negative share, and no ECU makes up for it many times over: what is left over has a size.
    """
    effects = [
        NuisanceEffect(put_aside(np.where(by_trims == kind, felt, 0.0)), expected_size=LEFT_OF_FILM, name=TRANSIENT)
        for kind in (False, True)
    ]
    opening = put_aside(np.where(by_trims, 0.0, np.maximum(felt, 0.0)))
    effects.append(NuisanceEffect(opening, expected_size=LOPSIDED, name=TRANSIENT))
    left = [put_aside(np.where(by_trims == kind, -manifold, 0.0)) for kind in (False, True)]
    sizes = (LEFT_OF_MANIFOLD, MANIFOLD)
    return effects + [
        NuisanceEffect(each, expected_size=size, name=TRANSIENT) for each, size in zip(left, sizes, strict=True)
    ]


def _slow_film_effects(slowly: FloatArray, full: BoolArray) -> list[NuisanceEffect]:
    """Let the slow film be off: on the same walls alike, but what tip-ins imitate of it says nothing of pulls."""
    size = SLOW_FILM * float(np.sqrt(OWN_PART))
    alike = NuisanceEffect(put_aside(slowly), expected_size=SLOW_FILM * float(np.sqrt(1 - OWN_PART)), name=TRANSIENT)
    return [alike] + [
        NuisanceEffect(put_aside(np.where(rows, slowly, 0.0)), expected_size=size, name=TRANSIENT)
        for rows in (full, ~full)
    ]


def _delay_effects(known: list[DriveFit]) -> list[NuisanceEffect]:
    """Let each part of the delay be off; drives that share an exhaust share the error.

    Pulls have it for themselves: what tip-ins imitate of a delay says nothing of them.
    """
    effects, start = [], 0
    shared: dict[Delay, list[tuple[int, FloatArray, BoolArray]]] = {}
    for driven in known:
        kept = driven.readings.kept
        if driven.delay_sensitivity is not None:
            shared.setdefault(driven.delay, []).append((start, driven.delay_sensitivity[kept], driven.seen.full[kept]))
        start += int(kept.sum())
    for parts in shared.values():
        first, stop = parts[0][0], parts[-1][0] + parts[-1][1].shape[0]
        moved = np.zeros((stop - first, parts[0][1].shape[1]))
        pulls = np.zeros(stop - first, dtype=bool)
        for begin, columns, full in parts:
            own = slice(begin - first, begin - first + columns.shape[0])
            moved[own], pulls[own] = columns, full
        for rows in (pulls, ~pulls):
            moves = put_aside(np.where(rows[:, None], moved, 0.0))
            effects += [NuisanceEffect(column, first, 1.0, DELAY) for column in moves.T]
    return effects


def _shifts(known: list[DriveFit], nominal: FloatArray) -> Shifts | None:
    """Let all samples of one level of a drive's long-term trim be off together by what its rounding hides."""
    found = [levels_of(driven.seen.long_trim, driven.readings.kept) for driven in known]
    count = sum(each.size.size for each in found)
    group: list[IntArray] = []
    size: list[FloatArray] = []
    for each in found:
        first = sum(part.size for part in size)
        group.append(np.where(each.number >= 0, each.number + first, count))
        size.append(each.size)
    return Shifts(joined(group), nominal, np.concatenate(size)) if count else None


def seconds_per_reading(seen: Signals) -> float:
    """Return the time between readings of their own, s: more than a row's where values are held."""
    return row_step(seen.time) / max(float(np.mean(seen.weight)), 1e-3)


def samples_of(known: list[DriveFit], table: Table, solution: Solution) -> tuple[Samples, ...]:
    """Return the samples of every drive as they entered the solve."""
    corrected = table.with_values(table.values * solution.multipliers.reshape(table.shape))
    found, start = [], 0
    for driven in known:
        rows = np.flatnonzero(driven.readings.kept)
        position = driven.readings.position[rows]
        names = tuple(driven.readings.rejected)
        part = slice(start, start + rows.size)
        start += rows.size
        shown = look_up(table, position)
        ratio = driven.readings.ratio[rows] * look_up(driven.table, position) / shown
        # Where film or purge is modelled, the sample is shown as it counts: with their effect taken out.
        freed = look_up(corrected, position) / shown + solution.residual[part] * look_up(driven.table, position) / shown
        plain = driven.readings.plain[rows]
        found.append(
            Samples(
                drive=driven.drive.id,
                rows=rows,
                position=position,
                ratio=np.where(plain, ratio, freed),
                weight=driven.readings.weight[rows] * solution.robust[part],
                full_throttle=driven.seen.full[rows],
                plain=plain,
                rejected_by=_first_rejection(driven.readings, names),
                gates=names,
                everywhere=driven.seen.position,
            )
        )
    return tuple(found)


def _first_rejection(readings: Readings, names: tuple[str, ...]) -> IntArray:
    by = np.full(readings.kept.size, -1, dtype=np.int64)
    for name in reversed(in_order(names)):
        by[readings.rejected[name]] = names.index(name)
    by[readings.kept] = -1
    return by
