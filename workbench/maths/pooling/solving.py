"""All drives together, solved for the multipliers of a table."""

from dataclasses import replace
from itertools import pairwise

import numpy as np

from workbench.maths.drives.drive_fit import DriveFit
from workbench.maths.pooling.common_error import CommonError
from workbench.maths.pooling.equations import FEWEST_KIND, Stated, stated
from workbench.maths.pooling.passes import passes_near
from workbench.maths.pooling.visits import Visits, by_episode, vapour_in, visits_of, weighed_by_visit
from workbench.maths.solve.design import Equations, NuisanceEffect
from workbench.maths.solve.normal_equations import node_sums
from workbench.maths.solve.roughness import cost_of_bump, penalty
from workbench.maths.solve.solve import Solution, solve, spread_of
from workbench.model.arrays import BoolArray, FloatArray, IntArray
from workbench.model.table import Table

TURNS = 1  # of weighing the samples by what a solution leaves over
LEAST_OFFSET = 0.0015  # drives of one car differ by no less (weather, fuel): common practice, no source
BETWEEN_DRIVES, SMOOTHING = "between drives", "smoothing"
SOFTER = 4.0  # how many times weaker the smoothing may as well be: about its own uncertainty in a short drive


def solve_drives(known: list[DriveFit], head: Table, base: Table) -> Solution:
    """Solve all drives quickly for the multipliers of a table: samples count one by one, whole drives may not differ.

    Args:
        known: the drives.
        head: the table.
        base: on the same axes, the one whose correction is taken as smooth; the result still belongs to the head.
    """
    roughness, free = penalty(head.axes)
    return _onto(head, base, solve(stated(known, head, base).equations, roughness, free))


def solve_beside(known: list[DriveFit], base: Table, columns: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Solve all drives quickly with further effects, and give those with their standard deviations, shape (effects,).

    Args:
        known: the drives.
        base: as for `solve_drives`; what is found beside it does not depend on what was corrected since.
        columns: what an effect of 1 adds to the log of the ratio, shape (samples, effects); 0 or 1 is expected of it.
    """
    roughness, free = penalty(base.axes)
    said = stated(known, base, base)
    own = tuple(NuisanceEffect(column * said.nominal, expected_size=1.0) for column in columns.T)
    solution = solve(replace(said.equations, effects=said.equations.effects + own), roughness, free)
    at = slice(len(said.equations.effects), len(said.equations.effects) + len(own))
    return solution.nuisance[at], solution.nuisance_deviation[at]


def solve_fully(known: list[DriveFit], head: Table, base: Table, common: CommonError) -> tuple[Solution, Visits]:
    """Solve all drives with all that makes samples depend on each other; takes and gives what `solve_drives` does.

    Trims are weighed against the wideband, samples of one visit count together, vapour differs from episode to episode
    and drives from each other; the best estimate of the common error is taken out.
    """
    roughness, free = penalty(head.axes)
    said = stated(known, head, base, common)
    solved = said.equations
    solution = solve(solved, roughness, free)
    known_visits = visits_of(known, head)
    # A first solution may be too stiff for its samples, and its scatter is then its own: the second tells it.
    for _ in range(TURNS):
        weighed = _weighed_by_kind(said.equations, solution, said.by_trims)
        vapour = vapour_in(solved, solution)
        equations, visits = weighed_by_visit(
            weighed, solution, known_visits, vapour, said.purged, said.upset, said.by_trims
        )
        effects = by_episode(known, vapour, said.purge)
        effects += _offsets(equations, solution, said, visits.cell[visits.number])
        solved = replace(equations, effects=equations.effects + tuple(effects))
        solution = solve(solved, roughness, free, bump=cost_of_bump(head.axes, roughness))
    solution = _unsure_of_smoothing(solution, solve(solved, roughness, free, smoothing=solution.smoothing / SOFTER))
    weight = said.equations.weight * solution.robust
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


def _offsets(equations: Equations, solution: Solution, said: Stated, cell: IntArray) -> list[NuisanceEffect]:
    """Let whole drives differ by an offset (weather, fuel), as large as the drives show where they saw the same cells.

    One drive cannot show it: it is off from the car as it usually is by no less than drives usually differ. Elsewhere
    what a solution leaves over of a drive may be the solution's own fault.

    Args:
        equations: of all samples, weighed by visits.
        solution: a first one of them.
        said: what the samples are.
        cell: that each sample belongs to, flat, shape (samples,).
    """
    drive, nominal = said.drive, said.nominal
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
