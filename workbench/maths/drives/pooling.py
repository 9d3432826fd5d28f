"""All drives together: their equations, the solve, and the samples as they entered it."""

from dataclasses import replace
from itertools import pairwise

import numpy as np

from workbench.maths.drives.drive_fit import DriveFit
from workbench.maths.signals.gating import ORDER, counts
from workbench.maths.signals.ratio import Signals
from workbench.maths.signals.sampling import Readings
from workbench.maths.signals.series import blocks, joined, row_step
from workbench.maths.solve.design import Design, Equations, NuisanceEffect, Shifts
from workbench.maths.solve.roughness import penalty
from workbench.maths.solve.solve import Solution, solve, spread_of
from workbench.maths.solve.trim_quantisation import levels_of
from workbench.maths.table.interpolation import look_up
from workbench.model.arrays import BoolArray, FloatArray, IntArray
from workbench.model.evidence import Samples
from workbench.model.gate import GateCount
from workbench.model.table import Table

LEAST_OFFSET = 0.001  # drives that differ by less are taken as alike
FEWEST_READINGS = 20  # of their own in a stretch of time, for telling how far readings depend on each other
# An ECU may make up for a film that fills and not for one that empties: share of the film, as standard deviation.
LOPSIDED = 0.03
FEWEST_KIND = 100  # samples that an effect must move, or a kind must have, before it is estimated by itself


def gate_counts(known: list[DriveFit]) -> tuple[GateCount, ...]:
    """Count what every gate took, over all drives."""
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


def solve_drives(known: list[DriveFit], head: Table, base: Table, *, quick: bool) -> Solution:
    """Solve all drives for the multipliers of a table.

    Args:
        known: the drives.
        head: the table.
        base: on the same axes, the one whose correction is taken as smooth; the result still belongs to the head.
        quick: leave out weighing trims against wideband, and letting whole drives differ.
    """
    roughness, free = penalty(head.axes)
    equations, by_trims, drive, nominal = _equations(known, head, base)
    solution = solve(equations, roughness, free)
    if not quick:
        equations = _weighed_by_kind(equations, solution, by_trims)
        if len(known) > 1:
            equations = _with_offsets(equations, solution, drive, nominal)
        solution = solve(equations, roughness, free)
    onto = np.divide(base.values, head.values, out=np.ones(head.shape), where=head.values > 0).ravel()
    return replace(solution, multipliers=solution.multipliers * onto, deviation=solution.deviation * onto)


def _weighed_by_kind(equations: Equations, solution: Solution, by_trims: BoolArray) -> Equations:
    """Weigh trims averaged over a swing and single wideband readings by the spread of each kind."""
    if min(by_trims.sum(), (~by_trims).sum()) < FEWEST_KIND:
        return equations
    spreads = [spread_of(solution.residual[by_trims == kind], equations.weight[by_trims == kind]) for kind in (0, 1)]
    relative = (min(spreads) / np.where(by_trims, spreads[1], spreads[0])) ** 2
    return replace(equations, weight=equations.weight * np.maximum(relative, 0.05))


def _with_offsets(equations: Equations, solution: Solution, drive: IntArray, nominal: FloatArray) -> Equations:
    """Let whole drives differ by an offset (weather, fuel), as large as the drives show; by moments of their means."""
    weight = equations.weight * solution.robust
    amount = np.bincount(drive, weight)
    mean = np.bincount(drive, weight * solution.residual, amount.size)[amount > 0] / amount[amount > 0]
    by_chance = solution.sigma**2 * solution.inflation / amount[amount > 0]
    size = float(np.sqrt(max(float(np.mean(mean**2 - by_chance)), 0.0)))
    if size < LEAST_OFFSET or mean.size < 2:
        return equations
    bounds = np.searchsorted(drive, np.arange(amount.size + 1))
    offsets = tuple(NuisanceEffect(nominal[low:high], int(low), size) for low, high in pairwise(bounds))
    return replace(equations, effects=equations.effects + offsets)


def _equations(known: list[DriveFit], head: Table, base: Table) -> tuple[Equations, BoolArray, IntArray, FloatArray]:
    """Return the equations, which samples rest on trims, the drive of each, and what the head says over the driven."""
    positions, readings_then, ratios, weights, block_ids, films, kinds, purges = [], [], [], [], [], [], [], []
    first_block = 0
    for driven in known:
        kept, readings = driven.readings.kept, driven.readings
        position = readings.position[kept]
        positions.append(position)
        readings_then.append(look_up(driven.table, position))
        ratios.append(readings.ratio[kept])
        weights.append(readings.weight[kept])
        number = blocks(driven.seen.time, max(10.0, FEWEST_READINGS * seconds_per_reading(driven.seen)))
        block_ids.append(number[kept] + first_block)
        first_block += int(number[-1]) + 1
        # Held values blur transients: what looks like a film there is the holding.
        held = bool(np.min(driven.seen.weight) < 1)
        films.append(np.zeros(int(kept.sum())) if held else readings.film[kept])
        purges.append(readings.purge[kept])
        kinds.append(readings.by_trims[kept])
    film, by_trims, ratio = joined(films), joined(kinds), joined(ratios)
    design = Design(head.axes, base.values.ravel(), joined(positions), joined(readings_then))
    # Effects act on what the table says, not on what was measured: a response among its own regressors would draw
    # all cells to it.
    nominal = replace(design, values=head.values.ravel()).nominal()
    # What the assumed film leaves over is estimated in the solve, for wideband and trims apart: trims follow late.
    tried = [NuisanceEffect(np.where(by_trims == kind, film * nominal, 0.0)) for kind in (False, True)]
    tried.append(NuisanceEffect(np.where(by_trims, 0.0, np.maximum(film, 0.0) * nominal), expected_size=LOPSIDED))
    purge = joined(purges) * -nominal[:, None]
    counted = [int(driven.readings.kept.sum()) for driven in known]
    which = np.repeat(np.arange(len(known)), counted)
    # Each drive begins with its own load in the canister.
    for stop, count in zip(np.cumsum(counted), counted, strict=True):
        tried += [NuisanceEffect(load, int(stop - count)) for load in purge[stop - count : stop].T]
    effects = [effect for effect in tried if np.sum(np.abs(effect.moved) > 0.02) > FEWEST_KIND]
    for driven, stop, count in zip(known, np.cumsum(counted), counted, strict=True):
        if driven.delay_sensitivity is not None:
            effects += [
                NuisanceEffect(moved, int(stop - count), 1.0)
                for moved in driven.delay_sensitivity[driven.readings.kept].T
            ]
    shifts = _shifts(known, nominal)
    return (
        Equations(design, ratio, joined(weights), joined(block_ids), tuple(effects), shifts),
        by_trims,
        which,
        nominal,
    )


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
    for name in reversed(ORDER):
        if name in names:
            by[readings.rejected[name]] = names.index(name)
    by[readings.kept] = -1
    return by
