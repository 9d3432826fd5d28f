"""How far samples depend on each other: thirty passes are thirty readings, and not as many as there are rows.

All samples of one visit to a cell are off together by a random effect (GUM, JCGM 100:2008, 4.2 and F.1.1.2: repeated
readings count as independent only where what influences them was renewed). Its size is the scatter between visits that
a first solution leaves, and what is known of the visit beforehand: vapour that is not modelled exactly, films and
manifold filling that the model leaves over. With n the weight in a visit, s its effect and u a sample's own scatter,
every sample counts 1 / (1 + n s^2 / u^2) times, so that a visit never counts more than 1 / s^2: the weights of the
mixed model, but for what neighbouring cells have in common, which the inflation over stretches of time counts.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from workbench.maths.drives.drive_fit import DriveFit
from workbench.maths.pooling.passes import Passes
from workbench.maths.solve.design import Equations, NuisanceEffect
from workbench.maths.solve.solve import Solution, spread_of
from workbench.maths.table.interpolation import nearest
from workbench.model.arrays import BoolArray, FloatArray, IntArray
from workbench.model.table import Table

GAP_S, LONGEST_S = 3.0, 30.0  # apart from when on it is another visit; how long one lasts at most
FEWEST_IN_VISIT, FEWEST_VISITS = 2.0, 12  # by weight; of which the scatter tells as much as what is usual
LEAST_SCATTER = 0.0025  # of the ratio from visit to visit, that no drive is without: common practice, no source
FARTHEST, TURNS = 3.0, 8  # deviations that a visit is taken for at most, and turns of finding them
LEAST_UNIT = 0.0005  # of the ratio, scatter of single readings
USUAL_SCATTER = 0.005  # the same as it usually is, for where there are few visits to tell
LEFT_OF_VAPOUR = 0.2  # share of the modelled vapour that the model is off by in a visit, standard deviation
LEAST_VAPOUR, LEAST_STRENGTH = 0.002, 0.02  # of the ratio, wherever purge worked; vapour of a usual canister
# Share of what a film of share 1 would take up that the model leaves over, standard deviation: second films, filling
# manifolds, what the ECU makes up for; for the wideband, and for trims, which follow late (common practice, no source).
LEFT_OF_FILM, BEHIND = 0.03, 0.03
EPISODE = 0.5  # share by which an episode's vapour differs from the drive's: the canister fills as it was left
EPISODE_GAP_S, FEWEST_IN_EPISODE = 8.0, 20
FELT = 0.05  # of the largest load, from which a sample counts as under purge
SCATTER, VAPOUR, TRANSIENT = "scatter", "vapour", "transients"


@dataclass(frozen=True, eq=False)
class Visits:
    """The visits of all drives, and what makes the samples of one be off together.

    Attributes:
        number: of the visit of each sample, shape (samples,).
        cell: that each visit belongs to, flat, shape (visits,).
        variance: source -> squared size of its effect, shape (visits,).
        precision: weight that each visit has in the solve, shape (visits,).
        own: squared deviation that the visit's own samples scatter with, shape (visits,).
        between: scatter from visit to visit, standard deviation.
        vapour: size of the vapour that the model takes out in each visit, as a ratio, shape (visits,).
        purged: share of each visit that lies under purge, shape (visits,).
        passes: that the evidence near each breakpoint rests on, once that is counted.
        alone: standard deviation of each cell's ratio by its own readings alone, once that is counted, shape of the
            table; without end where it has none.
    """

    number: IntArray
    cell: IntArray
    variance: Mapping[str, FloatArray] = field(default_factory=dict)
    precision: FloatArray = field(default_factory=lambda: np.zeros(0))
    own: FloatArray = field(default_factory=lambda: np.zeros(0))
    between: float = float("nan")
    vapour: FloatArray = field(default_factory=lambda: np.zeros(0))
    purged: FloatArray = field(default_factory=lambda: np.zeros(0))
    passes: Passes | None = None
    alone: FloatArray = field(default_factory=lambda: np.zeros(0))


def visits_of(known: Sequence[DriveFit], table: Table) -> Visits:
    """Number the visits of all drives to all cells."""
    numbers, cells, first = [], [], 0
    for driven in known:
        kept = driven.readings.kept
        time, cell = driven.seen.time[kept], nearest(table.axes, driven.readings.position[kept])
        order = np.lexsort((time, cell))
        when, where = time[order], cell[order]
        new = np.diff(where, prepend=-1) != 0
        new |= np.diff(when, prepend=-np.inf) > GAP_S
        begun = np.maximum.accumulate(np.where(new, np.arange(when.size), 0))
        part = np.floor((when - when[begun]) / LONGEST_S)
        new |= np.diff(part, prepend=-1) != 0
        number = np.empty(when.size, dtype=np.int64)
        number[order] = np.cumsum(new) - 1 + first
        numbers.append(number)
        cells.append(where[new])
        first += int(new.sum())
    return Visits(np.concatenate(numbers), np.concatenate(cells))


def felt(purge: FloatArray) -> BoolArray:
    """Mark samples in which purge is felt: carried through a slow sensor, an episode never ends to the last digit.

    Args:
        purge: what vapour of each shape takes off the ratio, shape (samples, shapes).
    """
    size = np.abs(purge)
    return np.asarray(np.any(size > FELT * size.max(axis=0, initial=0.0), axis=1))


def vapour_in(equations: Equations, solution: Solution) -> FloatArray:
    """Give what a solution finds that vapour takes off the ratio, shape (samples,)."""
    found = np.zeros(equations.ratio.size)
    for effect, size in zip(equations.effects, solution.nuisance, strict=False):
        if effect.name == VAPOUR:
            found[effect.first : effect.first + effect.moved.size] += size * effect.moved
    return found


def by_episode(known: Sequence[DriveFit], vapour: FloatArray, purge: FloatArray) -> list[NuisanceEffect]:
    """Let the vapour of each episode differ from its drive's.

    Args:
        known: the drives.
        vapour: what a first solution finds of it, shape (samples,).
        purge: what it was laid out over, nominal ratio included, shape (samples, shapes).
    """
    effects: list[NuisanceEffect] = []
    start = 0
    for driven in known:
        kept = driven.readings.kept
        rows = slice(start, start + int(kept.sum()))
        start = rows.stop
        load = purge[rows, 0]
        under = felt(load[:, None])
        if np.count_nonzero(under) < FEWEST_IN_EPISODE:
            continue
        usual = float(np.sqrt(np.mean(load[under] ** 2)))
        if not usual > 0:
            continue  # only the other shape is felt, or none
        strength = max(float(np.sqrt(np.mean(vapour[rows][under] ** 2))), LEAST_STRENGTH)
        column = load / usual * strength
        time = driven.seen.time[kept]
        begins = np.diff(time[under], prepend=-np.inf) > EPISODE_GAP_S
        number = np.full(time.size, -1)
        number[under] = np.cumsum(begins) - 1
        for each in range(int(begins.sum())):
            mine = np.flatnonzero(number == each)
            if mine.size >= FEWEST_IN_EPISODE:
                whole = slice(int(mine[0]), int(mine[-1]) + 1)  # a view would keep the whole drive for each episode
                part = np.where(number[whole] == each, column[whole], 0.0)
                effects.append(NuisanceEffect(part, rows.start + int(mine[0]), EPISODE, VAPOUR))
    return effects


def weighed_by_visit(
    equations: Equations,
    solution: Solution,
    visits: Visits,
    vapour: FloatArray,
    purged: BoolArray,
    upset: FloatArray,
    by_trims: BoolArray,
) -> tuple[Equations, Visits]:
    """Let every visit count no more than its random effect allows.

    Args:
        equations: of all samples.
        solution: a first one of them.
        visits: of the samples.
        vapour: what purge vapour takes off the ratio, shape (samples,).
        purged: samples under purge.
        upset: part of the fuel that a film of share 1 was taking up or giving off, as far as it still tells, shape
            (samples,).
        by_trims: samples that rest on the trims alone.
    """
    weight, count = equations.weight, visits.cell.size
    amount: FloatArray = np.bincount(visits.number, weight, count).astype(np.float64)
    held = np.maximum(amount, 1e-12)

    def mean(values: FloatArray) -> FloatArray:
        return np.asarray(np.bincount(visits.number, weight * values, count) / held)

    off, under = mean(solution.residual), mean(purged.astype(np.float64))
    dirty = under > 0.5
    told = amount >= FEWEST_IN_VISIT
    if np.count_nonzero(told & ~dirty) >= FEWEST_VISITS:
        told &= ~dirty
    # What a first solution, perhaps too stiff, leaves over of a whole cell is no scatter: both are counted from means.
    within = max(spread_of(solution.residual - off[visits.number], weight), LEAST_UNIT)
    between, unit = _scatter(off[told], visits.cell[told], amount[told], within)
    # The few visits that the model of vapour fits worst count as much as the many that it fits well.
    misfit = float(np.sqrt(np.average(off[dirty] ** 2, weights=held[dirty]))) if dirty.any() else 0.0
    variance = {
        SCATTER: np.full(count, between**2),
        VAPOUR: mean(np.where(purged, max(LEAST_VAPOUR, misfit) ** 2, 0.0)),
        TRANSIENT: mean((np.where(by_trims, BEHIND, LEFT_OF_FILM) * upset) ** 2),
    }
    effect = np.sum(list(variance.values()), axis=0)
    less = 1 / (1 + amount * effect / unit**2)
    weighed = replace(equations, weight=weight * less[visits.number], visit=visits.number, unit=unit)
    return weighed, replace(
        visits,
        variance=variance,
        precision=amount * less,
        own=unit**2 / held,
        between=between,
        vapour=mean(np.abs(vapour)),
        purged=under,
    )


def _scatter(off: FloatArray, cell: IntArray, amount: FloatArray, within: float) -> tuple[float, float]:
    """Tell how visits scatter about the mean of their cell: no lack of fit is in it.

    The mean of a visit of weight n is off by s (the visit's own effect) and by u / sqrt(n), with u larger than single
    readings scatter about it where they depend on each other (the loop swings, the flow pulses). Both by weighted least
    squares of the squared deviations over 1 and 1 / n, neither below nothing; the farthest are cut to three deviations.

    Returns:
        s and u.
    """
    from scipy import optimize

    many = np.bincount(cell, minlength=1) if cell.size else np.zeros(1, dtype=np.int64)
    again = many[cell] > 1
    free = float(np.count_nonzero(again) - np.count_nonzero(many > 1))
    if free < 1:
        return USUAL_SCATTER, within
    mean = np.bincount(cell, off, many.size) / np.maximum(many, 1)
    apart = (off - mean[cell])[again] * np.sqrt(many / np.maximum(many - 1, 1))[cell][again]
    over = np.stack([np.ones(apart.size), 1 / amount[again]], axis=1)
    found = np.array([spread_of(apart, np.ones(apart.size)) ** 2, within**2])
    for _ in range(TURNS):
        variance = np.maximum(over @ found, LEAST_SCATTER**2)
        squared = np.minimum(apart**2, FARTHEST**2 * variance)
        found, _ = optimize.nnls(over / variance[:, None], squared / variance)
    # Few visits tell little of their scatter: what is usual counts as much as so many of them.
    between = (FEWEST_VISITS * USUAL_SCATTER**2 + free * found[0]) / (FEWEST_VISITS + free)
    return max(float(np.sqrt(between)), LEAST_SCATTER), max(float(np.sqrt(found[1])), within)


def mean_per_cell(visits: Visits, values: FloatArray, table: Table) -> FloatArray:
    """Give the mean over the visits of each cell, by their precision; the nearest cell's without one."""
    from scipy import ndimage

    cells = table.values.size
    total = np.bincount(visits.cell, visits.precision, cells).reshape(table.shape)
    summed = np.bincount(visits.cell, visits.precision * values, cells).reshape(table.shape)
    at = tuple(ndimage.distance_transform_edt(total <= 0, return_distances=False, return_indices=True))
    return np.asarray((summed / np.maximum(total, 1e-300))[at])


def scatter_by_source(visits: Visits, table: Table) -> dict[str, FloatArray]:
    """Tell which part of the scatter in each cell comes of what, 0..1, shape of the table each.

    A cell without a visit of its own takes the parts of the nearest one that has any.
    """
    from scipy import ndimage

    cells, squared = table.values.size, visits.precision**2
    parts = {name: np.bincount(visits.cell, squared * each, cells) for name, each in visits.variance.items()}
    parts[SCATTER] = parts[SCATTER] + np.bincount(visits.cell, squared * visits.own, cells)
    total = np.sum(list(parts.values()), axis=0).reshape(table.shape)
    at = tuple(ndimage.distance_transform_edt(total <= 0, return_distances=False, return_indices=True))
    total = np.maximum(total, 1e-300)
    return {name: (part.reshape(table.shape) / total)[at] for name, part in parts.items()}
